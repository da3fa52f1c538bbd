#include "server/terminal/cargo.h"

#include <catch2/catch.hpp>

#include "server/protocol/kermit.h"
#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/support/test_room.h"
#include "tests/support/transfer_line.h"

using namespace stationer;
using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;
using Catch::Matchers::Contains;
using Catch::Matchers::EndsWith;
using test::TestRoom;
using test::Visit;

namespace {

// Robin at a terminal that is also the line of a program: a machine of ours at the far end.
struct Line {
  TestRoom room;
  std::optional<Visit> visit;

  Line() {
    room.store.add("robin");
    visit.emplace(room);
    visit->sign_in("robin");
  }

  // Gives the command, lets the far end carry, and gives what is said when the line is for people
  // again.
  std::string carries(const std::string& command, Player& far_end) {
    std::string heard = visit->types(command + "\r");
    const std::size_t begins = heard.find("stops it.\r\n");
    REQUIRE(begins != std::string::npos);
    heard.erase(0, begins + 11);
    return converses(heard, far_end);
  }

  std::string converses(std::string heard, Player& far_end) {
    far_end.set_now(room.loop.now());
    far_end.begin();
    for (int i = 0; i < 500; ++i) {
      if (!heard.empty()) far_end.hear(heard);
      const std::string said = far_end.take_sent();
      if (!said.empty()) {
        heard = visit->types(said);
      } else if (far_end.machine().outcome()) {
        break;
      } else {
        heard = passes(1s);
        far_end.sleep(1s);
      }
    }
    REQUIRE(far_end.machine().outcome());
    return passes(1s);  // which the line is left alone for
  }

  std::string passes(std::chrono::milliseconds time) {
    const std::size_t before = visit->screen.size();
    room.loop.pass(time);
    visit->terminal.tick(room.loop.now());
    visit->settle();
    return visit->screen.substr(before);
  }

  void writes(const std::string& name, const std::string& lines) {
    visit->types("write " + name + "\r" + lines + ".\r");
  }

  std::string bytes_of(const std::string& name) {
    const auto content = visit->session.open(visit->session.path(name).value());
    REQUIRE(content);
    return room.result(visit->session.read(*content, 0, 100'000)).value();
  }
  bool is_there(const std::string& name) {
    return visit->session.look(visit->session.path(name).value()).has_value();
  }
};

std::vector<CarriedFile> files_called(std::vector<std::string> names, std::size_t size) {
  std::mt19937 random(4);
  std::vector<CarriedFile> files(names.size());
  for (std::size_t i = 0; i < names.size(); ++i) {
    files[i].facts.name = names[i];
    files[i].facts.size = size;
    files[i].bytes = random_bytes(random, size);
    files[i].bytes.back() = 'x';
  }
  return files;
}

}  // namespace

TEST_CASE("cargo: what a station sends by XMODEM, YMODEM or Kermit is saved byte for byte") {
  Line line;
  SECTION("xmodem") {
    XmodemSend machine({});
    Player far_end(machine, files_called({"any"}, 5000));
    CHECK_THAT(line.carries("save tide.bin xmodem", far_end), Contains("tide.bin is saved: 4.9K."));
    CHECK(line.bytes_of("tide.bin") == files_called({"any"}, 5000)[0].bytes);
  }
  SECTION("ymodem") {
    XmodemSend machine({.batch = true});
    const auto files = files_called({"one.bin", "two.bin"}, 3000);
    Player far_end(machine, files);
    line.carries("save ymodem", far_end);
    CHECK(line.bytes_of("one.bin") == files[0].bytes);
    CHECK(line.bytes_of("two.bin") == files[1].bytes);
  }
  SECTION("kermit") {
    Kermit machine({.role = Kermit::Role::send});
    const auto files = files_called({"one.bin", "two.bin"}, 3000);
    Player far_end(machine, files);
    line.carries("save kermit", far_end);
    CHECK(line.bytes_of("one.bin") == files[0].bytes);
    CHECK(line.bytes_of("two.bin") == files[1].bytes);
  }
}

TEST_CASE("cargo: a text goes to the station with its line ends and comes back with ours") {
  Line line;
  line.writes("tides", "High water\r3:15\r");
  XmodemReceive machine({.batch = true});
  Player far_end(machine);
  CHECK_THAT(line.carries("fetch tides ymodem", far_end), Contains("tides was sent."));
  REQUIRE(far_end.files().size() == 1);
  const CarriedFile& file = far_end.files()[0];
  CHECK(file.facts.name == "tides");
  const bool crs = file.bytes == "High water\r3:15\r";
  CHECK((crs || file.bytes == "High water\r\n3:15\r\n"));
  CHECK(file.facts.size == file.bytes.size());

  XmodemReceive other({.batch = true});
  Player exact(other);
  line.carries("fetch tides ymodem exact", exact);
  REQUIRE(exact.files().size() == 1);
  CHECK(exact.files()[0].bytes == "High water\n3:15\n");

  XmodemSend back({.batch = true});
  Player sender(back, {{{"again", file.bytes.size(), {}, {}}, file.bytes}});
  line.carries("save ymodem text", sender);
  CHECK(line.bytes_of("again") == "High water\n3:15\n");
}

TEST_CASE("cargo: what is broken off leaves nothing, and what was there stays") {
  Line line;
  line.writes("tide.bin", "as it was\r");
  XmodemSend machine({});
  Player far_end(machine, files_called({"any"}, 5000));
  CHECK_THAT(line.visit->types("save tide.bin xmodem\r"), Contains("Replace tide.bin?"));
  line.visit->types("y\r");
  far_end.set_now(line.room.loop.now());
  far_end.begin();
  far_end.hear("C");
  line.visit->types(far_end.take_sent());
  far_end.hear("\x06");
  line.visit->types(far_end.take_sent());
  line.visit->types("\x18\x18");
  CHECK_THAT(line.passes(1s), Contains("broke it off"));
  CHECK(line.bytes_of("tide.bin") == "as it was\n");
}

TEST_CASE(
    "cargo: a Kermit at the far end is served with files, refused others, and says when it is "
    "done") {
  Line line;
  line.writes("tides", "High water\r");
  CHECK_THAT(line.visit->types("kermit\r"), Contains("leads back here."));
  Kermit machine({.role = Kermit::Role::send});
  const auto files = files_called({"one.bin"}, 3000);
  Player far_end(machine, files);
  far_end.set_now(line.room.loop.now());
  far_end.begin();
  while (!machine.outcome()) far_end.hear(line.visit->types(far_end.take_sent()));
  CHECK(machine.outcome()->done);
  CHECK(line.bytes_of("one.bin") == files[0].bytes);

  const auto asks = [&](const kermit::Packet& packet) {
    return line.visit->types(kermit::write_packet(packet, kermit::Check::one) + "\r");
  };
  CHECK_THAT(asks({0, 'R', "nothing"}), Contains("There is no"));

  Kermit getter({.role = Kermit::Role::receive});
  Player client(getter);
  client.set_now(line.room.loop.now());
  client.begin();
  client.take_sent();
  client.hear(asks({0, 'R', "tides"}));
  while (!getter.outcome()) client.hear(line.visit->types(client.take_sent()));
  line.visit->types(client.take_sent());  // that it heard the end
  REQUIRE(client.files().size() == 1);
  CHECK(client.files()[0].bytes == "High water\r\n");

  CHECK_THAT(asks({0, 'G', "F"}), Contains("# Y>"));
  CHECK_THAT(line.passes(1s), EndsWith("/members/robin> "));
}

TEST_CASE("cargo: what may not be saved is refused in a sentence") {
  Line line;
  Kermit machine({.role = Kermit::Role::send});
  Player far_end(machine, files_called({"bad\x01name"}, 10));
  line.carries("save kermit", far_end);
  CHECK_THAT(line.visit->answer("list"), !Contains("bad"));
}
