// The FTP door over real sockets: files both ways, and whoever misbehaves.
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

// A client of FTP with its control connection; data connections are opened as the test says.
class FtpClient {
 public:
  explicit FtpClient(TestService& service, const std::string& name = "",
                     const std::string& from = "")
      : from_(from), control_(service.ftp->port(), from) {
    control_.until("\r\n");
    if (name.empty()) return;
    CHECK(code("USER " + name) == "331");
    CHECK(code("PASS mill-race-" + name) == "230");
    CHECK(code("TYPE I") == "200");
  }

  // One reply, whole.
  std::string reply() {
    std::string all = control_.until("\r\n");
    if (all[3] != '-') return all;
    for (const std::string end = all.substr(0, 3) + " ";;) {
      const std::string line = control_.until("\r\n");
      all += line;
      if (line.starts_with(end)) break;
    }
    return all;
  }
  std::string says(const std::string& line) {
    control_.send(line + "\r\n");
    return reply();
  }
  std::string code(const std::string& line) { return says(line).substr(0, 3); }

  std::uint16_t port() {
    const std::string said = says("EPSV");
    INFO(said);
    const auto at = said.find("(|||");
    REQUIRE(at != std::string::npos);
    return static_cast<std::uint16_t>(std::stoi(said.substr(at + 4)));
  }
  TestClient data() { return TestClient(port(), from_); }

  // What a transfer to here brings, or its refusal.
  std::string gets(const std::string& line) {
    TestClient from_there = data();
    const std::string begun = says(line);
    if (begun[0] != '1') return begun;
    std::string bytes = from_there.rest();
    CHECK(reply().substr(0, 3) == "226");
    return bytes;
  }
  // The code of the last reply.
  std::string puts(const std::string& line, const std::string& bytes) {
    TestClient to_there = data();
    const std::string begun = says(line);
    if (begun[0] != '1') return begun.substr(0, 3);
    to_there.send(bytes);
    to_there.end_output();
    return reply().substr(0, 3);
  }
  TestClient& control() { return control_; }

 private:
  std::string from_;
  TestClient control_;
};

std::string some_octets(std::size_t size) {
  std::string out(size, '\0');
  std::uint32_t state = 1;
  for (char& c : out) c = static_cast<char>((state = state * 1664525u + 1013904223u) >> 24);
  return out;
}

std::string read(TestService& service, const fs::Caller& who, const std::string& path) {
  auto bytes = service.room.read(who, path);
  return bytes ? *bytes : "(" + bytes.error().message + ")";
}

}  // namespace

TEST_CASE("FTP carries files of all sizes both ways, whole and from an octet on") {
  TestService service;
  const auto robin = service.room.add("robin");
  FtpClient client(service, "robin");
  for (const std::size_t size : {std::size_t{0}, std::size_t{1}, std::size_t{4096},
                                 std::size_t{65536}, std::size_t{65537}, std::size_t{3'000'001}}) {
    INFO(size);
    const std::string octets = some_octets(size);
    CHECK(client.puts("STOR f", octets) == "226");
    CHECK((read(service, robin, "/members/robin/f") == octets));
    CHECK((client.gets("RETR f") == octets));
    CHECK(client.says("SIZE f") == "213 " + std::to_string(size) + "\r\n");
    const std::size_t half = size / 2;
    CHECK(client.code("REST " + std::to_string(half)) == "350");
    CHECK((client.gets("RETR f") == octets.substr(half)));
    CHECK(client.code("REST " + std::to_string(half)) == "350");
    CHECK(client.puts("STOR f", "the rest") == "226");
    CHECK((read(service, robin, "/members/robin/f") == octets.substr(0, half) + "the rest"));
    CHECK(client.puts("APPE f", " and more") == "226");
    CHECK(
        (read(service, robin, "/members/robin/f") == octets.substr(0, half) + "the rest and more"));
  }
  CHECK(client.code("REST 3000000") == "350");
  CHECK(client.code("RETR f") == "554");
  CHECK(client.code("REST 3000000") == "350");
  CHECK(client.code("STOR f") == "554");
  // The file has ended exactly there: nothing is left, which is fine.
  const auto size = read(service, robin, "/members/robin/f").size();
  CHECK(client.code("REST " + std::to_string(size)) == "350");
  CHECK(client.gets("RETR f").empty());
}

TEST_CASE("FTP's type A turns line ends, and tells and resumes sizes as they travel") {
  TestService service;
  const auto robin = service.room.add("robin");
  FtpClient client(service, "robin");
  std::string stored, line;
  for (int i = 0; i < 30'000; ++i) {
    stored += "line " + std::to_string(i) + "\n";
    line += "line " + std::to_string(i) + "\r\n";
  }
  client.says("TYPE A");
  CHECK(client.puts("STOR text", line) == "226");
  CHECK((read(service, robin, "/members/robin/text") == stored));
  CHECK(service.room.files().look(robin, TestVolume::at("/members/robin/text"))->kind ==
        fs::Kind::text);
  CHECK((client.gets("RETR text") == line));
  CHECK(client.says("SIZE text") == "213 " + std::to_string(line.size()) + "\r\n");
  for (const std::size_t from : {std::size_t{1}, std::size_t{8}, std::size_t{300'001}}) {
    client.says("REST " + std::to_string(from));
    CHECK((client.gets("RETR text") == line.substr(from)));
  }
  client.says("REST 5");
  CHECK(client.code("STOR text") == "554");
  CHECK(client.puts("APPE text", "the end\r\n") == "226");
  CHECK((read(service, robin, "/members/robin/text") == stored + "the end\n"));
  client.says("TYPE I");
  CHECK(client.says("SIZE text") == "213 " + std::to_string(stored.size() + 8) + "\r\n");
  // Its kind stays when it is replaced by octets; new octets are data.
  CHECK(client.puts("STOR text", "x") == "226");
  CHECK(service.room.files().look(robin, TestVolume::at("/members/robin/text"))->kind ==
        fs::Kind::text);
  CHECK(client.puts("STOR octets", "x") == "226");
  CHECK(service.room.files().look(robin, TestVolume::at("/members/robin/octets"))->kind ==
        fs::Kind::data);
}

TEST_CASE("FTP sends texts with the line ends of a station's profile") {
  TestService service;
  const auto robin = service.room.add("robin");
  service.profile.screen.ending = server::LineEnding::cr;
  FtpClient client(service, "robin");
  client.says("TYPE A");
  CHECK(client.puts("STOR text", "a\rb\r") == "226");
  CHECK(read(service, robin, "/members/robin/text") == "a\nb\n");
  CHECK(client.gets("RETR text") == "a\rb\r");
  CHECK(client.gets("NLST") == "text\r");
  CHECK(client.says("SIZE text") == "213 4\r\n");
}

TEST_CASE("FTP shows and changes the tree by the same rights as every other door") {
  TestService service;
  const auto robin = service.room.add("robin");
  service.room.add("wren");
  REQUIRE(service.room.save(robin, "/members/robin/tides.txt", "high\n"));
  FtpClient client(service, "robin");
  CHECK(client.says("PWD").find("\"/members/robin\"") != std::string::npos);
  CHECK(client.code("MKD week 1") == "257");
  CHECK(client.code("MKD week 1") == "550");
  CHECK(client.gets("LIST -la").find("tides.txt\r\n") != std::string::npos);
  CHECK(client.gets("NLST") == "tides.txt\r\nweek 1\r\n");
  CHECK(client.gets("NLST *.TXT") == "tides.txt\r\n");
  CHECK(client.gets("NLST /members/robin/t*") == "/members/robin/tides.txt\r\n");
  CHECK(client.gets("NLST ../robin") == "../robin/tides.txt\r\n../robin/week 1\r\n");
  CHECK(client.code("NLST *.bas") == "450");
  CHECK(client.gets("MLSD").find("Type=file;Size=5;") != std::string::npos);
  CHECK(client.code("MLSD tides.txt") == "501");
  CHECK(client.says("MLST tides.txt").find(" /members/robin/tides.txt\r\n250 End") !=
        std::string::npos);
  CHECK(client.says("STAT").starts_with("211-"));
  CHECK(client.says("STAT /members/robin").find(" -rw-") != std::string::npos);
  CHECK(client.says("MDTM tides.txt") == "213 20270115080000\r\n");
  CHECK(client.code("MDTM week 1") == "550");
  CHECK(client.code("RNFR tides.txt") == "350");
  CHECK(client.code("RNTO week 1/tides.txt") == "250");
  CHECK(client.code("RMD week 1") == "550");
  CHECK(client.code("DELE week 1") == "550");
  CHECK(client.code("CWD week 1") == "250");
  CHECK(client.code("DELE tides.txt") == "250");
  CHECK(client.code("CDUP") == "250");
  CHECK(client.code("RMD week 1") == "250");
  CHECK(client.code("CWD /members/wren") == "550");
  CHECK(client.code("STOR /members/wren/x") == "550");
  CHECK(client.code("STOR /programs/x") == "550");
  CHECK(client.code("RETR /members/wren/x") == "550");
  CHECK(client.code("STOR a:b") == "553");
  CHECK(client.code("STOR ../../../../etc/passwd") == "553");
  const std::string fresh = client.says("STOU");
  CHECK(fresh.substr(0, 3) == "150");
  CHECK(fresh.find("FILE: ") != std::string::npos);
}

TEST_CASE("FTP's guests look around where the settings say so, and change nothing") {
  TestService open_house;
  REQUIRE(open_house.room.save(open_house.room.keeper, "/programs/lantern", "glow"));
  FtpClient guest(open_house);
  CHECK(guest.code("USER anonymous") == "331");
  CHECK(guest.code("PASS me@example") == "230");
  CHECK(guest.gets("RETR /programs/lantern") == "glow");
  CHECK(guest.code("STOR /public/x") == "550");
  TestService closed("[door.ftp]\nguests = false\n");
  FtpClient nobody(closed);
  CHECK(nobody.code("USER anonymous") == "331");
  CHECK(nobody.code("PASS me@example") == "530");
}

TEST_CASE("FTP goes to the client's port as well, and never to another machine") {
  TestService service;
  service.room.add("robin");
  FtpClient client(service, "robin");
  REQUIRE(client.puts("STOR f", "hello") == "226");
  boost::asio::io_context context;
  using boost::asio::ip::tcp;
  tcp::acceptor at(context, {boost::asio::ip::address_v4::loopback(), 0});
  const auto port = at.local_endpoint().port();
  CHECK(client.code("PORT 127,0,0,1," + std::to_string(port >> 8) + "," +
                    std::to_string(port & 0xFF)) == "200");
  CHECK(client.code("RETR f") == "150");
  tcp::socket data(context);
  at.accept(data);
  std::string got(5, '\0');
  boost::asio::read(data, boost::asio::buffer(got));
  CHECK(got == "hello");
  CHECK(client.reply().substr(0, 3) == "226");
  CHECK(client.code("EPRT |1|127.0.0.2|" + std::to_string(port) + "|") == "504");
  // A port where nobody waits.
  at.close();
  CHECK(client.code("RETR f") == "150");
  CHECK(client.reply().substr(0, 3) == "425");
}

TEST_CASE("invariant 6: who comes to somebody else's data port gets nothing") {
  TestService service;
  service.room.add("robin");
  FtpClient client(service, "robin");
  const std::string octets = some_octets(200'000);
  REQUIRE(client.puts("STOR f", octets) == "226");
  for (const auto* file : {"f", "small"}) {
    INFO(file);
    if (file == "small"s) REQUIRE(client.puts("STOR small", "hello") == "226");
    const auto port = client.port();
    TestClient thief(port, "127.0.0.9");
    client.control().send("RETR "s + file + "\r\n");
    CHECK(thief.rest().empty());
    TestClient robin(port);
    CHECK(client.reply().substr(0, 3) == "150");
    CHECK(robin.rest().size() == (file == "f"s ? octets.size() : 5));
    CHECK(client.reply().substr(0, 3) == "226");
  }
}

TEST_CASE("a transfer is broken off by ABOR, and nothing of an upload stays") {
  TestService service;
  const auto robin = service.room.add("robin");
  FtpClient client(service, "robin");
  REQUIRE(client.puts("STOR f", "before") == "226");
  TestClient up = client.data();
  CHECK(client.code("STOR f") == "150");
  up.send(some_octets(500'000));
  CHECK(client.says("STAT").find("Come so far") != std::string::npos);
  client.control().send("\xFF\xF4\xFF\xF2");
  CHECK(client.code("ABOR") == "426");
  CHECK(client.reply().substr(0, 3) == "226");
  CHECK(client.code("NOOP") == "200");
  CHECK(read(service, robin, "/members/robin/f") == "before");
  CHECK(client.code("ABOR") == "225");
}

TEST_CASE("an upload whose client is gone is no file") {
  TestService service;
  const auto robin = service.room.add("robin");
  const auto is_over = [&] {
    return service.on_loop([&] { return service.ftp->connections() == 0; });
  };
  SECTION("by a broken data connection") {
    FtpClient client(service, "robin");
    TestClient up = client.data();
    CHECK(client.code("STOR f") == "150");
    up.send("half of it");
    up.break_off();
    CHECK(client.reply().substr(0, 3) == "426");
  }
  SECTION("by its control connection, in order and before the data") {
    FtpClient client(service, "robin");
    TestClient up = client.data();
    CHECK(client.code("STOR f") == "150");
    up.send("half of it");
    client.control().end_output();
    CHECK(client.control().rest().empty());
    CHECK(TestService::comes_true(is_over));
    up.end_output();
  }
  CHECK(TestService::comes_true(is_over));
  CHECK(service.room.files().look(robin, TestVolume::at("/members/robin/f")).error().code ==
        fs::Code::not_found);
}

TEST_CASE("invariant 6: data connections that never take anything delay nobody") {
  TestService service;
  const auto robin = service.room.add("robin");
  service.room.add("wren");
  REQUIRE(service.room.save(robin, "/public/long", some_octets(60'000'000)));
  std::vector<std::unique_ptr<FtpClient>> clients;
  std::vector<std::unique_ptr<TestClient>> stuck;
  for (int i = 0; i < 8; ++i) {
    clients.push_back(std::make_unique<FtpClient>(service, "robin"));
    stuck.push_back(std::make_unique<TestClient>(clients.back()->port()));
    CHECK(clients.back()->code("RETR /public/long") == "150");
  }
  FtpClient wren(service, "wren");
  for (int i = 0; i < 20; ++i) {
    const auto start = std::chrono::steady_clock::now();
    CHECK(wren.puts("STOR f", "quick") == "226");
    CHECK(wren.gets("RETR f") == "quick");
    CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds(2));
  }
  CHECK(clients.front()->code("ABOR") == "426");
}

TEST_CASE("what is sent ahead is done in its order") {
  TestService service;
  service.room.add("robin");
  FtpClient client(service, "robin");
  REQUIRE(client.puts("STOR f", some_octets(300'000)) == "226");
  TestClient data = client.data();
  client.control().send("RETR f\r\nPWD\r\nSIZE f\r\nQUIT\r\nNOOP\r\n");
  CHECK(client.reply().substr(0, 3) == "150");
  CHECK(data.rest().size() == 300'000);
  const std::string rest = client.control().rest();
  INFO(rest);
  CHECK(rest.starts_with("226"));
  CHECK(rest.find("\r\n257") < rest.find("\r\n213 300000"));
  CHECK(rest.find("\r\n213 300000") < rest.find("\r\n221"));
  CHECK(rest.find("\r\n200") == std::string::npos);
}

TEST_CASE("FTP counts wrong passwords with those at other doors") {
  TestService service;
  service.room.add("robin");
  FtpClient guesser(service, "", "127.0.0.66");
  for (int i = 0; i < 3; ++i) {
    guesser.says("USER robin");
    CHECK(guesser.code("PASS guess") == "530");
  }
  guesser.says("USER robin");
  CHECK(guesser.says("PASS mill-race-robin").find("Wait") != std::string::npos);
  guesser.says("USER robin");
  CHECK(guesser.code("PASS guess") == "421");
  CHECK(guesser.control().rest().empty());
  FtpClient elsewhere(service, "robin", "127.0.0.7");
}

TEST_CASE("FTP's sessions end with a sentence when their account is closed") {
  TestService service;
  service.room.add("robin");
  FtpClient client(service, "robin");
  TestClient up = client.data();
  CHECK(client.code("STOR f") == "150");
  up.send("half");
  fs::AccountChange change;
  change.closed = true;
  TestVolume::done(service.room.people().change_account(service.room.keeper, "robin", change));
  service.on_loop([&] {
    service.shared->send_home();
    return 0;
  });
  const std::string said = client.control().rest();
  INFO(said);
  CHECK(said.starts_with("421"));
  CHECK(said.find("closed") != std::string::npos);
}
