// The doors over real sockets: what goes in at one end comes out at the other, whoever misbehaves.
#include <vector>

#include <catch2/catch.hpp>

#include "server/session.h"
#include "tests/support/test_service.h"

using namespace stationer;
using test::TestClient;
using test::TestService;
using test::TestVolume;
using namespace std::string_literals;

namespace {

// Signs in over a plain line; the far end shows its own typing (it ends lines with LF).
void sign_in(TestClient& client, const std::string& name) {
  client.until("Press Enter to begin.\r\n");
  client.send("\n");
  client.until("Name: ");
  client.send(name + "\n");
  client.until("Password: ");
  client.send("mill-race-" + name + "\n");
  client.until("/members/" + name + "> ");
}

std::string lpd_control(const std::string& user, const std::string& file) {
  return "Hmill\nP" + user + "\nJtides\nfdfA001mill\nUdfA001mill\nN" + file + "\n";
}

}  // namespace

TEST_CASE("a member signs in at the terminal door, saves and reads") {
  TestService service;
  service.room.add("robin");
  TestClient client(service.terminal->port());
  sign_in(client, "robin");
  client.send("write letter.txt\nDear all,\nit rains.\n.\n");
  client.until("/members/robin> ");
  client.send("show letter.txt\n");
  CHECK(client.until("/members/robin> ").find("Dear all,\r\nit rains.\r\n") != std::string::npos);
  client.send("bye\n");
  CHECK(client.rest().find("Good-bye.") != std::string::npos);
  CHECK(*service.room.read(service.room.caller("robin"), "/members/robin/letter.txt") ==
        "Dear all,\nit rains.\n");
}

// RFC 854, 857, 858: a client that negotiates is Telnet; we offer to echo, and do once it agrees.
TEST_CASE("a Telnet client is recognised, and its password is not shown") {
  TestService service;
  service.room.add("robin");
  TestClient client(service.terminal->port());
  client.until("begin.\r\n");
  client.send("\xFF\xFD\x03"s);   // IAC DO SGA
  client.until("\xFF\xFB\x01"s);  // IAC WILL ECHO
  client.send("\xFF\xFD\x01\xFF\xFD\x03\r\0"s);
  client.until("Name: ");
  client.send("robin\r\0"s);
  CHECK(client.until("Password: ").find("robin") != std::string::npos);
  client.send("mill-race-robin\r\0"s);
  const std::string shown = client.until("/members/robin> ");
  CHECK(shown.find("mill-race") == std::string::npos);
}

TEST_CASE("what was typed ahead of a closed input is answered, then the line is closed") {
  TestService service;
  service.room.add("robin");
  TestClient client(service.terminal->port());
  client.send("\nrobin\nmill-race-robin\nspace\nlist /programs\n");
  client.end_output();
  const std::string all = client.rest();
  INFO(all);
  CHECK(all.find("There is nothing in /programs.") != std::string::npos);
  CHECK(TestService::comes_true(
      [&] { return service.on_loop([&] { return service.terminal->connections() == 0; }); }));
}

TEST_CASE("invariant 6: a station that never reads delays nobody") {
  TestService service;
  const auto robin = service.room.add("robin");
  service.room.add("wren");
  std::string text;
  for (int i = 0; i < 400'000; ++i) text += "line after line after line after line\n";
  REQUIRE(service.room.save(robin, "/public/long", text));
  TestClient stuck(service.terminal->port());
  sign_in(stuck, "robin");
  // No pauses between screens, and nobody reads what comes.
  std::string typed = "show /public/long\n";
  for (int i = 0; i < 20'000; ++i) typed += "\n";
  stuck.send(typed.substr(0, 60'000));
  TestClient client(service.terminal->port());
  sign_in(client, "wren");
  for (int i = 0; i < 20; ++i) {
    const auto start = std::chrono::steady_clock::now();
    client.send("space\n");
    client.until("/members/wren> ");
    CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds(1));
  }
}

TEST_CASE("invariant 6: wrong passwords slow down who guesses, not the account elsewhere") {
  TestService service;
  service.room.add("robin");
  TestClient guesser(service.terminal->port(), "127.0.0.66");
  guesser.until("begin.\r\n");
  guesser.send("\n");
  guesser.until("Name: ");
  bool slowed = false;
  for (int i = 0; i < 5 && !slowed; ++i) {
    guesser.send("robin\n");
    guesser.until("Password: ");
    guesser.send("guess\n");
    slowed = guesser.until(i < 4 ? "Name: " : "\r\n").find("Wait") != std::string::npos;
  }
  CHECK(slowed);
  TestClient client(service.terminal->port(), "127.0.0.7");
  sign_in(client, "robin");
}

TEST_CASE(
    "invariant 6: connections are bounded, in all and from one address; who is too many hears it") {
  TestService service("[door.terminal]\nmost = 6\nmost_per_address = 3\n[door.ftp]\nmost = 1\n");
  std::vector<std::unique_ptr<TestClient>> clients;
  const auto connect = [&](const std::string& from) {
    clients.push_back(std::make_unique<TestClient>(service.terminal->port(), from));
  };
  for (int i = 0; i < 3; ++i) {
    connect("127.0.0.2");
    clients.back()->until("begin.\r\n");
  }
  connect("127.0.0.2");
  CHECK(clients.back()->rest() == server::terminal_is_full);
  for (int i = 0; i < 3; ++i) {
    connect("127.0.0.3");
    clients.back()->until("begin.\r\n");
  }
  connect("127.0.0.4");
  CHECK(clients.back()->rest() == server::terminal_is_full);
  clients.clear();
  CHECK(TestService::comes_true(
      [&] { return service.on_loop([&] { return service.terminal->connections() == 0; }); }));
  connect("127.0.0.2");
  clients.back()->until("begin.\r\n");
  TestClient only(service.ftp->port());
  only.until("220");
  CHECK(TestClient(service.ftp->port()).rest() == server::ftp_is_full);
}

TEST_CASE("garbage and broken connections at every door leave the service as it was") {
  TestService service;
  service.room.add("robin");
  std::string garbage;
  for (int i = 0; i < 70'000; ++i) garbage += static_cast<char>(i * 7919 >> 3);
  for (const auto* listener : {service.terminal.get(), service.lpd.get()}) {
    for (int i = 0; i < 3; ++i) {
      // From elsewhere than robin: some of it is taken for wrong passwords, which count.
      TestClient client(listener->port(), "127.0.0.9");
      client.send(garbage);
      if (i == 0) client.break_off();
      if (i == 1) client.end_output();
    }
    TestClient silent(listener->port());
    CHECK(TestService::comes_true(
        [&] { return service.on_loop([&] { return listener->connections() <= 1; }); }));
  }
  TestClient client(service.terminal->port());
  sign_in(client, "robin");
}

TEST_CASE("a notice shows on a screen that waits for a command, and the command is shown again") {
  TestService service;
  service.room.add("robin");
  service.room.add("wren");
  TestClient robin(service.terminal->port());
  sign_in(robin, "robin");
  TestClient wren(service.terminal->port());
  sign_in(wren, "wren");
  wren.send("notice robin The kettle is on\n");
  wren.until("/members/wren> ");
  CHECK(robin.until("/members/robin> ").find("A notice from wren has come.") != std::string::npos);
  robin.send("notices\n");
  CHECK(robin.until("/members/robin> ").find("The kettle is on") != std::string::npos);
}

TEST_CASE(
    "a line is hung up with a sentence when its account is closed, and what was typed is kept") {
  TestService service;
  const auto robin = service.room.add("robin");
  service.room.add("wren");
  TestClient client(service.terminal->port());
  sign_in(client, "robin");
  TestClient other(service.terminal->port());
  sign_in(other, "wren");
  client.send("write letter\nDear Wren,\n");
  REQUIRE(TestService::comes_true([&] {
    return service.on_loop([&] { return service.shared->sessions().front().doing == "write"; });
  }));
  client.until("ends it.\r\n");
  fs::AccountChange change;
  change.closed = true;
  TestVolume::done(service.room.people().change_account(service.room.keeper, "robin", change));
  const auto send_home = [&] {
    service.shared->send_home();
    return service.shared->sessions().size();
  };
  service.on_loop(send_home);
  const std::string said = client.rest();
  INFO(said);
  CHECK(said.find("letter.cut1") != std::string::npos);
  CHECK(said.find("The account robin was closed.") != std::string::npos);
  CHECK(said.ends_with("Good-bye.\r\n"));
  CHECK(TestService::comes_true([&] { return service.on_loop(send_home) == 1; }));
  CHECK(service.room.read(robin, "/members/robin/letter.cut1").value() == "Dear Wren,\n");
  other.send("space\n");
  other.until("/members/wren> ");
}

// RFC 1179 §5.2, §6.2, §6.3: a job with its control file first.
TEST_CASE("an LPD job lands in the tray of the account that the sender names") {
  TestService service;
  const auto robin = service.room.add("robin");
  bool over = false;
  SECTION("while that may be used") {}
  SECTION("and among the unclaimed once its time is over") {
    over = true;
    fs::AccountChange change;
    change.ends = *service.room.now;
    TestVolume::done(service.room.people().change_account(service.room.keeper, "robin", change));
  }
  TestClient client(service.lpd->port());
  const auto ack = [&] { CHECK(client.until("\0"s) == "\0"s); };
  const std::string control = lpd_control("ROBIN", "tides.txt");
  client.send("\x02paper\n");
  ack();
  client.send("\x02" + std::to_string(control.size()) + " cfA001mill\n");
  ack();
  client.send(control + "\0"s);
  ack();
  client.send(
      "\x03"
      "11 dfA001mill\n");
  ack();
  client.send("High water\n\0"s);
  ack();
  client.end_output();
  CHECK(client.rest().empty());
  const auto whose = [&] { return service.room.desk().printouts(service.room.keeper, true); };
  REQUIRE(TestService::comes_true([&] { return whose().size() == 1; }));
  CHECK(whose()[0].title == "tides");
  CHECK(whose()[0].owner == (over ? "" : "robin"));
  CHECK(service.room.desk().printouts(robin, false).size() == (over ? 0 : 1));
}

TEST_CASE("LPD refuses a queue that is not there, and lists and removes jobs") {
  TestService service("[queue.paper]\npolicy = \"owner\"\n");
  service.room.add("robin");
  {
    TestClient client(service.lpd->port());
    client.send("\x02nowhere\n");
    CHECK(client.rest() != "\0"s);
  }
  {
    TestClient client(service.lpd->port());
    const std::string control = lpd_control("robin", "x");
    client.send("\x02paper\n\x02" + std::to_string(control.size()) + " cfA001mill\n" + control +
                "\0"s +
                "\x03"
                "2 dfA001mill\nx\n\0"s);
    client.end_output();
    CHECK(client.rest() == std::string(5, '\0'));
  }
  REQUIRE(service.spool->jobs().size() == 1);
  const auto ask = [&](const std::string& line) {
    TestClient client(service.lpd->port());
    client.send(line);
    return client.rest();
  };
  CHECK(ask("\x03paper\n").find("robin") != std::string::npos);
  CHECK(ask("\x04paper robin\n").find("held") != std::string::npos);
  CHECK(ask("\x04paper wren\n").find("No jobs") != std::string::npos);
  CHECK(ask("\x05paper wren 1\n").find("no job of yours") != std::string::npos);
  CHECK(ask("\x05paper robin 1\n").find("cancelled") != std::string::npos);
  CHECK(service.spool->jobs().empty());
}

TEST_CASE("invariant 5: an LPD job broken off in the middle is not printed") {
  TestService service;
  service.room.add("robin");
  {
    TestClient client(service.lpd->port());
    const std::string control = lpd_control("robin", "x");
    client.send("\x02paper\n\x02" + std::to_string(control.size()) + " cfA001mill\n" + control +
                "\0"s +
                "\x03"
                "1000 dfA001mill\nonly a part"s);
    client.until("\0\0\0\0"s);
    client.break_off();
  }
  CHECK(TestService::comes_true(
      [&] { return service.on_loop([&] { return service.lpd->connections() == 0; }); }));
  CHECK(service.spool->jobs().empty());
  CHECK(service.room.desk().printouts(service.room.keeper, true).empty());
}

TEST_CASE(
    "a raw job ends by close or by silence, and goes to whoever is signed in at that machine") {
  TestService service("[door.raw]\nidle_seconds = 1\n");
  const auto robin = service.room.add("robin");
  TestClient terminal(service.terminal->port(), "127.0.0.12");
  sign_in(terminal, "robin");
  {
    TestClient raw(service.raw->port(), "127.0.0.12");
    raw.send("by close\r\n");
    raw.end_output();
    CHECK(raw.rest().empty());
  }
  CHECK(TestService::comes_true(
      [&] { return service.room.desk().printouts(robin, false).size() == 1; }));
  TestClient raw(service.raw->port(), "127.0.0.12");
  raw.send("by silence\r\n");
  CHECK(TestService::comes_true(
      [&] { return service.room.desk().printouts(robin, false).size() == 2; }));
  raw.send("the next job\r\n");
  CHECK(TestService::comes_true(
      [&] { return service.room.desk().printouts(robin, false).size() == 3; }));
  {
    TestClient elsewhere(service.raw->port(), "127.0.0.13");
    elsewhere.send("nobody's");
    elsewhere.end_output();
    elsewhere.rest();
  }
  CHECK(TestService::comes_true(
      [&] { return service.room.desk().printouts(service.room.keeper, true).size() == 4; }));
  CHECK(service.room.desk().printouts(robin, false).size() == 3);
  {
    TestClient nothing(service.raw->port());
    nothing.end_output();
    CHECK(nothing.rest().empty());
  }
  CHECK(service.room.desk().printouts(service.room.keeper, true).size() == 4);
  CHECK(TestService::comes_true([&] { return service.spool->jobs().empty(); }));
}

TEST_CASE("a raw job that breaks off is printed with a title that says so") {
  TestService service;
  TestClient raw(service.raw->port());
  raw.send("half of\r\n");
  CHECK(TestService::comes_true(
      [&] { return service.on_loop([&] { return service.raw->connections() == 1; }); }));
  std::this_thread::sleep_for(std::chrono::milliseconds(50));
  raw.break_off();
  REQUIRE(TestService::comes_true(
      [&] { return service.room.desk().printouts(service.room.keeper, true).size() == 1; }));
  CHECK(service.room.desk().printouts(service.room.keeper, true)[0].title.find("broken off") !=
        std::string::npos);
}

TEST_CASE(
    "a raw job that is coming in is ended by somebody's word, and the next is a job of its own") {
  TestService service;
  const auto robin = service.room.add("robin");
  TestClient terminal(service.terminal->port(), "127.0.0.14");
  sign_in(terminal, "robin");
  TestClient raw(service.raw->port(), "127.0.0.14");
  raw.send("one\r\n");
  REQUIRE(TestService::comes_true([&] {
    return service.on_loop([&] {
      const auto& open = service.shared->open_jobs.all();
      return !open.empty() && open.front().job.bytes == 5;
    });
  }));
  terminal.send("finish\r");
  terminal.until("Job 1 ends here.");
  CHECK(TestService::comes_true(
      [&] { return service.room.desk().printouts(robin, false).size() == 1; }));
  raw.send("two\r\n");
  raw.end_output();
  CHECK(raw.rest().empty());
  CHECK(TestService::comes_true(
      [&] { return service.room.desk().printouts(robin, false).size() == 2; }));
  CHECK(service.on_loop([&] { return service.shared->open_jobs.all().empty(); }));
}

TEST_CASE("a station gets the screen of its profile, and its print jobs go to its queue") {
  TestService service(
      "[queue.paper]\n[queue.listing]\n[print]\nqueue = \"paper\"\n"
      "[profile.micro]\ncapitals = true\ncolumns = 40\nqueue = \"listing\"\n"
      "[door.raw.station.\"127.0.0.22\"]\nqueue = \"paper\"\n");
  std::uint32_t number = 0;
  for (const char* address : {"127.0.0.21", "127.0.0.22"}) {
    TestVolume::done(service.room.volume->stations().add(service.room.keeper,
                                                         {.segment = 1,
                                                          .number = ++number,
                                                          .name = "owl" + std::to_string(number),
                                                          .profile = "micro",
                                                          .address = address}));
  }
  TestClient owl(service.terminal->port(), "127.0.0.21");
  owl.until("PRESS ENTER TO BEGIN.\r\n");
  TestClient stranger(service.terminal->port(), "127.0.0.23");
  stranger.until("Press Enter to begin.\r\n");
  for (const char* address : {"127.0.0.21", "127.0.0.22", "127.0.0.23"}) {
    TestClient raw(service.raw->port(), address);
    raw.send("a job\r\n");
    raw.end_output();
    CHECK(raw.rest().empty());
  }
  REQUIRE(TestService::comes_true(
      [&] { return service.room.desk().printouts(service.room.keeper, true).size() == 3; }));
  for (const auto& each : service.room.desk().printouts(service.room.keeper, true)) {
    INFO(each.source);
    CHECK(each.queue == (each.source == "raw 127.0.0.21" ? "listing" : "paper"));
  }
}

TEST_CASE("a station that may not use a door is told so where the protocol can say it") {
  TestService service("[stations]\nunknown = false\n");
  TestVolume::done(service.room.volume->stations().add(
      service.room.keeper, {.segment = 1,
                            .number = 1,
                            .name = "owl",
                            .address = "127.0.0.21",
                            .doors = std::vector<std::string>{"terminal"}}));
  TestClient owl(service.terminal->port(), "127.0.0.21");
  owl.until("Press Enter to begin.\r\n");
  TestClient stranger(service.terminal->port(), "127.0.0.23");
  CHECK(stranger.rest() ==
        "This machine (127.0.0.23) is not registered here. Ask the keeper to register it.\r\n");
  TestClient list(service.lpd->port(), "127.0.0.21");
  list.send("\x03paper\n");
  CHECK(list.rest() == "The station owl may not use the door lpd. Ask the keeper if it should.\n");
  TestClient job(service.lpd->port(), "127.0.0.21");
  job.send("\x02paper\n");
  const std::string refused = job.rest();
  REQUIRE_FALSE(refused.empty());
  CHECK(refused[0] != '\0');  // RFC 1179 §5.2: zeros say yes, anything else no
  TestClient raw(service.raw->port(), "127.0.0.21");
  raw.send("a job\r\n");
  static_cast<void>(raw.rest());
  CHECK(service.room.desk().printouts(service.room.keeper, true).empty());
}
