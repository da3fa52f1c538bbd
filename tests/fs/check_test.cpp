#include "fs/check.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include "tests/support/catalogue_damage.h"
#include "tests/support/catch.h"
#include "tests/support/test_volume.h"

using namespace stationer::fs;
using stationer::test::flip_bytes;
using stationer::test::run_sql;
using stationer::test::TestVolume;

namespace {

// A room with robin's files a, b and c, folder f with d in it, and x in the bin.
struct Room : TestVolume {
  Caller robin;

  Room() {
    robin = add("robin");
    done(files().make_folder(robin, at("/members/robin/f")));
    for (const char* name : {"a", "b", "c", "f/d", "x"}) {
      REQUIRE(save(robin, std::string("/members/robin/") + name, contents(name)));
    }
    done(files().remove(robin, at("/members/robin/x")));
    REQUIRE(volume->drain());
    REQUIRE(findings() == "");
  }

  static std::string contents(const std::string& name) { return "the contents of " + name; }

  std::string home() const { return path() + "/files/members/robin/"; }

  std::string number_of(const std::string& name) {
    return std::to_string(
        static_cast<unsigned>(files().look(robin, at("/members/robin/" + name))->id));
  }

  // Damages the catalogue while nobody looks.
  void damage(const std::string& statements) {
    volume.reset();
    run_sql(path(), statements);
    reopen();
  }

  CheckReport repair() {
    CheckOptions options;
    options.repair = true;
    auto report = volume->check(options);
    if (!report) FAIL(report.error().message);
    return *report;
  }

  // Repairs, and holds to what every repair promises: it mends all, once is enough, and it lasts.
  void repair_wholly() {
    const auto found = findings();
    CHECK(found != "");
    INFO(found);
    const CheckReport report = repair();
    for (const auto& finding : report.findings) {
      INFO(finding.path << ": " << finding.sentence << " " << finding.remedy);
      CHECK(finding.mended);
    }
    CHECK(report.mended == report.findings.size());
    CHECK(report.mended > 0);
    CHECK(findings() == "");
    CHECK(repair().mended == 0);
    reopen();
    CHECK(findings() == "");
    CHECK(volume->troubles().empty());
    const auto journal = desk().journal({});
    CHECK(std::any_of(journal->begin(), journal->end(), [](const auto& entry) {
      return entry.what == "repaired" || entry.what == "taken in from the host" ||
             entry.what == "changed on the host";
    }));
  }

  // Every content that was saved is somewhere on the host.
  bool has_contents(const std::string& bytes) {
    for (const auto& each : std::filesystem::recursive_directory_iterator(path())) {
      if (!each.is_regular_file()) continue;
      std::ifstream file(each.path(), std::ios::binary);
      if (std::string(std::istreambuf_iterator<char>(file), {}) == bytes) return true;
    }
    return false;
  }

  void check_reads(const std::string& name, const std::string& expected) {
    const auto got = read(robin, "/members/robin/" + name);
    INFO(name);
    if (!got) FAIL(got.error().message);
    CHECK(*got == expected);
  }
};

}  // namespace

TEST_CASE("a check tells what is wrong and touches nothing") {
  Room room;
  std::filesystem::remove(room.home() + "a");
  const auto first = room.volume->check();
  REQUIRE(first);
  REQUIRE(first->findings.size() == 1);
  const Finding& finding = first->findings[0];
  CHECK(finding.path == "files/members/robin/a");
  CHECK(finding.can_mend);
  CHECK_FALSE(finding.mended);
  CHECK_FALSE(finding.remedy.empty());
  CHECK(first->mended == 0);
  CHECK(room.volume->check()->findings.size() == 1);
}

TEST_CASE("a missing hash is computed") {
  Room room;
  room.damage("DELETE FROM digest");
  room.repair_wholly();
  room.check_reads("a", room.contents("a"));
}

TEST_CASE("hashes of nothing go") {
  Room room;
  room.damage("INSERT INTO digest VALUES (777, zeroblob(32))");
  room.repair_wholly();
}

TEST_CASE("a node whose folder is gone is found again, with its contents") {
  Room room;
  const std::string folder = room.number_of("f");
  room.damage("DELETE FROM node WHERE id = " + folder);
  CHECK(room.volume->troubles().size() == 1);
  CHECK(room.volume->troubles()[0].find("stationer check --repair") != std::string::npos);
  CHECK_FALSE(room.read(room.robin, "/members/robin/f/d"));
  room.repair_wholly();
  CHECK(*room.read(room.keeper, "/found/d") == room.contents("f/d"));
  CHECK_FALSE(room.files().look(room.robin, room.at("/found"))->may_read);
}

TEST_CASE("folders in a circle are cut loose once") {
  Room room;
  const std::string folder = room.number_of("f");
  room.damage("INSERT INTO node SELECT 900, " + folder +
              ", 'loop', '', 1, 0, owner, class, access, NULL, NULL, 0, 0, created, modified FROM "
              "node WHERE id = " +
              folder + "; UPDATE node SET parent = 900 WHERE id = " + folder);
  room.repair_wholly();
  CHECK(*room.read(room.keeper, "/found/f/d") == room.contents("f/d"));
  CHECK(room.files().look(room.keeper, room.at("/found/f/loop")));
}

TEST_CASE("a node that hangs below a file is found again") {
  Room room;
  room.damage("UPDATE node SET parent = " + room.number_of("a") +
              " WHERE id = " + room.number_of("b"));
  room.repair_wholly();
  CHECK(*room.read(room.keeper, "/found/b") == room.contents("b"));
  room.check_reads("a", room.contents("a"));
}

TEST_CASE("a node with a name that nothing can bear gets another") {
  Room room;
  const std::string b = room.number_of("b");
  const auto name = GENERATE(std::string("''"), std::string("'../../b'"), std::string("'.'"),
                             std::string("'a/b'"), std::string("CAST(x'62FF62' AS TEXT)"));
  INFO(name);
  room.damage("UPDATE node SET name = " + name + " WHERE id = " + b);
  room.repair_wholly();
  // Its contents are there under the name it got, or where they were taken in.
  CHECK(room.has_contents(room.contents("b")));
  CHECK(std::filesystem::exists(room.path() + "/files"));
}

TEST_CASE("a name that stations could not use is changed, on the host too") {
  Room room;
  const std::string b = room.number_of("b");
  std::filesystem::rename(room.home() + "b", room.home() + "b?");
  room.damage("UPDATE node SET name = 'b?', alias = 'B_~1' WHERE id = " + b);
  room.repair_wholly();
  room.check_reads("_b_", room.contents("b"));
}

TEST_CASE("of two that have one name, both are kept") {
  Room room;
  SECTION("in other letters, each with its place on the host") {
    std::filesystem::rename(room.home() + "b", room.home() + "A");
    room.damage("UPDATE node SET name = 'A' WHERE id = " + room.number_of("b"));
  }
  SECTION("in the same letters, with one place") {
    room.damage("UPDATE node SET name = 'a' WHERE id = " + room.number_of("b"));
  }
  SECTION("in the same letters, and the place is the other's") {
    std::filesystem::rename(room.home() + "b", room.home() + "a");
    std::ofstream(room.home() + "elsewhere") << room.contents("a");
    room.damage("UPDATE node SET name = 'a' WHERE id = " + room.number_of("b"));
  }
  room.repair_wholly();
  std::set<std::string> contents;
  for (const auto& view : *room.files().list(room.robin, room.at("/members/robin"))) {
    if (view.folder) continue;
    contents.insert(*room.read(room.robin, "/members/robin/" + view.name));
  }
  CHECK(contents.count(room.contents("a")) == 1);
  CHECK(contents.count(room.contents("b")) == 1);
}

TEST_CASE("wrong short names are made anew, right ones left alone") {
  Room room;
  REQUIRE(room.save(room.robin, "/members/robin/a long name.text", "1"));
  REQUIRE(room.save(room.robin, "/members/robin/a long tale.text", "2"));
  const auto alias = [&](const std::string& name) {
    return room.files().look(room.robin, room.at("/members/robin/" + name))->alias;
  };
  const std::string kept = alias("a long name.text");
  const std::string other = room.number_of("a long tale.text");
  SECTION("none") {
    room.damage("UPDATE node SET alias = '' WHERE id = " + other);
  }
  SECTION("another's") {
    room.damage("UPDATE node SET alias = '" + kept + "' WHERE id = " + other);
  }
  SECTION("a neighbour's name") {
    room.damage("UPDATE node SET alias = 'B' WHERE id = " + other);
  }
  SECTION("not short") {
    room.damage("UPDATE node SET alias = 'NOT SHORT' WHERE id = " + other);
  }
  SECTION("one too many") {
    room.damage("UPDATE node SET alias = 'WRONG' WHERE id = " + room.number_of("b"));
  }
  room.repair_wholly();
  CHECK(alias("a long name.text") != alias("a long tale.text"));
  CHECK(alias("b") == "B");
  room.check_reads("b", room.contents("b"));
  room.check_reads("a long tale.text", "2");
}

TEST_CASE("what belongs to nobody any more goes to the room") {
  Room room;
  SECTION("owner") {
    room.damage("UPDATE node SET owner = 99 WHERE id = " + room.number_of("a"));
  }
  SECTION("class") {
    room.damage("UPDATE node SET class = 99 WHERE id = " + room.number_of("a"));
  }
  SECTION("the account's class") {
    room.damage("UPDATE account SET class = 99");
  }
  SECTION("a membership") {
    room.damage("INSERT INTO membership VALUES (5, 6, 1)");
  }
  SECTION("a hand-in folder") {
    room.damage("INSERT INTO hand_in VALUES (777, NULL, NULL, 0)");
  }
  SECTION("a receipt") {
    room.damage(
        "INSERT INTO receipt VALUES (1, 99, 777, '/x', 'a', 1, 778, 1, 3, 0, 0, NULL, 0)");
  }
  SECTION("a note of whose work a file is") {
    room.damage("INSERT INTO collected VALUES (777, 1)");
  }
  SECTION("the same of somebody who is not there") {
    room.damage("INSERT INTO collected VALUES (" + room.number_of("a") + ", 99)");
  }
  SECTION("somebody who is to leave") {
    room.damage("INSERT INTO leaving VALUES (99, 0, 0, 'archives/x/y', zeroblob(32))");
  }
  SECTION("a notice") {
    room.damage("INSERT INTO notice VALUES (1, 99, 'wren', 0, 'hello')");
  }
  SECTION("a printout's owner") {
    std::ofstream(room.path() + "/printouts/1.pdf") << "pdf";
    room.damage(
        "INSERT INTO printout VALUES (1, 99, 'text', 't', 's', 1, 3, 0, 'printouts/1.pdf', 0)");
  }
  SECTION("the bin's owner") {
    room.damage("UPDATE bin SET owner = 99");
  }
  room.repair_wholly();
}

TEST_CASE("the bin and its records are brought together") {
  Room room;
  SECTION("a record without a node") {
    room.damage("INSERT INTO bin VALUES (777, 1, 1, 0, '/members/robin/gone')");
  }
  SECTION("a record of what is not in the bin") {
    room.damage("INSERT INTO bin VALUES (" + room.number_of("a") + ", 1, 1, 0, '/x')");
  }
  SECTION("a node without a record") {
    room.damage("DELETE FROM bin");
  }
  room.repair_wholly();
}

TEST_CASE("two accounts of one name can both sign on again") {
  Room room;
  room.add("wren");
  room.damage("UPDATE account SET name = 'robin'");
  room.repair_wholly();
  CHECK(room.people().account(std::string_view("robin")));
  CHECK(room.people().account(std::string_view("robin2")));
}

TEST_CASE("files that share a content number get one each") {
  Room room;
  room.damage("UPDATE node SET content = (SELECT max(content) FROM node) WHERE folder = 0");
  room.repair_wholly();
  room.check_reads("a", room.contents("a"));
  room.check_reads("b", room.contents("b"));
}

TEST_CASE("the history of files is checked with them") {
  Room room;
  REQUIRE(room.save(room.robin, "/members/robin/a", "newer", true));
  REQUIRE(room.volume->drain());
  const std::filesystem::path versions = room.path() + "/versions";
  const auto former = std::filesystem::directory_iterator(versions)->path();
  SECTION("a former content is gone") {
    std::filesystem::remove(former);
  }
  SECTION("a former content was changed") {
    std::ofstream(former) << "rotten";
  }
  SECTION("something strays there") {
    std::ofstream(versions / "stray") << "stray";
  }
  SECTION("its file is gone") {
    room.damage("UPDATE version SET node = 777");
  }
  SECTION("the file's contents are gone, and it had the same once") {
    REQUIRE(room.save(room.robin, "/members/robin/a", room.contents("a"), true));
    REQUIRE(room.volume->drain());
    std::filesystem::remove(room.home() + "a");
    room.repair_wholly();
    room.check_reads("a", room.contents("a"));
    return;
  }
  room.repair_wholly();
  room.check_reads("a", "newer");
}

TEST_CASE("a printout without its PDF goes from the tray, and the journal knows") {
  Room room;
  room.damage(
      "INSERT INTO printout VALUES (1, 1, 'text', 'Map', 's', 1, 3, 0, 'printouts/1.pdf', 0)");
  room.repair_wholly();
  CHECK_FALSE(room.desk().printout(room.keeper, 1));
  CHECK(room.desk().journal({})->at(0).detail == "printout 1 \"Map\" was lost");
}

TEST_CASE("a PDF that no printout knows is told of, and kept in rescued/") {
  Room room;
  const std::string day = room.path() + "/printouts/2026/11/25";
  std::filesystem::create_directories(day);
  std::ofstream(day + "/000007-map.pdf") << "a map";
  std::ofstream(day + "/000008-tide.pdf") << "a tide table";
  // Job 8 is just being printed.
  std::filesystem::create_directories(room.path() + "/spool/printing/000008");
  CHECK(room.findings() ==
        "stray printouts/2026/11/25/000007-map.pdf: No printout is known that has this as its "
        "PDF.\n");
  room.repair_wholly();
  CHECK_FALSE(std::filesystem::exists(day + "/000007-map.pdf"));
  CHECK(std::filesystem::exists(day + "/000008-tide.pdf"));
  std::size_t maps = 0;
  for (const auto& each : std::filesystem::directory_iterator(room.path() + "/rescued")) {
    if (each.path().string().ends_with("000007-map.pdf")) ++maps;
  }
  CHECK(maps == 1);
}

TEST_CASE("missing contents come back from where the same are") {
  Room room;
  SECTION("moved elsewhere by somebody") {
    std::filesystem::create_directories(room.home() + "new/deep");
    std::filesystem::rename(room.home() + "a", room.home() + "new/deep/other");
  }
  SECTION("the same in the bin") {
    REQUIRE(room.save(room.robin, "/members/robin/twin", room.contents("a")));
    TestVolume::done(room.files().remove(room.robin, room.at("/members/robin/twin")));
    REQUIRE(room.volume->drain());
    std::filesystem::remove(room.home() + "a");
  }
  SECTION("a link was put in its place") {
    std::filesystem::rename(room.home() + "a", room.home() + "away");
    std::filesystem::create_symlink("away", room.home() + "a");
  }
  SECTION("a folder was put in its place") {
    std::filesystem::rename(room.home() + "a", room.home() + "away");
    std::filesystem::create_directory(room.home() + "a");
  }
  room.repair_wholly();
  room.check_reads("a", room.contents("a"));
}

TEST_CASE("contents that are nowhere are marked as lost, and their file stays") {
  Room room;
  const std::string a = room.home() + "a";
  std::filesystem::remove(a);
  room.repair_wholly();
  CHECK(room.volume->check()->lost == 1);
  const auto view = room.files().look(room.robin, room.at("/members/robin/a"));
  REQUIRE(view);
  CHECK(view->size == 0);
  const auto gone = room.read(room.robin, "/members/robin/a");
  REQUIRE_FALSE(gone);
  CHECK(gone.error().code == Code::damaged);
  CHECK(gone.error().message.find("lost") != std::string::npos);
  SECTION("it can be saved anew") {
    REQUIRE(room.save(room.robin, "/members/robin/a", "new", true));
    room.check_reads("a", "new");
  }
  SECTION("it can be removed") {
    TestVolume::done(room.files().remove(room.robin, room.at("/members/robin/a")));
  }
  SECTION("the keeper can put it back from a copy") {
    std::ofstream(a) << room.contents("a");
    room.repair_wholly();
    room.check_reads("a", room.contents("a"));
  }
  REQUIRE(room.volume->drain());
  CHECK(room.findings() == "");
  CHECK(room.volume->troubles().empty());
}

TEST_CASE("contents that were changed on the host are taken for what they are") {
  Room room;
  std::ofstream(room.home() + "a") << "something else";
  room.repair_wholly();
  room.check_reads("a", "something else");
}

TEST_CASE("contents that were changed go to rescued when the right ones are there") {
  Room room;
  std::filesystem::copy(room.home() + "a", room.home() + "copy of a");
  std::ofstream(room.home() + "a") << "rotten";
  room.repair_wholly();
  room.check_reads("a", room.contents("a"));
  CHECK(room.has_contents("rotten"));
}

TEST_CASE("strays become part of the tree, or go to rescued when they can't") {
  Room room;
  std::filesystem::create_directories(room.home() + "new/deeper");
  std::ofstream(room.home() + "new/deeper/letter") << "hello";
  std::ofstream(room.home() + "A") << "clashes";
  std::ofstream(room.home() + "b?") << "no name";
  std::ofstream(room.home() + "bytes\xFF") << "not text";
  std::ofstream(room.path() + "/bin/stray") << "in the bin";
  room.repair_wholly();
  room.check_reads("new/deeper/letter", "hello");
  room.check_reads("a", room.contents("a"));
  for (const char* bytes : {"clashes", "no name", "not text", "in the bin"}) {
    CHECK(room.has_contents(bytes));
  }
  CHECK(room.files().look(room.robin, room.at("/members/robin/new"))->owner == "robin");
}

TEST_CASE("folders that are missing on the host are made again") {
  Room room;
  std::filesystem::remove_all(room.home() + "f");
  room.repair_wholly();
  CHECK(std::filesystem::is_directory(room.home() + "f"));
  REQUIRE(room.save(room.robin, "/members/robin/f/new", "1"));
}

TEST_CASE("links and devices are told and left alone") {
  Room room;
  std::filesystem::create_symlink("/etc", room.home() + "link");
  const CheckReport report = room.repair();
  REQUIRE(report.findings.size() == 1);
  CHECK(report.findings[0].kind == Finding::Kind::strange);
  CHECK_FALSE(report.findings[0].mended);
  CHECK(std::filesystem::is_symlink(room.home() + "link"));
}

TEST_CASE("a wholly wrecked catalogue is mended without losing a byte") {
  Room room;
  room.damage(
      "UPDATE node SET parent = 5000 + id WHERE id > 6; UPDATE node SET owner = 99 WHERE id > 6; "
      "UPDATE node SET alias = 'SAME.ALL' WHERE id > 6; DELETE FROM digest; DELETE FROM bin;");
  room.repair_wholly();
  for (const char* name : {"a", "b", "c", "f/d", "x"})
    CHECK(room.has_contents(room.contents(name)));
}

TEST_CASE("flipped bits in the catalogue are told, and no content is touched") {
  Room room;
  for (int i = 0; i < 200; ++i) {
    REQUIRE(room.save(room.robin, "/members/robin/n" + std::to_string(i), "x"));
  }
  room.volume.reset();
  const std::string file = room.path() + "/catalog.db";
  const auto size = static_cast<std::streamoff>(std::filesystem::file_size(file));
  constexpr std::streamoff page = 4096;
  REQUIRE(size > 4 * page);
  const std::filesystem::path good = room.path() + "/../good.db";
  std::filesystem::copy_file(file, good);
  int told = 0;
  for (std::streamoff at = 0; at < size; at += page) {
    INFO("page at " << at);
    std::filesystem::copy_file(good, file, std::filesystem::copy_options::overwrite_existing);
    flip_bytes(file, at, 16);  // the page's own header
    auto opened = room.try_open();
    if (!opened) {
      ++told;
      CHECK(opened.error().code == Code::damaged);
      CHECK(opened.error().message.size() > 20);
      continue;
    }
    const auto report = (*opened)->check();
    if (!report || !report->findings.empty()) ++told;
    opened->reset();
    CHECK(room.has_contents(room.contents("a")));
  }
  // A page that nothing uses may be anything.
  CHECK(told >= size / page - 2);
  std::filesystem::copy_file(good, file, std::filesystem::copy_options::overwrite_existing);
  room.reopen();
  CHECK(room.findings() == "");
}

TEST_CASE("invariant 1: a repair that fails at the Nth host call is taken up again") {
  const bool stay_dead = GENERATE(false, true);
  for (long n = 1; n < 500; n += 5) {
    Room room;
    std::filesystem::remove_all(room.home() + "f");
    std::filesystem::rename(room.home() + "a", room.path() + "/files/public/away");
    std::ofstream(room.home() + "b") << "changed";
    room.failure->stay_dead = stay_dead;
    room.failure->failed = false;
    room.failure->fail_at = room.failure->calls + n;
    CheckOptions options;
    options.repair = true;
    static_cast<void>(room.volume->check(options));
    const bool struck = room.failure->failed;
    room.volume.reset();
    room.failure->fail_at = 0;
    room.reopen();
    INFO("call " << n);
    static_cast<void>(room.repair());
    CHECK(room.findings() == "");
    room.check_reads("a", room.contents("a"));
    room.check_reads("b", "changed");
    // Nor is it there twice because nobody could see, for a moment, where it was missing.
    CHECK_FALSE(room.files().look(room.keeper, room.at("/public/away")));
    if (!struck) break;
  }
}
