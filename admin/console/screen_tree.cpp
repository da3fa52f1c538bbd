// The tree, with anybody's eyes, and the bin.
#include "admin/console/screen_tree.h"

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "fs/path.h"

namespace stationer::admin::console {
namespace {

namespace json = boost::json;

constexpr Moment often{5000};

bool is_folder(const Item& item) {
  return says(item, "kind", "folder");
}

// A name as it is, not as it is shown.
std::string raw(const Item& item, std::string_view key) {
  const json::value* value = item.if_contains(key);
  const json::string* text = value == nullptr ? nullptr : value->if_string();
  return text == nullptr ? "" : std::string(*text);
}

std::string below(const std::string& folder, const std::string& name) {
  return folder == "/" ? folder + name : folder + "/" + name;
}

std::string above(const std::string& path) {
  const auto slash = path.rfind('/');
  return slash == std::string::npos || slash == 0 ? "/" : path.substr(0, slash);
}

std::string last_of(const std::string& path) {
  return path.substr(path.rfind('/') + 1);
}

}  // namespace

Tree::Tree(Desk& desk) : Screen("Tree"), desk_(desk) {
  add_files();
  add_bin();
}

void Tree::see_as(std::optional<std::string> account, const std::string& path) {
  as_ = std::move(account);
  at = 0;
  go(path);
}

void Tree::go(const std::string& path) {
  path_ = path;
  json::object params{{"path", path_}};
  if (as_) params["as"] = *as_;
  files_->list.fill({});
  files_->source->set_params(std::move(params));
}

std::string Tree::eyes() const {
  if (!as_) return "the keeper";
  return as_->empty() ? "a guest" : *as_;
}

void Tree::add_files() {
  auto made = std::make_unique<View>(
      "Files",
      ListView(
          {{{"Name",
             [](const Item& item) { return text_of(item, "name") + (is_folder(item) ? "/" : ""); }},
            18,
            0,
            40},
           {{"Size",
             [](const Item& item) {
               return is_folder(item) ? std::string() : size_of(item, "size");
             },
             true},
            6},
           field("Access", "access", 7),
           field("Owner", "owner", 10, 1, 16),
           field("They", "may", 27, 0, 40),
           field("Class", "class", 8, 2, 16),
           {time_column("Changed", "modified"), 16, 3},
           field("Kind", "kind", 7, 4)},
          [](const Item& item) { return text_of(item, "name"); },
          [](const Item& item) { return is_folder(item) ? Look::strong : Look::plain; }));
  View& view = *made;
  files_ = &view;
  view.source = rows_of(view, desk_.outbox(), "file.list", {{"path", path_}}, often);
  view.head = [this] { return fmt::format("{} as {} sees it", path_, eyes()); };
  view.none = [this] {
    return fmt::format("There is nothing in {} that {} could see.", path_, eyes());
  };
  view.facts = [this](const Item& item) {
    const json::value* load = item.if_contains("load_address");
    return std::vector<Fact>{
        {"name", text_of(item, "name")},
        {"rights", fmt::format("{} {}", eyes(), text_of(item, "may"))},
        {"access", text_of(item, "access")},
        {"owner", text_of(item, "owner")},
        {"class", text_of(item, "class")},
        {"kind", text_of(item, "kind")},
        {"size", is_folder(item) ? "" : size_of(item, "size")},
        {"short name", text_of(item, "alias")},
        {"load address",
         load != nullptr && !load->is_null() ? address_of(item, "load_address") : ""},
        {"changed", time_of(item, "modified")},
        {"made", time_of(item, "created")}};
  };
  add_enter(
      view, "open", [this](const Item& item) { go(below(path_, raw(item, "name"))); }, is_folder);
  view.acts.push_back({{Key::Name::backspace},
                       "Backspace",
                       "up",
                       [this] { return path_ != "/"; },
                       [this] {
                         const std::string from = last_of(path_);
                         go(above(path_));
                         files_->list.pick(printable(from));
                       }});
  add_plain_act(view, 'g', "go to", [this] {
    desk_.open(Form{"Go to a folder", {}, {{"Path", path_, ""}}, [this](const auto& values) {
                      return Call{"", {}, "", "", [this, to = values[0]](const auto&) {
                                    const auto path = fs::Path::parse(to);
                                    if (!path) return desk_.say(path.error().message);
                                    go(path->text());
                                  }};
                    }});
  });
  add_plain_act(view, 'v', "with whose eyes", [this] {
    desk_.open(Form{"See the tree as somebody else",
                    {"The name of an account; guest for who has not signed in; nothing typed: as "
                     "yourself, who sees all. What you do to files you do as the keeper."},
                    {{"As", as_ ? (as_->empty() ? "guest" : *as_) : "", ""}},
                    [this](const auto& values) {
                      return Call{"", {}, "", "", [this, name = values[0]](const auto&) {
                                    if (name.empty()) return see_as(std::nullopt, path_);
                                    see_as(name == "guest" ? "" : name, path_);
                                  }};
                    }});
  });
  add_act(view, 'b', "access bits", [this](const Item& item) {
    const std::string name = raw(item, "name");
    desk_.open(Form{
        fmt::format("Who may use {}", text_of(item, "name")),
        {fmt::format("Now {}: reading and writing for owner, class and everyone.",
                     text_of(item, "access")),
         "Say what changes: o owner, c class, e everyone, a all; + or - or =; r read, w write, k "
         "keep. So ce+r lets class and everyone read, +k keeps it."},
        {{"Changes", "", "as ce+r,e-w"}},
        [this, name, before = text_of(item, "access")](const auto& values) {
          return Call{"file.access",
                      {{"path", below(path_, name)}, {"changes", values[0]}},
                      fmt::format("The access bits of {} are changed.", name),
                      fmt::format("they were {}: b sets them.", before),
                      nullptr};
        }});
  });
  add_act(view, 'm', "move or rename", [this](const Item& item) {
    const std::string from = below(path_, raw(item, "name"));
    desk_.open(Form{fmt::format("Move {}", text_of(item, "name")),
                    {"To a folder, where it keeps its name, or to a new path."},
                    {{"To", from, ""}},
                    [from](const auto& values) {
                      return Call{"file.move",
                                  {{"from", from}, {"to", values[0]}},
                                  fmt::format("{} is moved to {}.", from, values[0]),
                                  fmt::format("m moves it back to {}.", from),
                                  nullptr};
                    }});
  });
  add_act(view, 'd', "remove", [this](const Item& item) {
    const std::string path = below(path_, raw(item, "name"));
    desk_.act({"file.remove",
               {{"path", path}},
               fmt::format("{} is in the bin.", path),
               "Tab, then r on it.",
               nullptr});
  });
  add_plain_act(view, 'f', "new folder", [this] {
    desk_.open(Form{fmt::format("A new folder in {}", path_),
                    {},
                    {{"Name", "", ""}},
                    [this](const auto& values) {
                      return Call{"file.folder",
                                  {{"path", below(path_, values[0])}},
                                  fmt::format("The folder {} is there.", values[0]),
                                  "d removes it.",
                                  nullptr};
                    }});
  });
  add_act(view, 'i', "all of it", [this](const Item& item) {
    Message message{fmt::format("About {}", text_of(item, "name")), {}};
    for (const Fact& fact : files_->facts(item)) {
      if (!fact.text.empty()) {
        message.text.push_back(fmt::format("{}: {}", fact.label, fact.text));
      }
    }
    desk_.open(std::move(message));
  });
  views.push_back(std::move(made));
}

void Tree::add_bin() {
  auto made = std::make_unique<View>(
      "Bin", ListView({field("Path", "path", 30, 0, 70),
                       {size_column("Size", "size"), 6},
                       field("Owner", "owner", 10, 0, 16),
                       {time_column("Removed", "removed"), 16},
                       field("Kind", "kind", 6, 1)},
                      [](const Item& item) { return text_of(item, "number"); }));
  View& view = *made;
  view.source = rows_of(view, desk_.outbox(), "bin.list", {}, often);
  view.none = [] { return "The bin is empty."; };
  view.facts = [](const Item& item) {
    return std::vector<Fact>{{"was at", text_of(item, "path")},
                             {"kind", text_of(item, "kind")},
                             {"size", size_of(item, "size")},
                             {"owner", text_of(item, "owner")},
                             {"removed", time_of(item, "removed")}};
  };
  add_act(view, 'r', "restore", [this](const Item& item) {
    const std::string path = text_of(item, "path");
    desk_.act({"bin.restore",
               {{"number", number_of(item, "number")}},
               fmt::format("{} is back.", path),
               "d among the files removes it again.",
               nullptr});
  });
  add_plain_act(view, 'e', "empty the bin", [this] {
    desk_.open(Form{"Empty the bin",
                    {"All that everybody removed goes for good, except what has the keep bit. It "
                     "can't be brought back but from a snapshot.",
                     "Empty it?"},
                    {},
                    [](const auto&) {
                      return Call{"bin.empty", {}, "The bin is empty.", "", nullptr};
                    }});
  });
  add_reading(view, desk_, "In the bin");
  views.push_back(std::move(made));
}

}  // namespace stationer::admin::console
