// Commands beside a running service.
#include "tests/support/serving.h"

#include <filesystem>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <unistd.h>

#include "fs/volume.h"
#include "tests/admin/process.h"
#include "tests/support/plain_client.h"

using namespace stationer;
using test::Keeper;

TEST_CASE("status says what the service is doing") {
  Keeper keeper;
  keeper.make_volume();
  test::Serving service(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service.is_ready());
  const std::string status = keeper.done("status");
  CHECK(status.find("\ndoors      at 127.0.0.1: ") != std::string::npos);
  for (const char* door : {"terminal", "lpd", "raw"}) {
    const std::string said = fmt::format(" {} {}", door, service.port(door));
    INFO(status);
    CHECK(status.find(said) != std::string::npos);
  }
  CHECK(keeper.failed("serve").find("in use") != std::string::npos);
  CHECK(keeper.failed("init volume").find("is not empty") != std::string::npos);
  CHECK(service.stop() == 0);
}

TEST_CASE("who is connected is listed, and hears a notice") {
  Keeper keeper;
  keeper.make_volume();
  test::Serving service(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service.is_ready());
  auto wren = test::PlainClient::tcp(service.port("terminal"));
  REQUIRE(test::sign_in(wren, "wren", "mill-race-1"));
  const std::string stations = keeper.done("station connected");
  INFO(stations);
  CHECK(stations.find("terminal") != std::string::npos);
  CHECK(stations.find("wren") != std::string::npos);
  CHECK(keeper.done("station connected --json").find("\"signed_in\":true") != std::string::npos);
  keeper.done("notice send wren The kettle is on.");
  REQUIRE(wren.send("\n"));
  CHECK(wren.until("A notice from the keeper has come."));
  CHECK(service.stop() == 0);
}

TEST_CASE("what is printed at the raw door can be fetched and given away") {
  Keeper keeper;
  keeper.make_volume();
  test::Serving service(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service.is_ready());
  {
    auto printer = test::PlainClient::tcp(service.port("raw"));
    REQUIRE(printer.send("High water at noon.\r\n"));
    printer.end_output();
    printer.until("never");  // until the service closes it
  }
  std::string listed;
  for (int i = 0; i < 200 && listed.find("(unclaimed)") == std::string::npos; ++i) {
    ::usleep(20'000);
    listed = keeper.done("printout list");
  }
  INFO(listed);
  CHECK(keeper.done("printout get 1 -").starts_with("%PDF-"));
  keeper.done("printout give 1 wren");
  CHECK(keeper.done("printout list --owner wren").find("(unclaimed)") == std::string::npos);
  CHECK(service.stop() == 0);
}

TEST_CASE("many commands at once all get their turn, with the service and without") {
  Keeper keeper;
  keeper.make_volume();
  const auto together = [&](int from) {
    // A shell runs them side by side.
    std::string script;
    for (int i = from; i < from + 8; ++i) {
      script += fmt::format("'{}' class add class{} || echo failed & ", STATIONER_PROGRAM, i);
    }
    script = "export STATIONER_VOLUME='" + keeper.volume() + "'; { " + script + "wait; } >'" +
             (keeper / "said") + "' 2>&1";
    CHECK(std::system(script.c_str()) == 0);
    CHECK(keeper.read("said") == "");
  };
  together(1);
  test::Serving service(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service.is_ready());
  together(9);
  const std::string classes = keeper.done("class list");
  for (int i = 1; i <= 16; ++i) {
    CHECK(classes.find(fmt::format("class{} ", i)) != std::string::npos);
  }
  CHECK(service.stop() == 0);
}

TEST_CASE("a volume may lie deeper than a socket's name is long") {
  // sockaddr_un has 108 bytes for a name (unix(7)).
  Keeper keeper;
  keeper.make_volume();
  const std::string deep = keeper / std::string(120, 'd');
  std::filesystem::create_directory(deep);
  std::filesystem::rename(keeper.volume(), deep + "/volume");
  keeper.named = deep + "/volume";
  test::Serving service(STATIONER_PROGRAM, keeper.named);
  REQUIRE(service.is_ready());
  CHECK(keeper.done("status").find("runs since") != std::string::npos);
  CHECK(service.stop() == 0);
  CHECK(keeper.done("status").find("does not run") != std::string::npos);
}

TEST_CASE("invariant 1: what a command did is there after the service was killed") {
  Keeper keeper;
  keeper.make_volume();
  {
    test::Serving service(STATIONER_PROGRAM, keeper.volume());
    REQUIRE(service.is_ready());
    keeper.done("file put - /public/letter", "Dear all");
    service.kill();
  }
  CHECK(keeper.done("file get /public/letter -") == "Dear all");
  CHECK(keeper.done("check").find("nothing is wrong.") != std::string::npos);
}

TEST_CASE("what is done in files/ while the service runs is there at once") {
  Keeper keeper;
  keeper.make_volume();
  test::Serving service(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service.is_ready());
  const auto listed = [&](bool wanted) {
    for (int i = 0; i < 500; ++i) {
      if ((keeper.done("file list /public").find("tides") != std::string::npos) == wanted)
        return true;
      ::usleep(20'000);
    }
    return false;
  };
  keeper.write("volume/files/public/tides", "high at noon");
  CHECK(listed(true));
  CHECK(keeper.done("file get /public/tides -") == "high at noon");
  std::filesystem::rename(keeper.volume() + "/files/public/tides",
                          keeper.volume() + "/files/programs/tides");
  CHECK(listed(false));
  CHECK(keeper.done("journal").find("moved on the host") != std::string::npos);
  std::filesystem::create_symlink("/etc", keeper.volume() + "/files/public/link");
  std::string status;
  for (int i = 0; i < 500 && status.find("files/public/link") == std::string::npos; ++i) {
    ::usleep(20'000);
    status = keeper.done("status");
  }
  CHECK(status.find("Trouble: \"files/public/link\" on the host is left alone.") !=
        std::string::npos);
  CHECK(service.stop() == 0);
}
