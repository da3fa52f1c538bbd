// Snapshots that earlier versions of the program made, one for each format there ever was. They lie
// in tests/golden/snapshot, and are never made anew: what is in them must come out of them for
// ever.
//
// format-1.tar.zst was made by tests/golden/snapshot/make, which tells what is in it. Until the
// first release it is made anew when a row changes.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "fs/snapshot_restore.h"
#include "fs/snapshot_return.h"
#include "fs/sqlite.h"
#include "tests/support/catalogue_damage.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::TestVolume;

namespace {

std::string bytes_of(const Result<Content>& content) {
  if (!content) FAIL(content.error().message);
  std::string bytes(1000, '\0');
  bytes.resize(content->read_at(0, bytes).value());
  return bytes;
}

}  // namespace

TEST_CASE("invariant 10: a snapshot of each format makes a volume with all that was in it") {
  const int format = GENERATE(1, 2);
  CAPTURE(format);
  auto folder = open_host_folder(STATIONER_GOLDEN "/snapshot");
  REQUIRE(folder);
  auto file = (*folder)->open(HostPath() / fmt::format("format-{}.tar.zst", format));
  REQUIRE(file);
  auto info = describe_snapshot(**file);
  REQUIRE(info);
  CHECK(info->format == format);
  CHECK(info->volume == "Tidewrack Mill");

  test::TempFolder place;
  auto restored = restore_snapshot(**file, place / "mill", {});
  if (!restored) FAIL(restored.error().message);
  auto opened = Volume::open(place / "mill");
  if (!opened) FAIL(opened.error().message);
  Volume& volume = **opened;
  const Caller keeper = keeper_at_the_box();
  CHECK(volume.name() == "Tidewrack Mill");
  auto report = volume.check();
  REQUIRE(report);
  CHECK(report->findings.empty());

  const auto robin = volume.people().account(std::string_view("robin"));
  REQUIRE(robin);
  CHECK(robin->klass == "evening");
  const Path letter = TestVolume::at("/members/robin/letter.txt");
  CHECK(bytes_of(volume.files().read(keeper, letter)) == "Dear all,\n");
  const auto versions = volume.history().versions(keeper, letter);
  REQUIRE(versions);
  REQUIRE(versions->size() == 1);
  CHECK(bytes_of(volume.history().read(keeper, letter, versions->front().id)) == "Dear room,\n");
  const auto maze = volume.files().look(keeper, TestVolume::at("/programs/maze.bas"));
  REQUIRE(maze);
  CHECK(maze->kind == Kind::program);
  CHECK(maze->load_address == 0x1900u);
  CHECK(bytes_of(volume.files().read(keeper, TestVolume::at("/programs/maze.bas"))) ==
        "10 PRINT \"TIDES\"\r20 GOTO 10\r");
  const auto empty = volume.files().look(keeper, TestVolume::at("/public/empty"));
  REQUIRE(empty);
  CHECK(empty->folder);
  const auto bin = volume.files().bin(keeper);
  REQUIRE(bin.size() == 1);
  CHECK(bin.front().path == "/public/old");
  const auto entries = volume.desk().journal({});
  REQUIRE(entries);
  CHECK_FALSE(entries->empty());
  if (format == 1) {
    CHECK(volume.stations().all().empty());
    TestVolume::done(volume.stations().add(keeper, {.segment = 1, .number = 12, .name = "owl"}));
  } else {
    const auto owl = volume.stations().at("10.0.0.7");
    REQUIRE(owl);
    CHECK(owl->doors == std::vector<std::string>{"tftp"});
    REQUIRE(owl->given("start"));
    CHECK(*owl->given("start") == "/programs/maze.bas");
  }
}

TEST_CASE("invariant 10: work comes back out of a snapshot of format 1") {
  TestVolume room;
  room.add("robin");
  const auto returned =
      return_from_snapshot(*room.volume, room.keeper, STATIONER_GOLDEN "/snapshot/format-1.tar.zst",
                           {{room.at("/members/robin/letter.txt")}, ""}, {});
  if (!returned) FAIL(returned.error().message);
  CHECK(returned->failed == 0);
  const auto letter = room.read(room.keeper, "/members/robin/letter.txt");
  if (!letter) FAIL(letter.error().message);
  CHECK(*letter == "Dear all,\n");
}

TEST_CASE("invariant 10: a catalogue of format 1 becomes one as it would be made today") {
  const auto tables = [](const std::string& volume) {
    constexpr SqlWords words{"The catalogue", "ask"};
    auto database = SqlDatabase::open(volume + "/catalog.db", SqlDatabase::Mode::read, words);
    REQUIRE(database);
    CHECK(*database->number("PRAGMA user_version") == 2);
    auto statement =
        database->prepare("SELECT replace(sql, '\"', '') FROM sqlite_master ORDER BY name");
    REQUIRE(statement);
    std::string out;
    REQUIRE(statement->each([&](SqlStatement& row) { out += std::string(row.text(0)) + "\n"; }));
    return out;
  };
  TestVolume made;
  made.volume.reset();
  const std::string wanted = tables(made.path());
  CHECK(wanted.find("CREATE TABLE boot_name") != std::string::npos);
  TestVolume old;
  const Caller robin = old.add("robin");
  REQUIRE(old.save(robin, "/members/robin/a", "the contents"));
  old.volume.reset();
  test::run_sql(old.path(), "DROP TABLE station; DROP TABLE boot_name; PRAGMA user_version = 1");
  old.reopen();
  CHECK(old.findings() == "");
  CHECK(*old.read(robin, "/members/robin/a") == "the contents");
  old.volume.reset();
  CHECK(tables(old.path()) == wanted);
}
