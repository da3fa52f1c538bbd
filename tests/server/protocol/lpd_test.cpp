#include "server/protocol/lpd.h"

#include <random>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;
using namespace std::string_literals;
using stationer::fs::Code;
using stationer::fs::Error;

namespace {

// A caller that answers yes to all, or no at the request it is told to, and writes down what came:
// one line for each request and each reply.
class Caller {
 public:
  explicit Caller(std::string refuse_at = "", Error error = {Code::not_found, "no"})
      : refuse_at_(std::move(refuse_at)), error_(std::move(error)) {}

  Caller& hears(std::string_view octets) {
    while (!octets.empty()) {
      const auto step = lpd_.feed(octets, now);
      octets.remove_prefix(step.used);
      if (!take(step) && step.used == 0) {
        FAIL("the machine takes nothing and asks nothing: " + readable(octets));
      }
    }
    return *this;
  }
  Caller& hears_end() {
    take(lpd_.end_of_input(now));
    return *this;
  }
  Caller& hears_reset() {
    take(lpd_.lost());
    return *this;
  }
  Caller& waits(Time::duration time) {
    now += time;
    while (lpd_.deadline() && *lpd_.deadline() <= now) take(lpd_.tick(now));
    return *this;
  }
  const std::string& log() const { return log_; }
  bool closed() const { return closed_; }
  Time now{};

 private:
  bool take(const Lpd::Step& step) {
    const bool text = step.send.find_first_not_of("\0\1\2"s) != std::string::npos;
    if (text) log_ += "<- " + readable(step.send) + "\n";
    for (const char& octet : step.send) {
      if (!text) log_ += "<- " + to_hex({&octet, 1}) + "\n";
    }
    if (step.request) std::visit([this](const auto& request) { put(request); }, *step.request);
    if (step.close && !closed_) {
      closed_ = true;
      log_ += "closed\n";
    }
    return step.request.has_value() || step.close;
  }
  void decide(const std::string& what) {
    // In its own step, as a spool would that has to wait for the disk.
    take(what == refuse_at_ ? lpd_.refuse(error_) : lpd_.accept(now));
  }
  void put(const Lpd::ReceiveJob& r) {
    log_ += "job for " + r.queue + "\n";
    decide("receive");
  }
  void put(const Lpd::OpenFile& r) {
    octets_ = 0;
    log_ += "open " + (r.size ? std::to_string(*r.size) : "?") + "\n";
    decide("open");
  }
  void put(const Lpd::Piece& r) {
    CHECK_FALSE(r.octets.empty());
    if (octets_ == 0) {
      log_ += "data ";
    } else {
      log_.pop_back();
    }
    octets_ += r.octets.size();
    log_ += readable(r.octets) + "\n";
  }
  void put(const Lpd::CloseFile&) {
    log_ += "close " + std::to_string(octets_) + "\n";
    decide("close");
  }
  void put(const Lpd::DropFile&) { log_ += "drop file\n"; }
  void put(const Lpd::JobReady& r) {
    log_ += "ready";
    REQUIRE(r.files.size() == r.control.files.size());
    for (std::size_t i = 0; i < r.files.size(); ++i) {
      const auto& how = r.control.files[i];
      log_ += " " + std::to_string(r.files[i]) + ":" + how.format + std::to_string(how.copies);
    }
    log_ += " for " + r.control.user + "\n";
    decide("ready");
  }
  void put(const Lpd::Dropped& r) {
    CHECK(r.reason.size() > 20);
    CHECK(r.reason.back() == '.');
    reason = r.reason;
    log_ += "dropped\n";
  }
  static std::string list(const Lpd::Selection& selection) {
    std::string out;
    for (const auto& user : selection.users) out += " user " + user;
    for (const auto& job : selection.jobs) out += " job " + job;
    return out;
  }
  void put(const Lpd::ListQueue& r) {
    log_ += (r.detailed ? "long list " : "short list ") + r.queue + list(r.selection) + "\n";
    take(lpd_.answer("café\tis ready\n"));
  }
  void put(const Lpd::RemoveJobs& r) {
    log_ += "remove " + r.queue + " for " + r.agent + list(r.selection) + "\n";
    take(lpd_.answer("1 job removed\n"));
  }
  void put(const Lpd::StartPrinting& r) {
    log_ += "start " + r.queue + "\n";
    decide("start");
  }

  Lpd lpd_{Time{}};
  std::string refuse_at_;
  Error error_;
  std::string log_;
  std::size_t octets_ = 0;
  bool closed_ = false;

 public:
  std::string reason;
};

const std::string start_job = from_hex("026C700A");

std::string header(char code, std::string_view count, std::string_view name) {
  return code + std::string(count) + " " + std::string(name) + "\n";
}
std::string control_file(std::string_view text) {
  return header('\2', std::to_string(text.size()), "cfA017mill") + std::string(text) + "\0"s;
}
std::string data_file(std::string_view data, std::string_view name = "dfA017mill") {
  return header('\3', std::to_string(data.size()), name) + std::string(data) + "\0"s;
}
const std::string control_text =
    "Hmill\nProbin\nJreport\nCmill\nLrobin\nfdfA017mill\nUdfA017mill\nNreport.txt\n";
const std::string hello = "HELLO\r\n\f";

const std::string began = "job for lp\n<- 00\n";

}  // namespace

TEST_CASE("LPD: a job with its control file first") {  // RFC 1179 §5.2, §6.2, §6.3
  CHECK(control_text.size() == 70);
  Caller caller;
  caller.hears(from_hex("026C700A"));
  CHECK(caller.log() == began);
  caller.hears(from_hex("023730206366413031376D696C6C0A"));
  CHECK(caller.log() == began + "<- 00\n");
  caller.hears(control_text + "\0"s);
  CHECK(caller.log() == began + "<- 00\n<- 00\n");
  caller.hears(from_hex("0338206466413031376D696C6C0A"));
  CHECK(caller.log() == began + "<- 00\n<- 00\nopen 8\n<- 00\n");
  caller.hears(from_hex("48454C4C4F0D0A0C00"));
  const std::string done = began +
                           "<- 00\n<- 00\nopen 8\n<- 00\ndata HELLO<0D><0A><0C>\nclose 8\n"
                           "ready 0:f1 for robin\n<- 00\n";
  CHECK(caller.log() == done);
  caller.hears_end();
  CHECK(caller.log() == done + "closed\n");
}

TEST_CASE("LPD: a job with its data first, as many clients send it") {
  CHECK(Caller()
            .hears(start_job + data_file("one", "dfA017mill") + data_file("two", "dfB017mill"))
            .hears(control_file("Hmill\nProbin\nfdfA017mill\nfdfB017mill\n"))
            .hears_end()
            .log() ==
        began +
            "open 3\n<- 00\ndata one\nclose 3\n<- 00\nopen 3\n<- 00\ndata two\nclose 3\n<- 00\n"
            "<- 00\nready 0:f1 1:f1 for robin\n<- 00\nclosed\n");
}

TEST_CASE("LPD: the last acknowledgement waits until the job is safe") {
  Lpd lpd{Time{}};
  const std::string all = start_job + control_file(control_text) + data_file(hello);
  std::string_view rest = all;
  std::string sent;
  std::string seen;
  while (!rest.empty()) {
    const auto step = lpd.feed(rest, Time{});
    rest.remove_prefix(step.used);
    sent += step.send;
    if (!step.request) continue;
    if (std::holds_alternative<Lpd::Piece>(*step.request)) continue;
    const auto next = lpd.accept(Time{});
    sent += next.send;
    if (next.request) {
      REQUIRE(std::holds_alternative<Lpd::JobReady>(*next.request));
      CHECK(to_hex(sent) == "00000000");  // job, control header, control, data header
      CHECK_FALSE(lpd.deadline().has_value());
      CHECK(lpd.feed("\3", Time{}).used == 0);  // nothing is taken meanwhile
      CHECK(to_hex(lpd.accept(Time{}).send) == "00");
    }
  }
}

TEST_CASE("LPD: one job after another on one connection") {
  const std::string job = data_file(hello) + control_file(control_text);
  const std::string once =
      "open 8\n<- 00\ndata HELLO<0D><0A><0C>\nclose 8\n<- 00\n<- 00\nready 0:f1 for robin\n<- 00\n";
  CHECK(Caller().hears(start_job + job + job).hears_end().log() ==
        began + once + once + "closed\n");
}

TEST_CASE("LPD: several copies, several files, several ways to print") {
  Caller caller;
  caller.hears(start_job + control_file("Pwren\nfdfA1m\nfdfA1m\nrdfB1m\nldfA1m\n") +
               data_file("a", "dfA1m") + data_file("b", "dfB1m"));
  CHECK(caller.log().find("ready 0:f2 1:r1 0:l1 for wren\n") != std::string::npos);
}

TEST_CASE("LPD: files named differently in the two places are taken in order") {
  Caller caller;
  caller.hears(start_job + control_file("Pwren\nfdfA1mill\nfdfB1mill\n") +
               data_file("b", "dfB1mill") + data_file("a", "dfA001other"));
  CHECK(caller.log().find("ready 1:f1 0:f1 for wren\n") != std::string::npos);
}

TEST_CASE("LPD: all 52 file letters are taken, and no more") {  // RFC 2569 §3.2.3
  const std::string letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
  std::string control = "Pwren\n";
  std::string files;
  for (const char letter : letters) {
    const std::string name = std::string("df") + letter + "001mill";
    control += "f" + name + "\n";
    files += data_file("x", name);
  }
  CHECK(Caller().hears(start_job + files + control_file(control)).log().find(" 51:f1 for wren\n") !=
        std::string::npos);
  Caller extra;
  extra.hears(start_job + files + data_file("x", "df0001mill"));
  CHECK(extra.closed());
  CHECK(extra.reason.find("52") != std::string::npos);
  Caller listed;
  listed.hears(start_job + control_file(control + "fdf0001mill\n"));
  CHECK(listed.reason.find("52") != std::string::npos);
}

TEST_CASE("LPD: streaming clients announce a huge size, wait for nothing and close") {
  // Common practice, no source: the size that a client announces before it knows it.
  for (const char* count : {"999999999999", "2147483647", "99999999999999999999999999"}) {
    const std::string stream =
        start_job + control_file(control_text) + header('\3', count, "dfA017mill") + hello;
    const std::string expected = began +
                                 "<- 00\n<- 00\nopen ?\n<- 00\ndata HELLO<0D><0A><0C>\nclose 8\n"
                                 "ready 0:f1 for robin\n<- 00\nclosed\n";
    CHECK(Caller().hears(stream).hears_end().log() == expected);
    // A connection that breaks is not one that ends.
    Caller broken;
    broken.hears(stream).hears_reset();
    CHECK(broken.log().find("ready") == std::string::npos);
    CHECK(broken.log().find("dropped\nclosed\n") != std::string::npos);
  }
}

TEST_CASE("LPD: a believable size not reached is an incomplete job") {
  Caller caller;
  caller.hears(start_job + control_file(control_text) + header('\3', "9", "dfA017mill") + hello)
      .hears_end();
  CHECK(caller.log() == began +
                            "<- 00\n<- 00\nopen 9\n<- 00\ndata HELLO<0D><0A><0C>\n"
                            "<- 01\ndropped\nclosed\n");
  CHECK(caller.reason.find("8 of 9 bytes") != std::string::npos);
}

TEST_CASE("LPD: size 0 means up to the end") {  // RFC 1179 §6.3
  const std::string head = start_job + control_file(control_text) + header('\3', "0", "dfA017mill");
  const std::string log = began + "<- 00\n<- 00\nopen ?\n<- 00\n";
  CHECK(Caller().hears(head + hello).hears_end().log() ==
        log + "data HELLO<0D><0A><0C>\nclose 8\nready 0:f1 for robin\n<- 00\nclosed\n");
  // A single octet 00 and nothing more: an empty file, and a client that waits.
  CHECK(Caller().hears(head + "\0"s).waits(999ms).log() == log);
  CHECK(Caller().hears(head + "\0"s).waits(1s).log() ==
        log + "close 0\nready 0:f1 for robin\n<- 00\n");
  CHECK(Caller().hears(head + "\0"s).hears_end().log() ==
        log + "close 0\nready 0:f1 for robin\n<- 00\nclosed\n");
  CHECK(Caller().hears(head).hears_end().log() ==
        log + "close 0\nready 0:f1 for robin\n<- 00\nclosed\n");
  // Followed by more, it was data; so is every later one.
  CHECK(Caller().hears(head + "\0"s).hears("a\0b"s).hears("\0"s).waits(2s).hears_end().log() ==
        log + "data <00>a<00>b<00>\nclose 5\nready 0:f1 for robin\n<- 00\nclosed\n");
}

TEST_CASE("LPD: a closing octet that never comes") {
  const std::string without =
      start_job + control_file(control_text) + header('\3', "8", "dfA017mill") + hello;
  const std::string log = began + "<- 00\n<- 00\nopen 8\n<- 00\ndata HELLO<0D><0A><0C>\n";
  const std::string ready = "close 8\nready 0:f1 for robin\n<- 00\n";
  CHECK(Caller().hears(without).hears_end().log() == log + ready + "closed\n");
  CHECK(Caller().hears(without).waits(4s).log() == log);
  CHECK(Caller().hears(without).waits(5s).log() == log + ready);
  // It comes after all: skipped, and the next job goes its way.
  CHECK(Caller().hears(without).waits(5s).hears("\0"s + control_file(control_text)).log() ==
        log + ready + "<- 00\n<- 00\n");
}

TEST_CASE("LPD: a closing octet 01 takes the file back without an answer") {
  // Common practice, no source: so says a client whose file changed while it was sent, and goes on.
  Caller caller;
  caller.hears(start_job + header('\3', "3", "dfA017mill") + "old" + "\1");
  const std::string log = began + "open 3\n<- 00\ndata old\ndrop file\n";
  CHECK(caller.log() == log);
  caller.hears(data_file("new") + control_file(control_text));
  CHECK(caller.log() == log +
                            "open 3\n<- 00\ndata new\nclose 3\n<- 00\n<- 00\n"
                            "ready 0:f1 for robin\n<- 00\n");
  // With an LF it is the abort of RFC 1179 §6.1, by a client that sends no closing octets.
  CHECK(Caller().hears(start_job + header('\3', "3", "dfA") + "old" + "\1\n").log() ==
        log + "<- 00\ndropped\n");
}

TEST_CASE("LPD: an abort voids the job and is acknowledged") {  // RFC 1179 §6.1
  Caller caller;
  caller.hears(start_job + data_file(hello) + "\1\n");
  const std::string log = began +
                          "open 8\n<- 00\ndata HELLO<0D><0A><0C>\nclose 8\n<- 00\n"
                          "<- 00\ndropped\n";
  CHECK(caller.log() == log);
  // The same file may come again: it belongs to a new job.
  caller.hears(data_file(hello)).hears_end();
  CHECK(caller.log() == log +
                            "open 8\n<- 00\ndata HELLO<0D><0A><0C>\nclose 8\n<- 00\n"
                            "<- 01\ndropped\nclosed\n");
}

TEST_CASE("LPD: what the caller refuses is refused with the octet that fits, and ends it") {
  const std::string all = start_job + data_file(hello) + control_file(control_text);
  for (const char* at : {"receive", "open", "close", "ready"}) {
    Caller never(at, {Code::not_found, "no such queue"});
    never.hears(all + all);
    CHECK(never.log().substr(never.log().size() - 13) == "\n<- 01\nclosed\n"s.substr(1));
    for (const Code code : {Code::no_space, Code::busy}) {
      Caller later(at, {code, "full"});
      later.hears(all + all).hears_end().waits(1h);
      CHECK(later.log().substr(later.log().size() - 13) == "<- 02\nclosed\n");
    }
  }
}

TEST_CASE("LPD: the state of a queue") {  // RFC 1179 §5.3, §5.4
  const std::string text = "<- cafe<09>is ready<0A>\nclosed\n";
  CHECK(Caller().hears("\3lp\n").log() == "short list lp\n" + text);
  CHECK(Caller().hears("\4lp \n").log() == "long list lp\n" + text);
  CHECK(Caller().hears(from_hex("046C7020726F62696E203031370A")).log() ==
        "long list lp user robin job 017\n" + text);
  CHECK(Caller().hears("\3lp\trobin\v12\f wren\n").log() ==
        "short list lp user robin user wren job 12\n" + text);
  CHECK(Caller().hears("\3\n").log() == "short list \n" + text);  // the default queue
  CHECK(Caller().hears("\3 robin\n").log() == "short list  user robin\n" + text);
}

TEST_CASE("LPD: removing jobs, and starting a queue") {  // RFC 1179 §5.5, §5.1
  CHECK(Caller().hears(from_hex("056C7020726F62696E203031370A")).log() ==
        "remove lp for robin job 017\n<- 1 job removed<0A>\nclosed\n");
  CHECK(Caller().hears("\5lp robin\n").log() ==
        "remove lp for robin\n<- 1 job removed<0A>\nclosed\n");
  CHECK(Caller().hears("\1lp\n").log() == "start lp\n<- 00\nclosed\n");
  CHECK(Caller("start").hears("\1lp\n").log() == "start lp\n<- 01\nclosed\n");
}

TEST_CASE("LPD: one command for each connection") {
  CHECK(Caller().hears("\1lp\n\2lp\n").log() == "start lp\n<- 00\nclosed\n");
}

TEST_CASE("LPD: what is not LPD is told from it at once") {
  for (const std::string& input :
       {"GET / HTTP/1.0\r\n\r\n"s, "\n"s, "\0\n"s, "\6lp\n"s, "\x1B[0m\n"s, "\xFF\xFB\x01\n"s}) {
    Caller caller;
    caller.hears(input);
    CHECK(caller.log() == "<- 01\ndropped\nclosed\n");
  }
}

TEST_CASE("LPD: commands that make no sense are refused with a reason") {
  for (const std::string& line :
       {"\3dfA\n"s, "\3\n"s, "\3-5 dfA\n"s, "\3 5\n"s, "\3x dfA\n"s, "\0029 \n"s, "\0020 cfA\n"s,
        "\2 65537 cfA\n"s, "\4 3 dfA\n"s, "\1 3 dfA\n"s, "hello\n"s, "\n"s}) {
    Caller caller;
    caller.hears(start_job + line);
    CAPTURE(readable(line));
    CHECK(caller.log() == began + "<- 01\ndropped\nclosed\n");
    CHECK_FALSE(caller.reason.empty());
  }
  // Two control files, the same data file twice, nothing to print, more than was announced.
  for (const std::string& input :
       {control_file(control_text) + control_file(control_text), data_file("x") + data_file("x"),
        control_file("Hmill\nPwren\n"), header('\3', "1", "dfA") + "xy"}) {
    Caller caller;
    caller.hears(start_job + input);
    CHECK(caller.log().find("<- 01\ndropped\nclosed\n") != std::string::npos);
  }
}

TEST_CASE("LPD: ends and breaks at every place void what is not complete") {
  const std::string all = start_job + control_file(control_text) + data_file(hello);
  for (std::size_t at = 0; at <= all.size(); ++at) {
    Caller ended;
    ended.hears(all.substr(0, at)).hears_end();
    CAPTURE(at, ended.log());
    CHECK(ended.closed());
    // The closing octet of the last file is the only one that may lack.
    const bool whole = at >= all.size() - 1;
    CHECK((ended.log().find("ready") != std::string::npos) == whole);
    if (at > start_job.size() && !whole) CHECK(ended.log().find("dropped") != std::string::npos);

    Caller broken;
    broken.hears(all.substr(0, at)).hears_reset();
    CHECK((broken.log().find("ready") != std::string::npos) == (at == all.size()));
    CHECK((broken.log().find("dropped") != std::string::npos) ==
          (at > start_job.size() + 15 - 1 && at != all.size()));
    CHECK(broken.closed());
  }
}

TEST_CASE("LPD: a broken connection while the job is made safe voids it") {
  Lpd lpd{Time{}};
  std::string_view rest = start_job;
  lpd.feed(rest, Time{});
  CHECK_FALSE(lpd.lost().request.has_value());  // nothing had come yet

  Lpd job{Time{}};
  const std::string all = start_job + data_file(hello) + control_file(control_text);
  rest = all;
  bool ready = false;
  while (!ready) {
    const auto step = job.feed(rest, Time{});
    rest.remove_prefix(step.used);
    if (!step.request || std::holds_alternative<Lpd::Piece>(*step.request)) continue;
    ready = std::holds_alternative<Lpd::JobReady>(*step.request);
    if (!ready) job.accept(Time{});
  }
  const auto step = job.lost();
  CHECK(std::holds_alternative<Lpd::Dropped>(*step.request));
  CHECK_THROWS_AS(job.accept(Time{}), std::logic_error);
}

TEST_CASE("LPD: answers that nobody waits for are bugs") {
  Lpd lpd{Time{}};
  CHECK_THROWS_AS(lpd.accept(Time{}), std::logic_error);
  CHECK_THROWS_AS(lpd.refuse({Code::busy, ""}), std::logic_error);
  lpd.feed("\3lp\n", Time{});
  CHECK_THROWS_AS(lpd.accept(Time{}), std::logic_error);
  CHECK(lpd.answer("").close);
}

TEST_CASE("LPD: silence ends the connection") {
  CHECK(Caller().waits(299s).log().empty());
  CHECK(Caller().waits(300s).log() == "<- 01\ndropped\nclosed\n");
  CHECK(Caller().hears(start_job).waits(300s).log() == began + "<- 01\ndropped\nclosed\n");
  CHECK(Caller().hears("\2l").waits(200s).hears("p\n").waits(299s).log() == began);
}

TEST_CASE("invariant 6: endless lines, endless files, endless control files") {
  Caller line;
  line.hears("\2" + std::string(1 << 20, 'q'));
  CHECK(line.log() == "<- 01\ndropped\nclosed\n");
  Caller sub;
  sub.hears(start_job + "\3" + std::string(1 << 20, '1'));
  CHECK(sub.log() == began + "<- 01\ndropped\nclosed\n");
  Caller control;
  control.hears(start_job + header('\2', "70000", "cfA017mill") + std::string(70000, 'x'));
  CHECK(control.log() == began + "<- 01\ndropped\nclosed\n");
  CHECK(control.reason.find("70000") != std::string::npos);

  // Data pass through: a piece is a view of the input, never a copy.
  Lpd lpd{Time{}};
  lpd.feed(start_job, Time{});
  lpd.accept(Time{});
  lpd.feed(header('\3', "999999999999", "dfA017mill"), Time{});
  lpd.accept(Time{});
  const std::string block(1 << 16, 'x');
  for (int i = 0; i < 64; ++i) {
    const auto step = lpd.feed(block, Time{});
    const auto& piece = std::get<Lpd::Piece>(*step.request);
    REQUIRE(piece.octets.data() == block.data());
    REQUIRE(piece.octets.size() == block.size());
  }
}

TEST_CASE("LPD: every cut of the input gives the same requests and replies") {
  const std::string inputs[] = {
      start_job + control_file(control_text) + data_file(hello),
      start_job + data_file(hello) + control_file(control_text) + data_file("more", "dfB"),
      start_job + control_file(control_text) + header('\3', "0", "dfA017mill") + "\0\0ab\0"s,
      start_job + header('\3', "3", "dfA017mill") + "old\1" + data_file("new") + "\1\n" +
          control_file(control_text) + header('\3', "999999999999", "dfA017mill") + hello,
      "\4lp robin 017\n",
      "\5lp robin 017\n",
      "GET / HTTP/1.0\r\n\r\n",
  };
  for (const auto& input : inputs) {
    const auto whole = Caller().hears(input).hears_end().log();
    every_cut(input, [&](std::string_view first, std::string_view second) {
      REQUIRE(Caller().hears(first).hears(second).hears_end().log() == whole);
    });
    Caller slowly;
    for (const char& c : input) slowly.hears({&c, 1});
    CHECK(slowly.hears_end().log() == whole);
  }
}

TEST_CASE("LPD: every octet may come at every place") {
  const std::string all = start_job + control_file(control_text) + data_file(hello);
  for (std::size_t at = 0; at < all.size(); ++at) {
    for (int octet = 0; octet < 256; ++octet) {
      std::string bent = all;
      bent[at] = static_cast<char>(octet);
      Caller caller;
      caller.hears(bent).hears_end();
      REQUIRE(caller.closed());
    }
  }
}

TEST_CASE("LPD: noise after a good beginning is survived, however it is cut") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 500; ++round) {
    std::string input = start_job;
    for (int i = 0; i < 40; ++i) {
      const std::string parts[] = {control_file(control_text),
                                   data_file(hello),
                                   header('\3', std::to_string(random() % 12), "dfA017mill"),
                                   "\1\n",
                                   "\0"s,
                                   "\1",
                                   std::string(1, static_cast<char>(random() % 256)),
                                   data_file("x", "dfB" + std::to_string(random() % 100))};
      input += parts[random() % std::size(parts)];
    }
    const auto whole = Caller().hears(input).hears_end().log();
    Caller cut;
    for (std::size_t at = 0; at < input.size();) {
      const std::size_t length = 1 + random() % 20;
      cut.hears(std::string_view(input).substr(at, length));
      at += length;
    }
    REQUIRE(cut.hears_end().log() == whole);
    CHECK(cut.closed());
  }
}
