#include "server/protocol/ftp.h"

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;
using namespace std::string_literals;
using stationer::fs::Code;
using stationer::fs::Error;

namespace {

const FtpEnd peer{boost::asio::ip::make_address("192.0.2.1"), 4021};

Ftp::Setup setup_of(bool tls = false, bool needs_tls = false) {
  Ftp::Setup setup;
  setup.greeting = "Tidewrack Mill.";
  setup.peer = peer;
  setup.tls = tls;
  setup.needs_tls = needs_tls;
  return setup;
}

// A caller that grants what is asked, or refuses it with an error, and writes down what came: one
// line for each request and each line of a reply.
class Caller {
 public:
  explicit Caller(const Ftp::Setup& setup = setup_of()) : ftp(setup, Time{}) {}

  Caller& hears(std::string_view octets) {
    input_ += octets;
    while (!input_.empty() && ftp.takes_input()) {
      const auto step = ftp.feed(input_, now);
      REQUIRE(step.used > 0);
      input_.erase(0, step.used);
      take(step);
    }
    return *this;
  }
  // A line, and what came of it.
  std::string says(std::string_view line) {
    const std::size_t before = log.size();
    hears(std::string(line) + "\r\n");
    return log.substr(before);
  }
  // The codes of its replies.
  std::string codes(std::string_view line) {
    std::string out;
    std::string lines = says(line);
    while (!lines.empty()) {
      const std::string each = lines.substr(0, lines.find('\n'));
      lines.erase(0, each.size() + 1);
      if (each.size() < 4 || each[3] != ' ' || each[0] < '1' || each[0] > '5') continue;
      out += (out.empty() ? "" : " ") + each.substr(0, 3);
    }
    return out;
  }
  Caller& signs_in() {
    hears("USER doe\r\nPASS x\r\n");
    log.clear();
    return *this;
  }
  // The end of the transfer that is on its way.
  Caller& ends(Ftp::End how = Ftp::End::done) {
    take(ftp.end(how, "", now));
    return hears("");
  }
  Caller& fails(Code code) {
    take(ftp.end(Error{code, "Because."}, now));
    return hears("");
  }
  Caller& waits(Time::duration time) {
    now += time;
    if (ftp.deadline() && *ftp.deadline() <= now) take(ftp.tick(now));
    return *this;
  }

  Ftp ftp;
  Time now{};
  std::string log;
  bool closed = false;
  std::optional<Error> refuses;           // with what
  std::string told = "/usr/dm/foo\"bar";  // what is answered

 private:
  void take(const Ftp::Step& step) {
    std::string text = step.send;
    std::erase(text, '\r');
    log += text;
    if (step.close && !std::exchange(closed, true)) log += "closed\n";
    if (step.request) std::visit([this](const auto& request) { put(request); }, *step.request);
  }
  void put(const Ftp::SignIn& r) {
    log += "sign in " + r.name + " " + r.password + "\n";
    take(refuses ? ftp.refuse(*refuses, now) : ftp.accept(now));
  }
  void put(const Ftp::SignOut&) { log += "sign out\n"; }
  void put(const Ftp::OpenPort& r) {
    log += r.extended ? "open a port\n" : "open a port of IPv4\n";
    // The port of the example in 3659 §5.5.
    const FtpEnd at{boost::asio::ip::make_address("127.0.0.1"), 3947};
    take(refuses ? ftp.refuse(*refuses, now) : ftp.listening(at, now));
  }
  void put(const Ftp::Ask& r) {
    using What = Ftp::Ask::What;
    log += "ask " + std::to_string(static_cast<int>(r.what)) + " " + r.path +
           (r.ascii ? " A" : "") + "\n";
    const bool yes = r.what == What::change_folder || r.what == What::remove_folder ||
                     r.what == What::remove_file || r.what == What::find;
    if (refuses) return take(ftp.refuse(*refuses, now));
    take(yes ? ftp.accept(now) : ftp.answer(told, now));
  }
  void put(const Ftp::Rename& r) {
    log += "rename " + r.from + " to " + r.to + "\n";
    take(refuses ? ftp.refuse(*refuses, now) : ftp.accept(now));
  }
  void put(const Ftp::Transfer& r) {
    log += "transfer " + std::to_string(static_cast<int>(r.what)) + " " + r.path +
           (r.ascii ? " A" : "") + (r.secret ? " P" : "") +
           (r.offset > 0 ? " from " + std::to_string(r.offset) : "");
    if (r.active)
      log += " to " + r.active->address.to_string() + ":" + std::to_string(r.active->port);
    log += "\n";
    take(refuses ? ftp.refuse(*refuses, now) : ftp.begin("Here it comes."));
  }
  void put(const Ftp::Abort&) { log += "abort\n"; }
  void put(const Ftp::StartTls&) { log += "start TLS\n"; }

  std::string input_;
};

// The codes of the replies to one line of somebody who has signed in, when all is granted.
std::string granted(std::string_view line) {
  Caller caller;
  return caller.signs_in().codes(line);
}
std::string refused(std::string_view line, Code code) {
  Caller caller;
  caller.signs_in();
  caller.refuses = Error{code, "Because."};
  return caller.codes(line);
}

}  // namespace

// 959 §5.4, 3659 §4, §5: the sheet's dialogue, steps 1 to 3.
TEST_CASE("a dialogue from signing in to a file that is resumed") {
  Caller caller;
  CHECK(caller.ftp.greeting() == "220 Tidewrack Mill.\r\n");
  CHECK(caller.codes("USER doe") == "331");
  CHECK(caller.says("PASS x") == "sign in doe x\n230 Welcome.\n");
  CHECK(caller.codes("TYPE I") == "200");
  CHECK(caller.says("EPSV") == "open a port\n229 Entering Extended Passive Mode (|||3947|)\n");
  caller.told = "1830";
  CHECK(caller.says("SIZE f") == "ask 6 f\n213 1830\n");
  CHECK(caller.codes("REST 800") == "350");
  CHECK(caller.says("RETR f") == "transfer 0 f from 800\n150 Here it comes.\n");
  caller.log.clear();
  CHECK(caller.ends().log == "226 Done.\n");
  // An offset is for the next transfer only, and that comes at once but for where it goes.
  CHECK(caller.says("RETR f").find("from") == std::string::npos);
  caller.ends();
  CHECK(caller.codes("REST 800") == "350");
  caller.says("EPSV");
  CHECK(caller.says("RETR f") == "transfer 0 f from 800\n150 Here it comes.\n");
  caller.ends();
  CHECK(caller.codes("REST 800") == "350");
  caller.says("NOOP");
  CHECK(caller.says("RETR f").find("from") == std::string::npos);
  caller.ends();
  CHECK(caller.says("QUIT") == "221 Good-bye.\nclosed\n");
}

// 959 §4.1.3, Appendix II: steps 4 to 7, 9.
TEST_CASE("names are changed, made and asked for as RFC 959 tells") {
  Caller caller;
  caller.signs_in();
  CHECK(caller.codes("RNTO b") == "503");
  CHECK(caller.codes("RNFR a") == "350");
  CHECK(caller.says("RNTO b") == "rename a to b\n250 Done.\n");
  CHECK(caller.codes("RNFR a") == "350");
  CHECK(caller.codes("NOOP") == "200");
  CHECK(caller.codes("RNTO b") == "503");
  CHECK(caller.says("MKD foo\"bar") == "ask 1 foo\"bar A\n257 \"/usr/dm/foo\"\"bar\" is there.\n");
  CHECK(caller.codes("PWD") == "257");
  CHECK(caller.codes("TYPE Q") == "504");
  CHECK(caller.codes("MODE B") == "504");
  CHECK(caller.codes("XYZZY") == "500");
  CHECK(caller.codes("PORT 192,0,2,9,0,25") == "504");
}

// 959 §5.4; the codes are those of the rows of its table, 250 for CDUP by Appendix II.
TEST_CASE("every command has the reply of its row, when it is granted and when it is refused") {
  struct Row {
    const char* line;
    const char* granted;
    const char* refused;  // for want of rights
  };
  const Row rows[] = {
      {"ACCT x", "202", "202"},
      {"CWD x", "250", "550"},
      {"XCWD x", "250", "550"},
      {"CDUP", "250", "550"},
      {"XCUP", "250", "550"},
      {"RMD x", "250", "550"},
      {"XRMD x", "250", "550"},
      {"REIN", "220", "220"},
      {"QUIT", "221", "221"},
      {"PORT 192,0,2,1,15,107", "200", "200"},
      {"PASV", "227", "421"},
      {"EPSV", "229", "421"},
      {"EPRT |1|192.0.2.1|6275|", "200", "200"},
      {"TYPE A", "200", "200"},
      {"TYPE A N", "200", "200"},
      {"TYPE A T", "200", "200"},
      {"TYPE A C", "504", "504"},
      {"TYPE L 8", "200", "200"},
      {"TYPE L 36", "504", "504"},
      {"TYPE E", "504", "504"},
      {"MODE S", "200", "200"},
      {"MODE C", "504", "504"},
      {"STRU F", "200", "200"},
      {"STRU R", "504", "504"},
      {"ALLO 4096", "202", "202"},
      {"ALLO 4096 R 80", "202", "202"},
      {"ALLO x", "501", "501"},
      {"REST 800", "350", "350"},
      {"REST x", "501", "501"},
      {"REST -1", "501", "501"},
      {"RETR x", "150", "550"},
      {"STOR x", "150", "550"},
      {"STOU", "150", "550"},
      {"APPE x", "150", "550"},
      {"LIST", "150", "450"},
      {"NLST x", "150", "450"},
      {"MLSD", "150", "550"},
      {"MLST x", "250", "550"},
      {"RNFR x", "350", "550"},
      {"DELE x", "250", "550"},
      {"MKD x", "257", "550"},
      {"XMKD x", "257", "550"},
      {"PWD", "257", "550"},
      {"XPWD", "257", "550"},
      {"ABOR", "225", "225"},
      {"SYST", "215", "215"},
      {"STAT", "211", "211"},
      {"STAT x", "212", "450"},
      {"HELP", "214", "214"},
      {"HELP STOR", "214", "214"},
      {"SITE CHMOD 600 x", "501", "501"},
      {"NOOP", "200", "200"},
      {"SIZE x", "213", "550"},
      {"MDTM x", "213", "550"},
      {"FEAT", "211", "211"},
      {"FEAT x", "501", "501"},
      {"OPTS UTF8 ON", "200", "200"},
      {"OPTS MLST size;type;", "200", "200"},
      {"OPTS XYZZY", "501", "501"},
      {"SMNT x", "502", "502"},
      {"AUTH TLS", "502", "502"},
      {"RETR", "501", "501"},
      {"CWD", "501", "501"},
      {"PASV x", "501", "501"},
      {"", "500", "500"},
      {"RETRIEVE x", "500", "500"},
  };
  for (const Row& row : rows) {
    INFO(row.line);
    CHECK(granted(row.line) == row.granted);
    CHECK(refused(row.line, Code::denied) == row.refused);
    std::string small = row.line;
    for (char& c : small) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    CHECK(granted(small) == row.granted);
  }
}

// 959 §4.2.1 and §5.4: 452 before the transfer, 552 in it.
TEST_CASE("a refusal tells by its code what was in the way") {
  CHECK(refused("STOR x", Code::over_quota) == "452");
  CHECK(refused("STOR x", Code::no_space) == "452");
  CHECK(refused("STOR x", Code::bad_name) == "553");
  CHECK(refused("STOR x", Code::is_a_folder) == "553");
  CHECK(refused("STOR x", Code::busy) == "450");
  CHECK(refused("STOR x", Code::kept) == "550");
  CHECK(refused("RETR x", Code::not_found) == "550");
  CHECK(refused("RETR x", Code::bad_input) == "554");
  CHECK(refused("MLSD x", Code::not_a_folder) == "501");
  CHECK(refused("DELE x", Code::busy) == "450");
  Caller caller;
  caller.signs_in().hears("RNFR a\r\n");
  caller.refuses = Error{Code::exists, "Because."};
  CHECK(caller.codes("RNTO b") == "553");
}

TEST_CASE("a transfer ends by the reply for what became of it") {
  const auto end_of = [](std::string_view line, auto act) {
    Caller caller;
    caller.signs_in().hears(std::string(line) + "\r\n");
    caller.log.clear();
    act(caller);
    return caller.log.substr(0, 3);
  };
  CHECK(end_of("RETR x", [](Caller& c) { c.ends(); }) == "226");
  CHECK(end_of("RETR x", [](Caller& c) { c.ends(Ftp::End::no_connection); }) == "425");
  CHECK(end_of("RETR x", [](Caller& c) { c.ends(Ftp::End::broken); }) == "426");
  CHECK(end_of("RETR x", [](Caller& c) { c.fails(Code::io); }) == "451");
  CHECK(end_of("STOR x", [](Caller& c) { c.fails(Code::over_quota); }) == "552");
  CHECK(end_of("APPE x", [](Caller& c) { c.fails(Code::no_space); }) == "552");
  CHECK(end_of("STOR x", [](Caller& c) { c.fails(Code::denied); }) == "451");
}

TEST_CASE("what is for those who are signed in is for nobody else") {
  for (const char* line :
       {"CWD x", "LIST", "RETR x", "STOR x", "PASV", "EPSV", "MKD x", "DELE x", "TYPE I", "SIZE x",
        "MLSD", "PORT 192,0,2,1,15,107", "STAT x", "REST 1"}) {
    INFO(line);
    Caller caller;
    CHECK(caller.codes(line) == "530");
    CHECK(caller.says(line).find("transfer") == std::string::npos);
  }
  Caller caller;
  CHECK(caller.codes("PWD") == "550");  // 959 §5.4 has no 530 in its row
  CHECK(caller.codes("PASS x") == "503");
  CHECK(caller.codes("ACCT x") == "503");
  for (const char* line : {"SYST", "FEAT", "NOOP", "HELP", "STAT"}) {
    INFO(line);
    CHECK(caller.codes(line).substr(0, 1) == "2");
  }
}

// 2577 §7, §5
TEST_CASE("every name is asked for a password, and five wrong ones end it") {
  Caller caller;
  caller.refuses = Error{Code::wrong_password, "That is not right."};
  for (int i = 0; i < 4; ++i) {
    CHECK(caller.codes("USER nobody-of-that-name") == "331");
    CHECK(caller.codes("PASS x") == "530");
    CHECK(caller.codes("PASS x") == "503");
  }
  caller.says("USER doe");
  CHECK(caller.codes("PASS x") == "421");
  CHECK(caller.closed);
  CHECK(caller.says("USER doe").empty());
}

TEST_CASE("guests need no password where they are welcome") {
  for (const char* name : {"anonymous", "FTP", "Guest"}) {
    Caller caller;
    CHECK(caller.codes("USER "s + name) == "331");
    CHECK(caller.says("PASS me@example") == "230 Welcome. Look around.\n");
    CHECK(caller.codes("LIST") == "150");
    auto setup = setup_of();
    setup.guests = false;
    Caller elsewhere(setup);
    elsewhere.says("USER "s + name);
    CHECK(elsewhere.says("PASS me") == "sign in "s + name + " me\n230 Welcome.\n");
  }
}

TEST_CASE("who signs in anew, or begins again, is signed out first") {
  Caller caller;
  caller.signs_in();
  CHECK(caller.says("USER wren").find("sign out\n") != std::string::npos);
  CHECK(caller.codes("LIST") == "530");
  caller.says("PASS y");
  caller.says("TYPE I");
  CHECK(caller.says("REIN") == "220 As at the beginning.\nsign out\n");
  CHECK(caller.codes("LIST") == "530");
  caller.says("USER doe");
  caller.says("PASS x");
  // The defaults of 959 §5.1 again.
  CHECK(caller.says("RETR f").find("transfer 0 f A") != std::string::npos);
}

// 959 §3.2: the client's end of the control connection where nothing else was said.
TEST_CASE("data go where the client said, and to its own machine only") {
  Caller caller;
  caller.signs_in();
  CHECK(caller.says("RETR f").find("to 192.0.2.1:4021") != std::string::npos);
  caller.ends();
  CHECK(caller.codes("PORT 192,0,2,1,15,107") == "200");
  CHECK(caller.says("RETR f").find("to 192.0.2.1:3947") != std::string::npos);  // 959 §4.1.2
  caller.ends();
  CHECK(caller.says("RETR f").find("to 192.0.2.1:3947") != std::string::npos);
  caller.ends();
  CHECK(caller.codes("EPSV") == "229");
  CHECK(caller.says("RETR f") == "transfer 0 f A\n150 Here it comes.\n");
  caller.ends();
  // 2577 §3: other machines, and ports where services are.
  for (const char* line : {"PORT 192,0,2,9,15,107", "PORT 192,0,2,1,0,25", "PORT 192,0,2,1,3,255",
                           "PORT 127,0,0,1,31,144", "EPRT |1|192.0.2.9|6275|",
                           "EPRT |1|192.0.2.1|1023|", "EPRT |2|1080::8:800:200C:417A|5282|"}) {
    INFO(line);
    CHECK(caller.codes(line) == "504");
  }
  for (const char* line :
       {"PORT 192,0,2,1,15", "PORT 192,0,2,1,15,256", "PORT 192,0,2,1,15,-1", "PORT 1,2,3,4,5,6,7",
        "PORT x", "EPRT |1|192.0.2.1|6275", "EPRT x", "EPRT |1|192.0.2|6275|",
        "EPRT |1|192.0.2.1|70000|", "EPRT |2|192.0.2.1|6275|"}) {
    INFO(line);
    CHECK(caller.codes(line) == "501");
  }
  CHECK(caller.says("EPRT |3|192.0.2.1|6275|").find("(1,2)") != std::string::npos);
  CHECK(caller.codes("EPRT !1!192.0.2.1!6275!") == "200");
}

// 2428 §2, §3
TEST_CASE("over IPv6 the extended commands serve, and after EPSV ALL no others") {
  auto setup = setup_of();
  setup.peer.address = boost::asio::ip::make_address("1080::8:800:200C:417A");
  Caller caller(setup);
  caller.signs_in();
  CHECK(caller.codes("EPRT |2|1080::8:800:200C:417A|5282|") == "200");
  CHECK(caller.says("RETR f").find(":5282\n") != std::string::npos);
  caller.ends();
  CHECK(caller.codes("PASV") == "502");
  CHECK(caller.codes("EPSV 2") == "229");
  CHECK(caller.codes("EPSV 1") == "522");
  CHECK(caller.codes("EPSV 3") == "522");
  CHECK(caller.codes("EPSV x") == "501");
  CHECK(caller.codes("EPSV ALL") == "200");
  CHECK(caller.codes("PORT 192,0,2,1,15,107") == "503");
  CHECK(caller.codes("EPRT |2|1080::8:800:200C:417A|5282|") == "503");
  CHECK(caller.codes("PASV") == "503");
  CHECK(caller.codes("EPSV") == "229");
}

// 2389 §3, §4; 3659 §5, §7.8, §7.9
TEST_CASE("features are listed in their form, and facts are chosen") {
  Caller caller;
  const std::string all = caller.says("FEAT");
  CHECK(all.starts_with("211-"));
  CHECK(all.ends_with("\n211 End\n"));
  for (const char* line : {"\n EPRT\n", "\n EPSV\n", "\n MDTM\n", "\n REST STREAM\n", "\n SIZE\n",
                           "\n MLST Type*;Size*;Modify*;Perm*;Unique*;\n", "\n UTF8\n"}) {
    CHECK(all.find(line) != std::string::npos);
  }
  CHECK(all.find("AUTH") == std::string::npos);
  CHECK(caller.says("OPTS MLST size;TYPE;colour;") == "200 MLST OPTS Type;Size;\n");
  CHECK(caller.says("FEAT").find("MLST Type*;Size*;Modify;Perm;Unique;") != std::string::npos);
  CHECK(caller.codes("OPTS MLST size") == "501");
  CHECK(caller.codes("OPTS MLST ;") == "501");
  CHECK(caller.ftp.facts().chosen() == "Type;Size;");
  CHECK(caller.says("OPTS MLST") == "200 MLST OPTS\n");
}

// 959 §4.1.3: these may come in a transfer, behind IP and Synch.
TEST_CASE("ABOR, STAT and QUIT are obeyed in transfers, other commands wait for the end") {
  Caller caller;
  caller.signs_in();
  SECTION("ABOR, with and without Telnet's signals") {
    for (const char* signals : {"", "FFF4FFF2", "FFF4F2"}) {
      INFO(signals);
      caller.says("RETR f");
      caller.log.clear();
      caller.hears(from_hex(signals) + "ABOR\r\n");
      CHECK(caller.log.starts_with("426"));
      CHECK(caller.log.find("\n226") != std::string::npos);
      CHECK(caller.log.ends_with("abort\n"));
      CHECK_FALSE(caller.ftp.transferring());
      CHECK(caller.codes("NOOP") == "200");
    }
  }
  SECTION("STAT") {
    caller.says("STOR f");
    caller.ftp.moved(1234);
    CHECK(caller.says("STAT") == "211 Come so far: 1234 octets.\n");
    CHECK(caller.ftp.transferring());
  }
  SECTION("QUIT") {
    caller.says("RETR f");
    CHECK(caller.says("QUIT").empty());
    caller.log.clear();
    CHECK(caller.ends().log == "226 Done.\n221 Good-bye.\nclosed\n");
  }
  SECTION("others") {
    caller.says("RETR f");
    CHECK(caller.says("PWD").empty());
    CHECK(caller.says("STAT").empty());  // in its order, behind the one that waits
    CHECK_FALSE(caller.ftp.takes_input());
    caller.log.clear();
    caller.ends();
    CHECK(caller.log.starts_with("226 Done.\nask 5"));
    CHECK(caller.log.find("257 ") < caller.log.find("211-"));
  }
}

// 1123 §4.1.2.12
TEST_CASE("Telnet's negotiations are refused and its commands skipped") {
  Caller caller;
  const auto sent = [&](std::string_view hex) {
    const auto step = caller.ftp.feed(from_hex(hex), caller.now);
    return to_hex(step.send);
  };
  CHECK(sent("FFFD22") == "FFFC22");
  CHECK(sent("FFFB27") == "FFFE27");
  CHECK(sent("FFFC1F FFFE01 FFF1 FFF9").empty());
  CHECK(sent("FFFA1F00500018FFF0").empty());
  CHECK(caller.says("NO"s + from_hex("FFFB27") + "OP")
            .ends_with("\x27"
                       "200 Yes.\n"));
  // What came of a line before a signal is void.
  caller.log.clear();
  caller.hears("RETR secr" + from_hex("FFF4FFF2") + "NOOP\r\n");
  CHECK(caller.log == "200 Yes.\n");
}

TEST_CASE("lines without end, and what ends them, do no harm") {
  Caller caller;
  caller.signs_in();
  const std::string endless(1'000'000, 'x');
  caller.hears(endless);
  CHECK(caller.log.empty());
  CHECK(caller.says("") == "500 That line is too long.\n");
  CHECK(caller.codes("NOOP") == "200");
  caller.log.clear();
  caller.hears("NOOP\nNOOP\r\nNOOP\r");
  CHECK(caller.log == "200 Yes.\n200 Yes.\n");
  caller.hears("\n");
  CHECK(caller.log == "200 Yes.\n200 Yes.\n200 Yes.\n");
  CHECK(caller.says("CWD    x y ") == "ask 0 x y  A\n250 Done.\n");
}

TEST_CASE("replies are handed over before they pile up") {
  Caller caller;
  std::string many;
  for (int i = 0; i < 1000; ++i) many += "HELP\r\n";
  const auto step = caller.ftp.feed(many, caller.now);
  CHECK(step.used < many.size());
  CHECK(step.send.size() < 2 * Ftp::much_sent);
}

TEST_CASE("what names and reasons hold can't make a line of its own") {
  Caller caller;
  caller.signs_in();
  caller.refuses = Error{Code::denied, "No.\r\n226 Done\xFF\xF4."};
  CHECK(caller.says("RETR x") ==
        "transfer 0 x A to 192.0.2.1:4021\n550-No.?\n550 226 Done?\xF4.\n");
  caller.refuses.reset();
  caller.told = "226 first\n226 second\n226 third";
  CHECK(caller.says("STAT x") ==
        "ask 9 x A\n212-What is there:\n 226 first\n 226 second\n 226 third\n212 That is all.\n");
}

// 1123 §4.1.3.2
TEST_CASE("silence ends the connection, but not in transfers") {
  Caller caller;
  caller.signs_in();
  caller.waits(14min).says("NOOP");
  caller.waits(14min);
  CHECK_FALSE(caller.closed);
  caller.says("RETR x");
  CHECK_FALSE(caller.ftp.deadline());
  caller.waits(3h);
  CHECK_FALSE(caller.closed);
  caller.ends();
  caller.log.clear();
  caller.waits(15min);
  CHECK(caller.log.starts_with("421"));
  CHECK(caller.closed);
  CHECK_FALSE(caller.ftp.deadline());
}

// 4217 §4, §8 to §10; codes by 2228, from memory.
TEST_CASE("TLS is begun, and data go by it once that was asked for") {
  Caller caller(setup_of(true));
  caller.signs_in();
  CHECK(caller.codes("PBSZ 0") == "503");
  CHECK(caller.codes("AUTH KERBEROS_V4") == "504");
  CHECK(caller.says("AUTH TLS") == "234 Begin.\nstart TLS\n");
  CHECK(caller.codes("LIST") == "530");  // who was signed in in the clear is so no more
  CHECK(caller.codes("AUTH TLS") == "503");
  CHECK(caller.codes("PROT P") == "503");
  CHECK(caller.codes("PBSZ 0") == "200");
  CHECK(caller.codes("PROT E") == "536");
  CHECK(caller.codes("PROT P") == "200");
  CHECK(caller.codes("CCC") == "534");
  caller.signs_in();
  CHECK(caller.says("RETR f").find("transfer 0 f A P") == 0);
  CHECK(caller.says("FEAT").empty());
  caller.ends();
  CHECK(caller.log.find(" AUTH TLS\n") != std::string::npos);
}

TEST_CASE("where TLS is needed nothing goes in the clear") {
  Caller caller(setup_of(true, true));
  CHECK(caller.codes("USER doe") == "530");
  CHECK(caller.codes("PASS x") == "503");
  caller.says("AUTH TLS");
  caller.signs_in();
  CHECK(caller.codes("LIST") == "521");
  caller.says("PBSZ 0");
  CHECK(caller.codes("PROT C") == "534");
  CHECK(caller.codes("PROT P") == "200");
  CHECK(caller.codes("LIST") == "150");
}

TEST_CASE("a whole dialogue is the same however it is cut") {
  const std::string dialogue = "USER doe\r\nPASS x\r\n" + from_hex("FFFD22") +
                               "TYPE I\r\nEPSV\r\nREST 800\r\nRETR f\r\n" + from_hex("FFF4FFF2") +
                               "ABOR\r\nPORT 192,0,2,1,15,107\r\nSTOR g\r\nSTAT\r\nMKD a b\r\n" +
                               "RNFR a\r\nRNTO b\r\nXYZZY\r\n\xFF\xFF\r\nQUIT\r\nNOOP\r\n";
  const auto log_of = [](std::string_view first, std::string_view second) {
    Caller caller;
    caller.hears(first);
    caller.hears(second);
    if (caller.ftp.transferring()) caller.ends();
    return caller.log;
  };
  const std::string whole = log_of(dialogue, "");
  CHECK(whole.ends_with("221 Good-bye.\nclosed\n"));
  every_cut(dialogue, [&](std::string_view first, std::string_view second) {
    if (log_of(first, second) != whole) FAIL("cut after " + readable(first));
  });
}

TEST_CASE("an answer that nobody waits for is a bug") {
  Caller caller;
  CHECK_THROWS(caller.ftp.accept(caller.now));
  CHECK_THROWS(caller.ftp.begin("x"));
  CHECK_THROWS(caller.ftp.end(Ftp::End::done, "", caller.now));
}
