// Stations by control methods.
#include <catch2/catch.hpp>

#include "tests/support/test_control.h"

using namespace stationer;
using test::TestControl;
namespace json = boost::json;
using fs::Code;

namespace {

constexpr const char* settings =
    "[profile.micro]\ncapitals = true\n[serial.bench]\ndevice = \"/dev/ttyS9\"\n";

TestControl::Object owl() {
  return {{"segment", 1},        {"number", 12},           {"name", "Owl"},
          {"profile", "micro"},  {"line", "bench"},        {"address", "10.0.0.7"},
          {"doors", "tftp lpd"}, {"note", "at the window"}};
}

}  // namespace

TEST_CASE("a station is registered, shown, changed and forgotten") {
  TestControl control(settings);
  CHECK(control.listed("station.list", "name") == "");
  control.done("station.add", owl());
  const auto shown = control.done("station.show", {{"station", "1.12"}});
  CHECK(json::serialize(shown) ==
        "{\"station\":\"1.12\",\"segment\":1,\"number\":12,\"name\":\"owl\",\"profile\":\"micro\","
        "\"address\":\"10.0.0.7\",\"hardware\":\"\",\"line\":\"bench\",\"doors\":[\"lpd\","
        "\"tftp\"],\"note\":\"at the window\",\"created\":\"2027-01-15T08:00:00.000Z\",\"boot\":"
        "[]}");
  control.done("station.change",
               {{"station", "owl"}, {"number", 13}, {"doors", "all"}, {"profile", ""}});
  CHECK(control.listed("station.list", "station") == "1.13");
  CHECK(control.listed("station.list", "doors") == "[]");
  CHECK(control.listed("station.list", "profile") == "");
  control.done("station.boot", {{"station", "owl"}, {"given", "/programs/menu"}});
  control.done("station.boot",
               {{"station", "owl"}, {"asked", "START"}, {"given", "programs/maze"}});
  CHECK(control.listed("station.list", "boot") ==
        "[{\"asked\":\"\",\"given\":\"/programs/menu\"},{\"asked\":\"start\",\"given\":"
        "\"/programs/maze\"}]");
  control.done("station.boot", {{"station", "owl"}, {"asked", "start"}});
  CHECK(control.refused("station.boot", {{"station", "owl"}, {"asked", "start"}}) ==
        Code::not_found);
  control.done("station.remove", {{"station", "owl"}});
  CHECK(control.refused("station.show", {{"station", "owl"}}) == Code::not_found);
}

TEST_CASE("a station that can't be is refused in a sentence") {
  TestControl control(settings);
  control.done("station.add", owl());
  const auto refused = [&](TestControl::Object change) {
    auto wanted = owl();
    for (auto& each : change) wanted[each.key()] = each.value();
    return control.refused("station.add", wanted);
  };
  CHECK(refused({}) == Code::exists);
  CHECK(refused({{"profile", "none"}}) == Code::not_found);
  CHECK(refused({{"line", "none"}}) == Code::not_found);
  CHECK(refused({{"doors", "window"}}) == Code::not_found);
  CHECK(refused({{"segment", 128}}) == Code::bad_input);
  CHECK(refused({{"number", 13}, {"name", "wren"}, {"address", "here"}}) == Code::bad_input);
  CHECK(control.refused("station.add", {{"name", "wren"}}) == Code::bad_input);
  CHECK(control.refused("station.change", {{"station", "owl"}}) == Code::bad_input);
  CHECK(control.refused("station.change", {{"station", "wren"}, {"note", ""}}) == Code::not_found);
  CHECK(control.refused("station.remove", {{"station", "wren"}}) == Code::not_found);
}

TEST_CASE("a machine that was at a door is listed, and adopted by either address") {
  TestControl control(settings);
  auto& stations = control.room.room->stations;
  stations.hardware_of = [](const std::string& address) {
    return address == "10.0.0.9" ? std::string("02:00:5e:00:00:09") : std::string();
  };
  for (const char* address : {"10.0.0.8", "10.0.0.9", "10.0.0.9"}) {
    CHECK(stations.admit(address, "tftp"));
  }
  CHECK(control.listed("station.unknown", "address") == "10.0.0.9 10.0.0.8");
  CHECK(control.listed("station.unknown", "hardware") == "02:00:5e:00:00:09 ");
  CHECK(control.listed("station.unknown", "count") == "2 1");
  CHECK(control.listed("station.unknown", "doors") == "[\"tftp\"] [\"tftp\"]");
  control.done("station.adopt",
               {{"address", "10.0.0.8"}, {"segment", 1}, {"number", 1}, {"name", "owl"}});
  CHECK(control.listed("station.unknown", "address") == "10.0.0.9");
  CHECK(control.refused("station.adopt", {{"address", "10.0.0.10"},
                                          {"by_hardware", true},
                                          {"segment", 1},
                                          {"number", 2},
                                          {"name", "wren"}}) == Code::not_found);
  control.done("station.adopt", {{"address", "10.0.0.9"},
                                 {"by_hardware", true},
                                 {"segment", 1},
                                 {"number", 2},
                                 {"name", "wren"}});
  CHECK(control.listed("station.unknown", "address") == "");
  CHECK(control.listed("station.list", "hardware") == " 02:00:5e:00:00:09");
  CHECK(control.listed("station.list", "address") == "10.0.0.8 ");
  CHECK(control.refused("station.adopt",
                        {{"address", "owl"}, {"segment", 1}, {"number", 3}, {"name", "dipper"}}) ==
        Code::bad_input);
}

TEST_CASE("without a service nobody is unknown, and stations are registered all the same") {
  TestControl control(settings, false);
  CHECK(control.listed("station.unknown", "address") == "");
  control.done("station.adopt",
               {{"address", "10.0.0.8"}, {"segment", 1}, {"number", 1}, {"name", "owl"}});
  CHECK(control.listed("station.list", "name") == "owl");
}

TEST_CASE("who is connected is told with the station's name") {
  TestControl control;
  control.done("station.add",
               {{"segment", 1}, {"number", 1}, {"name", "owl"}, {"address", "10.0.0.7"}});
  server::Session known(*control.room.room, "terminal", "10.0.0.7");
  server::Session unknown(*control.room.room, "terminal", "10.0.0.8");
  CHECK(control.listed("session.list", "station") == "owl ");
}
