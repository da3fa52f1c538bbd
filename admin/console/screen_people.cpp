// The people: accounts and classes, what they keep, and until when; what they hand in.
#include <set>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/console/limits_form.h"
#include "admin/console/screen.h"
#include "admin/console/screen_hand_ins.h"

namespace stationer::admin::console {
namespace {

namespace json = boost::json;

constexpr Moment now_and_then{20'000};

std::string name_of(const Item& item) {
  return text_of(item, "name");
}

std::string state_of(const Item& account) {
  if (is_set(account, "closed")) return "closed";
  if (!is_set(account, "has_password")) return "no password";
  if (!text_of(account, "over_since").empty()) return "over its limit";
  return "";
}

// Shown until it is closed, and nowhere else.
void show_password(Desk& desk, const json::object& answer, std::string_view what) {
  const std::string password = text_of(answer, "password");
  if (password.empty()) return;
  desk.open(Message{fmt::format("The password of {}", name_of(answer)),
                    {std::string(what), "", password, "",
                     "Write it down or let them read it now: nothing shows it again."}});
}

class People : public Screen {
 public:
  explicit People(Desk& desk) : Screen("People"), desk_(desk) {
    add_accounts();
    add_classes();
    add_hand_ins(*this, desk_);
  }

 private:
  void add_accounts() {
    auto made = std::make_unique<View>(
        "Accounts",
        ListView({field("Name", "name", 12, 0, 16),
                  field("Full name", "full_name", 14, 0, 30),
                  field("Class", "class", 8, 0, 16),
                  {{"State", state_of}, 14},
                  {size_column("Keeps", "bytes"), 6},
                  {{"Last day", [](const Item& item) { return last_day_of(item, "ends"); }}, 10},
                  {{"Full", fullness_of, true}, 5, 1},
                  field("Role", "role", 7, 1),
                  {number_column("Files", "files"), 6, 2},
                  {{"Limits", limits_of}, 30, 3, 60}},
                 name_of, [](const Item& item) {
                   if (is_set(item, "closed")) return Look::faint;
                   return text_of(item, "over_since").empty() ? Look::plain : Look::warning;
                 }));
    View& view = *made;
    accounts_ = &view;
    view.source = rows_of(view, desk_.outbox(), "account.list", {}, now_and_then);
    view.head = [this] { return class_.empty() ? "" : "of the class " + class_; };
    view.none = [this] {
      return class_.empty() ? std::string("There is no account yet: a adds one.")
                            : fmt::format("Nobody is in {}.", class_);
    };
    view.facts = [this](const Item& item) {
      return std::vector<Fact>{
          {"name", name_of(item)},
          {"full name", text_of(item, "full_name")},
          {"role", text_of(item, "role")},
          {"state", state_of(item)},
          {"classes", names_of(item, "classes")},
          {"leads", names_of(item, "leads")},
          {"keeps", kept_of(item)},
          {"limits", fmt::format("{} ({})", limits_of(item), whose_limits(item))},
          {"over its limit since", time_of(item, "over_since")},
          {"last day", last_day_of(item, "ends")},
          {"erased after", time_of(item, "leaves_after")},
          {"since", time_of(item, "created")}};
    };
    add_account_acts(view);
    add_reading(view, desk_, "An account");
    views.push_back(std::move(made));
  }

  void add_account_acts(View& view) {
    add_act(
        view, 'c', "close",
        [this](const Item& item) {
          const std::string name = name_of(item);
          desk_.act({"account.change",
                     {{"name", name}, {"closed", true}},
                     fmt::format("Nobody signs in as {} any more.", name),
                     "o opens it again.",
                     nullptr});
        },
        [](const Item& item) { return !is_set(item, "closed"); });
    add_act(
        view, 'o', "open again",
        [this](const Item& item) {
          const std::string name = name_of(item);
          desk_.act({"account.change",
                     {{"name", name}, {"closed", false}},
                     fmt::format("{} may sign in again.", name),
                     "c closes it.",
                     nullptr});
        },
        [](const Item& item) { return is_set(item, "closed"); });
    add_act(view, 'p', "new password", [this](const Item& item) {
      const std::string name = name_of(item);
      desk_.open(Form{fmt::format("A new password for {}", name),
                      {fmt::format("One is made up and shown once. The one that {} has now does "
                                   "not work any more, and can't be brought back.",
                                   name),
                       "Make a new one?"},
                      {},
                      [this, name](const auto&) {
                        return Call{"account.password",
                                    {{"name", name}},
                                    fmt::format("{} has a new password.", name),
                                    "",
                                    [this](const json::object& answer) {
                                      show_password(desk_, answer, "The new password is:");
                                    }};
                      }});
    });
    add_act(view, 'e', "last day", [this](const Item& item) {
      const std::string name = name_of(item);
      const std::string day = last_day_of(item, "ends");
      desk_.open(Form{
          fmt::format("The last day of {}", name),
          {"After that day nobody signs in as them; the files stay. Nothing typed: it never ends."},
          {{"Last day", day, "as 2027-07-31"}},
          [name, day](const auto& values) {
            return Call{"account.change",
                        {{"name", name}, {"ends", values[0]}},
                        values[0].empty() ? fmt::format("{} never ends.", name)
                                          : fmt::format("{} ends after {}.", name, values[0]),
                        fmt::format("e and {}.", day.empty() ? "an empty line" : day),
                        nullptr};
          }});
    });
    add_act(view, 'k', "class", [this](const Item& item) {
      const std::string name = name_of(item);
      const std::string before = text_of(item, "class");
      desk_.open(Form{fmt::format("The class of {}", name),
                      {"The primary one, whose limits count. Nothing typed: none."},
                      {{"Class", before, ""}},
                      [name, before](const auto& values) {
                        return Call{
                            "account.change",
                            {{"name", name}, {"class", values[0]}},
                            values[0].empty() ? fmt::format("{} has no primary class.", name)
                                              : fmt::format("{} is in {}.", name, values[0]),
                            fmt::format("k and {}.", before.empty() ? "an empty line" : before),
                            nullptr};
                      }});
    });
    add_act(view, 'l', "limits", [this](const Item& item) {
      const std::string name = name_of(item);
      const std::string undo =
          is_own(item) ? fmt::format("l and {}.", limits_to_type(item)) : "l and four empty lines.";
      desk_.open(Form{
          fmt::format("How much {} may keep", name),
          {fmt::format("{} keeps {}. The limits are {}.", name, kept_of(item), whose_limits(item)),
           "What is typed becomes their own. Nothing typed in any line: those of the "
           "class."},
          limit_lines(item),
          [item, name, undo](const auto& values) {
            auto params = typed_limits(item, values);
            const bool own = params.has_value();
            if (!own) params = json::object{{"own_limits", false}};
            (*params)["name"] = name;
            return Call{"account.change", std::move(*params),
                        own ? fmt::format("{} has other limits.", name)
                            : fmt::format("{} has the limits of the class.", name),
                        undo, nullptr};
          }});
    });
    add_plain_act(view, 'a', "add", [this] {
      desk_.open(Form{
          "A new account",
          {"The password is made up, and shown once."},
          {{"Name", "", "to sign in"},
           {"Full name", "", ""},
           {"Class", class_, "may be empty"},
           {"Role", "member", "member, leader, manager"}},
          [this](const auto& values) {
            json::object params{{"name", values[0]}};
            if (!values[1].empty()) params["full_name"] = values[1];
            if (!values[2].empty()) params["class"] = values[2];
            if (!values[3].empty()) params["role"] = values[3];
            return Call{"account.add", std::move(params), fmt::format("{} is added.", values[0]),
                        "c closes it.", [this](const json::object& answer) {
                          accounts_->list.pick(name_of(answer));
                          show_password(desk_, answer, "The account is there. Its password is:");
                        }};
          }});
    });
    add_act(view, 'v', "see files as them",
            [this](const Item& item) { desk_.see_as(name_of(item), "/"); });
    add_act(view, 'n', "notice", [this](const Item& item) { open_notice(name_of(item)); });
    add_act(view, 'w', "why?", [this](const Item& item) {
      desk_.ask_why({{"who", name_of(item)}}, name_of(item));
    });
  }

  void open_notice(const std::string& to) { desk_.open(notice_form(to)); }

  void add_classes() {
    auto made =
        std::make_unique<View>("Classes", ListView({field("Class", "name", 14, 0, 16),
                                                    {number_column("Members", "members"), 7},
                                                    {number_column("Leaders", "leaders"), 7},
                                                    {{"Limits of each", limits_of}, 30, 0, 70},
                                                    {time_column("Since", "created"), 16, 1}},
                                                   name_of));
    View& view = *made;
    view.source =
        std::make_unique<Source>(desk_.outbox(), "class.list", json::object{}, now_and_then,
                                 [this, &view](json::array items) {
                                   with_limits_.clear();
                                   for (const auto& each : items) {
                                     if (each.is_object() && is_set(each.as_object(), "limits")) {
                                       with_limits_.insert(name_of(each.as_object()));
                                     }
                                   }
                                   view.list.fill(std::move(items));
                                 });
    accounts_->besides = {view.source.get()};
    view.none = [] { return "There is no class yet: a adds one."; };
    view.facts = [](const Item& item) {
      return std::vector<Fact>{{"class", name_of(item)},
                               {"members", text_of(item, "members")},
                               {"leaders", text_of(item, "leaders")},
                               {"limits of each", limits_of(item)},
                               {"since", time_of(item, "created")}};
    };
    add_enter(view, "who is in it", [this](const Item& item) { show_class(name_of(item)); });
    add_plain_act(view, 'e', "everybody", [this] { show_class(""); });
    add_plain_act(view, 'a', "add", [this] {
      desk_.open(Form{"A new class", {}, {{"Name", "", ""}}, [](const auto& values) {
                        return Call{"class.add",
                                    {{"name", values[0]}},
                                    fmt::format("The class {} is there.", values[0]),
                                    fmt::format("stationer class remove {}.", in_shell(values[0])),
                                    nullptr};
                      }});
    });
    add_act(view, 'l', "limits", [this](const Item& item) {
      const std::string name = name_of(item);
      const std::string undo = is_set(item, "limits")
                                   ? fmt::format("l and {}.", limits_to_type(item))
                                   : "l and four empty lines.";
      desk_.open(Form{fmt::format("How much each in {} may keep", name),
                      {"Of all whose primary class it is and who have no limits of their own. "
                       "Nothing typed in any line: the class has none, and each has what a new "
                       "account has."},
                      limit_lines(item),
                      [item, name, undo](const auto& values) {
                        auto params = typed_limits(item, values);
                        const bool some = params.has_value();
                        if (!some) params = json::object{{"none", true}};
                        (*params)["name"] = name;
                        return Call{"class.limits", std::move(*params),
                                    some ? fmt::format("{} has other limits.", name)
                                         : fmt::format("{} has no limits of its own.", name),
                                    undo, nullptr};
                      }});
    });
    add_act(view, 'n', "notice", [this](const Item& item) { open_notice("@" + name_of(item)); });
    views.push_back(std::move(made));
  }

  // Whether the limits in force are the account's own, and not those of its class.
  bool is_own(const Item& account) const {
    return is_set(account, "own_limits") || with_limits_.count(text_of(account, "class")) == 0;
  }

  std::string whose_limits(const Item& account) const {
    return is_own(account) ? "their own" : "those of " + text_of(account, "class");
  }

  void show_class(std::string name) {
    class_ = std::move(name);
    json::object params;
    if (!class_.empty()) params["class"] = class_;
    accounts_->source->set_params(std::move(params));
    at = 0;
  }

  Desk& desk_;
  View* accounts_ = nullptr;
  std::string class_;                  // whose accounts show; empty: everybody
  std::set<std::string> with_limits_;  // classes that have some for their people
};

}  // namespace

std::unique_ptr<Screen> make_people(Desk& desk) {
  return std::make_unique<People>(desk);
}

}  // namespace stationer::admin::console
