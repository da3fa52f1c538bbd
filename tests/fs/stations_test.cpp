#include "fs/stations.h"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "tests/support/catalogue_damage.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::TestVolume;

namespace {

struct Mill : TestVolume {
  Stations& stations() { return volume->stations(); }

  StationChange station(std::uint32_t number, const std::string& name) {
    StationChange wanted;
    wanted.segment = 1;
    wanted.number = number;
    wanted.name = name;
    return wanted;
  }
  void add(std::uint32_t number, const std::string& name, const std::string& address = "") {
    StationChange wanted = station(number, name);
    wanted.address = address;
    done(stations().add(keeper, wanted));
  }
  Code change(const std::string& which, const StationChange& change) {
    return refused(stations().change(keeper, which, change));
  }
  // All that the registry holds, one station a line.
  std::string all() {
    std::string out;
    for (const auto& each : stations().all()) {
      out +=
          fmt::format("{}.{} {} {} {} {} {} {}", each.segment, each.number, each.name, each.profile,
                      each.address, each.hardware, each.line, fmt::join(each.doors, "+"));
      for (const auto& boot : each.boot) out += fmt::format(" {}={}", boot.asked, boot.given);
      out += "\n";
    }
    return out;
  }
  std::string last_entry() {
    const auto entries = desk().journal({});
    REQUIRE(entries);
    REQUIRE_FALSE(entries->empty());
    const auto& entry = entries->front();
    return entry.who + " | " + entry.what + " | " + entry.subject + " | " + entry.detail;
  }
};

}  // namespace

TEST_CASE("a station is recognised by its address, its hardware address and its line") {
  Mill mill;
  StationChange owl = mill.station(12, "Owl");
  owl.profile = "Micro";
  owl.address = "10.0.0.7";
  owl.hardware = "02-00-5E-00-00-01";
  owl.line = "bench";
  owl.doors = std::vector<std::string>{"tftp", "lpd"};
  owl.note = "by the window";
  TestVolume::done(mill.stations().add(mill.keeper, owl));
  const auto found = mill.stations().at("10.0.0.7");
  REQUIRE(found);
  CHECK(found->segment == 1);
  CHECK(found->number == 12);
  CHECK(found->name == "owl");
  CHECK(found->profile == "micro");
  CHECK(found->note == "by the window");
  CHECK(found->created == *mill.now);
  CHECK(found->may_use("tftp"));
  CHECK_FALSE(found->may_use("terminal"));
  CHECK(mill.stations().with("02:00:5e:00:00:01")->name == "owl");
  CHECK(mill.stations().on("bench")->name == "owl");
  CHECK(mill.stations().station("1.12")->name == "owl");
  CHECK(mill.stations().station("OWL")->number == 12);
  CHECK(mill.stations().knows_hardware());
  for (const char* other : {"", "10.0.0.8", "bench", "02:00:5e:00:00:01"}) {
    CHECK_FALSE(mill.stations().at(other));
  }
  CHECK_FALSE(mill.stations().with(""));
  CHECK_FALSE(mill.stations().on(""));
}

TEST_CASE("nothing of a station is another's") {
  Mill mill;
  StationChange owl = mill.station(12, "owl");
  owl.address = "10.0.0.7";
  owl.hardware = "02:00:5e:00:00:01";
  owl.line = "bench";
  TestVolume::done(mill.stations().add(mill.keeper, owl));
  const auto refused = [&](StationChange wanted) {
    return TestVolume::refused(mill.stations().add(mill.keeper, wanted));
  };
  CHECK(refused(mill.station(12, "wren")) == Code::exists);
  CHECK(refused(mill.station(13, "OWL")) == Code::exists);
  StationChange wren = mill.station(13, "wren");
  wren.address = "::ffff:10.0.0.7";
  CHECK(refused(wren) == Code::exists);
  wren = mill.station(13, "wren");
  wren.hardware = "02005e000001";
  CHECK(refused(wren) == Code::exists);
  wren = mill.station(13, "wren");
  wren.line = "bench";
  CHECK(refused(wren) == Code::exists);
  CHECK(mill.stations().all().size() == 1);
  // What it has itself is not in its way.
  owl.note = "moved";
  TestVolume::done(mill.stations().change(mill.keeper, "owl", owl));
  mill.add(13, "wren");
  CHECK(mill.change("wren", {.name = "owl"}) == Code::exists);
  CHECK(mill.change("wren", {.number = 12}) == Code::exists);
}

TEST_CASE("what a station can't be is refused, and nothing of it is kept") {
  Mill mill;
  const auto refused = [&](const StationChange& wanted) {
    return TestVolume::refused(mill.stations().add(mill.keeper, wanted));
  };
  CHECK(refused({}) == Code::bad_input);
  CHECK(refused({.segment = 1, .number = 1}) == Code::bad_name);
  // Common practice, no source: 127 segments of 254 stations.
  CHECK(refused({.segment = 128, .number = 1, .name = "owl"}) == Code::bad_input);
  CHECK(refused({.segment = 1, .number = 255, .name = "owl"}) == Code::bad_input);
  CHECK(refused({.segment = 0, .number = 1, .name = "owl"}) == Code::bad_input);
  StationChange owl = mill.station(1, "owl");
  owl.address = "here";
  CHECK(refused(owl) == Code::bad_input);
  owl = mill.station(1, "owl");
  owl.note = "two\nlines";
  CHECK(refused(owl) == Code::bad_input);
  owl = mill.station(1, "owl");
  owl.profile = "two words";
  CHECK(refused(owl) == Code::bad_name);
  CHECK(mill.all().empty());
  TestVolume::done(
      mill.stations().add(mill.keeper, {.segment = 127, .number = 254, .name = "owl"}));
  CHECK(mill.stations().station("127.254")->name == "owl");
}

TEST_CASE("a station gets another number, and keeps its boot names") {
  Mill mill;
  mill.add(12, "owl", "10.0.0.7");
  TestVolume::done(mill.stations().set_boot_name(mill.keeper, "owl", "BOOT.IMG", "programs/a"));
  TestVolume::done(mill.stations().change(mill.keeper, "owl", {.segment = 2, .number = 3}));
  CHECK(mill.all() == "2.3 owl  10.0.0.7    boot.img=/programs/a\n");
  CHECK(mill.stations().at("10.0.0.7")->segment == 2);
  TestVolume::done(mill.stations().change(mill.keeper, "2.3", {.address = ""}));
  CHECK_FALSE(mill.stations().at("10.0.0.7"));
  mill.add(12, "wren", "10.0.0.7");
  CHECK(mill.stations().at("10.0.0.7")->name == "wren");
  TestVolume::done(mill.stations().remove(mill.keeper, "owl"));
  CHECK(mill.all() == "1.12 wren  10.0.0.7   \n");
  mill.reopen();
  CHECK(mill.all() == "1.12 wren  10.0.0.7   \n");
  CHECK(mill.findings() == "");
}

TEST_CASE("a boot name is asked for in any case, and one may stand for all") {
  Mill mill;
  mill.add(12, "owl");
  const auto set = [&](const char* asked, const char* given) {
    return mill.stations().set_boot_name(mill.keeper, "owl", asked, given);
  };
  const auto given = [&](const char* asked) {
    const auto owl = mill.stations().station("owl");
    const std::string* path = owl->given(asked);
    return path == nullptr ? std::string("nothing") : *path;
  };
  CHECK(given("start") == "nothing");
  TestVolume::done(set("Start", "/programs/games/maze"));
  CHECK(given("START") == "/programs/games/maze");
  CHECK(given("/start") == "/programs/games/maze");
  CHECK(given("other") == "nothing");
  TestVolume::done(set("", "/programs/menu"));
  CHECK(given("other") == "/programs/menu");
  CHECK(given("") == "/programs/menu");
  CHECK(given("start") == "/programs/games/maze");
  TestVolume::done(set("start", ""));
  CHECK(given("start") == "/programs/menu");
  CHECK(TestVolume::refused(set("start", "")) == Code::not_found);
  CHECK(TestVolume::refused(set("start", "../x")) != Code::io);
  CHECK(TestVolume::refused(set("start", "/")) == Code::bad_input);
  CHECK(TestVolume::refused(set("a\tb", "/programs/menu")) == Code::bad_input);
  CHECK(TestVolume::refused(set(std::string(129, 'a').c_str(), "/x")) == Code::bad_input);
  for (int n = 1; n < 32; ++n) TestVolume::done(set(fmt::format("n{}", n).c_str(), "/x"));
  CHECK(TestVolume::refused(set("one more", "/x")) == Code::over_quota);
  TestVolume::done(set("n1", "/y"));
  const std::string all = mill.all();
  mill.reopen();
  CHECK(mill.all() == all);
}

TEST_CASE("only managers change stations") {
  Mill mill;
  mill.add(12, "owl");
  const Caller robin = mill.TestVolume::add("robin");
  const Caller sorrel = mill.TestVolume::add("sorrel", Role::leader);
  const Caller heron = mill.TestVolume::add("heron", Role::manager);
  for (const Caller& each : {robin, sorrel, Caller{no_account, false, "test"}}) {
    CHECK(TestVolume::refused(mill.stations().add(each, mill.station(13, "wren"))) == Code::denied);
    CHECK(TestVolume::refused(mill.stations().change(each, "owl", {.name = "x"})) == Code::denied);
    CHECK(TestVolume::refused(mill.stations().remove(each, "owl")) == Code::denied);
    CHECK(TestVolume::refused(mill.stations().set_boot_name(each, "owl", "a", "/b")) ==
          Code::denied);
  }
  TestVolume::done(mill.stations().add(heron, mill.station(13, "wren")));
}

TEST_CASE("invariant 9: every change of a station is in the journal") {
  Mill mill;
  StationChange owl = mill.station(12, "owl");
  owl.address = "10.0.0.7";
  TestVolume::done(mill.stations().add(mill.keeper, owl));
  CHECK(mill.last_entry() ==
        "the keeper | station added | owl | number 1.12, name owl, address 10.0.0.7");
  TestVolume::done(mill.stations().change(
      mill.keeper, "owl",
      {.number = 13, .address = "", .doors = std::vector<std::string>{"raw", "lpd"}}));
  CHECK(mill.last_entry() ==
        "the keeper | station changed | owl | number 1.13, address none, doors lpd raw");
  TestVolume::done(mill.stations().set_boot_name(mill.keeper, "owl", "", "/programs/menu"));
  CHECK(mill.last_entry() ==
        "the keeper | boot name set | owl | whatever it asks for: /programs/menu");
  TestVolume::done(mill.stations().set_boot_name(mill.keeper, "owl", "", ""));
  CHECK(mill.last_entry() == "the keeper | boot name removed | owl | whatever it asks for");
  TestVolume::done(mill.stations().remove(mill.keeper, "owl"));
  CHECK(mill.last_entry() == "the keeper | station removed | owl | number 1.13");
}

TEST_CASE("invariant 1: a change of a station is wholly there or wholly absent, whatever fails") {
  const std::string before = "1.12 owl  10.0.0.7    a=/programs/a\n";
  const std::string after = "2.3 owl  10.0.0.9    a=/programs/a\n";
  bool failed = true;
  for (int n = 1; failed; ++n) {
    Mill mill;
    mill.add(12, "owl", "10.0.0.7");
    TestVolume::done(mill.stations().set_boot_name(mill.keeper, "owl", "a", "/programs/a"));
    REQUIRE(mill.volume->drain());
    mill.failure->calls = 0;
    mill.failure->failed = false;
    mill.failure->fail_at = n;
    StationChange moved;
    moved.segment = 2;
    moved.number = 3;
    moved.address = "10.0.0.9";
    const auto outcome = mill.stations().change(mill.keeper, "1.12", moved).wait();
    CHECK(mill.all() == (outcome ? after : before));
    CHECK(mill.stations().at("10.0.0.7").has_value() == !outcome);
    const auto drained = mill.volume->drain();
    mill.failure->fail_at = 0;
    failed = mill.failure->failed;
    CHECK((failed || drained));
    mill.reopen();
    const std::string now = mill.all();
    CHECK((now == after || (!outcome && now == before)));
    CHECK(mill.findings() == "");
    REQUIRE(n < 100);
  }
}

TEST_CASE("the check finds stations that share what only one may have, and mends it") {
  Mill mill;
  mill.add(12, "owl", "10.0.0.7");
  mill.add(13, "wren", "10.0.0.8");
  REQUIRE(mill.volume->drain());
  mill.volume.reset();
  test::run_sql(mill.path(),
                "UPDATE station SET name = 'owl', address = '10.0.0.7';"
                "INSERT INTO boot_name VALUES (3, 4, 'a', '/b')");
  mill.reopen();
  CheckOptions options;
  options.repair = true;
  const auto report = mill.volume->check(options);
  REQUIRE(report);
  CHECK(report->findings.size() == 3);
  CHECK(report->mended == 3);
  CHECK(mill.findings() == "");
  const std::string after = mill.all();
  CHECK(after.find("owl2") != std::string::npos);
  mill.reopen();
  CHECK(mill.all() == after);
}
