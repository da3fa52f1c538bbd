#include "server/session.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/local_time.h"
#include "fs/text.h"
#include "server/typed_path.h"

namespace stationer::server {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;

constexpr std::size_t piece_size = 64 * 1024;
constexpr std::size_t most_told = 20;
constexpr int most_rescued = 9;                   // texts with the same name
constexpr std::size_t longest_rescued_name = 60;  // bytes; the notice has to hold it twice
constexpr std::size_t longest_reason = 200;       // characters

Status check_reason(std::string_view reason) {
  return fs::check_line(reason, longest_reason, "The reason");
}

}  // namespace

// ---- the room ----

std::vector<SessionView> Room::sessions() const {
  std::vector<SessionView> out;
  for (const Session* session : sessions_) out.push_back(session->view());
  return out;
}

fs::AccountId Room::person_at(const std::string& address) const {
  fs::AccountId person = fs::no_account;
  for (const Session* session : sessions_) {
    if (session->address_ != address || !session->signed_in()) continue;
    if (person != fs::no_account && person != session->caller_.account) return fs::no_account;
    person = session->caller_.account;
  }
  return person;
}

void Room::tell(fs::AccountId account, const std::string& text) {
  for (Session* session : sessions_) {
    if (session->caller_.account != account || account == fs::no_account) continue;
    if (session->told_.size() < most_told) session->told_.push_back(text);
    if (session->on_told) session->on_told();
  }
}

void Room::tell_all(const std::string& text, fs::AccountId except) {
  for (Session* session : sessions_) {
    if (!session->signed_in() || session->caller_.account == except) continue;
    if (session->told_.size() < most_told) session->told_.push_back(text);
    if (session->on_told) session->on_told();
  }
}

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
  return {number_, door_, address_, name(), role(), signed_in(), since_, doing_};
}

std::vector<std::string> Session::take_told() {
  return std::exchange(told_, {});
}

Task<Status> Session::prove(std::string name, std::string password, fs::AccountId& who) {
  const auto check_wait = [&]() -> Status {
    const auto wait = room_.throttle.wait(address_, name, room_.loop.now());
    if (wait.count() == 0) return {};
    return Error{
        Code::throttled,
        fmt::format("Too many wrong passwords. Wait {} seconds, then try again.", wait.count())};
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
  auto proved = co_await prove(std::move(name), std::move(password), who);
  if (!proved) co_return proved;
  caller_.account = who;
  since_ = room_.volume.now();
  here_ = home();
  if (!look(here_)) here_ = {};
  co_return Status();
}

void Session::sign_out() {
  if (!signed_in()) return;
  static_cast<void>(room_.volume.desk().note(caller_, "signed out", name()));
  caller_.account = fs::no_account;
  here_ = {};
  told_.clear();
}

Task<Status> Session::change_password(std::string old_password, std::string new_password) {
  fs::AccountId who = fs::no_account;
  auto proved = co_await prove(name(), std::move(old_password), who);
  if (!proved) co_return proved;
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
  return files().read(caller_, file);
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

fs::Result<Session::UploadPtr> Session::save(const fs::Path& file, const fs::SaveOptions& options) {
  auto upload = files().save(caller_, file, options);
  if (!upload) return upload.error();
  return std::make_shared<fs::Upload>(std::move(*upload));
}

Task<Status> Session::write(UploadPtr upload, std::string bytes) {
  // What stays in memory needs no other thread.
  if (upload->size() + bytes.size() <= fs::small_content) co_return upload->write(bytes);
  const auto later =
      room_.loop.blocking([upload, bytes = std::move(bytes)] { return upload->write(bytes); });
  co_return co_await later;
}

Task<Status> Session::finish(UploadPtr upload) {
  fs::Ticket ticket;
  if (upload->size() <= fs::small_content) {
    ticket = upload->finish();
  } else {
    const auto later = room_.loop.blocking([upload] { return upload->finish(); });
    ticket = co_await later;
  }
  auto finished = co_await room_.loop.durable(ticket);
  if (finished && upload->receipt()) tell_receipt(*upload->receipt());
  co_return finished;
}

void Session::tell_receipt(std::uint32_t number) {
  for (const auto& receipt : receipts()) {
    if (receipt.number != number) continue;
    const std::string again =
        receipt.version > 1 ? fmt::format(", version {} of it", receipt.version) : "";
    if (told_.size() < most_told) {
      told_.push_back(fmt::format("Receipt {}: {} handed in on {}{}{}.", number, receipt.name,
                                  fs::local_time_text(receipt.at), again,
                                  receipt.late ? ", late" : ""));
    }
    return;
  }
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
  static_cast<void>(room_.volume.desk().send_notice(
      caller_, name(),
      fmt::format("The line broke while you wrote {}. What you had typed {}.", stem, where)));
}

Task<Status> Session::make_folder(fs::Path folder) {
  co_return co_await room_.loop.durable(files().make_folder(caller_, folder));
}

Task<Status> Session::copy(fs::Path from, fs::Path to) {
  auto view = look(from);
  if (!view) co_return view.error();
  auto content = open(from);
  if (!content) co_return content.error();
  fs::SaveOptions options;
  options.kind = view->kind;
  options.load_address = view->load_address;
  options.entry_point = view->entry_point;
  auto upload = save(to, options);
  if (!upload) co_return upload.error();
  for (;;) {
    auto piece = co_await read(*content, (*upload)->size(), piece_size);
    if (!piece) co_return piece.error();
    if (piece->empty()) break;
    auto written = co_await write(*upload, std::move(*piece));
    if (!written) co_return written;
  }
  co_return co_await finish(*upload);
}

Task<Status> Session::move(fs::Path from, fs::Path to) {
  co_return co_await room_.loop.durable(files().move(caller_, from, to));
}

Task<Status> Session::remove(fs::Path path) {
  co_return co_await room_.loop.durable(files().remove(caller_, path));
}

Task<Status> Session::set_access(fs::Path path, std::string changes) {
  co_return co_await room_.loop.durable(files().set_access(caller_, path, changes));
}

std::vector<fs::BinView> Session::bin() const {
  return files().bin(caller_);
}

Task<Status> Session::restore(fs::NodeId removal) {
  co_return co_await room_.loop.durable(files().restore(caller_, removal));
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
  co_return co_await room_.loop.durable(ticket);
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

// ---- handing in ----

std::vector<fs::HandInView> Session::hand_in_folders() const {
  return room_.volume.hand_ins().folders(caller_);
}

fs::Result<fs::HandInView> Session::hand_in_folder(std::string_view typed) const {
  const auto folders = hand_in_folders();
  std::vector<fs::HandInView> fitting;
  if (typed.empty()) {
    const auto account = room_.volume.people().account(caller_.account);
    for (const auto& each : folders) {
      if (account && !account->klass.empty() && each.klass == account->klass) {
        fitting.push_back(each);
      }
    }
    if (fitting.empty()) fitting = folders;
  } else {
    const auto typed_path = path(typed);
    const std::string whole = typed_path ? fs::fold(typed_path->text()) : "";
    const std::string word = fs::is_utf8(typed) ? fs::fold(typed) : "";
    for (const auto& each : folders) {
      const std::string folded = fs::fold(each.path);
      if (folded == whole) return each;
      if (each.klass == word || folded.substr(folded.rfind('/') + 1) == word) {
        fitting.push_back(each);
      }
    }
  }
  if (fitting.size() == 1) return fitting.front();
  if (fitting.empty() && !typed.empty()) {
    // A path may lead to one by an alias, or say why it does not.
    const auto named = path(typed);
    if (!named) return named.error();
    auto found = room_.volume.hand_ins().look(caller_, *named);
    if (found || found.error().code != Code::not_found) return found;
    return Error{Code::not_found,
                 fmt::format("There is nowhere called {} to hand in to. Type handin alone to see "
                             "where you can.",
                             fs::clip(typed, 60))};
  }
  if (fitting.empty()) {
    return Error{Code::not_found, "None of your classes has a folder to hand in to."};
  }
  std::string all;
  for (const auto& each : fitting) all += "\n  " + each.path;
  return Error{Code::bad_input, "Say which of these you mean:" + all};
}

std::vector<fs::ReceiptView> Session::receipts() const {
  return room_.volume.hand_ins().receipts(caller_);
}

fs::Result<fs::Roll> Session::roll(const fs::Path& folder) const {
  return room_.volume.hand_ins().roll(caller_, folder);
}

Task<Status> Session::set_hand_in_times(fs::Path folder, fs::HandInTimes times) {
  co_return co_await room_.loop.durable(room_.volume.hand_ins().set_times(caller_, folder, times));
}

Task<fs::Result<std::vector<fs::Carried>>> Session::collect(fs::Path folder, fs::Path to) {
  auto& hand_ins = room_.volume.hand_ins();
  const auto later = room_.loop.blocking(
      [&hand_ins, caller = caller_, folder, to] { return hand_ins.collect(caller, folder, to); });
  co_return co_await later;
}

Task<fs::Result<std::vector<fs::Carried>>> Session::hand_back(fs::Path folder,
                                                              std::vector<std::string> accounts) {
  auto& hand_ins = room_.volume.hand_ins();
  const auto later = room_.loop.blocking([&hand_ins, caller = caller_, folder, accounts] {
    return hand_ins.hand_back(caller, folder, accounts);
  });
  auto carried = co_await later;
  if (!carried) co_return carried;
  std::string told;
  for (const auto& each : *carried) {
    if (each.account == std::exchange(told, each.account)) continue;
    const auto account = room_.volume.people().account(std::string_view(each.account));
    if (account) {
      room_.tell(account->id, "Something you handed in has come back. Type notices to read more.");
    }
  }
  co_return carried;
}

// ---- printing ----

fs::Result<std::shared_ptr<print::Incoming>> Session::start_job(std::string_view queue,
                                                                PrintTarget target) {
  auto job = room_.spool.receive(queue, std::move(target.title), target.owner,
                                 std::move(target.owner_name), source());
  if (!job) return job.error();
  return std::make_shared<print::Incoming>(std::move(*job));
}

Task<Status> Session::write(std::shared_ptr<print::Incoming> job, std::string bytes) {
  const auto later =
      room_.loop.blocking([job, bytes = std::move(bytes)] { return job->write(bytes); });
  co_return co_await later;
}

Task<fs::Result<std::uint32_t>> Session::finish(std::shared_ptr<print::Incoming> job) {
  const auto later = room_.loop.blocking([job] { return job->finish(); });
  co_return co_await later;
}

Task<fs::Result<Session::HandedIn>> Session::print(fs::Path file, std::string queue) {
  auto content = open(file);
  if (!content) co_return content.error();
  auto job = start_job(queue, {file.last(), caller_.account, signed_in() ? name() : ""});
  if (!job) co_return job.error();
  bool cr_alone = false;
  for (std::uint64_t offset = 0;;) {
    auto piece = co_await read(*content, offset, piece_size);
    if (!piece) co_return piece.error();
    if (piece->empty()) break;
    if (offset == 0) {
      cr_alone = piece->find('\r') != std::string::npos && piece->find('\n') == std::string::npos;
    }
    offset += piece->size();
    if (cr_alone) std::replace(piece->begin(), piece->end(), '\r', '\n');
    auto written = co_await write(*job, std::move(*piece));
    if (!written) co_return written.error();
  }
  auto number = co_await finish(*job);
  if (!number) co_return number.error();
  co_return handed_in(*number, queues().find(queue)->name);
}

Session::HandedIn Session::handed_in(std::uint32_t job, std::string queue) const {
  HandedIn out{job, std::move(queue), print::JobState::waiting, ""};
  if (const auto view = room_.spool.job(job)) {
    out.queue = view->job.queue;
    out.state = view->state;
    out.reason = view->job.reason;
  }
  return out;
}

// ---- people ----

Task<Status> Session::send_notice(std::string to, std::string text) {
  auto& desk = room_.volume.desk();
  auto sent = co_await room_.loop.durable(desk.send_notice(caller_, to, text));
  if (!sent) co_return sent;
  // Whoever is here hears of it now; the notice itself waits until it is read.
  const std::string who = fs::ascii_lower(to);
  const std::string words =
      fmt::format("A notice from {} has come. Type notices to read it.", name());
  if (who == "@all") {
    room_.tell_all(words, caller_.account);
  } else if (who.starts_with('@')) {
    if (auto klass = room_.volume.people().class_of(who.substr(1))) {
      for (const auto* names : {&klass->members, &klass->leaders}) {
        for (const auto& each : *names) {
          const auto account = room_.volume.people().account(each);
          if (account && account->id != caller_.account) room_.tell(account->id, words);
        }
      }
    }
  } else if (auto account = room_.volume.people().account(who)) {
    room_.tell(account->id, words);
  }
  co_return Status();
}

std::vector<fs::NoticeView> Session::notices() const {
  return room_.volume.desk().notices(caller_);
}

Task<Status> Session::drop_notices(std::vector<std::uint32_t> ids) {
  co_return co_await room_.loop.durable(room_.volume.desk().drop_notices(caller_, ids));
}

std::vector<fs::PrintoutView> Session::tray() const {
  return room_.volume.desk().printouts(caller_, false);
}

Task<Status> Session::mark_seen(std::vector<std::uint32_t> jobs) {
  co_return co_await room_.loop.durable(room_.volume.desk().mark_seen(caller_, jobs));
}

std::vector<print::JobView> Session::jobs(bool all) const {
  auto views = room_.spool.jobs_as_seen(caller_);
  for (const OpenJob& open : room_.open_jobs.all()) {
    views.push_back({open.job, print::JobState::receiving});
    if (!room_.spool.may_know(caller_, open.job)) views.back().job.title.clear();
  }
  if (all) return views;
  std::erase_if(views, [&](const auto& view) { return !room_.spool.may_know(caller_, view.job); });
  return views;
}

// An act of the spool's, which may wait for the disk.
Task<Status> Session::handle(SpoolAct act) {
  auto& spool = room_.spool;
  const auto later = room_.loop.blocking(
      [&spool, caller = caller_, act = std::move(act)] { return act(spool, caller); });
  co_return co_await later;
}

Task<fs::Result<print::Found>> Session::find_printouts(fs::PrintoutFilter filter, std::string words,
                                                       std::size_t most) {
  auto& finder = room_.finder;
  const auto later = room_.loop.blocking([&finder, caller = caller_, filter, words, most] {
    return finder.find(caller, filter, words, most);
  });
  co_return co_await later;
}

Task<fs::Result<print::Collected>> Session::bind_printouts(fs::Path file,
                                                           fs::PrintoutFilter filter) {
  auto& volume = room_.volume;
  const auto later = room_.loop.blocking(
      [&volume, caller = caller_, file, filter]() -> fs::Result<print::Collected> {
        auto upload = volume.files().save(caller, file, {});
        if (!upload) return upload.error();
        auto collected = print::collect_printouts(
            volume, caller, filter, [&](std::string_view bytes) { return upload->write(bytes); });
        if (!collected) return collected;
        if (auto saved = upload->finish().wait(); !saved) return saved.error();
        return collected;
      });
  co_return co_await later;
}

Task<Status> Session::release(std::uint32_t job) {
  return handle(
      [job](print::Spool& spool, const fs::Caller& caller) { return spool.release(caller, job); });
}

Task<Status> Session::cancel(std::uint32_t job) {
  return handle(
      [job](print::Spool& spool, const fs::Caller& caller) { return spool.cancel(caller, job); });
}

Task<Status> Session::hold(std::uint32_t job, std::string reason) {
  return handle([job, reason](print::Spool& spool, const fs::Caller& caller) {
    const auto fine = check_reason(reason);
    return fine ? spool.hold(caller, job, reason) : fine;
  });
}

Task<Status> Session::refuse(std::uint32_t job, std::string reason) {
  return handle([job, reason](print::Spool& spool, const fs::Caller& caller) {
    const auto fine = check_reason(reason);
    return fine ? spool.refuse(caller, job, reason) : fine;
  });
}

Task<fs::Result<Session::HandedIn>> Session::send_to(std::uint32_t job, std::string queue) {
  SpoolAct send = [job, queue](print::Spool& spool, const fs::Caller& caller) {
    return spool.send_to(caller, job, queue);
  };
  auto sent = co_await handle(std::move(send));
  if (!sent) co_return sent.error();
  co_return handed_in(job, queue);
}

Task<fs::Result<Session::HandedIn>> Session::print_again(std::uint32_t job, std::string queue) {
  auto& spool = room_.spool;
  const auto later = room_.loop.blocking(
      [&spool, caller = caller_, job, queue] { return spool.print_again(caller, job, queue); });
  auto number = co_await later;
  if (!number) co_return number.error();
  co_return handed_in(*number, queue);
}

fs::Result<std::uint32_t> Session::end_job(std::uint32_t job) {
  const auto mine = [&](const OpenJob& open) {
    return room_.spool.may_know(caller_, open.job) || open.address == address_;
  };
  std::vector<const OpenJob*> fitting;
  for (const OpenJob& open : room_.open_jobs.all()) {
    if ((job == 0 || open.job.number == job) && mine(open)) fitting.push_back(&open);
  }
  if (fitting.empty()) {
    return Error{Code::not_found, job == 0
                                      ? "No print job of yours is coming in."
                                      : fmt::format("No print job {} of yours is coming in.", job)};
  }
  if (fitting.size() > 1) {
    return Error{Code::bad_input, "Several jobs are coming in. Say which: jobs shows the numbers."};
  }
  const std::uint32_t number = fitting.front()->job.number;
  fitting.front()->end();
  return number;
}

std::optional<print::Allowance> Session::allowance(const print::Queue& queue) const {
  return room_.spool.allowance(caller_.account, queue);
}

// ---- printouts that nobody has claimed ----

fs::Result<std::vector<Session::Unclaimed>> Session::unclaimed() const {
  auto printouts = room_.volume.desk().unclaimed(caller_);
  if (!printouts) return printouts.error();
  std::vector<Unclaimed> out;
  for (auto& printout : *printouts) {
    std::string code = room_.spool.code_of(printout.job);
    out.push_back({std::move(printout), std::move(code)});
  }
  return out;
}

Task<fs::Result<fs::PrintoutView>> Session::claim(std::string code) {
  const auto wait = room_.claims.wait(address_, name(), room_.loop.now());
  if (wait.count() != 0) {
    co_return Error{
        Code::throttled,
        fmt::format("Too many wrong codes. Wait {} seconds, then try again.", wait.count())};
  }
  const auto job = room_.spool.printout_of(code);
  if (!job) {
    room_.claims.wrong(address_, name(), room_.loop.now());
    co_return Error{Code::not_found, "No printout waits under that code. Ask for it once more."};
  }
  auto claimed = co_await room_.loop.durable(room_.volume.desk().claim_printout(caller_, *job));
  if (!claimed) co_return claimed.error();
  room_.claims.right(address_, name(), room_.loop.now());
  co_return room_.volume.desk().printout(caller_, *job);
}

}  // namespace stationer::server
