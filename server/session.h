// The one gate between a door and everything else (invariant 3): who is there, where they stand,
// and all that can be asked of the store and the spool on their behalf. Every door asks a session;
// the session asks the store, which decides by its one rule of access. Lives on the loop's thread.
//
// Paths are as the member types them: from where they stand, or from the top with a / in front.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/name_style.h"
#include "fs/path.h"
#include "fs/volume.h"
#include "print/collection.h"
#include "print/spool.h"
#include "server/last_act.h"
#include "server/loop.h"
#include "server/room.h"
#include "server/task.h"

namespace stationer::server {

class Session {
 public:
  // `door` and `address` go to the journal and to who(): "terminal", "10.0.0.7".
  Session(Room& room, std::string door, std::string address);
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;
  ~Session();

  Room& room() { return room_; }
  const std::string& address() const { return address_; }
  std::string source() const { return door_ + " " + address_; }

  // ---- who ----
  bool signed_in() const { return caller_.account != fs::no_account; }
  const fs::Caller& caller() const { return caller_; }
  std::string name() const;  // the account's, or "guest"
  fs::Role role() const;     // a guest's is member
  // Code::throttled with the wait, whether or not the password was right; Code::wrong_password.
  Task<fs::Status> sign_in(std::string name, std::string password);
  // As a visitor, where the door says so (fs/visitors.h).
  fs::Status sign_on(std::string_view visitor);
  // For a door at which nobody signs in, and which knows whose work comes from a station. Refused
  // when that account may not be used.
  fs::Status work_for(fs::AccountId account);
  void sign_out();
  // The old password must be right; guesses at it are slowed down as at signing in.
  Task<fs::Status> change_password(std::string old_password, std::string new_password);
  // A leader or manager sets somebody else's password.
  Task<fs::Status> set_password(std::string name, std::string new_password);
  // Why set_password() would be refused whatever the new password, so that nobody types one in
  // vain.
  fs::Status may_set_password(std::string_view name) const;

  // ---- what others see ----
  SessionView view() const;
  void doing(std::string what) { doing_ = std::move(what); }
  // What was told since the last call, one sentence each.
  std::vector<std::string> take_told();
  // Called when something is told, so that an idle screen can show it.
  std::function<void()> on_told;
  // Called with a sentence when the person may not stay, and before they are signed out, so that
  // the door can save what they had begun to write, tell them, and end what it does for them.
  std::function<void(const std::string& why)> on_sent_home;

  // ---- what did not work (server/refusals.h) ----
  // What this session refuses it keeps in mind by itself, but for looks: those may be only to see
  // what is there. A door that tells somebody that something did not work says so here.
  void told(const fs::Error& error) const;
  // What was refused last to the person here or, to a guest, at this address; null: nothing.
  const Refusal* last_refusal() const {
    return room_.refusals.newest_of(caller_.account, address_);
  }

  // ---- where ----
  const fs::Path& here() const { return here_; }
  fs::Path home() const;  // of a guest: the top
  // What `typed` means to the station (fs/name_style.h): the names of what is there, as the store
  // or one of its aliases has them, and for what is not there the names it would get.
  fs::Result<fs::Path> path(std::string_view typed) const;
  // From then on here() is that folder, by the names it really has, whatever case or alias was
  // typed.
  fs::Status go(const fs::Path& folder);

  // ---- names as the station sees them ----
  void use_names(fs::StationNames names) { names_ = std::move(names); }
  const fs::StationNames& names() const { return names_; }
  std::string shown(const fs::NodeView& view) const;
  // The same path by shown names; what is not there, or may not be seen, as it could be typed.
  fs::Path shown(const fs::Path& path) const;

  // ---- the tree ----
  fs::Result<fs::NodeView> look(const fs::Path& path) const;
  fs::Result<std::vector<fs::NodeView>> list(const fs::Path& folder) const;
  fs::Result<fs::Content> open(const fs::Path& file) const;
  // Reads the next piece, at most `most` bytes, where it may block. Empty at the end.
  Task<fs::Result<std::string>> read(const fs::Content& content, std::uint64_t offset,
                                     std::size_t most) const;
  // The same at once; nothing when it would have to wait for the disk.
  std::optional<std::string> read_now(const fs::Content& content, std::uint64_t offset,
                                      std::size_t most) const;
  // Sends to a socket from there on, as HostFile::send_to(), where it may block on the disk.
  Task<fs::Result<std::size_t>> send(const fs::Content& content, std::uint64_t offset,
                                     std::size_t most, std::shared_ptr<const int> socket) const;

  using UploadPtr = std::shared_ptr<fs::Upload>;
  fs::Result<UploadPtr> save(const fs::Path& file, const fs::SaveOptions& options);
  Task<fs::Status> write(UploadPtr upload, std::string bytes);
  // The two halves of write() for an upload that is streamed, which may run at the same time; for
  // SavingBehind, which everything large goes through.
  using Pieces = std::vector<std::shared_ptr<const std::string>>;
  Task<fs::Status> digest(UploadPtr upload, Pieces pieces);
  Task<fs::Status> store(UploadPtr upload, Pieces pieces);
  Task<fs::Status> finish(UploadPtr upload);
  // For a text whose writer is gone before it could be saved as `file`: saves it beside that, or in
  // their own folder, under a name that is free, leaves them a notice of it and tells them. Waits
  // for nothing.
  void rescue(const fs::Path& file, const std::string& text);

  Task<fs::Status> make_folder(fs::Path folder);
  // Where copy() and move() are to put what is asked to go to `typed`.
  fs::Result<fs::Path> place_for(const fs::Path& from, std::string_view typed) const;
  Task<fs::Status> copy(fs::Path from, fs::Path to);  // a file, with its kind and addresses
  Task<fs::Status> move(fs::Path from, fs::Path to);
  Task<fs::Status> remove(fs::Path path);
  Task<fs::Status> set_access(fs::Path path, std::string changes);
  std::vector<fs::BinView> bin() const;
  Task<fs::Status> restore(fs::NodeId removal);
  Task<fs::Status> empty_bin();  // one's own
  // What a file had in it before, newest first.
  fs::Result<std::vector<fs::VersionView>> versions(const fs::Path& file) const;
  Task<fs::Status> restore_version(fs::Path file, fs::ContentId version);
  // Takes back what the caller last saved, made, removed or moved, and gives what that was.
  // Code::not_found when there is nothing, or it was changed since.
  Task<fs::Result<LastAct>> undo();
  // What is free is the least of what the quota, the disk and the station's system allow.
  fs::Result<fs::Files::Space> space() const;
  // From when on one can't sign in any more, when that is near.
  std::optional<fs::Time> ends() const;

  // ---- handing in (fs/hand_ins.h) ----
  // Whatever is saved straight into a hand-in folder is handed in, and its receipt is told once it
  // is durable; take_told() has it.
  std::vector<fs::HandInView> hand_in_folders() const;
  // The hand-in folder that was meant: by its path, its name, or its class. Nothing means the one
  // of one's own class, or the only one there is. Code::bad_input with those that fit, if several.
  fs::Result<fs::HandInView> hand_in_folder(std::string_view typed) const;
  std::vector<fs::ReceiptView> receipts() const;
  fs::Result<fs::Roll> roll(const fs::Path& folder) const;
  Task<fs::Status> set_hand_in_times(fs::Path folder, fs::HandInTimes times);
  Task<fs::Status> make_ordinary(fs::Path folder);
  Task<fs::Result<std::vector<fs::Carried>>> collect(fs::Path folder, fs::Path to);
  // Whoever gets something back and is here hears of it.
  Task<fs::Result<std::vector<fs::Carried>>> hand_back(fs::Path folder,
                                                       std::vector<std::string> accounts);

  // ---- a class at work: for its leaders, and for managers ----
  // Copies files to each; see fs/hand_ins.h. To "+CLASS" or "+all": those of them who are signed
  // in and looked after. Whoever gets something hears of it, once. The first file that can't be
  // handed out is the end.
  struct HandedOut {
    std::vector<fs::Carried> carried;
    fs::Status ended;
  };
  Task<HandedOut> hand_out(std::vector<fs::Path> files, std::string to);
  // Its members may not save and print until thaw(), or for so long.
  fs::Status freeze(std::string_view klass, std::chrono::minutes how_long);
  fs::Status thaw(std::string_view klass);
  // Nobody's sessions of that name end for idleness before then.
  fs::Status extend(std::string_view name, std::chrono::minutes how_long);
  // Called when somebody extends this session.
  std::function<void(std::chrono::minutes)> on_extended;

  // ---- printing ----
  struct PrintTarget {
    std::string title;
    fs::AccountId owner = fs::no_account;
    std::string owner_name;
  };
  // Begins a job of the caller's, or of whoever `target` says.
  fs::Result<std::shared_ptr<print::Incoming>> start_job(std::string_view queue,
                                                         PrintTarget target);
  Task<fs::Status> write(std::shared_ptr<print::Incoming> job, std::string bytes);
  Task<fs::Result<std::uint32_t>> finish(std::shared_ptr<print::Incoming> job);
  // What became of a job just handed in: it may be on paper already, and then nothing is held up.
  struct HandedIn {
    std::uint32_t job = 0;
    std::string queue;
    print::JobState state = print::JobState::waiting;
    std::string reason;  // why it is held or was refused
  };
  // A file of the tree. A text whose lines end in CR alone is printed line by line all the same.
  Task<fs::Result<HandedIn>> print(fs::Path file, std::string queue);
  const print::Queues& queues() const { return room_.spool.queues(); }

  // ---- people ----
  std::vector<SessionView> who() const { return room_.sessions(); }
  Task<fs::Status> send_notice(std::string to, std::string text);
  std::vector<fs::NoticeView> notices() const;
  Task<fs::Status> drop_notices(std::vector<std::uint32_t> ids);
  std::vector<fs::PrintoutView> tray() const;
  Task<fs::Status> mark_seen(std::vector<std::uint32_t> jobs);
  // Printouts by their words: the caller's own, and those they look after (print/finder.h).
  Task<fs::Result<print::Found>> find_printouts(fs::PrintoutFilter filter, std::string words,
                                                std::size_t most);
  // The same, put together into a new file (print/collection.h).
  Task<fs::Result<print::Collected>> bind_printouts(fs::Path file, fs::PrintoutFilter filter);
  // Jobs that are not printouts yet: the caller's own and those they look after; or all, of which
  // others' tell no more than that they are there.
  std::vector<print::JobView> jobs(bool all = false) const;
  Task<fs::Status> release(std::uint32_t job);
  Task<fs::Status> cancel(std::uint32_t job);
  Task<fs::Status> hold(std::uint32_t job, std::string reason);
  Task<fs::Status> refuse(std::uint32_t job, std::string reason);
  // What becomes of it there.
  Task<fs::Result<HandedIn>> send_to(std::uint32_t job, std::string queue);
  // The new job.
  Task<fs::Result<HandedIn>> print_again(std::uint32_t job, std::string queue);
  // Ends a job that is coming in by a stream, with what has come: the caller's own, of those they
  // look after, or from the machine they sit at. 0 is the only such one. Gives its number.
  fs::Result<std::uint32_t> end_job(std::uint32_t job);
  // What the caller may still print in a queue; nothing when there is no limit.
  std::optional<print::Allowance> allowance(const print::Queue& queue) const;

  // Printouts that nobody has claimed, with their codes, for leaders and managers.
  struct Unclaimed {
    fs::PrintoutView printout;
    std::string code;
  };
  fs::Result<std::vector<Unclaimed>> unclaimed() const;
  // Takes the printout that a code is for into the caller's tray. Wrong codes slow down who gives
  // them.
  Task<fs::Result<fs::PrintoutView>> claim(std::string code);

 private:
  friend class Room;
  fs::Files& files() const { return room_.volume.files(); }
  fs::Status may_work(fs::AccountId account) const;
  void refused(const char* act, std::string subject, const fs::Error& error) const;
  template <class T>
  fs::Result<T> minded(const char* act, std::string subject, fs::Result<T> result) const {
    if (!result) refused(act, std::move(subject), result.error());
    return result;
  }
  fs::Result<fs::ClassView> led_class(std::string_view name) const;
  fs::Result<std::vector<std::string>> recipients(const std::string& to) const;
  void tell_given(const std::vector<fs::Carried>& carried);
  HandedIn handed_in(std::uint32_t job, std::string queue) const;
  using SpoolAct = std::function<fs::Status(print::Spool& spool, const fs::Caller& caller)>;
  Task<fs::Status> handle(SpoolAct act);
  Task<fs::Status> prove(std::string name, std::string password, fs::AccountId& who);
  void note_saved(const fs::Path& file, bool was_there, fs::ContentId newest_before);
  fs::ContentId newest_version(const fs::Path& file) const;
  fs::Status still_as_left(const LastAct& act) const;
  void be(fs::AccountId who);
  static constexpr std::size_t piece_size = 64 * 1024;  // read and written at a time
  void add_told(std::string text);
  void sign_out(std::string why);
  void send_home(const std::string& why);
  void tell_receipt(std::uint32_t number);
  Task<fs::Status> put_password(std::string name, std::string new_password);

  Room& room_;
  std::uint32_t number_;
  std::string door_;
  std::string address_;
  fs::Caller caller_;
  fs::Path here_;
  fs::StationNames names_;
  fs::Time since_;
  std::string doing_;
  std::vector<std::string> told_;
  std::optional<LastAct> last_act_;
};

}  // namespace stationer::server
