// Why something did not work: each kind of refusal made at a real door, explained by the program,
// and gone after the one command that it names.
#include <cstdlib>

#include <arpa/inet.h>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include "tests/admin/process.h"
#include "tests/support/plain_client.h"
#include "tests/support/serving.h"

using namespace stationer;
using test::Keeper;
using test::PlainClient;

namespace {

// A room with a class, evening, led by sorrel, whose member robin sits at a terminal.
struct Evening {
  Keeper keeper;
  std::optional<test::Serving> service;

  explicit Evening(const std::string& more_settings = "",
                   const std::vector<std::string>& jobs = {}) {
    keeper.make_volume(jobs);
    keeper.write("volume/volume.toml", keeper.read("volume/volume.toml") + more_settings);
    keeper.done("class add evening");
    for (const char* name : {"robin", "sorrel", "bram"}) {
      keeper.done(fmt::format("account add {} --password-stdin", name),
                  fmt::format("mill-race-{}\n", name));
    }
    keeper.done("account change robin --class evening");
    keeper.done("account change sorrel --role leader");
    keeper.done("class join evening sorrel --leader");
    service.emplace(STATIONER_PROGRAM, keeper.volume());
    REQUIRE(service->is_ready());
  }

  PlainClient at_terminal(const std::string& name) const {
    auto client = PlainClient::tcp(service->port("terminal"));
    REQUIRE(test::sign_in(client, name, "mill-race-" + name));
    return client;
  }

  // What the newest refusal is told of.
  boost::json::object why(const std::string& whose) const {
    const auto items = boost::json::parse(keeper.done("why " + whose + " --count 1 --json"));
    INFO(whose);
    REQUIRE(items.as_array().size() == 1);
    return items.as_array().front().as_object();
  }

  // As a person at the box types it.
  void obey(const std::string& remedy) const {
    INFO(remedy);
    REQUIRE(remedy.starts_with("stationer "));
    ::setenv("STATIONER_VOLUME", keeper.volume().c_str(), 1);
    const std::string line =
        fmt::format("stationer() {{ '{}' \"$@\"; }}; {} >/dev/null", STATIONER_PROGRAM, remedy);
    REQUIRE(std::system(line.c_str()) == 0);
    ::unsetenv("STATIONER_VOLUME");
  }
};

std::string text(const boost::json::object& item, const char* key) {
  return std::string(item.at(key).as_string());
}

// What comes of a line typed at a terminal, up to the next prompt.
std::string says(PlainClient& client, const std::string& line) {
  REQUIRE(client.send(line + "\n"));
  const auto answer = client.until("> ");
  REQUIRE(answer);
  return *answer;
}

// The first packet that comes of a request by TFTP (RFC 1350 §5).
std::string loads(std::uint16_t port, const std::string& file) {
  const int socket = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  sockaddr_in to{};
  to.sin_family = AF_INET;
  to.sin_port = htons(port);
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  std::string request("\0\1", 2);
  request += file + '\0' + "octet" + '\0';
  ::sendto(socket, request.data(), request.size(), 0, reinterpret_cast<const sockaddr*>(&to),
           sizeof to);
  pollfd query{socket, POLLIN, 0};
  std::string packet(600, '\0');
  const ssize_t got =
      ::poll(&query, 1, 20'000) == 1 ? ::recv(socket, packet.data(), packet.size(), 0) : 0;
  ::close(socket);
  packet.resize(got < 0 ? 0 : static_cast<std::size_t>(got));
  return packet;
}

struct Case {
  const char* before;  // commands of the keeper's, one a line
  const char* typed;   // by robin
  const char* told;    // what robin reads then
  const char* rule;    // what the keeper reads
  const char* remedy;
};

// Everything that is refused at a terminal and can be changed, in the order of an evening.
const std::vector<Case> cases = {
    {"", "folder /programs/mine", "You may not make a folder in /programs.",
     "Who tried counts as everyone, and the write bit for that, e+w, is not set.",
     "stationer file access /programs e+w"},
    {"file put plans /classes/evening/plans\nfile access /classes/evening/plans c-r",
     "show /classes/evening/plans", "You may not read /classes/evening/plans.",
     "Who tried counts as one of its class, and the read bit for that, c+r, is not set.",
     "stationer file access /classes/evening/plans c+r"},
    {"file put plans /members/robin/mine\nfile owner /members/robin/mine robin\n"
     "file access /members/robin/mine o-r",
     "show mine", "You may not read /members/robin/mine.",
     "Who tried counts as its owner, or who leads them, and the read bit for that, o+r, is not "
     "set.",
     "stationer file access /members/robin/mine o+r"},
    {"file put plans \"/members/robin/the plan's\"\nfile owner \"/members/robin/the plan's\" "
     "robin\n"
     "file access \"/members/robin/the plan's\" +k",
     "remove \"the plan's\"", "is kept", "has the keep bit.",
     "stationer file access '/members/robin/the plan'\\''s' a-k"},
    {"file put plans /public/poster", "remove /public/poster",
     "/public/poster belongs to the room.",
     "Only its owner, leaders of the owner's classes, and managers may do that.",
     "stationer file owner /public/poster robin"},
    {"class quota evening --mib 8 --files 2 --hard-files 2", "folder one",
     "2 files and folders are allowed", "The limit is that of the class evening.",
     "stationer class quota evening --files 8"},
    {"file put large /programs/large\naccount quota robin --mib 1 --hard-mib 1",
     "copy /programs/large large", "There is no room", "The limit is the account robin's own.",
     "stationer account quota robin --mib 3"},
    {"hand-in set /classes/evening/hand-in --closes \"2026-01-01 10:00\" --late no", "handin mine",
     "It is too late to hand in here", "/classes/evening/hand-in closed on 2026-01-01 10:00.",
     "stationer hand-in set /classes/evening/hand-in --late yes"},
    {"hand-in set /classes/evening/hand-in --closes never --opens \"2099-01-01 10:00\"",
     "handin mine", "It is too early to hand in here",
     "/classes/evening/hand-in opens on 2099-01-01 10:00.",
     "stationer hand-in set /classes/evening/hand-in --opens never"},
    {"account change robin --role leader", "freeze evening", "You do not lead evening.",
     "Only leaders of the class evening may.", "stationer class join evening robin --leader"},
};

}  // namespace

TEST_CASE("what is refused at a terminal is explained, and works after the command that is named") {
  Evening evening;
  Keeper& keeper = evening.keeper;
  keeper.write("plans", "The wheel turns at eight.\n");
  keeper.write("large", std::string((1 << 20) + 1, 'x'));
  auto robin = evening.at_terminal("robin");
  for (const Case& each : cases) {
    INFO(each.typed);
    std::string_view lines = each.before;
    while (!lines.empty()) {
      const auto end = std::min(lines.find('\n'), lines.size());
      keeper.done(lines.substr(0, end));
      lines.remove_prefix(std::min(end + 1, lines.size()));
    }
    const std::string told = says(robin, each.typed);
    INFO(told);
    CHECK(told.find(each.told) != std::string::npos);
    const auto why = evening.why("--account robin");
    CHECK(text(why, "who") == "robin");
    CHECK(text(why, "door") == "terminal");
    CHECK(told.find(text(why, "sentence").substr(0, 30)) != std::string::npos);
    INFO(text(why, "rule"));
    CHECK(text(why, "rule").find(each.rule) != std::string::npos);
    REQUIRE(text(why, "remedy") == each.remedy);
    evening.obey(text(why, "remedy"));
    const std::string then = says(robin, each.typed);
    INFO(then);
    CHECK(then.find(each.told) == std::string::npos);
    CHECK(then.find("not") == std::string::npos);
  }
  CHECK(evening.service->stop() == 0);
}

TEST_CASE("who can't sign in is explained, and can after the command that is named") {
  Evening evening;
  const Keeper& keeper = evening.keeper;
  const auto tries = [&](const std::string& name, const std::string& password) {
    auto client = PlainClient::tcp(evening.service->port("terminal"));
    return test::sign_in(client, name, password);
  };
  const auto refused = [&](const std::string& name, const std::string& password) {
    auto client = PlainClient::tcp(evening.service->port("terminal"));
    REQUIRE(client.until("begin.\r\n"));
    REQUIRE(client.send("\n"));
    REQUIRE(client.until("Name: "));
    REQUIRE(client.send(name + "\n"));
    REQUIRE(client.until("Password: "));
    REQUIRE(client.send(password + "\n"));
    REQUIRE(client.until("Name: "));
  };
  keeper.done("account close robin");
  refused("robin", "mill-race-robin");
  auto why = evening.why("--account robin");
  CHECK(text(why, "act") == "sign in");
  CHECK(text(why, "rule") == "The account robin is closed.");
  evening.obey(text(why, "remedy"));
  CHECK(tries("robin", "mill-race-robin"));

  keeper.done("account change robin --ends 2020-01-01");
  refused("robin", "mill-race-robin");
  why = evening.why("--account robin");
  CHECK(text(why, "rule") == "The account robin had an end, and that has come.");
  CHECK(text(why, "remedy") == "stationer account change robin --ends ''");
  evening.obey(text(why, "remedy"));
  CHECK(tries("robin", "mill-race-robin"));

  refused("bram", "mill-race-robin");
  why = evening.why("--account bram");
  CHECK(text(why, "rule") == "It was not the password of bram.");
  REQUIRE(text(why, "remedy") == "stationer account password bram");
  const std::string made = keeper.done("account password bram");
  const std::string password = made.substr(made.rfind(' ', made.size() - 2) + 1);
  CHECK(tries("bram", password.substr(0, password.find('\n'))));

  // What is typed as a name may be a password.
  refused("mill-race-sorrel", "sorrel");
  const std::string all = keeper.done("why --count 100 --json");
  INFO(all);
  CHECK(all.find("mill-race") == std::string::npos);
  CHECK(all.find("There is no account of the name that was typed.") != std::string::npos);
  for (int i = 0; i < 3; ++i) refused("sorrel", "mill-race-bram");
  refused("sorrel", "mill-race-bram");
  why = evening.why("--account sorrel");
  CHECK(text(why, "rule").find("Waiting helps.") != std::string::npos);
  CHECK(text(why, "remedy").empty());
  CHECK(evening.service->stop() == 0);
}

TEST_CASE("what stations may not do is explained, and works after the command that is named") {
  Evening evening("\n[stations]\nunknown = false\n");
  const Keeper& keeper = evening.keeper;
  const auto may_come_in = [&] {
    auto client = PlainClient::tcp(evening.service->port("terminal"));
    return client.until("begin.\r\n").has_value();
  };
  CHECK_FALSE(may_come_in());
  auto why = evening.why("--station 127.0.0.1");
  CHECK(text(why, "act") == "come in");
  CHECK(text(why, "rule") == "No station is registered with the address 127.0.0.1.");
  evening.obey(text(why, "remedy"));
  CHECK(may_come_in());
  CHECK(keeper.done("station list").find("station-1-1") != std::string::npos);

  keeper.write("menu", "1 lantern\n");
  keeper.done("file put menu /public/menu");
  const std::string not_there("\0\5\0\1", 4);
  CHECK(loads(evening.service->port("tftp"), "/public/menu").starts_with(not_there));
  why = evening.why("--station station-1-1");
  CHECK(text(why, "act") == "load");
  CHECK(text(why, "subject") == "/public/menu");
  CHECK(text(why, "rule").starts_with("By TFTP there is only what is in /programs"));
  evening.obey(text(why, "remedy"));
  CHECK(loads(evening.service->port("tftp"), "/public/menu") ==
        std::string("\0\3\0\1", 4) + "1 lantern\n");

  keeper.done("station change station-1-1 --name owl --door lpd --door ftp");
  CHECK_FALSE(may_come_in());
  why = evening.why("--station owl");
  CHECK(text(why, "rule") == "The station owl is kept to ftp and lpd.");
  evening.obey(text(why, "remedy"));
  CHECK(may_come_in());
  CHECK(evening.why("--station 1.1") == why);
  CHECK(evening.service->stop() == 0);
}

TEST_CASE("why a print job was refused or is held is told by its number") {
  Evening evening("\n[queue.short]\nmost_pages = 2\n[queue.asks]\npolicy = \"leader\"\n");
  const Keeper& keeper = evening.keeper;
  auto robin = evening.at_terminal("robin");
  keeper.write("long", std::string(40'000, '\f') + "\n");
  keeper.done("file put long /public/long");
  keeper.write("note", "High water at noon.\n");
  keeper.done("file put note /public/note");
  says(robin, "print /public/long short");
  // Printing takes its time.
  const auto why_of = [&](int job) {
    boost::json::array items;
    for (int i = 0; items.empty() && i < 500; ++i) {
      items = boost::json::parse(keeper.done(fmt::format("why --job {} --json", job))).as_array();
    }
    REQUIRE(items.size() == 1);
    return items.front().as_object();
  };
  const auto refused = why_of(1);
  INFO(boost::json::serialize(refused));
  CHECK(text(refused, "who") == "robin");
  CHECK(text(refused, "subject") == "job 1");
  CHECK(text(refused, "sentence").find("more than 2 pages") != std::string::npos);
  CHECK(
      text(refused, "rule").starts_with("most_pages under [queue.short] in volume.toml decided. "));
  CHECK(text(refused, "rule").find("of the job's 40001 bytes were read then.") !=
        std::string::npos);
  says(robin, "print /public/note asks");
  const auto held = why_of(2);
  CHECK(text(held, "sentence") == "It waits for a leader to release it.");
  CHECK(text(held, "remedy") == "stationer queue release 2");
  evening.obey(text(held, "remedy"));
  CHECK(keeper.done("why --job 2") == "Nothing of that kind was refused, as far as is known.\n");
  CHECK(evening.service->stop() == 0);

  // Without a service, jobs and the journal still tell.
  CHECK(keeper.done("why --job 1").find("Told: The job has more than 2 pages") !=
        std::string::npos);
}
