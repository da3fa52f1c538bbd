// The tree and the bin, as the keeper sees them.
#include <array>
#include <limits>

#include "fs/copy_content.h"
#include "fs/node_name.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

namespace json = boost::json;
using fs::Code;
using fs::Error;

constexpr std::uint64_t highest_address = std::numeric_limits<std::uint32_t>::max();
constexpr std::uint64_t highest_version = std::numeric_limits<std::int64_t>::max();

// What a file is, as far as it is said.
struct Details {
  explicit Details(Params& params) {
    if (const auto name = params.optional_text("kind")) {
      for (const auto each : {fs::Kind::data, fs::Kind::text, fs::Kind::program}) {
        if (*name == fs::kind_name(each)) kind = each;
      }
      if (!kind) params.refuse("The kind of a file is one of data, text, program.");
    }
    if (const auto given = params.optional_whole("load_address", highest_address)) {
      load_address = static_cast<std::uint32_t>(*given);
    }
    if (const auto given = params.optional_whole("entry_point", highest_address)) {
      entry_point = static_cast<std::uint32_t>(*given);
    }
    no_addresses = params.flag("no_addresses");
    if (no_addresses && (load_address || entry_point)) {
      params.refuse("An address is given and taken away at once.");
    }
  }

  bool any() const { return kind || load_address || entry_point || no_addresses; }

  // With what was known before for what is not said.
  void complete(const fs::NodeView& before) {
    if (!kind) kind = before.kind;
    if (no_addresses) return;
    if (!load_address) load_address = before.load_address;
    if (!entry_point) entry_point = before.entry_point;
  }

  std::optional<fs::Kind> kind;
  std::optional<std::uint32_t> load_address;
  std::optional<std::uint32_t> entry_point;
  bool no_addresses = false;
};

// With whose eyes to look: an account's, a guest's for an empty name, or the caller's own for none.
// What they may see the store decides, as it does when they come by themselves.
fs::Result<fs::Caller> eyes_of(ControlClient& client, const std::optional<std::string>& as) {
  if (!as) return client.caller();
  fs::Caller other;
  other.where = client.caller().where;
  if (as->empty()) return other;
  const auto account = client.volume().people().account(std::string_view(*as));
  if (!account) return account.error();
  other.account = account->id;
  return other;
}

// With what whoever looked may do with it, in words.
json::object show_to_them(const fs::NodeView& view) {
  auto out = show(view);
  out["may"] = permission(view.may_read, view.may_write, view.folder);
  return out;
}

Task<Answer> list(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const auto as = params.optional_text("as");
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto eyes = eyes_of(client, as);
  if (!eyes) co_return eyes.error();
  auto& files = client.volume().files();
  const auto later = client.loop().blocking([&files, caller = *eyes, path, from]() -> Answer {
    auto views = files.list(caller, path);
    if (!views) return views.error();
    return listing(*views, from, [](const auto& each) { return show_to_them(each); });
  });
  co_return co_await later;
}

Task<Answer> show_one(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const auto as = params.optional_text("as");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto eyes = eyes_of(client, as);
  if (!eyes) co_return eyes.error();
  auto view = client.volume().files().look(*eyes, path);
  if (!view) co_return view.error();
  auto out = show_to_them(*view);
  out["path"] = path.text();
  co_return out;
}

// The content of a file, or with "version" one that it had before.
Task<Answer> open(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const auto version = params.optional_whole("version", highest_version);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& volume = client.volume();
  auto view = volume.files().look(client.caller(), path);
  if (!view) co_return view.error();
  auto content = version ? volume.history().read(client.caller(), path, fs::ContentId{*version})
                         : volume.files().read(client.caller(), path);
  if (!content) co_return content.error();
  auto stream = client.streams().open(std::move(*content));
  if (!stream) co_return stream.error();
  json::object out{{"stream", *stream}, {"name", view->name}};
  if (!version) out["size"] = view->size;
  co_return out;
}

Task<Answer> save(ControlClient& client, Params params) {
  fs::Path path = params.path("path");
  const auto name = params.optional_text("name");
  const bool replace = params.flag("replace");
  Details details(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& files = client.volume().files();
  if (name) {
    const auto there = files.look(client.caller(), path);
    if (there && there->folder) {
      if (auto fine = fs::check_name(*name); !fine) co_return fine.error();
      path = path / *name;
    }
  }
  if (replace) {
    if (const auto before = files.look(client.caller(), path)) details.complete(*before);
  }
  const fs::SaveOptions options{replace, details.kind.value_or(fs::Kind::data),
                                details.load_address, details.entry_point};
  auto upload = files.save(client.caller(), path, options);
  if (!upload) co_return upload.error();
  auto stream = client.streams().open(std::move(*upload));
  if (!stream) co_return stream.error();
  co_return json::object{{"stream", *stream}};
}

Task<Answer> make_folder(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().files().make_folder(client.caller(), path));
}

Task<Answer> move(ControlClient& client, Params params) {
  const fs::Path from = params.path("from");
  const fs::Path to = params.path("to");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& files = client.volume().files();
  const fs::Path place = files.place_for(client.caller(), from, to);
  co_return co_await changed(client, files.move(client.caller(), from, place));
}

Task<Answer> copy(ControlClient& client, Params params) {
  const fs::Path from = params.path("from");
  const fs::Path to = params.path("to");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& files = client.volume().files();
  auto view = files.look(client.caller(), from);
  if (!view) co_return view.error();
  auto content = files.read(client.caller(), from);
  if (!content) co_return content.error();
  auto upload =
      files.save(client.caller(), files.place_for(client.caller(), from, to), fs::as_copy(*view));
  if (!upload) co_return upload.error();
  const auto shared = std::make_shared<fs::Upload>(std::move(*upload));
  const auto later = client.loop().blocking(
      [content = std::move(*content), shared] { return fs::copy_content(content, *shared); });
  auto ticket = co_await later;
  co_return co_await changed(client, ticket);
}

Task<Answer> remove(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().files().remove(client.caller(), path));
}

Task<Answer> set_access(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const std::string changes = params.text("changes");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& files = client.volume().files();
  auto set = co_await client.loop().durable(files.set_access(client.caller(), path, changes));
  if (!set) co_return set.error();
  auto view = files.look(client.caller(), path);
  if (!view) co_return view.error();
  co_return json::object{{"access", view->access.text()}};
}

Task<Answer> set_details(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  Details details(params);
  if (!details.any()) params.refuse("Nothing is named that is to change.");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& files = client.volume().files();
  auto view = files.look(client.caller(), path);
  if (!view) co_return view.error();
  details.complete(*view);
  co_return co_await changed(client, files.set_details(client.caller(), path, *details.kind,
                                                       details.load_address, details.entry_point));
}

Task<Answer> set_owner(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const std::string account = params.text("account");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client,
                             client.volume().files().set_owner(client.caller(), path, account));
}

Task<Answer> set_class(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const std::string klass = params.text("class");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client,
                             client.volume().files().set_class(client.caller(), path, klass));
}

// ---- what was before ----

Task<Answer> versions(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto views = client.volume().history().versions(client.caller(), path);
  if (!views) co_return views.error();
  co_return listing(*views, from, [](const auto& each) { return show(each); });
}

Task<Answer> revert(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const fs::ContentId version{params.whole("version", highest_version)};
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto later =
      client.loop().blocking([&history = client.volume().history(), caller = client.caller(), path,
                              version] { return history.restore(caller, path, version); });
  auto ticket = co_await later;
  co_return co_await changed(client, ticket);
}

Task<Answer> list_bin(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& files = client.volume().files();
  const auto later = client.loop().blocking([&files, caller = client.caller(), from]() -> Answer {
    return listing(files.bin(caller), from, [](const auto& each) { return show(each); });
  });
  co_return co_await later;
}

Task<Answer> restore(ControlClient& client, Params params) {
  const fs::NodeId removal{params.number("number")};
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().files().restore(client.caller(), removal));
}

Task<Answer> empty_bin(ControlClient& client, Params params) {
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& files = client.volume().files();
  auto emptied = co_await client.loop().durable(files.empty_bin(client.caller(), true));
  if (!emptied) co_return emptied.error();
  co_return json::object{{"left", files.bin(client.caller()).size()}};
}

constexpr std::array<Method, 17> methods = {{{"file.list", list},
                                             {"file.show", show_one},
                                             {"file.open", open},
                                             {"file.save", save},
                                             {"file.folder", make_folder},
                                             {"file.move", move},
                                             {"file.copy", copy},
                                             {"file.remove", remove},
                                             {"file.access", set_access},
                                             {"file.details", set_details},
                                             {"file.owner", set_owner},
                                             {"file.class", set_class},
                                             {"file.versions", versions},
                                             {"file.revert", revert},
                                             {"bin.list", list_bin},
                                             {"bin.restore", restore},
                                             {"bin.empty", empty_bin}}};

}  // namespace

std::span<const Method> file_methods() {
  return methods;
}

}  // namespace stationer::server
