#include "server/net/terminal_door.h"

#include <algorithm>
#include <functional>
#include <optional>
#include <utility>

#include "fs/text.h"
#include "server/net/discard.h"
#include "server/protocol/dialect.h"
#include "server/session.h"
#include "server/terminal/idleness.h"
#include "server/terminal/shell.h"

namespace stationer::server {
namespace {

// Bytes waiting to be sent above which no more is read, so that nobody can make us pile up answers.
constexpr std::size_t most_unsent = 64 * 1024;
constexpr std::chrono::seconds turned_away{30};
constexpr char delete_key = 0x7F;
constexpr char drop_line_key = 0x15;

class TerminalConnection : public Connection {
 public:
  TerminalConnection(Room& room, const TerminalConfig& config, std::unique_ptr<Stream> stream)
      : room_(room),
        config_(config),
        stream_(std::move(stream)),
        setup_(setup_of(room, config, stream_->address())),
        dialect_(config.telnet) {}

  Task<void> run() override {
    if (auto fine = room_.stations.admit(stream_->address(), config_.door); !fine) {
      co_await turn_away(fine.error().message);
      co_return;
    }
    stream_->watch_urgent();
    send_words(Shell::greeting(room_.volume.name()));
    handle(dialect_.start());
    while (!is_over() && !broken_) {
      if (is_too_far_behind()) {
        // Woken when output has gone, or what was typed has been taken.
        behind_.emplace();
        const auto caught_up = *behind_;
        co_await caught_up;
        continue;
      }
      auto read = co_await stream_->read(deadline());
      const Time now = room_.loop.now();
      if (read.urgent) dialect_.urgent();
      if (!read.bytes.empty()) handle(dialect_.feed(read.bytes, now));
      handle(dialect_.tick(now));
      if (terminal_) terminal_->tick(now);
      heed_idleness(now);
      if (read.end == Stream::Read::End::broken) co_return;
      if (read.end == Stream::Read::End::orderly) {
        co_await finish_without_input();
        co_return;
      }
    }
    co_await let_output_go();
    stream_->end_output();
  }

  void stopping() override {
    if (terminal_) terminal_->say("The service is stopping. Good-bye.");
  }

 private:
  // What the line is said to be like, and what the station's profile says of it.
  static Terminal::Setup setup_of(const Room& room, const TerminalConfig& config,
                                  const std::string& address) {
    Terminal::Setup setup = config.setup;
    if (const Profile* own = room.stations.own_profile_at(address)) {
      setup.screen = own->screen;
      setup.rows = own->rows;
      setup.names = own->names;
    }
    return setup;
  }

  // Before anything is agreed on.
  void send_words(std::string words) {
    if (setup_.screen.capitals) words = fs::ascii_upper(words);
    send(dialect_.encode(words));
  }

  // Says why, and leaves it to the far end to go, for a while.
  Task<void> turn_away(const std::string& why) {
    send_words(why + "\r\n");
    co_await let_output_go();
    stream_->end_output();
    co_await discard_input(*stream_, room_.loop.now() + turned_away);
  }

  bool is_over() const { return shell_ && shell_->done(); }

  // The earliest of those there are.
  std::optional<Time> deadline() const {
    std::optional<Time> first;
    for (const auto& each :
         {dialect_.deadline(), terminal_ ? terminal_->deadline() : std::nullopt, idle_deadline()}) {
      if (each && (!first || *each < *first)) first = each;
    }
    return first;
  }

  std::optional<Time> idle_deadline() const {
    return shell_ && !is_over() ? idleness_.deadline() : std::nullopt;
  }

  // Whoever left without signing off is signed off, so that nobody else sits down in their name.
  // Who has not signed in may look at the greeting as long as they like.
  void heed_idleness(Time now) {
    const auto due = idle_deadline();
    if (!due || now < *due) return;
    if (!session_->signed_in()) return idleness_.typed(now);
    switch (idleness_.tick(now)) {
      case Idleness::Says::nothing: return;
      case Idleness::Says::ask:
        terminal_->announce("Are you there? You will be signed off soon. Any key stops that.");
        break;
      case Idleness::Says::over: shell_->break_off("Nothing was typed for a long time."); break;
    }
    take_output();
  }

  bool is_too_far_behind() const {
    return unsent_.size() > most_unsent || (terminal_ && !terminal_->takes_input());
  }

  // The far end has said all it will, but may still read: what it typed ahead is answered.
  Task<void> finish_without_input() {
    if (terminal_ && !broken_) {
      if (!is_over() && !terminal_->waits_for_input()) {
        ended_.emplace();
        const auto ended = *ended_;
        co_await ended;
      }
      co_await let_output_go();
    }
    stream_->end_output();
  }

  void handle(std::vector<Dialect::Event> events) {
    for (auto& event : events) {
      std::visit([this](auto& each) { on(each); }, event);
    }
  }

  void on(const Dialect::Known& known) {
    if (terminal_) {
      terminal_->set_echo(known.echo);
      return;
    }
    session_.emplace(room_, config_.door, stream_->address());
    auto setup = setup_;
    setup.echo = known.echo;
    if (columns_ > 0) setup.screen.columns = columns_;
    if (rows_ > 0) setup.rows = rows_;
    terminal_.emplace(setup);
    terminal_->on_progress = [this] { take_output(); };
    terminal_->on_wire = [this](bool open) {
      take_output();
      stream_->carry(open);
      send(dialect_.carry(open));
      if (open && dialect_.settled()) terminal_->wire_ready();
    };
    terminal_->on_deadline = [this] { later([this] { stream_->wake(); }); };
    session_->on_told = [this] { tell_idle(); };
    session_->on_sent_home = [this](const std::string& why) {
      if (shell_) shell_->break_off(why);
    };
    session_->on_extended = [this](std::chrono::minutes how_long) {
      idleness_.extend(room_.loop.now() + how_long);
      later([this] { stream_->wake(); });
    };
    shell_.emplace(*session_, *terminal_, config_.guests, config_.sign_on_of(stream_->address()));
    shell_->on_done = [this] { later([this] { wake(); }); };
    shell_->start();
    take_output();
  }
  void on(const Telnet::Data& data) {
    if (!terminal_) return;
    idleness_.typed(room_.loop.now());
    terminal_->typed(data.bytes);
    take_output();
  }
  void on(const Telnet::Send& answer) {
    if (answer.urgent) {
      // What was still to be shown is what the member wants to be rid of.
      unsent_.clear();
      urgent_end_ = true;
    }
    send(answer.bytes);
  }
  void on(Telnet::Signal signal) {
    if (!terminal_) return;
    switch (signal) {
      case Telnet::Signal::interrupt:
      case Telnet::Signal::break_key:
      case Telnet::Signal::abort_output: terminal_->interrupt(); break;
      case Telnet::Signal::erase_character: terminal_->typed({&delete_key, 1}); break;
      case Telnet::Signal::erase_line: terminal_->typed({&drop_line_key, 1}); break;
      case Telnet::Signal::are_you_there:
      case Telnet::Signal::end_of_record: break;
    }
    take_output();
  }
  void on(const Telnet::WindowSize& size) {
    columns_ = size.columns;
    rows_ = size.rows;
    if (terminal_) terminal_->resize(columns_, rows_);
  }
  void on(const Telnet::TerminalType&) {}
  void on(const Telnet::Settled&) {
    if (terminal_ && dialect_.settled()) terminal_->wire_ready();
  }

  // What the session was told shows at once on a screen that is waiting for a command.
  void tell_idle() {
    later([this] {
      if (!shell_ || shell_->done()) return;
      shell_->show_news();
      take_output();
    });
  }

  // Soon, if this connection is still there then.
  void later(std::function<void()> act) {
    room_.loop.post([alive = std::weak_ptr<int>(alive_), act = std::move(act)] {
      if (!alive.expired()) act();
    });
  }

  void take_output() {
    if (terminal_ && unsent_.size() <= most_unsent && terminal_->has_output()) {
      send(dialect_.encode(terminal_->take_output()));
    }
    if (!is_too_far_behind()) resume(behind_);
    if (ended_ && terminal_->waits_for_input()) resume(ended_);
  }

  static void resume(std::optional<Later<bool>>& waiting) {
    if (waiting) std::exchange(waiting, std::nullopt)->bring(true);
  }

  // Whatever run() waits for, it looks up and sees how things are.
  void wake() {
    stream_->wake();
    resume(behind_);
    resume(ended_);
  }

  void send(std::string bytes) {
    if (bytes.empty() || broken_) return;
    unsent_ += bytes;
    if (sending_) return;
    sending_ = true;
    sender_ = send_all();
    sender_.start();
  }

  Task<void> send_all() {
    // Not before whoever called send() is done: they may have more to send in one go.
    Later<bool> soon;
    room_.loop.post([soon] { soon.bring(true); });
    co_await soon;
    while (!unsent_.empty()) {
      std::string bytes = std::exchange(unsent_, std::string());
      const bool urgent_end = std::exchange(urgent_end_, false);
      const bool sent = co_await stream_->write(std::move(bytes), urgent_end);
      if (!sent) {
        // Nobody is there to read, whatever is still to be said.
        broken_ = true;
        unsent_.clear();
        later([this] { wake(); });
        break;
      }
      take_output();
    }
    sending_ = false;
    resume(sent_all_);
  }

  Task<void> let_output_go() {
    take_output();
    if (!sending_) co_return;
    sent_all_.emplace();
    const auto sent = *sent_all_;
    co_await sent;
  }

  Room& room_;
  const TerminalConfig& config_;
  std::unique_ptr<Stream> stream_;
  const Terminal::Setup setup_;
  Dialect dialect_;
  Idleness idleness_{config_.idle};
  int columns_ = 0;
  int rows_ = 0;
  std::shared_ptr<int> alive_ = std::make_shared<int>(0);
  std::optional<Session> session_;
  std::optional<Terminal> terminal_;
  std::string unsent_;
  bool urgent_end_ = false;
  bool sending_ = false;
  bool broken_ = false;  // writing failed
  std::optional<Later<bool>> behind_;
  std::optional<Later<bool>> ended_;
  std::optional<Later<bool>> sent_all_;
  Task<void> sender_;
  std::optional<Shell> shell_;  // the last: it goes first
};

}  // namespace

std::unique_ptr<Connection> make_terminal_connection(Room& room, const TerminalConfig& config,
                                                     std::unique_ptr<Stream> stream) {
  return std::make_unique<TerminalConnection>(room, config, std::move(stream));
}

}  // namespace stationer::server
