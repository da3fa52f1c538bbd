// The store as its users see it: saving, rights, quotas, the bin, and what survives what.
#include "fs/volume.h"

#include <filesystem>
#include <fstream>
#include <random>
#include <set>
#include <string>
#include <thread>

#include <catch2/catch.hpp>

#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::TestVolume;

namespace {

std::string host_text(const TestVolume& room, const std::string& path) {
  std::ifstream file(room.path() + "/" + path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

TEST_CASE("a new volume has its starting tree and nothing wrong with it") {
  TestVolume room;
  std::string names;
  for (const auto& view : *room.files().list(room.keeper, {})) names += view.name + " ";
  CHECK(names == "classes members programs public ");
  CHECK(room.volume->name() == "Test room");
  CHECK(room.findings() == "");
  room.reopen();
  CHECK(room.findings() == "");
}

TEST_CASE("contents lie under readable names on the host") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/members/robin/Letter Home.txt", "Dear all\n"));
  REQUIRE(room.volume->drain());
  CHECK(host_text(room, "files/members/robin/Letter Home.txt") == "Dear all\n");
  CHECK(*room.read(robin, "/MEMBERS/ROBIN/LETTER~1.TXT") == "Dear all\n");
  const auto view = room.files().look(robin, room.at("/members/robin/letter home.txt"));
  REQUIRE(view);
  CHECK(view->name == "Letter Home.txt");
  CHECK(view->alias == "LETTER~1.TXT");
  CHECK(view->owner == "robin");
  CHECK(view->size == 9);
}

TEST_CASE("invariant 1: what was acknowledged is there after opening again, at every stage") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const std::string large(small_content * 3 + 17, 'L');
  REQUIRE(room.save(robin, "/members/robin/small", "one"));
  REQUIRE(room.save(robin, "/members/robin/large", large));
  CHECK(*room.read(robin, "/members/robin/small") == "one");
  CHECK(*room.read(robin, "/members/robin/large") == large);
  REQUIRE(room.save(robin, "/members/robin/small", "two", true));
  CHECK(*room.read(robin, "/members/robin/small") == "two");
  room.reopen();
  CHECK(*room.read(robin, "/members/robin/small") == "two");
  CHECK(*room.read(robin, "/members/robin/large") == large);
  CHECK(room.findings() == "");
}

TEST_CASE("invariant 1: an upload that is let go leaves nothing, and the old file as it was") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/members/robin/work", "the old one"));
  SaveOptions replace;
  replace.replace = true;
  for (const std::size_t size : {std::size_t{10}, small_content * 2}) {
    auto upload = room.files().save(robin, room.at("/members/robin/work"), replace);
    REQUIRE(upload);
    REQUIRE(upload->write(std::string(size, 'n')));
  }
  CHECK(*room.read(robin, "/members/robin/work") == "the old one");
  CHECK(std::filesystem::is_empty(room.path() + "/incoming"));
  CHECK(room.findings() == "");
}

// Every call to the host fails once, for N = 1, 2, 3 … through a series of every kind of change.
// Each operation is afterwards as if it had been done or had never been tried, and says which.
TEST_CASE("invariant 1: the Nth failing host call leaves all as before or as after") {
  const std::string large(small_content + 1000, 'L');
  bool got_through = false;
  for (long n = 1; !got_through; ++n) {
    REQUIRE(n < 400);
    INFO("call " << n);
    TestVolume room;
    const Caller robin = room.add("robin");
    REQUIRE(room.save(robin, "/members/robin/a", "first"));
    REQUIRE(room.volume->drain());
    room.failure->calls = 0;
    room.failure->failed = false;
    room.failure->fail_at = n;

    const auto saved = room.save(robin, "/members/robin/a", "second", true);
    const auto made = room.files().make_folder(robin, room.at("/members/robin/f")).wait();
    const auto big = room.save(robin, "/members/robin/big", large);
    const auto moved =
        room.files().move(robin, room.at("/members/robin/a"), room.at("/members/robin/b")).wait();
    const auto removed = room.files().remove(robin, room.at("/members/robin/b")).wait();
    got_through = !room.failure->failed;
    room.failure->fail_at = 0;

    const auto agrees = [&] {
      const std::string text = saved ? "second" : "first";
      const auto a = room.read(robin, "/members/robin/a");
      const auto b = room.read(robin, "/members/robin/b");
      CAPTURE(saved, made, big, moved, removed, a, b);
      if (moved && removed) {
        CHECK_FALSE(a);
        CHECK_FALSE(b);
        REQUIRE(room.files().bin(robin).size() == 1);
      } else if (moved) {
        CHECK_FALSE(a);
        REQUIRE(b);
        CHECK(*b == text);
      } else {
        REQUIRE(a);
        CHECK(*a == text);
        CHECK_FALSE(b);
      }
      CHECK(room.files().look(robin, room.at("/members/robin/f")).has_value() == made.has_value());
      const auto stored = room.read(robin, "/members/robin/big");
      REQUIRE(stored.has_value() == big.has_value());
      if (stored) CHECK(*stored == large);
    };
    agrees();
    // Settling tries again a second after a failure; opening again does it at once.
    room.reopen();
    agrees();
    CHECK(room.findings() == "");
  }
}

// From the Nth call on nothing reaches the host any more, as when the process is killed there.
TEST_CASE(
    "invariant 1: killed at any host call, what was acknowledged is there and nothing is half") {
  const std::string large(small_content + 1000, 'L');
  bool got_through = false;
  for (long n = 1; !got_through; ++n) {
    REQUIRE(n < 400);
    INFO("call " << n);
    TestVolume room;
    const Caller robin = room.add("robin");
    REQUIRE(room.save(robin, "/members/robin/a", "first"));
    REQUIRE(room.save(robin, "/members/robin/c", "third"));
    room.failure->calls = 0;
    room.failure->failed = false;
    room.failure->stay_dead = true;
    room.failure->fail_at = n;

    const auto saved = room.save(robin, "/members/robin/a", "second", true);
    const auto moved =
        room.files().move(robin, room.at("/members/robin/a"), room.at("/members/robin/b")).wait();
    const auto taken =
        room.files().move(robin, room.at("/members/robin/c"), room.at("/members/robin/a")).wait();
    const auto big = room.save(robin, "/members/robin/big", large);
    const auto removed = room.files().remove(robin, room.at("/members/robin/b")).wait();
    static_cast<void>(room.volume->drain());
    got_through = !room.failure->failed;
    room.volume.reset();
    room.failure->fail_at = 0;
    room.reopen();

    // What was refused may yet have been done: it had reached the log when the end came.
    const auto text = [&](const char* path) {
      const auto bytes = room.read(robin, path);
      return bytes ? *bytes : std::string();
    };
    const std::string a = text("/members/robin/a");
    const std::string b = text("/members/robin/b");
    const std::string c = text("/members/robin/c");
    if (saved) CHECK(a != "first");
    if (moved) CHECK(a != "second");
    if (moved && !removed) CHECK((b == "second" || room.files().bin(robin).size() == 1));
    if (taken) {
      CHECK(a == "third");
      CHECK(c == "");
    }
    if (removed) CHECK(room.files().bin(robin).size() == 1);
    if (big) CHECK(text("/members/robin/big") == large);
    for (const auto& each : {a, b, c}) {
      CHECK((each.empty() || each == "first" || each == "second" || each == "third"));
    }
    CHECK((text("/members/robin/big").empty() || text("/members/robin/big") == large));
    CHECK(room.findings() == "");
  }
}

TEST_CASE(
    "invariant 3: members' work is apart, shared programs are for all, leaders see their classes") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const Caller robin = room.add("robin", Role::member, "tuesday");
  const Caller wren = room.add("wren", Role::member, "tuesday");
  const Caller sorrel = room.add("sorrel", Role::leader, "tuesday");
  const Caller bram = room.add("bram", Role::leader);
  const Caller heron = room.add("heron", Role::manager);
  const Caller guest{no_account, false, "test"};
  REQUIRE(room.save(robin, "/members/robin/diary", "private"));
  REQUIRE(room.save(room.keeper, "/programs/game", "10 PRINT"));

  CHECK(*room.read(robin, "/members/robin/diary") == "private");
  CHECK(room.read(wren, "/members/robin/diary").error().code == Code::denied);
  CHECK(room.read(guest, "/members/robin/diary").error().code == Code::denied);
  CHECK(room.read(bram, "/members/robin/diary").error().code == Code::denied);
  CHECK(*room.read(sorrel, "/members/robin/diary") == "private");
  CHECK(*room.read(heron, "/members/robin/diary") == "private");

  for (const Caller& each : {robin, wren, sorrel, bram, heron, guest}) {
    CHECK(*room.read(each, "/programs/game") == "10 PRINT");
  }
  for (const Caller& each : {robin, wren, sorrel, bram, guest}) {
    CHECK(room.save(each, "/programs/game", "spoilt", true).error().code == Code::denied);
    CHECK(room.save(each, "/programs/new", "x").error().code == Code::denied);
    CHECK(room.save(each, "/members/x", "x").error().code == Code::denied);
    CHECK(TestVolume::refused(room.files().remove(each, room.at("/programs/game"))) ==
          Code::denied);
    CHECK(TestVolume::refused(room.files().set_access(each, room.at("/programs/game"), "a+w")) ==
          Code::denied);
  }
  CHECK(room.save(wren, "/members/robin/x", "x").error().code == Code::denied);
  CHECK(room.save(guest, "/public/x", "x").error().code == Code::denied);
  CHECK(room.save(wren, "/public/x", "x"));
  CHECK(TestVolume::refused(room.files().remove(robin, room.at("/public/x"))) == Code::denied);
  CHECK(room.save(robin, "/public/x", "y", true).error().code == Code::denied);

  // What one may not open is not listed either.
  const auto seen = [&](const Caller& caller, std::string_view folder) {
    std::string out;
    for (const auto& view : *room.files().list(caller, room.at(folder))) out += view.name + " ";
    return out;
  };
  CHECK(seen(wren, "/members") == "wren ");
  CHECK(seen(guest, "/members") == "");
  CHECK(seen(sorrel, "/members") == "robin sorrel wren ");
  CHECK(seen(heron, "/members") == "bram heron robin sorrel wren ");
}

TEST_CASE("a hand-in folder takes work in and shows nothing of it to the class") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const Caller robin = room.add("robin", Role::member, "tuesday");
  const Caller wren = room.add("wren", Role::member, "tuesday");
  const Caller sorrel = room.add("sorrel", Role::leader, "tuesday");
  const Caller teasel = room.add("teasel");
  REQUIRE(room.save(robin, "/classes/tuesday/hand-in/robin.txt", "my work"));
  CHECK(room.read(wren, "/classes/tuesday/hand-in/robin.txt").error().code == Code::denied);
  CHECK(room.read(robin, "/classes/tuesday/hand-in/robin.txt").error().code == Code::denied);
  CHECK(room.files().list(wren, room.at("/classes/tuesday/hand-in")).error().code == Code::denied);
  CHECK(room.save(wren, "/classes/tuesday/hand-in/robin.txt", "wren's own", true));
  CHECK(room.save(teasel, "/classes/tuesday/hand-in/x", "x").error().code == Code::denied);
  CHECK(*room.read(sorrel, "/classes/tuesday/hand-in/robin/robin.txt") == "my work");
  CHECK(room.files().list(sorrel, room.at("/classes/tuesday/hand-in"))->size() == 2);
}

TEST_CASE("invariant 2: nothing a caller names leads out of the tree, and links are not followed") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.volume->drain());
  std::ofstream(room.folder / "secret") << "outside";
  std::filesystem::create_symlink(room.folder / "secret",
                                  room.path() + "/files/members/robin/link");
  std::filesystem::create_directory_symlink(room.folder.path(),
                                            room.path() + "/files/members/robin/out");
  CHECK(room.read(robin, "/members/robin/link").error().code == Code::not_found);
  CHECK(room.read(robin, "/members/robin/out/secret").error().code == Code::not_found);

  // Even when the catalogue has a file of that name, a link in its place is not followed.
  REQUIRE(room.save(robin, "/members/robin/mine", "mine"));
  REQUIRE(room.volume->drain());
  std::filesystem::remove(room.path() + "/files/members/robin/mine");
  std::filesystem::create_symlink(room.folder / "secret",
                                  room.path() + "/files/members/robin/mine");
  const auto read = room.read(robin, "/members/robin/mine");
  REQUIRE_FALSE(read);
  CHECK(read.error().message.find("outside") == std::string::npos);

  // A folder that was made a link in the meantime: saving into it goes nowhere outside.
  TestVolume::done(room.files().make_folder(robin, room.at("/members/robin/f")));
  REQUIRE(room.volume->drain());
  std::filesystem::remove(room.path() + "/files/members/robin/f");
  std::filesystem::create_directory_symlink(room.folder.path(),
                                            room.path() + "/files/members/robin/f");
  // Even so nothing that was acknowledged is lost, nor is anybody else held up.
  REQUIRE(room.save(robin, "/members/robin/f/planted", "not outside"));
  REQUIRE(room.save(robin, "/members/robin/after", "goes on"));
  REQUIRE(room.volume->drain());
  CHECK_FALSE(std::filesystem::exists(room.folder / "planted"));
  CHECK(host_text(room, "files/members/robin/after") == "goes on");
  REQUIRE(room.volume->troubles().size() == 1);
  const auto rescued = std::filesystem::directory_iterator(room.path() + "/rescued")->path();
  CHECK(room.volume->troubles()[0].find(rescued.filename().string()) != std::string::npos);
  CHECK(host_text(room, "rescued/" + rescued.filename().string()) == "not outside");
  CHECK(host_text(room, "../secret") == "outside");
  CHECK(room.findings().find("strange files/members/robin/link") != std::string::npos);
}

TEST_CASE(
    "invariant 4: usage is the sum over the catalogue through saves, moves, removals, restores") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const auto usage = [&] { return room.files().space(robin)->usage; };
  CHECK(usage() == Usage{0, 1});  // the home folder
  REQUIRE(room.save(robin, "/members/robin/a", std::string(1000, 'a')));
  REQUIRE(room.save(robin, "/members/robin/b", std::string(500, 'b')));
  CHECK(usage() == Usage{1500, 3});
  REQUIRE(room.save(robin, "/members/robin/a", std::string(10, 'a'), true));
  CHECK(usage() == Usage{510, 3});
  TestVolume::done(room.files().move(robin, room.at("/members/robin/a"), room.at("/public/a")));
  CHECK(usage() == Usage{510, 3});
  TestVolume::done(room.files().remove(robin, room.at("/members/robin/b")));
  CHECK(usage() == Usage{10, 2});
  TestVolume::done(room.files().restore(robin, room.files().bin(robin).front().id));
  CHECK(usage() == Usage{510, 3});
  CHECK(*room.read(robin, "/members/robin/b") == std::string(500, 'b'));
  TestVolume::done(room.files().remove(robin, room.at("/members/robin/b")));
  TestVolume::done(room.files().empty_bin(robin, false));
  CHECK(room.files().bin(robin).empty());
  CHECK(room.findings() == "");
  room.reopen();
  CHECK(usage() == Usage{10, 2});
  CHECK(room.findings() == "");
}

TEST_CASE("invariant 4: a full quota refuses with a sentence, loses nothing, and removing helps") {
  TestVolume room;
  const Caller robin = room.add("robin");
  AccountChange limits;
  limits.quota = Quota{.soft_bytes = 100, .hard_bytes = 120, .soft_files = 4, .hard_files = 4};
  TestVolume::done(room.people().change_account(room.keeper, "robin", limits));
  REQUIRE(room.save(robin, "/members/robin/a", std::string(100, 'a')));
  CHECK_FALSE(room.people().account(robin.account)->over_since);
  const auto refused = room.save(robin, "/members/robin/b", std::string(21, 'b'));
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Code::over_quota);
  CHECK(refused.error().message.find("120 bytes") != std::string::npos);
  CHECK(room.save(robin, "/members/robin/a", std::string(121, 'x'), true).error().code ==
        Code::over_quota);
  CHECK(*room.read(robin, "/members/robin/a") == std::string(100, 'a'));
  REQUIRE(room.save(robin, "/members/robin/b", std::string(20, 'b')));
  CHECK(room.people().account(robin.account)->over_since);
  CHECK(room.files().space(robin)->free_bytes == 0);
  CHECK(room.files().space(robin)->fullness == Fullness::over);
  REQUIRE(room.save(robin, "/members/robin/c", ""));
  CHECK(room.save(robin, "/members/robin/d", "").error().code == Code::over_quota);
  CHECK(TestVolume::refused(room.files().make_folder(robin, room.at("/members/robin/f"))) ==
        Code::over_quota);
  TestVolume::done(room.files().remove(robin, room.at("/members/robin/b")));
  CHECK_FALSE(room.people().account(robin.account)->over_since);
  CHECK(room.save(robin, "/members/robin/d", "x"));
  // An upload is refused while it comes, not only at its end.
  auto upload = room.files().save(robin, room.at("/members/robin/a"), {.replace = true});
  REQUIRE(upload);
  Status status;
  std::size_t written = 0;
  while (status && written < 1000) {
    status = upload->write(std::string(10, 'z'));
    written += 10;
  }
  CHECK(written < 200);
}

TEST_CASE("invariant 4: after a week over the soft limit it is hard") {
  TestVolume room;
  const Caller robin = room.add("robin");
  AccountChange limits;
  limits.quota = Quota{.soft_bytes = 100, .hard_bytes = 1000};
  TestVolume::done(room.people().change_account(room.keeper, "robin", limits));
  REQUIRE(room.save(robin, "/members/robin/a", std::string(200, 'a')));
  REQUIRE(room.save(robin, "/members/robin/b", std::string(100, 'b')));
  *room.now += std::chrono::hours(7 * 24) + std::chrono::seconds(1);
  CHECK(room.save(robin, "/members/robin/c", "c").error().code == Code::over_quota);
  CHECK(room.save(robin, "/members/robin/a", std::string(50, 'a'), true));
}

TEST_CASE("the keep bit protects from change and removal until it is cleared") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/members/robin/a", "keep me"));
  TestVolume::done(room.files().make_folder(robin, room.at("/members/robin/f")));
  TestVolume::done(
      room.files().move(robin, room.at("/members/robin/a"), room.at("/members/robin/f/a")));
  TestVolume::done(room.files().set_access(robin, room.at("/members/robin/f/a"), "+k"));
  CHECK(room.save(robin, "/members/robin/f/a", "x", true).error().code == Code::kept);
  CHECK(TestVolume::refused(room.files().remove(robin, room.at("/members/robin/f/a"))) ==
        Code::kept);
  CHECK(TestVolume::refused(room.files().remove(robin, room.at("/members/robin/f"))) == Code::kept);
  CHECK(TestVolume::refused(room.files().remove(room.keeper, room.at("/members/robin/f"))) ==
        Code::kept);
  CHECK(TestVolume::refused(room.files().move(robin, room.at("/members/robin/f/a"),
                                              room.at("/members/robin/b"))) == Code::kept);
  // A folder that holds something that is kept stays as well, where it is.
  for (const char* to : {"/members/robin/g", "/public/f"}) {
    CHECK(TestVolume::refused(
              room.files().move(robin, room.at("/members/robin/f"), room.at(to))) == Code::kept);
  }
  TestVolume::done(room.files().set_access(robin, room.at("/members/robin/f/a"), "-k"));
  CHECK(room.save(robin, "/members/robin/f/a", "x", true));
  TestVolume::done(room.files().remove(robin, room.at("/members/robin/f")));
}

TEST_CASE("invariant 6: aliases stay while the file lives, and are never shared in a folder") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const auto alias = [&](const std::string& name) {
    return room.files().look(robin, room.at("/members/robin/" + name))->alias;
  };
  REQUIRE(room.save(robin, "/members/robin/Letter to the bank.doc", "1"));
  REQUIRE(room.save(robin, "/members/robin/Letter to the cat.doc", "2"));
  CHECK(alias("Letter to the bank.doc") == "LETTER~1.DOC");
  CHECK(alias("Letter to the cat.doc") == "LETTER~2.DOC");
  TestVolume::done(room.files().remove(robin, room.at("/members/robin/Letter to the bank.doc")));
  CHECK(alias("Letter to the cat.doc") == "LETTER~2.DOC");
  REQUIRE(room.save(robin, "/members/robin/Letter to the cat.doc", "3", true));
  CHECK(alias("Letter to the cat.doc") == "LETTER~2.DOC");
  // A name that is somebody's alias is taken.
  CHECK(room.save(robin, "/members/robin/letter~2.doc", "x").error().code == Code::exists);
  room.reopen();
  CHECK(alias("Letter to the cat.doc") == "LETTER~2.DOC");
  CHECK(*room.read(robin, "/members/robin/LETTER~2.DOC") == "3");
}

TEST_CASE("a short name stays through the bin, another folder, another case and a restart") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const auto alias = [&](const std::string& name) {
    const auto view = room.files().look(robin, room.at("/members/robin/" + name));
    return view ? view->alias : view.error().message;
  };
  const Path second = room.at("/members/robin/letter number two");
  REQUIRE(room.save(robin, "/members/robin/letter number one", "1"));
  REQUIRE(room.save(robin, "/members/robin/letter number two", "2"));
  TestVolume::done(room.files().make_folder(robin, room.at("/members/robin/old")));
  // Without the first, a new one would get its number.
  TestVolume::done(room.files().move(robin, room.at("/members/robin/letter number one"),
                                     room.at("/members/robin/one")));
  CHECK(alias("letter number two") == "LETTER~2");
  TestVolume::done(
      room.files().move(robin, second, room.at("/members/robin/Letter Number Two")));
  CHECK(alias("Letter Number Two") == "LETTER~2");
  TestVolume::done(
      room.files().move(robin, second, room.at("/members/robin/old/Letter Number Two")));
  CHECK(alias("old/Letter Number Two") == "LETTER~2");
  TestVolume::done(
      room.files().move(robin, room.at("/members/robin/old/LETTER~2"), second));
  TestVolume::done(room.files().remove(robin, second));
  room.reopen();
  CHECK(room.findings() == "");
  TestVolume::done(room.files().restore(robin, room.files().bin(robin).front().id));
  CHECK(alias("letter number two") == "LETTER~2");
  // Somebody else has it by now: then another one has to do.
  TestVolume::done(room.files().remove(robin, second));
  REQUIRE(room.save(robin, "/members/robin/letter~2", "short"));
  TestVolume::done(room.files().restore(robin, room.files().bin(robin).front().id));
  CHECK(alias("letter number two") == "LETTER~1");
  CHECK(room.findings() == "");
}

TEST_CASE("the reserve of the disk is the keeper's to use, and nobody else's") {
  TestVolume room;
  const Caller robin = room.add("robin");
  room.volume.reset();
  std::ifstream before(room.path() + "/volume.toml");
  std::string settings(std::istreambuf_iterator<char>(before), {});
  const std::string key = "reserve_mib = ";
  REQUIRE(settings.find(key) != std::string::npos);
  settings.insert(settings.find(key) + key.size(), "99999999");
  std::ofstream(room.path() + "/volume.toml") << settings;
  room.reopen();
  CHECK(room.files().space(robin)->free_bytes == 0);
  CHECK(room.save(robin, "/members/robin/a", "x").error().code == Code::no_space);
  CHECK(room.save(room.keeper, "/public/a", "x"));
}

TEST_CASE("case is kept and ignored") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/members/robin/ReadMe", "1"));
  CHECK(room.save(robin, "/members/robin/README", "2").error().code == Code::exists);
  REQUIRE(room.save(robin, "/members/robin/README", "2", true));
  CHECK(room.files().look(robin, room.at("/members/robin/readme"))->name == "ReadMe");
  TestVolume::done(
      room.files().move(robin, room.at("/members/robin/readme"), room.at("/members/robin/README")));
  CHECK(room.files().look(robin, room.at("/members/robin/readme"))->name == "README");
  REQUIRE(room.volume->drain());
  CHECK(host_text(room, "files/members/robin/README") == "2");
}

TEST_CASE("moving keeps to the rules of the tree") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const auto path = [&](const std::string& text) { return room.at("/members/robin/" + text); };
  TestVolume::done(room.files().make_folder(robin, path("a")));
  TestVolume::done(room.files().make_folder(robin, path("a/b")));
  REQUIRE(room.save(robin, "/members/robin/a/b/file", "deep"));
  CHECK(TestVolume::refused(room.files().move(robin, path("a"), path("a/b/c"))) == Code::bad_input);
  CHECK(TestVolume::refused(room.files().move(robin, path("a/b/file"), path("a/b"))) ==
        Code::exists);
  CHECK(TestVolume::refused(room.files().move(robin, path("a"), room.at("/programs/a"))) ==
        Code::denied);
  CHECK(TestVolume::refused(room.files().move(robin, path("nothing"), path("x"))) ==
        Code::not_found);
  CHECK(TestVolume::refused(room.files().move(robin, {}, path("x"))) == Code::denied);
  TestVolume::done(room.files().move(robin, path("a"), path("moved")));
  CHECK(*room.read(robin, "/members/robin/moved/b/file") == "deep");
  // Read before the host has followed, and after.
  TestVolume::done(room.files().move(robin, path("moved/b"), path("b")));
  TestVolume::done(room.files().move(robin, path("moved"), path("b/moved")));
  CHECK(*room.read(robin, "/members/robin/b/file") == "deep");
  REQUIRE(room.volume->drain());
  CHECK(host_text(room, "files/members/robin/b/file") == "deep");
  CHECK(room.findings() == "");

  // Too deep for a path is too deep for a move.
  std::string deep = "d";
  TestVolume::done(room.files().make_folder(robin, path(deep)));
  while (room.at("/members/robin/" + deep).names().size() < Path::deepest) {
    deep += "/d";
    TestVolume::done(room.files().make_folder(robin, path(deep)));
  }
  CHECK(TestVolume::refused(room.files().move(robin, path("d"), path("b/d"))) == Code::bad_name);
}

TEST_CASE("names change places while the host follows behind") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const auto path = [&](const std::string& text) { return room.at("/members/robin/" + text); };
  REQUIRE(room.save(robin, "/members/robin/a", "A"));
  REQUIRE(room.save(robin, "/members/robin/b", "B"));
  for (int round = 0; round < 25; ++round) {
    TestVolume::done(room.files().move(robin, path("a"), path("t")));
    TestVolume::done(room.files().move(robin, path("b"), path("a")));
    TestVolume::done(room.files().move(robin, path("t"), path("b")));
    const bool swapped = round % 2 == 0;
    CHECK(*room.read(robin, "/members/robin/a") == (swapped ? "B" : "A"));
    CHECK(*room.read(robin, "/members/robin/b") == (swapped ? "A" : "B"));
  }
  room.reopen();
  CHECK(*room.read(robin, "/members/robin/a") == "B");
  CHECK(room.findings() == "");
}

TEST_CASE("invariant 3: saving tells nothing of a folder one may not look into") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const Caller wren = room.add("wren");
  REQUIRE(room.save(robin, "/members/robin/letter", "Dear Wren"));
  TestVolume::done(room.files().make_folder(robin, room.at("/members/robin/plans")));
  std::set<std::string> refusals;
  for (const char* path :
       {"/members/robin/letter", "/members/robin/plans", "/members/robin/none"}) {
    for (const bool replace : {false, true}) {
      fs::SaveOptions options;
      options.replace = replace;
      const auto upload = room.files().save(wren, room.at(path), options);
      REQUIRE_FALSE(upload);
      CHECK(upload.error().code == fs::Code::denied);
      refusals.insert(upload.error().message);
    }
  }
  CHECK(refusals == std::set<std::string>{"You may not save in /members/robin."});
}

TEST_CASE("the bin gives back what was removed, folders whole, and only to those who may") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const Caller wren = room.add("wren");
  TestVolume::done(room.files().make_folder(robin, room.at("/members/robin/f")));
  REQUIRE(room.save(robin, "/members/robin/f/one", "1"));
  REQUIRE(room.save(robin, "/members/robin/f/two", "2"));
  TestVolume::done(room.files().remove(robin, room.at("/members/robin/f")));
  CHECK(room.read(robin, "/members/robin/f/one").error().code == Code::not_found);
  CHECK(room.files().bin(wren).empty());
  const auto bin = room.files().bin(robin);
  REQUIRE(bin.size() == 1);
  CHECK(bin[0].path == "/members/robin/f");
  CHECK(bin[0].size == 2);
  CHECK(TestVolume::refused(room.files().restore(wren, bin[0].id)) == Code::denied);
  REQUIRE(room.save(robin, "/members/robin/f", "in the way"));
  CHECK(TestVolume::refused(room.files().restore(robin, bin[0].id)) == Code::exists);
  TestVolume::done(room.files().remove(robin, room.at("/members/robin/f")));
  TestVolume::done(room.files().restore(robin, bin[0].id));
  CHECK(*room.read(robin, "/members/robin/f/two") == "2");
  CHECK(TestVolume::refused(room.files().empty_bin(robin, true)) == Code::denied);
  TestVolume::done(room.files().empty_bin(room.keeper, true));
  CHECK(room.files().bin(room.keeper).empty());
  REQUIRE(room.volume->drain());
  CHECK(std::filesystem::is_empty(room.path() + "/bin"));
  CHECK(room.findings() == "");
}

TEST_CASE("a folder with somebody else's file in it can't be swept away with it") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const Caller wren = room.add("wren");
  TestVolume::done(room.files().make_folder(robin, room.at("/public/f")));
  TestVolume::done(room.files().set_access(robin, room.at("/public/f"), "e+w"));
  REQUIRE(room.save(wren, "/public/f/hers", "hers"));
  CHECK(TestVolume::refused(room.files().remove(robin, room.at("/public/f"))) == Code::denied);
  TestVolume::done(room.files().remove(robin, room.at("/public/f/hers")));  // it is robin's folder
  CHECK(room.files().bin(wren).size() == 1);                                // and wren's file
  TestVolume::done(room.files().remove(robin, room.at("/public/f")));
}

TEST_CASE("many threads saving at once lose nothing and count right") {
  TestVolume room;
  std::vector<Caller> callers;
  for (int i = 0; i < 8; ++i) callers.push_back(room.add("member" + std::to_string(i)));
  std::vector<std::thread> threads;
  std::atomic<int> failures{0};
  for (int i = 0; i < 8; ++i) {
    threads.emplace_back([&, i] {
      std::mt19937 random(static_cast<unsigned>(i));
      const std::string home = "/members/member" + std::to_string(i) + "/";
      for (int n = 0; n < 60; ++n) {
        auto path = Path::parse(home + "file" + std::to_string(random() % 10));
        SaveOptions options;
        options.replace = true;
        auto upload = room.files().save(callers[static_cast<std::size_t>(i)], *path, options);
        if (!upload || !upload->write(std::string(random() % 5000, static_cast<char>('a' + i))) ||
            !upload->finish().wait()) {
          ++failures;
        }
        auto content = room.files().read(callers[static_cast<std::size_t>(i)], *path);
        char first = 0;
        if (!content) {
          ++failures;
        } else if (auto got = content->read_at(0, std::span(&first, 1)); !got) {
          ++failures;
        } else if (*got == 1 && first != 'a' + i) {
          ++failures;
        }
      }
    });
  }
  for (auto& thread : threads) thread.join();
  CHECK(failures == 0);
  CHECK(room.findings() == "");
  room.reopen();
  CHECK(room.findings() == "");
}

TEST_CASE("a full disk refuses with a sentence and serves again when there is room") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/members/robin/a", "before"));
  REQUIRE(room.volume->drain());
  room.failure->code = Code::no_space;
  room.failure->stay_dead = true;
  room.failure->fail_at = room.failure->calls + 1;
  const auto refused = room.save(robin, "/members/robin/a", "after", true);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Code::no_space);
  room.failure->fail_at = 0;
  CHECK(*room.read(robin, "/members/robin/a") == "before");
  CHECK(room.save(robin, "/members/robin/a", "after", true));
  CHECK(*room.read(robin, "/members/robin/a") == "after");
  CHECK(room.findings() == "");
}

TEST_CASE("a second Stationer on the same volume is sent away") {
  TestVolume room;
  const auto second = room.try_open();
  REQUIRE_FALSE(second);
  CHECK(second.error().code == Code::busy);
  CHECK(second.error().message.find("in use by another Stationer") != std::string::npos);
}

TEST_CASE("a volume that another is just leaving is waited for") {
  TestVolume room;
  std::thread leaving([&] {
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
    room.volume.reset();
  });
  Surroundings patient;
  patient.patience = std::chrono::seconds(30);
  const auto next = Volume::open(room.path(), std::move(patient));
  leaving.join();
  CHECK(next);
}

TEST_CASE("what is not a volume, or a newer one, is refused untouched") {
  TestVolume room;
  room.volume.reset();
  const std::string file = room.path() + "/volume.toml";
  const std::string good = host_text(room, "volume.toml");
  const auto with = [&](const std::string& text) {
    std::ofstream(file) << text;
    auto opened = room.try_open();
    return opened ? std::string("opened") : std::string(code_name(opened.error().code));
  };
  CHECK(with("[volume]\nformat = 999\n") == "newer_format");
  CHECK(with("[volume]\n") == "damaged");
  CHECK(with("nonsense") == "bad_input");
  CHECK(with("[volume]\nformat = 1\n[limits]\nreserve_mib = -1\n") == "bad_input");
  CHECK(with("[volume]\nformat = 1\n[limits]\nresreve_mib = 1\n") == "bad_input");
  std::filesystem::remove(file);
  auto missing = room.try_open();
  REQUIRE_FALSE(missing);
  CHECK(missing.error().message.find("stationer init") != std::string::npos);
  CHECK(with(good) == "opened");
  const auto nowhere = Volume::open(room.folder / "no where", room.surroundings());
  REQUIRE_FALSE(nowhere);
  CHECK(nowhere.error().code == Code::not_found);
  CHECK(nowhere.error().message.starts_with("There is no folder \""));
  CHECK(Volume::create(room.path(), "again", room.surroundings()).error().code == Code::exists);
  CHECK(Volume::create("/nowhere/at/all", "x", room.surroundings()).error().code ==
        Code::not_found);
}

TEST_CASE("the check finds what somebody did behind the store's back") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/members/robin/a", "aaaa"));
  REQUIRE(room.save(robin, "/members/robin/b", "bbbb"));
  REQUIRE(room.save(robin, "/members/robin/c", "cccc"));
  REQUIRE(room.volume->drain());
  const std::string home = room.path() + "/files/members/robin/";
  CHECK(room.findings() == "");
  std::ofstream(home + "a") << "AAAA";
  std::filesystem::remove(home + "b");
  std::ofstream(home + "c", std::ios::app) << "more";
  std::ofstream(home + "stray") << "?";
  std::filesystem::create_symlink("/etc/passwd", home + "link");
  const std::string found = room.findings();
  CHECK(found.find("changed files/members/robin/a:") != std::string::npos);
  CHECK(found.find("missing files/members/robin/b:") != std::string::npos);
  CHECK(found.find("changed files/members/robin/c:") != std::string::npos);
  CHECK(found.find("stray files/members/robin/stray:") != std::string::npos);
  CHECK(found.find("strange files/members/robin/link:") != std::string::npos);
  CHECK(std::count(found.begin(), found.end(), '\n') == 5);
}

TEST_CASE("a folder that vanished from the host is made again for what is saved in it") {
  TestVolume room;
  const Caller robin = room.add("robin");
  TestVolume::done(room.files().make_folder(robin, room.at("/members/robin/f")));
  REQUIRE(room.volume->drain());
  std::filesystem::remove_all(room.path() + "/files/members");
  REQUIRE(room.save(robin, "/members/robin/f/a", "still here"));
  REQUIRE(room.volume->drain());
  CHECK(*room.read(robin, "/members/robin/f/a") == "still here");
  CHECK(host_text(room, "files/members/robin/f/a") == "still here");
}

TEST_CASE("load address, entry point and kind are kept with a file") {
  TestVolume room;
  const Caller robin = room.add("robin");
  SaveOptions options;
  options.kind = Kind::program;
  options.load_address = 0x1900;
  options.entry_point = 0x801F;
  auto upload = room.files().save(robin, room.at("/members/robin/game"), options);
  REQUIRE(upload);
  REQUIRE(upload->write("\x01\x02"));
  TestVolume::done(upload->finish());
  room.reopen();
  const auto view = room.files().look(robin, room.at("/members/robin/game"));
  CHECK(view->kind == Kind::program);
  CHECK(view->load_address == 0x1900u);
  CHECK(view->entry_point == 0x801Fu);
  TestVolume::done(
      room.files().set_details(robin, room.at("/members/robin/game"), Kind::data, {}, {}));
  CHECK_FALSE(room.files().look(robin, room.at("/members/robin/game"))->load_address);
}

TEST_CASE("limits: one notice at four fifths, one over the limit") {
  TestVolume room;
  const auto robin = room.add("robin");
  TestVolume::done(
      room.people().change_account(room.keeper, "robin", {.quota = Quota{1000, 1250, 0, 0}}));
  const auto notices = [&] { return room.desk().notices(robin).size(); };
  const auto save = [&](const char* name, std::size_t bytes) {
    REQUIRE(room.save(robin, std::string("/members/robin/") + name, std::string(bytes, 'x'), true));
  };
  save("a", 790);
  CHECK(notices() == 0);
  save("a", 800);
  REQUIRE(notices() == 1);
  CHECK(room.desk().notices(robin)[0].text ==
        "Your space is nearly full. Type space for the figures.");
  save("a", 810);
  save("a", 1000);
  CHECK(notices() == 1);
  save("a", 1001);
  CHECK(notices() == 2);
  save("a", 1250);
  CHECK(notices() == 2);
  CHECK_FALSE(room.save(robin, "/members/robin/a", std::string(1251, 'x'), true));
  // Read, and near again after there was room: told again.
  std::vector<std::uint32_t> ids;
  for (const auto& notice : room.desk().notices(robin)) ids.push_back(notice.id);
  TestVolume::done(room.desk().drop_notices(robin, ids));
  room.reopen();
  save("a", 1200);
  CHECK(notices() == 0);
  save("a", 100);
  CHECK(notices() == 0);
  save("a", 900);
  CHECK(notices() == 1);
}

TEST_CASE("limits: who replaces somebody's file reads whose space is full") {
  TestVolume room;
  const auto robin = room.add("robin");
  const auto bram = room.add("bram", Role::manager);
  TestVolume::done(
      room.people().change_account(room.keeper, "robin", {.quota = Quota{0, 100, 0, 0}}));
  REQUIRE(room.save(robin, "/members/robin/a", "small"));
  const auto refused = room.save(bram, "/members/robin/a", std::string(101, 'x'), true);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().message.find("There is no room among the files of robin") == 0);
  CHECK(room.read(robin, "/members/robin/a").value() == "small");
}

TEST_CASE("limits: grace is a setting, and a clock put back gives no second week for nothing") {
  TestVolume room;
  const auto robin = room.add("robin");
  TestVolume::done(
      room.people().change_account(room.keeper, "robin", {.quota = Quota{100, 1000, 0, 0}}));
  REQUIRE(room.save(robin, "/members/robin/a", std::string(101, 'x')));
  const Time passed = *room.now;
  *room.now = passed - std::chrono::hours(24 * 365 * 40);  // before the account was made
  REQUIRE(room.save(robin, "/members/robin/b", "x"));
  *room.now = passed + std::chrono::hours(24 * 7);
  CHECK(room.save(robin, "/members/robin/c", "x"));
  *room.now += std::chrono::milliseconds(1);
  CHECK_FALSE(room.save(robin, "/members/robin/d", "x"));

  CHECK(parse_volume_file("[volume]\nformat = 1\n[limits]\ngrace_days = 0\n")->grace.count() == 0);
  CHECK(parse_volume_file("[volume]\nformat = 1\n")->grace == default_grace);
  CHECK_FALSE(parse_volume_file("[volume]\nformat = 1\n[limits]\ngrace_days = -1\n"));
}
