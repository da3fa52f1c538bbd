// The server's end of FTP's control connection.
#include <algorithm>
#include <chrono>
#include <string>
#include <utility>
#include <variant>

#include "server/protocol/ftp.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;
using namespace std::chrono_literals;

const FtpEnd peer{boost::asio::ip::address_v4({192, 0, 2, 1}), 4021};

Ftp::Setup setup_of(std::uint8_t how) {
  Ftp::Setup setup;
  setup.greeting = "Tidewrack Mill.";
  setup.peer = peer;
  setup.guests = (how & 1) != 0;
  setup.tls = (how & 2) != 0;
  setup.needs_tls = (how & 6) == 6;
  return setup;
}

class Door {
 public:
  explicit Door(std::uint8_t how) : machine_(setup_of(how), Time(1h)), how_(how) {}

  void hear(std::string_view octets, std::size_t piece) {
    octets_ += octets.size();
    while (!octets.empty() && !closed_) {
      const std::string_view part = octets.substr(0, piece);
      octets.remove_prefix(part.size());
      waiting_ += part;
      feed();
    }
  }
  void sleep(std::chrono::milliseconds how_long) {
    now_ += how_long;
    if (!closed_) handle(machine_.tick(now_));
  }
  void wait_for_deadline() {
    if (const auto due = machine_.deadline()) now_ = std::max(now_, *due);
    if (!closed_) handle(machine_.tick(now_));
  }
  void answer_by(std::uint8_t how) { answers_ = how; }
  void move(std::uint64_t octets) {
    if (transfer_) machine_.moved(octets);
  }
  void end(std::uint8_t how) {
    if (!transfer_) return;
    transfer_ = false;
    if ((how & 1) != 0) {
      handle(machine_.end({(how & 2) != 0 ? fs::Code::over_quota : fs::Code::io, "No."}, now_));
    } else {
      handle(machine_.end(static_cast<Ftp::End>(how >> 1 & 3), "It\nis done.", now_));
    }
    feed();
  }
  void finish() {
    while (transfer_ && !closed_) end(0);
    for (int i = 0; !closed_; ++i) {
      require(i < 3, "silence ends it");
      wait_for_deadline();
    }
  }
  std::uint64_t sum() { return sum_.value(); }

 private:
  void feed() {
    while (!waiting_.empty() && !closed_ && machine_.takes_input()) {
      const auto step = machine_.feed(waiting_, now_);
      require(step.used > 0, "input is taken");
      require(step.used <= waiting_.size(), "no more is taken than there is");
      waiting_.erase(0, step.used);
      handle(step);
    }
    // A line waits for the end of a transfer, never for nothing.
    require(waiting_.empty() || closed_ || transfer_, "input waits for something");
  }

  void handle(Ftp::Step step) {
    for (;;) {
      check(step.send);
      sum_.add(step.send);
      closed_ = closed_ || step.close;
      if (!step.request) break;
      require(!closed_, "what is over asks nothing");
      const Ftp::Request request = std::move(*step.request);
      sum_.add(100 + request.index());
      const auto next = std::visit([this](const auto& each) { return answer(each); }, request);
      if (!next) break;
      step = *next;
    }
    require(machine_.transferring() == (transfer_ && !closed_), "a transfer ends by its answer");
    if (closed_) {
      require(!machine_.takes_input() && !machine_.deadline(), "what is over waits for nothing");
      require(machine_.feed("NOOP\r\n", now_).send.empty(), "what is over says nothing");
    } else {
      require(machine_.deadline().has_value() == !transfer_, "who waits has a deadline");
    }
  }

  // Whole lines, each with a code or a space before it, but for answers to Telnet.
  void check(std::string_view said) {
    sent_ += said.size();
    require(sent_ <= 4096 + 200 * octets_, "replies have a bound");
    while (!said.empty()) {
      if (said.front() == '\xFF') {
        require(said.size() >= 3, "negotiations are refused in three octets");
        said.remove_prefix(3);
        continue;
      }
      const auto end = said.find("\r\n");
      require(end != std::string_view::npos, "replies are whole lines");
      const auto line = said.substr(0, end);
      for (const char c : line) {
        require(static_cast<unsigned char>(c) >= ' ' && c != '\xFF', "replies hold no commands");
      }
      require(!line.empty() && (line[0] == ' ' || (line[0] >= '1' && line[0] <= '5')),
              "a line has a code, or belongs to one");
      said.remove_prefix(end + 2);
    }
  }

  bool refuses() const { return (answers_ & 1) != 0; }
  fs::Error error() const {
    constexpr std::array codes = {fs::Code::denied, fs::Code::wrong_password, fs::Code::busy,
                                  fs::Code::bad_input};
    return {codes[answers_ >> 1 & 3], "No.\r\n226 Yes\xFF."};
  }
  using Next = std::optional<Ftp::Step>;
  Next answer(const Ftp::SignIn& request) {
    sum_.add(request.name);
    sum_.add(request.password);
    return refuses() ? machine_.refuse(error(), now_) : machine_.accept(now_, "Welcome.\nMind.");
  }
  Next answer(const Ftp::SignOut&) { return {}; }
  Next answer(const Ftp::OpenPort& request) {
    require(request.extended || peer.address.is_v4(), "PASV is for IPv4");
    return refuses() ? machine_.refuse(error(), now_) : machine_.listening(peer, now_);
  }
  Next answer(const Ftp::Ask& request) {
    using What = Ftp::Ask::What;
    check_text(request.path);
    if (refuses()) return machine_.refuse(error(), now_);
    const bool yes = request.what == What::change_folder || request.what == What::remove_folder ||
                     request.what == What::remove_file || request.what == What::find;
    return yes ? machine_.accept(now_) : machine_.answer("226 one\n\"two\"\n", now_);
  }
  Next answer(const Ftp::Rename& request) {
    check_text(request.from);
    check_text(request.to);
    require(!request.from.empty() && !request.to.empty(), "both names are there");
    return refuses() ? machine_.refuse(error(), now_) : machine_.accept(now_);
  }
  Next answer(const Ftp::Transfer& request) {
    require(!transfer_, "one transfer at a time");
    check_text(request.path);
    if (request.active) {
      require(request.active->address == peer.address, "data go to the client's machine");
      require(request.active->port >= Ftp::lowest_port, "data go to no service");
      sum_.add(request.active->port);
    }
    sum_.add(request.offset);
    if (refuses()) return machine_.refuse(error(), now_);
    transfer_ = true;
    return machine_.begin("Here.");
  }
  Next answer(const Ftp::Abort&) {
    require(std::exchange(transfer_, false), "what is aborted was on its way");
    return {};
  }
  Next answer(const Ftp::StartTls&) {
    require((how_ & 2) != 0, "TLS is there");
    return {};
  }
  void check_text(std::string_view text) {
    require(text.find('\n') == std::string_view::npos, "no argument holds a line end");
    require(text.size() <= Ftp::longest_line, "arguments have a bound");
    sum_.add(text);
  }

  Time now_ = Time(1h);
  Ftp machine_;
  std::uint8_t how_;
  Sum sum_;
  std::string waiting_;
  std::uint8_t answers_ = 0;
  bool transfer_ = false;
  bool closed_ = false;
  std::size_t octets_ = 0;
  std::size_t sent_ = 0;
};

std::string octets_of(Script& script, unsigned act) {
  static constexpr std::array<std::string_view, 32> said = {"USER doe\r\n",
                                                            "PASS x\r\n",
                                                            "USER ftp\r\nPASS x\r\n",
                                                            "\r\n",
                                                            "RETR f\r\n",
                                                            "STOR g\r\n",
                                                            "APPE g\r\n",
                                                            "LIST -la\r\n",
                                                            "MLSD\r\n",
                                                            "NLST *\r\n",
                                                            "ABOR\r\n",
                                                            "STAT\r\n",
                                                            "QUIT\r\n",
                                                            "REST 12\r\n",
                                                            "TYPE I\r\n",
                                                            "EPSV\r\n",
                                                            "PASV\r\n",
                                                            "EPSV ALL\r\n",
                                                            "PORT 192,0,2,1,15,107\r\n",
                                                            "PORT 192,0,2,1,0,25\r\n",
                                                            "EPRT |1|192.0.2.1|6275|\r\n",
                                                            "RNFR a\r\n",
                                                            "RNTO b\r\n",
                                                            "MLST\r\n",
                                                            "OPTS MLST size;\r\n",
                                                            "FEAT\r\n",
                                                            "AUTH TLS\r\n",
                                                            "PBSZ 0\r\nPROT P\r\n",
                                                            "STAT x\r\n",
                                                            "MKD a b\r\n",
                                                            "\xFF\xF4\xFF\xF2",
                                                            "REIN\r\n"};
  const unsigned detail = act >> 3;
  if ((act & 4) != 0) return std::string(said[detail]);
  return std::string(script.bytes(1 + detail % 8));
}

std::uint64_t dialogue(std::string_view rest, std::uint8_t how, std::size_t piece) {
  constexpr std::array naps = {500ms, 60'000ms, 600'000ms, 900'000ms};
  Script script(rest);
  Door door(how);
  while (!script.over()) {
    const std::uint8_t act = script.number();
    switch (act & 7) {
      case 0: door.sleep(script.one_of(naps, act >> 3)); break;
      case 1: door.answer_by(act >> 3); break;
      case 2: door.end(act >> 3); break;
      case 3: act >= 128 ? door.move(act) : door.wait_for_deadline(); break;
      default: door.hear(octets_of(script, act), piece);
    }
  }
  const std::uint64_t sum = door.sum();
  door.finish();
  return sum;
}

}  // namespace

void ftp(std::string_view input) {
  Script script(input);
  const std::uint8_t how = script.number();
  const std::size_t piece = 1u + (how >> 3) % 5;
  const std::string_view rest = input.substr(std::min<std::size_t>(1, input.size()));
  require(dialogue(rest, how, std::string_view::npos) == dialogue(rest, how, piece),
          "pieces make no difference");
}

}  // namespace stationer::fuzz
