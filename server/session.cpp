#include "server/session.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/local_time.h"
#include "fs/text.h"
#include "server/saving_behind.h"
#include "server/typed_path.h"

namespace stationer::server {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;

constexpr std::size_t most_told = 20;
constexpr int most_rescued = 9;                   // texts with the same name
constexpr std::size_t longest_rescued_name = 60;  // bytes; the notice has to hold it twice

}  // namespace

// ---- who ----

Session::Session(Room& room, std::string door, std::string address)
    : room_(room),
      number_(room.next_number_++),
      door_(std::move(door)),
      address_(std::move(address)),
      since_(room.volume.now()) {
  caller_.where = source();
  room_.sessions_.push_back(this);
}

Session::~Session() {
  sign_out();  // a line that breaks is a sign-out too, as the journal has it
  room_.sessions_.remove(this);
}

std::string Session::name() const {
  const auto account = room_.volume.people().account(caller_.account);
  return account ? account->name : "guest";
}

fs::Role Session::role() const {
  const auto account = room_.volume.people().account(caller_.account);
  return account ? account->role : fs::Role::member;
}

SessionView Session::view() const {
  return {number_,     door_,  address_, room_.stations.name_at(address_), name(), role(),
          signed_in(), since_, doing_};
}

void Session::add_told(std::string text) {
  if (told_.size() < most_told) told_.push_back(std::move(text));
}

std::vector<std::string> Session::take_told() {
  return std::exchange(told_, {});
}

Task<Status> Session::prove(std::string name, std::string password, fs::AccountId& who) {
  const auto check_wait = [&]() -> Status {
    const auto wait = room_.throttle.wait(address_, name, room_.loop.now());
    if (wait.count() == 0) return {};
    return fs::because(
        fs::TooManyGuesses{wait}, Code::throttled,
        fmt::format("Too many wrong passwords. Wait {} seconds, then try again.", wait.count()));
  };
  if (auto allowed = check_wait(); !allowed) {
    fs::wipe(password);
    co_return allowed;
  }
  auto& people = room_.volume.people();
  const auto later = room_.loop.blocking([&people, name, password, where = source()]() mutable {
    auto result = people.sign_in(name, password, where);
    fs::wipe(password);
    return result;
  });
  auto proved = co_await later;
  fs::wipe(password);
  const bool wrong = !proved && proved.error().code == Code::wrong_password;
  const auto still_allowed = check_wait();
  if (wrong) room_.throttle.wrong(address_, name, room_.loop.now());
  if (!still_allowed) {
    // Of many guesses made at the same time, those beyond the allowed number learn nothing.
    if (proved) static_cast<void>(room_.volume.desk().note(caller_, "sign-in slowed down", name));
    co_return still_allowed;
  }
  if (!proved) co_return proved.error();
  room_.throttle.right(address_, name, room_.loop.now());
  who = *proved;
  co_return Status();
}

Task<Status> Session::sign_in(std::string name, std::string password) {
  fs::AccountId who = fs::no_account;
  const std::string typed = name;
  auto proved = co_await prove(std::move(name), std::move(password), who);
  if (!proved) {
    // What was typed as a name may be a password: a name that nobody has is told nobody.
    const auto meant = room_.volume.people().account(typed);
    Refusal refusal{
        room_.volume.now(), meant ? meant->id : fs::no_account, door_, address_, "sign in", "",
        proved.error()};
    room_.refusals.add(std::move(refusal));
    co_return proved;
  }
  be(who);
  co_return Status();
}

Status Session::sign_on(std::string_view visitor) {
  const auto who =
      minded("sign on", std::string(visitor), room_.volume.visitors().sign_on(visitor, source()));
  if (!who) return who.error();
  be(*who);
  return {};
}

Status Session::work_for(fs::AccountId account) {
  if (auto allowed = room_.volume.people().may_stay(account); !allowed) {
    return minded("work", "", std::move(allowed));
  }
  be(account);
  return {};
}

void Session::be(fs::AccountId who) {
  caller_.account = who;
  since_ = room_.volume.now();
  here_ = home();
  if (!look(here_)) here_ = {};
}

void Session::sign_out() {
  sign_out("");
}

void Session::send_home(const std::string& why) {
  if (on_sent_home) on_sent_home(why);
  sign_out("the account may not be used any more");
}

void Session::sign_out(std::string why) {
  if (!signed_in()) return;
  static_cast<void>(room_.volume.desk().note(caller_, "signed out", name(), std::move(why)));
  caller_.account = fs::no_account;
  here_ = {};
  told_.clear();
  last_act_.reset();
}

Task<Status> Session::change_password(std::string old_password, std::string new_password) {
  fs::AccountId who = fs::no_account;
  auto proved = co_await prove(name(), std::move(old_password), who);
  if (!proved) co_return minded("change the password", "", std::move(proved));
  co_return co_await put_password(this->name(), std::move(new_password));
}

Status Session::may_set_password(std::string_view name) const {
  const auto account = room_.volume.people().account(name);
  if (!account) return account.error();
  if (account->id == caller_.account) {
    return Error{Code::denied, "Your own password is changed by typing the old one first."};
  }
  if (!room_.volume.people().looks_after(caller_, account->id)) {
    return Error{Code::denied, fmt::format("You may not set the password of {}.", account->name)};
  }
  return {};
}

Task<Status> Session::set_password(std::string name, std::string new_password) {
  if (auto allowed = may_set_password(name); !allowed) {
    fs::wipe(new_password);
    co_return allowed;
  }
  co_return co_await put_password(std::move(name), std::move(new_password));
}

Task<Status> Session::put_password(std::string name, std::string new_password) {
  auto& people = room_.volume.people();
  const auto later = room_.loop.blocking([&people, caller = caller_, name, new_password]() mutable {
    auto result = people.set_password(caller, name, new_password);
    fs::wipe(new_password);
    return result;
  });
  auto ticket = co_await later;
  fs::wipe(new_password);
  co_return co_await room_.loop.durable(ticket);
}

// ---- what did not work ----

void Session::refused(const char* act, std::string subject, const Error& error) const {
  // What makes no sense is put right by whoever typed it.
  if (error.code == Code::bad_input) return;
  Refusal refusal{
      room_.volume.now(), caller_.account, door_, address_, act, std::move(subject), error};
  room_.refusals.add(std::move(refusal));
}

void Session::told(const Error& error) const {
  if (error.code == Code::bad_input) return;
  Refusal refusal{room_.volume.now(), caller_.account, door_, address_, doing_, "", error};
  room_.refusals.add_if_new(std::move(refusal));
}

// ---- where ----

fs::Path Session::home() const {
  if (!signed_in()) return {};
  return fs::Path() / "members" / name();
}

Status Session::go(const fs::Path& folder) {
  // Listing asks for the right to look into it, which is what standing in a folder is for; one may
  // also stand in a folder that one may only put things into.
  auto view = look(folder);
  if (!view) return view.error();
  if (!view->folder) {
    return Error{Code::not_a_folder, fmt::format("{} is a file, not a folder.", folder.text())};
  }
  if (!view->may_read && !view->may_write) {
    return Error{Code::denied, fmt::format("You may not look into {}.", folder.text())};
  }
  fs::Path real;
  fs::Path typed;
  for (const auto& name : folder.names()) {
    typed = typed / name;
    const auto each = look(typed);
    real = real / (each ? each->name : name);
  }
  here_ = std::move(real);
  return {};
}

fs::Result<fs::Path> Session::path(std::string_view typed) const {
  return typed_path(*this, typed);
}

// ---- names as the station sees them ----

std::string Session::shown(const fs::NodeView& view) const {
  return names_.shown(fs::Named{view.id, view.name, view.alias});
}

fs::Path Session::shown(const fs::Path& path) const {
  fs::Path out;
  fs::Path done;
  for (const auto& name : path.names()) {
    done = done / name;
    const auto view = look(done);
    out = out / (view ? shown(*view) : names_.shown(name));
  }
  return out;
}

// ---- the tree ----

fs::Result<fs::NodeView> Session::look(const fs::Path& path) const {
  return files().look(caller_, path);
}

fs::Result<std::vector<fs::NodeView>> Session::list(const fs::Path& folder) const {
  return files().list(caller_, folder);
}

fs::Result<fs::Content> Session::open(const fs::Path& file) const {
  auto content = files().read(caller_, file);
  if (!content) refused("read", file.text(), content.error());
  return content;
}

Task<fs::Result<std::string>> Session::read(const fs::Content& content, std::uint64_t offset,
                                            std::size_t most) const {
  const auto later = room_.loop.blocking([content, offset, most]() -> fs::Result<std::string> {
    std::string piece(most, '\0');
    auto got = content.read_at(offset, piece);
    if (!got) return got.error();
    piece.resize(*got);
    return piece;
  });
  co_return co_await later;
}

std::optional<std::string> Session::read_now(const fs::Content& content, std::uint64_t offset,
                                             std::size_t most) const {
  std::string piece(most, '\0');
  const auto got = content.read_now(offset, piece);
  if (!got) return std::nullopt;
  piece.resize(*got);
  return piece;
}

Task<fs::Result<std::size_t>> Session::send(const fs::Content& content, std::uint64_t offset,
                                            std::size_t most,
                                            std::shared_ptr<const int> socket) const {
  const auto later = room_.loop.blocking(
      [content, offset, most, socket] { return content.send_to(*socket, offset, most); });
  co_return co_await later;
}

fs::Result<Session::UploadPtr> Session::save(const fs::Path& file, const fs::SaveOptions& options) {
  const auto allowed = may_work(caller_.account);
  auto upload =
      allowed ? files().save(caller_, file, options) : fs::Result<fs::Upload>(allowed.error());
  if (!upload) {
    refused("save", file.text(), upload.error());
    return upload.error();
  }
  return std::make_shared<fs::Upload>(std::move(*upload));
}

Task<Status> Session::write(UploadPtr upload, std::string bytes) {
  const auto told_of = [this, &upload](Status written) {
    if (!written) refused("save", upload->path().text(), written.error());
    return written;
  };
  // What stays in memory needs no other thread.
  if (upload->size() + bytes.size() <= fs::small_content) co_return told_of(upload->write(bytes));
  const auto later =
      room_.loop.blocking([upload, bytes = std::move(bytes)] { return upload->write(bytes); });
  auto written = co_await later;
  co_return told_of(std::move(written));
}

Task<Status> Session::digest(UploadPtr upload, Pieces pieces) {
  const auto later = room_.loop.blocking([upload, pieces = std::move(pieces)] {
    for (const auto& piece : pieces) upload->digest(*piece);
    return Status();
  });
  co_return co_await later;
}

Task<Status> Session::store(UploadPtr upload, Pieces pieces) {
  const auto later = room_.loop.blocking([upload, pieces = std::move(pieces)] {
    Status stored;
    for (const auto& piece : pieces) {
      if (stored) stored = upload->store(*piece);
    }
    return stored;
  });
  auto stored = co_await later;
  if (!stored) refused("save", upload->path().text(), stored.error());
  co_return stored;
}

Task<Status> Session::finish(UploadPtr upload) {
  const bool was_there = look(upload->path()).has_value();
  fs::ContentId newest_before{};
  if (was_there) newest_before = newest_version(upload->path());
  fs::Ticket ticket;
  if (upload->size() <= fs::small_content) {
    ticket = upload->finish();
  } else {
    const auto later = room_.loop.blocking([upload] { return upload->finish(); });
    ticket = co_await later;
  }
  auto finished = co_await room_.loop.durable(ticket);
  if (finished && upload->receipt()) tell_receipt(*upload->receipt());
  if (finished) note_saved(upload->path(), was_there, newest_before);
  co_return minded("save", upload->path().text(), std::move(finished));
}

void Session::rescue(const fs::Path& file, const std::string& text) {
  fs::SaveOptions options;
  options.kind = fs::Kind::text;
  const std::string stem(fs::clip(file.last(), longest_rescued_name));
  std::string where = "could not be saved";
  const auto save_in = [&](const fs::Path& folder) {
    for (int number = 1; number <= most_rescued; ++number) {
      const fs::Path place = folder / fmt::format("{}.cut{}", stem, number);
      auto upload = files().save(caller_, place, options);
      if (!upload && upload.error().code == Code::exists) continue;
      if (!upload || !upload->write(text)) return false;
      static_cast<void>(upload->finish());
      where = fmt::format("is in {}", place.last());
      if (folder == home()) where += ", in your own folder";
      return true;
    }
    return false;
  };
  // Never unfinished into a hand-in folder, where the writer could not get at it.
  const auto folder = look(file.parent());
  if (!folder || !folder->may_read || !save_in(file.parent())) save_in(home());
  const std::string words =
      fmt::format("You were cut off while you wrote {}. What you had typed {}.", stem, where);
  static_cast<void>(room_.volume.desk().send_notice(caller_, name(), words));
  add_told(words);
}

Task<Status> Session::make_folder(fs::Path folder) {
  auto made = co_await room_.loop.durable(files().make_folder(caller_, folder));
  if (made) note_saved(folder, false, {});
  co_return minded("make a folder", folder.text(), std::move(made));
}

fs::Result<fs::Path> Session::place_for(const fs::Path& from, std::string_view typed) const {
  const auto to = path(typed);
  if (!to) return to;
  return files().place_for(caller_, from, *to);
}

Task<Status> Session::copy(fs::Path from, fs::Path to) {
  auto view = look(from);
  if (!view) co_return view.error();
  auto content = open(from);
  if (!content) co_return content.error();
  auto upload = save(to, fs::as_copy(*view));
  if (!upload) co_return upload.error();
  SavingBehind behind(*this, *upload);
  for (std::uint64_t at = 0;;) {
    auto piece = co_await read(*content, at, piece_size);
    if (!piece) co_return piece.error();
    if (piece->empty()) break;
    at += piece->size();
    auto added = co_await behind.add(std::move(*piece));
    if (!added) co_return added;
  }
  auto saved = co_await behind.done();
  if (!saved) co_return saved;
  co_return co_await finish(*upload);
}

Task<Status> Session::move(fs::Path from, fs::Path to) {
  auto moved = co_await room_.loop.durable(files().move(caller_, from, to));
  if (!moved) {  // and what was done before can still be taken back
    co_return minded("move", fmt::format("{} to {}", from.text(), to.text()), std::move(moved));
  }
  last_act_.reset();
  if (const auto view = look(to))
    last_act_ = LastAct{LastAct::What::moved, view->id, to, from, {}, {}};
  co_return moved;
}

Task<Status> Session::remove(fs::Path path) {
  const auto view = look(path);
  auto removed = co_await room_.loop.durable(files().remove(caller_, path));
  if (!removed) co_return minded("remove", path.text(), std::move(removed));
  last_act_.reset();
  if (view) last_act_ = LastAct{LastAct::What::removed, view->id, path, {}, {}, {}};
  co_return removed;
}

Task<Status> Session::set_access(fs::Path path, std::string changes) {
  auto set = co_await room_.loop.durable(files().set_access(caller_, path, changes));
  co_return minded("change access", path.text(), std::move(set));
}

std::vector<fs::BinView> Session::bin() const {
  return files().bin(caller_);
}

Task<Status> Session::restore(fs::NodeId removal) {
  auto restored = co_await room_.loop.durable(files().restore(caller_, removal));
  co_return minded("restore", "", std::move(restored));
}

Task<Status> Session::empty_bin() {
  co_return co_await room_.loop.durable(files().empty_bin(caller_, false));
}

fs::Result<std::vector<fs::VersionView>> Session::versions(const fs::Path& file) const {
  return room_.volume.history().versions(caller_, file);
}

Task<Status> Session::restore_version(fs::Path file, fs::ContentId version) {
  const auto later =
      room_.loop.blocking([&history = room_.volume.history(), caller = caller_, file, version] {
        return history.restore(caller, file, version);
      });
  auto ticket = co_await later;
  auto restored = co_await room_.loop.durable(ticket);
  co_return minded("restore", file.text(), std::move(restored));
}

std::optional<fs::Time> Session::ends() const {
  const auto account = room_.volume.people().account(caller_.account);
  if (!account || !account->ends) return std::nullopt;
  if (*account->ends > room_.volume.now() + fs::People::end_warning) return std::nullopt;
  return account->ends;
}

fs::Result<fs::Files::Space> Session::space() const {
  auto space = files().space(caller_);
  const std::uint64_t highest = names_.style().highest_count;
  if (space && highest != 0) space->free_bytes = std::min(space->free_bytes, highest);
  return space;
}

}  // namespace stationer::server
