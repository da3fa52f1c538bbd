#include "server/stations.h"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "tests/support/test_room.h"

using namespace stationer;
using namespace stationer::server;
using test::TestRoom;
using test::TestVolume;

namespace {

constexpr const char* settings =
    "[profile.micro]\ncapitals = true\ncolumns = 40\n[profile.usual]\ncolumns = 72\n";

struct Mill : TestRoom {
  explicit Mill(const std::string& more = "") : TestRoom(settings + more) {}

  Stations& stations() { return room->stations; }
  void add(std::uint32_t number, const std::string& name, fs::StationChange station) {
    station.segment = 1;
    station.number = number;
    station.name = name;
    TestVolume::done(store.volume->stations().add(store.keeper, station));
  }
  fs::StationChange at(const std::string& address, const std::string& profile = "") {
    fs::StationChange station;
    station.address = address;
    station.profile = profile;
    return station;
  }
  std::size_t entries(const std::string& what) {
    fs::JournalQuery query;
    query.what = what;
    return store.desk().journal(query)->size();
  }
};

}  // namespace

TEST_CASE("a station has its profile, and everybody else the usual one") {
  Mill mill;
  mill.add(1, "owl", mill.at("10.0.0.7", "micro"));
  mill.add(2, "wren", mill.at("10.0.0.8"));
  mill.add(3, "dipper", mill.at("10.0.0.9", "gone"));
  CHECK(mill.stations().profile_at("10.0.0.7").screen.columns == 40);
  CHECK(mill.stations().profile_at("10.0.0.8").screen.columns == 72);
  CHECK(mill.stations().profile_at("10.0.0.9").screen.columns == 72);
  CHECK(mill.stations().profile_at("10.0.0.10").name == "usual");
  CHECK(mill.stations().own_profile_at("10.0.0.7")->name == "micro");
  CHECK(mill.stations().own_profile_at("10.0.0.8") == nullptr);
  CHECK(mill.stations().own_profile_at("10.0.0.9") == nullptr);
  CHECK(mill.stations().name_at("10.0.0.8") == "wren");
  CHECK(mill.stations().name_at("10.0.0.10") == "");
  CHECK(mill.stations().troubles() ==
        std::vector<std::string>{"There are stations with the profile gone, but no [profile.gone] "
                                 "in volume.toml."});
}

TEST_CASE("a station is known by its hardware address wherever it is, and by its line") {
  Mill mill;
  int asked = 0;
  mill.stations().hardware_of = [&](const std::string& address) {
    ++asked;
    return address == "10.0.0.20" ? std::string("02:00:5e:00:00:01") : std::string();
  };
  mill.add(1, "owl", mill.at("10.0.0.20"));
  CHECK(mill.stations().name_at("10.0.0.20") == "owl");
  CHECK(asked == 0);  // nobody is known by one
  fs::StationChange wren;
  wren.hardware = "02-00-5e-00-00-01";
  wren.line = "bench";
  mill.add(2, "wren", wren);
  CHECK(mill.stations().name_at("10.0.0.20") == "wren");
  CHECK(mill.stations().name_at("bench") == "wren");
  CHECK(mill.stations().name_at("10.0.0.21") == "");
}

TEST_CASE("a station comes in by the doors that it may use") {
  Mill mill;
  auto owl = mill.at("10.0.0.7");
  owl.doors = std::vector<std::string>{"tftp", "lpd"};
  mill.add(1, "owl", owl);
  CHECK(mill.stations().admit("10.0.0.7", "tftp"));
  const auto refused = mill.stations().admit("10.0.0.7", "terminal");
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == fs::Code::denied);
  CHECK(refused.error().message ==
        "The station owl may not use the door terminal. Ask the keeper if it should.");
  CHECK(mill.stations().admit("10.0.0.8", "terminal"));
  CHECK(mill.entries("station turned away") == 1);
}

TEST_CASE("whoever is turned away again and again is in the journal once an hour") {
  Mill mill("[stations]\nunknown = false\n");
  for (int i = 0; i < 100; ++i) CHECK_FALSE(mill.stations().admit("10.0.0.9", "raw"));
  CHECK(mill.stations().admit("10.0.0.9", "raw").error().message ==
        "This machine (10.0.0.9) is not registered here. Ask the keeper to register it.");
  CHECK(mill.entries("station turned away") == 1);
  *mill.store.now += std::chrono::minutes(61);
  CHECK_FALSE(mill.stations().admit("10.0.0.9", "raw"));
  CHECK(mill.entries("station turned away") == 2);
  const auto entry = mill.store.desk().journal({})->front();
  CHECK(entry.where == "raw 10.0.0.9");
  mill.add(1, "owl", mill.at("10.0.0.9"));
  CHECK(mill.stations().admit("10.0.0.9", "raw"));
}

TEST_CASE("strangers are kept in mind with what they tried, until they are registered") {
  Mill mill;
  const fs::Time start = *mill.store.now;
  CHECK(mill.stations().admit("10.0.0.8", "tftp"));
  CHECK(mill.stations().admit("10.0.0.9", "tftp"));
  *mill.store.now += std::chrono::seconds(5);
  CHECK(mill.stations().admit("10.0.0.8", "lpd"));
  CHECK(mill.stations().admit("10.0.0.8", "lpd"));
  auto strangers = mill.stations().strangers();
  REQUIRE(strangers.size() == 2);
  CHECK(strangers[0].address == "10.0.0.8");
  CHECK(strangers[0].count == 3);
  CHECK(strangers[0].doors.size() == 2);
  CHECK(strangers[0].first == start);
  CHECK(strangers[0].last == *mill.store.now);
  CHECK(strangers[1].address == "10.0.0.9");
  mill.add(1, "owl", mill.at("10.0.0.8"));
  strangers = mill.stations().strangers();
  REQUIRE(strangers.size() == 1);
  CHECK(strangers[0].address == "10.0.0.9");
}

TEST_CASE("invariant 6: of a thousand strangers the one that was here longest ago is forgotten") {
  Mill mill("[stations]\nunknown = false\n");
  CHECK_FALSE(mill.stations().admit("10.1.0.1", "tftp"));
  CHECK_FALSE(mill.stations().admit("10.1.0.2", "tftp"));
  CHECK_FALSE(mill.stations().admit("10.1.0.1", "tftp"));
  for (std::size_t i = 0; i < Stations::most_strangers - 1; ++i) {
    CHECK_FALSE(mill.stations().admit(fmt::format("10.2.{}.{}", i / 250, i % 250), "tftp"));
  }
  const auto strangers = mill.stations().strangers();
  CHECK(strangers.size() == Stations::most_strangers);
  CHECK(strangers.back().address == "10.1.0.1");
  CHECK(strangers.back().count == 2);
  CHECK(mill.entries("station turned away") <= 1000);
}
