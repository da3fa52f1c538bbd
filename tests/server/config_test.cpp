#include "server/config.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::server;

namespace {

fs::Result<Config> read(const std::string& text) {
  auto queues = print::read_queues(text);
  if (!queues) return queues.error();
  return read_config(text, *queues);
}

std::string complaint(const std::string& text) {
  auto config = read(text);
  return config ? "none" : config.error().message;
}

}  // namespace

TEST_CASE("a volume that says nothing about doors has four on private addresses") {
  const auto config = read("");
  REQUIRE(config);
  CHECK(config->terminal.open);
  CHECK(config->terminal.address == "private");
  CHECK(config->terminal.port == 8023);
  CHECK(config->terminal.telnet == Dialect::Door::automatic);
  CHECK(config->lpd.port == 8515);
  CHECK(config->raw.port == 9100);
  CHECK(config->ftp.open);
  CHECK(config->ftp.port == 8021);
  CHECK(config->ftp.guests);
  CHECK(config->ftp.idle == std::chrono::minutes(15));
  CHECK_FALSE(config->ftp.needs_tls);
  CHECK(config->raw.usual.idle == std::chrono::seconds(60));
}

TEST_CASE("a new volume's settings are read without complaint and say what the defaults are") {
  const auto written =
      read(std::string(print::new_queue_settings()) + std::string(new_door_settings()));
  const auto silent = read("");
  REQUIRE(written);
  CHECK(written->terminal.port == silent->terminal.port);
  CHECK(written->lpd.port == silent->lpd.port);
  CHECK(written->raw.port == silent->raw.port);
  CHECK(written->ftp.port == silent->ftp.port);
  CHECK(written->terminal.guests == silent->terminal.guests);
  CHECK(written->time.port == silent->time.port);
  CHECK(written->daytime.port == silent->daytime.port);
  CHECK(written->http.port == silent->http.port);
}

TEST_CASE("doors are read from the settings") {
  const auto config = read(
      "[door.terminal]\naddress = \"127.0.0.1\"\nport = 0\ntelnet = \"never\"\nguests = false\n"
      "charset = \"cp437\"\ncapitals = true\ncolumns = 40\nrows = 0\nidle_minutes = 5\nnames = "
      "\"dos\"\nmost = "
      "5\nmost_per_address = "
      "2\n"
      "[door.lpd]\nopen = false\nbelieve_names = false\n"
      "[queue.listing]\n[door.raw]\nqueue = \"listing\"\nidle_seconds = 3\n");
  REQUIRE(config);
  CHECK(config->terminal.telnet == Dialect::Door::never);
  CHECK_FALSE(config->terminal.guests);
  CHECK(config->terminal.setup.screen.charset == print::Charset::cp437);
  CHECK(config->terminal.setup.screen.capitals);
  CHECK(config->terminal.setup.screen.columns == 40);
  CHECK(config->terminal.setup.rows == 0);
  CHECK(config->terminal.idle == std::chrono::minutes(5));
  CHECK(config->terminal.setup.names->name == "dos");
  CHECK(config->terminal.most == 5);
  CHECK(config->terminal.most_per_address == 2);
  CHECK_FALSE(config->lpd.open);
  CHECK_FALSE(config->lpd.believe_names);
  CHECK(config->raw.usual.queue == "listing");
  CHECK(config->raw.usual.idle == std::chrono::seconds(3));
}

TEST_CASE("the doors that hand out what all may have are open and have settings of their own") {
  const auto silent = read("");
  REQUIRE(silent);
  CHECK(silent->http.open);
  CHECK(silent->http.port == 8080);
  CHECK(silent->http.idle == std::chrono::seconds(300));
  CHECK(silent->time.port == 8037);
  CHECK(silent->daytime.port == 8013);
  const auto config = read(
      "[door.http]\nidle_seconds = 5\nport = 80\nmost_per_address = 3\n[door.time]\nport = 37\n"
      "[door.daytime]\nopen = false\n[stations]\nunknown = false\n");
  REQUIRE(config);
  CHECK(config->http.idle == std::chrono::seconds(5));
  CHECK(config->http.most_per_address == 3);
  CHECK(config->time.port == 37);
  CHECK_FALSE(config->daytime.open);
  CHECK_FALSE(config->stations.unknown);
  for (const char* door : {"http", "time", "daytime"}) {
    CHECK(complaint(std::string("\n[door.") + door + "]\nqueue = \"x\"").find("line 3") !=
          std::string::npos);
  }
  CHECK(complaint("[door.http]\nidle_seconds = 0\n").find("line 2") != std::string::npos);
}

TEST_CASE("a public address needs a setting that says so") {
  CHECK(complaint("[door.raw]\naddress = \"8.8.8.8\"\n").find("public = true") !=
        std::string::npos);
  CHECK(complaint("[door.raw]\naddress = \"0.0.0.0\"\n").find("public = true") !=
        std::string::npos);
  CHECK(complaint("[door.raw]\naddress = \"0.0.0.0\"\npublic = true\n") == "none");
  CHECK(complaint("[door.raw]\naddress = \"192.168.1.5\"\n") == "none");
}

TEST_CASE("what can't be right about doors is told with its line") {
  CHECK(complaint("[door.terminal]\nnames = \"nine\"\n").find("line 2: There is no name style") !=
        std::string::npos);
  for (const char* line : {"port = 70000", "port = -1", "port = \"x\"", "address = \"here\"",
                           "address = 3", "open = 1", "telnet = \"maybe\"", "charset = \"runes\"",
                           "columns = 5", "rows = 999", "most = 0", "pork = 3"}) {
    INFO(line);
    CHECK(complaint(std::string("\n[door.terminal]\n") + line).find("line 3") != std::string::npos);
  }
  CHECK(complaint("[door.window]\n").find("line 1") != std::string::npos);
  CHECK(complaint("[doors.terminal]\n").find("line 1") != std::string::npos);
  CHECK(complaint("door = 3\n").find("line 1") != std::string::npos);
  CHECK(complaint("[door.raw]\nqueue = \"none\"\n").find("no [queue.none]") != std::string::npos);
}

TEST_CASE("a machine that is named by its address has a queue and a patience of its own") {
  const std::string text =
      "[queue.paper]\n[queue.listing]\n[print]\nqueue = \"paper\"\n"
      "[door.raw]\nidle_seconds = 30\n"
      "[door.raw.station.\"10.0.0.7\"]\nqueue = \"listing\"\n"
      "[door.raw.station.\"fd00:0::7\"]\nidle_seconds = 300\n";
  const auto config = read_config(text, *print::read_queues(text));
  REQUIRE(config);
  CHECK(config->raw.station("10.0.0.7").queue == "listing");
  CHECK(config->raw.station("10.0.0.7").idle == std::chrono::seconds(30));
  CHECK(config->raw.station("fd00::7").idle == std::chrono::seconds(300));
  CHECK(config->raw.station("fd00::7").queue == "");
  CHECK(config->raw.station("10.0.0.8").idle == std::chrono::seconds(30));
  CHECK(complaint("[door.raw.station.owl]\n").find("goes by its address") != std::string::npos);
  CHECK(complaint("[door.raw.station.\"10.0.0.7\"]\nqueue = \"none\"\n").find("no [queue.none]") !=
        std::string::npos);
  CHECK(complaint("[door.raw.station.\"10.0.0.7\"]\nport = 3\n").find("line 2") !=
        std::string::npos);
}

TEST_CASE("serial lines are read from the settings, each with its screen") {
  const auto config = read(
      "[serial.bench]\ndevice = \"/dev/ttyS0\"\nspeed = 31250\nbits = 7\nparity = \"odd\"\n"
      "stop_bits = 2\nflow = \"rts-cts\"\ncarrier = true\ncharacter_ms = 3\nline_ms = 200\n"
      "capitals = true\ncolumns = 20\nguests = false\n"
      "[serial.plain]\ndevice = \"/dev/ttyS1\"\n");
  REQUIRE(config);
  REQUIRE(config->lines.size() == 2);
  const SerialLineConfig& bench = config->lines[0];
  CHECK(bench.name == "bench");
  CHECK(bench.port.device == "/dev/ttyS0");
  CHECK(bench.port.speed == 31250);
  CHECK(bench.port.bits == 7);
  CHECK(bench.port.parity == SerialSettings::Parity::odd);
  CHECK(bench.port.stop_bits == 2);
  CHECK(bench.port.flow == SerialSettings::Flow::rts_cts);
  CHECK(bench.port.carrier);
  CHECK(bench.pacing.character == std::chrono::milliseconds(3));
  CHECK(bench.pacing.line == std::chrono::milliseconds(200));
  CHECK(bench.setup.screen.capitals);
  CHECK(bench.setup.screen.columns == 20);
  CHECK(bench.setup.seven_bits);
  CHECK_FALSE(bench.guests);
  CHECK(bench.telnet == Dialect::Door::never);
  const SerialLineConfig& plain = config->lines[1];
  CHECK(plain.port.speed == 9600);
  CHECK(plain.port.flow == SerialSettings::Flow::none);
  CHECK_FALSE(plain.setup.seven_bits);
}

TEST_CASE("what can't be right about serial lines is told with its line") {
  for (const char* line :
       {"speed = 10", "speed = 9000000", "bits = 9", "parity = \"mark\"", "stop_bits = 3",
        "flow = \"dtr\"", "carrier = 1", "line_ms = -1", "port = 3"}) {
    INFO(line);
    CHECK(
        complaint(std::string("[serial.bench]\ndevice = \"/dev/ttyS0\"\n") + line).find("line 3") !=
        std::string::npos);
  }
  CHECK(complaint("[serial.bench]\n").find("needs the name of its port") != std::string::npos);
  CHECK(complaint("[serial.bench]\ndevice = \"ttyS0\"\n").find("needs the name of its port") !=
        std::string::npos);
  CHECK(complaint("[serial.a]\ndevice = \"/dev/x\"\n[serial.b]\ndevice = \"/dev/x\"\n")
            .find("have the same port") != std::string::npos);
}

TEST_CASE("machines sign on by themselves only as who the settings call a visitor") {
  const std::string visitors = "[visitors]\naccounts = [\"Visitor\"]\n";
  const auto config = read(visitors +
                           "[door.terminal.station.\"10.0.0.7\"]\nsign_on = \"visitor\"\n"
                           "[serial.bench]\ndevice = \"/dev/ttyS0\"\nsign_on = \"visitor\"\n");
  REQUIRE(config);
  CHECK(config->terminal.sign_on_of("10.0.0.7") == "visitor");
  CHECK(config->terminal.sign_on_of("10.0.0.8").empty());
  CHECK(config->lines.front().sign_on_of("bench") == "visitor");
  for (const std::string door : {"[door.terminal]\nsign_on = \"bram\"\n",
                                 "[door.terminal.station.\"10.0.0.7\"]\nsign_on = \"bram\"\n",
                                 "[serial.bench]\ndevice = \"/dev/ttyS0\"\nsign_on = \"bram\"\n"}) {
    CHECK(
        complaint(visitors + door) ==
        "volume.toml: sign_on = \"bram\" lets everybody in as bram without a password. If that is "
        "meant, write accounts = [\"bram\"] under [visitors].");
  }
  CHECK(complaint("[visitors]\naccounts = \"visitor\"\n").find("a list of names") !=
        std::string::npos);
  CHECK(complaint("[visitors]\ntidy_at = \"ten\"\n").find("tidy_at must be a time") !=
        std::string::npos);
  CHECK(complaint("[visitors]\nwho = 1\n").find("who") != std::string::npos);
}

TEST_CASE("the FTP door needs a certificate and its key for TLS") {
  const auto config = read(
      "[door.ftp]\nport = 21\nguests = false\nidle_minutes = 30\ncertificate = \"/c\"\n"
      "key = \"/k\"\nneeds_tls = true\n");
  REQUIRE(config);
  CHECK(config->ftp.port == 21);
  CHECK_FALSE(config->ftp.guests);
  CHECK(config->ftp.idle == std::chrono::minutes(30));
  CHECK(config->ftp.certificate == "/c");
  CHECK(config->ftp.key == "/k");
  CHECK(config->ftp.needs_tls);
  CHECK(complaint("[door.ftp]\ncertificate = \"/c\"\n").find("its key") != std::string::npos);
  CHECK(complaint("[door.ftp]\nneeds_tls = true\n").find("certificate") != std::string::npos);
  CHECK(complaint("[door.ftp]\nidle_minutes = 0\n") != "none");
  CHECK(complaint("[door.ftp]\ncolumns = 40\n") != "none");
}
