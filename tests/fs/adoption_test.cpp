#include "fs/adoption.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <thread>

#include "fs/compare.h"
#include "tests/support/catch.h"
#include "tests/support/test_volume.h"

using namespace stationer::fs;
using stationer::test::TestVolume;

namespace {

namespace host = std::filesystem;

// A room with robin's files a, b and c and folder f with d in it; a was replaced once.
struct Room : TestVolume {
  Caller robin;

  Room() {
    robin = add("robin");
    done(files().make_folder(robin, at("/members/robin/f")));
    for (const char* name : {"a", "b", "c", "f/d"}) {
      REQUIRE(save(robin, std::string("/members/robin/") + name, contents(name)));
    }
    REQUIRE(save(robin, "/members/robin/a", "a, as it was changed", true));
    REQUIRE(volume->drain());
    REQUIRE(findings() == "");
    const Adopted first = look();
    REQUIRE(first.items.empty());
  }

  static std::string contents(const std::string& name) { return "the contents of " + name; }
  std::string home() const { return path() + "/files/members/robin/"; }
  std::string home(const std::string& name) const { return home() + name; }

  static void put(const std::string& file, const std::string& bytes) {
    std::ofstream(file, std::ios::binary) << bytes;
  }

  static AdoptOptions at_once(bool accept_loss = false) {
    AdoptOptions options;
    options.patience = std::chrono::milliseconds(0);
    options.accept_loss = accept_loss;
    return options;
  }
  Adopted look(bool accept_loss = false) {
    auto looked = volume->adoption().look_at_all(at_once(accept_loss));
    if (!looked) FAIL(looked.error().message);
    return *looked;
  }

  // Looks, and holds to what every look promises: once is enough, and the check agrees.
  Adopted adopt(bool accept_loss = false) {
    const Adopted looked = look(accept_loss);
    const Adopted again = look();
    CHECK_FALSE(again.any());
    CHECK(again.left == looked.left);
    REQUIRE(volume->drain());
    if (looked.left == 0) CHECK(findings() == "");
    return looked;
  }

  void check_reads(const std::string& name, const std::string& expected) {
    const auto got = read(robin, "/members/robin/" + name);
    INFO(name);
    if (!got) FAIL(got.error().message);
    CHECK(*got == expected);
  }
  bool has(const std::string& name) {
    return bool(files().look(robin, at("/members/robin/" + name)));
  }
  NodeView view(const std::string& name) {
    auto found = files().look(robin, at("/members/robin/" + name));
    REQUIRE(found);
    return *found;
  }
  bool journal_has(const std::string& what) {
    const auto journal = desk().journal({});
    return std::any_of(journal->begin(), journal->end(),
                       [&](const auto& entry) { return entry.what == what; });
  }
};

std::string words(const std::vector<std::string>& sentences) {
  std::string out;
  for (const auto& each : sentences) out += each + "\n";
  return out;
}

// Waits for what another thread brings, at most ten seconds.
bool comes(const std::function<bool()>& here) {
  for (int i = 0; i < 1000; ++i) {
    if (here()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return here();
}

}  // namespace

TEST_CASE("what is settled has the node's time on the host, whatever its size") {
  Room room;
  *room.now += std::chrono::milliseconds(1'234'567);
  REQUIRE(room.save(room.robin, "/members/robin/small", "1"));
  REQUIRE(room.save(room.robin, "/members/robin/large", std::string(small_content + 1, 'x')));
  REQUIRE(room.volume->drain());
  for (const char* name : {"small", "large"}) {
    const auto entry = room.volume->host_files().look(
        *HostPath::from_record(std::string("files/members/robin/") + name));
    REQUIRE(entry);
    CHECK((*entry)->modified == room.view(name).modified);
  }
  const Adopted looked = room.adopt();
  CHECK(looked.items.empty());
}

TEST_CASE("a file put in becomes part of the tree, as its folder's owner's") {
  Room room;
  room.put(room.home("f/new"), "hello");
  const Adopted looked = room.adopt();
  CHECK(looked.taken_in == 1);
  room.check_reads("f/new", "hello");
  CHECK(room.view("f/new").owner == "robin");
  CHECK(room.journal_has("taken in from the host"));
}

TEST_CASE("a folder put in comes with everything in it") {
  Room room;
  host::create_directories(room.home("one/two/three"));
  room.put(room.home("one/two/three/x"), "deep");
  room.put(room.home("one/y"), "");
  const Adopted looked = room.adopt();
  CHECK(looked.taken_in == 5);
  room.check_reads("one/two/three/x", "deep");
  room.check_reads("one/y", "");
}

TEST_CASE("looking at one folder looks at that folder only, and at what came into it") {
  Room room;
  room.put(room.home("f/near"), "1");
  room.put(room.path() + "/files/public/far", "2");
  host::create_directories(room.home("f/g"));
  room.put(room.home("f/g/h"), "3");
  const auto folder = HostPath::from_record("files/members/robin/f");
  auto looked = room.volume->adoption().look_at({*folder}, Room::at_once());
  REQUIRE(looked);
  CHECK(looked->taken_in == 3);
  CHECK(room.has("f/g/h"));
  CHECK_FALSE(room.files().look(room.robin, room.at("/public/far")));
  // Of what is no folder of the tree, the nearest one that is.
  const auto file = HostPath::from_record("files/public/far/none");
  looked = room.volume->adoption().look_at({*file}, Room::at_once());
  REQUIRE(looked);
  CHECK(looked->taken_in == 1);
}

TEST_CASE("a changed file has the new contents, and keeps everything else") {
  Room room;
  TestVolume::done(room.files().set_access(room.robin, room.at("/members/robin/b"), "e+r"));
  const auto before = room.view("b");
  room.put(room.home("b"), "changed on the box");
  const Adopted looked = room.adopt();
  CHECK(looked.changed == 1);
  room.check_reads("b", "changed on the box");
  CHECK(room.view("b").id == before.id);
  CHECK(room.view("b").access == before.access);
  CHECK(room.journal_has("changed on the host"));
}

TEST_CASE("a file of the same size and another time is compared, and of other contents changed") {
  Room room;
  std::string other = Room::contents("b");
  other.back() = 'X';
  room.put(room.home("b"), other);
  CHECK(room.adopt().changed == 1);
  room.check_reads("b", other);
}

TEST_CASE("a file only touched stays what it is, at its new time") {
  Room room;
  const auto then = host::file_time_type::clock::now() - std::chrono::hours(100);
  host::last_write_time(room.home("b"), then);
  const auto before = room.view("b");
  CHECK(room.adopt().items.empty());
  CHECK(room.view("b").modified < before.modified);
  CHECK_FALSE(room.journal_has("changed on the host"));
}

TEST_CASE("a file system that keeps whole seconds is no change of everything") {
  Room room;
  const Time time(std::chrono::milliseconds(1'800'000'000'999));
  CHECK(is_time_of(time, time));
  CHECK(is_time_of(Time(std::chrono::milliseconds(1'800'000'000'000)), time));
  CHECK_FALSE(is_time_of(Time(std::chrono::milliseconds(1'800'000'000'998)), time));
  CHECK_FALSE(is_time_of(Time(std::chrono::milliseconds(1'799'999'999'000)), time));
}

TEST_CASE("a file renamed on the host is the same file, with its rights and its history") {
  Room room;
  const auto before = room.view("a");
  host::rename(room.home("a"), room.home("f/moved"));
  const Adopted looked = room.adopt();
  CHECK(looked.moved == 1);
  CHECK(looked.items.size() == 1);
  CHECK(room.view("f/moved").id == before.id);
  CHECK_FALSE(room.has("a"));
  room.check_reads("f/moved", "a, as it was changed");
  CHECK(room.volume->history().versions(room.robin, room.at("/members/robin/f/moved"))->size() ==
        1);
  CHECK(room.journal_has("moved on the host"));
}

TEST_CASE("a file renamed by its case only, and one moved into a new folder, are moved") {
  Room room;
  const auto before = room.view("b");
  host::rename(room.home("b"), room.home("B"));
  CHECK(room.adopt().moved == 1);
  CHECK(room.view("B").name == "B");
  CHECK(room.view("B").id == before.id);

  host::create_directories(room.home("new"));
  host::rename(room.home("B"), room.home("new/B"));
  const Adopted looked = room.adopt();
  CHECK(looked.moved == 1);
  CHECK(looked.taken_in == 1);
  CHECK(room.view("new/B").id == before.id);
}

TEST_CASE("a folder renamed on the host is the same folder") {
  Room room;
  const auto before = room.view("f");
  const auto below = room.view("f/d");
  host::rename(room.home("f"), room.home("g"));
  room.put(room.home("g/more"), "1");
  const Adopted looked = room.adopt();
  CHECK(looked.moved == 1);
  CHECK(looked.taken_in == 1);
  CHECK(looked.gone == 0);
  CHECK(room.view("g").id == before.id);
  CHECK(room.view("g/d").id == below.id);
  CHECK(room.has("g/more"));
}

TEST_CASE("two files that changed names each have what the host has there") {
  Room room;
  // Of the same size, and by this clock of the same time: then only the check could tell.
  *room.now += std::chrono::milliseconds(1001);
  REQUIRE(room.save(room.robin, "/members/robin/c", Room::contents("c"), true));
  REQUIRE(room.volume->drain());
  host::rename(room.home("b"), room.home("t"));
  host::rename(room.home("c"), room.home("b"));
  host::rename(room.home("t"), room.home("c"));
  room.adopt();
  room.check_reads("b", Room::contents("c"));
  room.check_reads("c", Room::contents("b"));
}

TEST_CASE("what is gone and had no former content is gone, and the journal knows") {
  Room room;
  host::remove(room.home("b"));
  const Adopted looked = room.adopt();
  CHECK(looked.gone == 1);
  CHECK_FALSE(room.has("b"));
  CHECK(room.files().bin(room.robin).empty());
  CHECK(room.journal_has("gone from the host"));
  REQUIRE(room.desk().notices(room.robin).size() == 1);  // and one is enough
  host::remove(room.home("c"));
  room.adopt();
  CHECK(room.desk().notices(room.robin).size() == 1);
  REQUIRE(room.save(room.robin, "/members/robin/b", "anew"));
}

TEST_CASE("the keep bit does not bind the host's owner, and the journal says that it was set") {
  Room room;
  for (const char* name : {"a", "b", "c"}) {
    TestVolume::done(
        room.files().set_access(room.robin, room.at("/members/robin/" + std::string(name)), "+k"));
  }
  Room::put(room.home("c"), "written over");
  host::remove(room.home("a"));
  host::remove(room.home("b"));
  room.adopt();
  room.check_reads("c", "written over");
  CHECK(room.view("c").access.has(Access::keep));
  std::size_t told = 0;
  const auto journal = room.desk().journal({}).value();
  for (const auto& entry : journal) {
    told += entry.what.ends_with("the host") && entry.detail.ends_with("; it had the keep bit");
  }
  CHECK(told == 3);
  // In the bin it binds again.
  TestVolume::done(room.files().empty_bin(room.robin, false));
  TestVolume::done(room.files().empty_bin(room.keeper, true));
  const auto bin = room.files().bin(room.robin);
  REQUIRE(bin.size() == 1);
  TestVolume::done(room.files().restore(room.robin, bin[0].id));
  CHECK(room.view("a").access.has(Access::keep));
}

TEST_CASE("what is gone and was something before goes to the bin as that") {
  Room room;
  host::remove(room.home("a"));
  CHECK(room.adopt().gone == 1);
  CHECK_FALSE(room.has("a"));
  const auto bin = room.files().bin(room.robin);
  REQUIRE(bin.size() == 1);
  CHECK(bin[0].path == "/members/robin/a");
  TestVolume::done(room.files().restore(room.robin, bin[0].id));
  room.check_reads("a", Room::contents("a"));
  REQUIRE(room.volume->drain());
  CHECK(room.findings() == "");
  room.reopen();
  room.check_reads("a", Room::contents("a"));
}

TEST_CASE("a folder that is gone goes with what was in it, and those of the room are made again") {
  Room room;
  host::remove_all(room.home("f"));
  const Adopted looked = room.adopt();
  CHECK(looked.gone == 2);
  CHECK_FALSE(room.has("f"));
  host::remove_all(room.home());
  room.adopt();
  CHECK(host::is_directory(room.home()));
  CHECK(room.files().bin(room.robin).size() == 1);
  CHECK_FALSE(room.has("b"));
  REQUIRE(room.save(room.robin, "/members/robin/b", "anew"));
}

TEST_CASE("what is back before anybody has decided is not gone") {
  Room room;
  host::rename(room.home("b"), room.folder / "aside");
  AdoptOptions options;
  options.patience = std::chrono::milliseconds(300);
  std::thread back([&] {
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    host::rename(room.folder / "aside", room.home("b"));
  });
  const auto looked = room.volume->adoption().look_at_all(options);
  back.join();
  REQUIRE(looked);
  CHECK(looked->gone == 0);
  room.check_reads("b", Room::contents("b"));
}

TEST_CASE("when so much is gone that a disk may be, nothing goes until the keeper says so") {
  Room room;
  SECTION("files/ is empty") {
    host::rename(room.path() + "/files", room.folder / "disk");
    host::create_directory(room.path() + "/files");
    Adopted looked = room.look();
    CHECK(looked.gone == 0);
    CHECK(looked.vanished > 0);
    CHECK(words(room.volume->troubles()).find("--accept-loss") != std::string::npos);
    host::remove(room.path() + "/files");
    host::rename(room.folder / "disk", room.path() + "/files");
    looked = room.adopt();
    CHECK(looked.items.empty());
    CHECK(room.volume->troubles().empty());
    room.check_reads("b", Room::contents("b"));
  }
  SECTION("files/ itself is not there") {
    host::rename(room.path() + "/files", room.folder / "disk");
    CHECK(room.look().vanished > 0);
    host::rename(room.folder / "disk", room.path() + "/files");
    CHECK(room.adopt().items.empty());
  }
  SECTION("a folder is empty that held more than ten files") {
    for (int i = 0; i < 60; ++i) {
      REQUIRE(room.save(room.robin, "/members/robin/o" + std::to_string(i), std::to_string(i)));
    }
    TestVolume::done(room.files().make_folder(room.robin, room.at("/public/disk")));
    for (int i = 0; i < 11; ++i) {
      REQUIRE(room.save(room.robin, "/public/disk/" + std::to_string(i), "p" + std::to_string(i)));
    }
    REQUIRE(room.volume->drain());
    for (int i = 0; i < 11; ++i)
      host::remove(room.path() + "/files/public/disk/" + std::to_string(i));
    CHECK(room.look().vanished == 11);
    const Adopted looked = room.adopt(true);
    CHECK(looked.gone == 11);
    CHECK(room.volume->troubles().empty());
    CHECK_FALSE(room.files().look(room.robin, room.at("/public/disk/1")));
  }
}

TEST_CASE("strange things are told, never followed, and left as they are") {
  Room room;
  const std::string outside = room.folder / "outside";
  host::create_directory(outside);
  room.put(outside + "/secret", "not of the room");
  host::create_directory_symlink(outside, room.home("link"));
  REQUIRE(::system(("mkfifo " + room.home("pipe")).c_str()) == 0);
  room.put(room.home("B"), "clashes");
  room.put(room.home("x?"), "no name");
  room.put(room.home("bytes\xFF"), "not text");
  host::remove(room.home("c"));
  host::create_directory(room.home("c"));
  const Adopted looked = room.adopt();
  CHECK(looked.left == 6);
  CHECK_FALSE(looked.any());
  CHECK_FALSE(room.has("link"));
  room.check_reads("b", Room::contents("b"));
  CHECK(host::is_symlink(room.home("link")));
  for (const char* name : {"pipe", "B", "x?", "bytes\xFF", "c"})
    CHECK(host::exists(room.home(name)));
  const auto troubles = room.volume->troubles();
  CHECK(troubles.size() == 6);
  for (const char* name : {"link", "pipe", "B", "x?", "c"}) {
    CHECK(words(troubles).find(room.home(name).substr(room.path().size() + 1) + "\"") !=
          std::string::npos);
  }
  // Once they are gone, so is the trouble.
  for (const char* name : {"link", "pipe", "B", "x?", "bytes\xFF"}) host::remove(room.home(name));
  host::remove(room.home("c"));
  room.look();
  CHECK(room.volume->troubles().empty());
}

TEST_CASE("what was strange in a folder that is gone or elsewhere is told no more, or there") {
  Room room;
  host::create_symlink("/etc", room.home("f/link"));
  room.look();
  const auto look_at_home = [&] {
    const auto home = HostPath::from_record("files/members/robin");
    REQUIRE(room.volume->adoption().look_at({*home}, Room::at_once()));
    return words(room.volume->troubles());
  };
  host::rename(room.home("f"), room.home("g"));
  const std::string moved = look_at_home();
  CHECK(moved.find("robin/g/link") != std::string::npos);
  CHECK(moved.find("robin/f/link") == std::string::npos);
  host::remove_all(room.home("g"));
  CHECK(look_at_home().empty());
}

TEST_CASE("an empty file that was marked as lost stays so, until the host has contents for it") {
  Room room;
  host::rename(room.home("c"), room.folder / "c");
  CheckOptions options;
  options.repair = true;
  REQUIRE(room.volume->check(options)->mended == 1);
  REQUIRE(room.volume->drain());
  host::last_write_time(room.home("c"), host::file_time_type::clock::now());
  CHECK_FALSE(room.adopt().any());
  CHECK(room.volume->check()->lost == 1);
  host::rename(room.folder / "c", room.home("c"));
  CHECK(room.adopt().changed == 1);
  room.check_reads("c", Room::contents("c"));
  CHECK(room.volume->check()->lost == 0);
}

TEST_CASE("many strange things are counted, not told one by one") {
  Room room;
  for (int i = 0; i < 40; ++i) room.put(room.home(std::to_string(i) + "?"), "");
  CHECK(room.look().left == 40);
  CHECK(room.volume->troubles().size() == 11);
}

TEST_CASE("a folder in whose place a link is is not looked through") {
  Room room;
  const std::string outside = room.folder / "outside";
  host::rename(room.home("f"), outside);
  host::create_directory_symlink(outside, room.home("f"));
  room.put(outside + "/new", "outside");
  const Adopted looked = room.look();
  CHECK(looked.left == 1);
  CHECK_FALSE(looked.any());
  CHECK_FALSE(room.has("f/new"));
}

TEST_CASE("what is open for writing is left for later") {
  Room room;
  std::ofstream open(room.home("slow"), std::ios::binary);
  open << "the first half" << std::flush;
  Adopted looked = room.look();
  CHECK_FALSE(looked.any());
  REQUIRE(looked.again.size() == 1);
  CHECK_FALSE(room.has("slow"));
  open << ", and the second";
  open.close();
  CHECK(room.adopt().taken_in == 1);
  room.check_reads("slow", "the first half, and the second");

  std::ofstream changing(room.home("b"), std::ios::binary);
  changing << "half" << std::flush;
  CHECK_FALSE(room.look().any());
  changing.close();
  CHECK(room.adopt().changed == 1);
}

TEST_CASE("adopting may go over a limit, and the owner is told") {
  Room room;
  AccountChange change;
  change.quota = Quota{80, 100, 0, 0};
  TestVolume::done(room.people().change_account(room.keeper, "robin", change));
  room.put(room.home("big"), std::string(5000, 'x'));
  CHECK(room.adopt().taken_in == 1);
  CHECK(room.files().space(room.robin)->fullness == Fullness::over);
  CHECK_FALSE(room.desk().notices(room.robin).empty());
  CHECK_FALSE(room.save(room.robin, "/members/robin/more", "1"));
}

TEST_CASE("a save and a change on the host at once, in every order, end in order") {
  // What is done, in all orders, to file b; each order ends with two looks.
  enum Step { save, replace_on_host, write_on_host, settle, look };
  const auto act = [](Room& room, Step step) {
    switch (step) {
      case save: REQUIRE(room.save(room.robin, "/members/robin/b", "saved by robin", true)); break;
      case replace_on_host:
        room.put(room.folder / "aside", "put there by the owner");
        host::rename(room.folder / "aside", room.home("b"));
        break;
      case write_on_host: room.put(room.home("b"), "put there by the owner"); break;
      case settle: REQUIRE(room.volume->drain()); break;
      case look: room.look(); break;
    }
  };
  for (const Step on_host : {replace_on_host, write_on_host}) {
    std::vector<Step> steps{save, on_host, settle, look};
    std::sort(steps.begin(), steps.end());
    do {
      Room room;
      std::string order;
      for (const Step step : steps) {
        order += std::to_string(step);
        act(room, step);
      }
      INFO(order);
      room.look();
      REQUIRE(room.volume->drain());
      room.look();
      CHECK(room.findings() == "");
      // Whichever came last is there, and the other is what it was before.
      const auto now = room.read(room.robin, "/members/robin/b");
      REQUIRE(now);
      const bool by_robin = *now == "saved by robin";
      CHECK((by_robin || *now == "put there by the owner"));
      const auto versions =
          room.volume->history().versions(room.robin, room.at("/members/robin/b"));
      REQUIRE(versions);
      if (by_robin) {
        REQUIRE(versions->size() == 1);
        auto former = room.volume->history().read(room.robin, room.at("/members/robin/b"),
                                                  versions->front().id);
        REQUIRE(former);
        std::string bytes(64, '\0');
        bytes.resize(*former->read_at(0, bytes));
        const bool either = bytes == "put there by the owner" || bytes == Room::contents("b");
        CHECK(either);
      }
    } while (std::next_permutation(steps.begin(), steps.end()));
  }
}

TEST_CASE("what is saved, moved and removed while everything is looked at is not touched") {
  Room room;
  std::atomic<bool> over = false;
  std::thread looking([&] {
    while (!over) {
      static_cast<void>(room.volume->adoption().look_at_all(Room::at_once()));
    }
  });
  for (int i = 0; i < 300; ++i) {
    const std::string name = "/members/robin/n" + std::to_string(i % 7);
    REQUIRE(room.save(room.robin, name, "round " + std::to_string(i), true));
    if (i % 3 == 0) {
      TestVolume::done(room.files().move(room.robin, room.at(name), room.at(name + " moved")));
      TestVolume::done(room.files().remove(room.robin, room.at(name + " moved")));
    }
    if (i % 5 == 0) {
      const auto folder = room.at("/members/robin/g" + std::to_string(i));
      TestVolume::done(room.files().make_folder(room.robin, folder));
      TestVolume::done(room.files().remove(room.robin, folder));
    }
    if (i % 50 == 0) TestVolume::done(room.files().empty_bin(room.robin, false));
  }
  over = true;
  looking.join();
  for (const char* what : {"taken in from the host", "changed on the host", "moved on the host",
                           "gone from the host"}) {
    INFO(what);
    CHECK_FALSE(room.journal_has(what));
  }
  REQUIRE(room.volume->drain());
  CHECK(room.findings() == "");
}

TEST_CASE("invariant 1: adoption that fails at the Nth host call is taken up again") {
  long calls = 1;
  for (long at = 1; at <= calls; ++at) {
    Room room;
    const NodeId moved = room.files().look(room.robin, room.at("/members/robin/c"))->id;
    room.put(room.home("new"), "1");
    host::create_directories(room.home("folder"));
    room.put(room.home("folder/in it"), "2");
    room.put(room.home("b"), "changed");
    host::rename(room.home("c"), room.home("f/c"));
    host::remove(room.home("a"));
    room.failure->calls = 0;
    room.failure->fail_at = at;
    static_cast<void>(room.volume->adoption().look_at_all(Room::at_once()));
    static_cast<void>(room.volume->drain());
    calls = room.failure->calls;
    room.failure->fail_at = 0;
    INFO("call " << at << " of " << calls);
    REQUIRE(comes([&] { return bool(room.volume->drain()); }));  // settling tries again by itself
    room.look();
    REQUIRE(room.volume->drain());
    room.look();
    CHECK(room.findings() == "");
    room.check_reads("new", "1");
    room.check_reads("folder/in it", "2");
    room.check_reads("b", "changed");
    room.check_reads("f/c", Room::contents("c"));
    CHECK(room.files().look(room.robin, room.at("/members/robin/f/c"))->id == moved);
    CHECK_FALSE(room.has("a"));
    CHECK(room.files().bin(room.robin).size() == 1);
  }
  CHECK(calls > 30);
}

TEST_CASE("a watched volume takes in at once what is done on the host") {
  Room room;
  std::atomic<int> looks = 0;
  room.put(room.home("before"), "was there at the start");
  room.volume->watch([&](const Result<Adopted>&) { ++looks; });
  CHECK(comes([&] { return room.has("before"); }));

  room.put(room.home("new"), "1");
  CHECK(comes([&] { return room.has("new"); }));
  host::create_directories(room.home("deep/er"));
  room.put(room.home("deep/er/x"), "2");
  CHECK(comes([&] { return room.has("deep/er/x"); }));
  room.put(room.home("deep/er/y"), "3");  // in a folder that came while watching
  CHECK(comes([&] { return room.has("deep/er/y"); }));
  host::rename(room.home("deep"), room.home("shallow"));
  CHECK(comes([&] { return room.has("shallow/er/y") && !room.has("deep"); }));
  room.put(room.home("shallow/er/z"), "4");  // in a folder that moved
  CHECK(comes([&] { return room.has("shallow/er/z"); }));
  host::remove(room.home("new"));
  CHECK(comes([&] { return !room.has("new"); }));

  // files/ is taken away as a whole, and put back.
  host::rename(room.path() + "/files", room.path() + "/away");
  CHECK(comes([&] { return !room.volume->troubles().empty(); }));
  CHECK(room.has("b"));
  host::rename(room.path() + "/away", room.path() + "/files");
  CHECK(comes([&] { return room.volume->troubles().empty(); }));
  room.put(room.home("shallow/after"), "5");
  CHECK(comes([&] { return room.has("shallow/after"); }));

  // A copy that takes its time is not taken in by halves.
  std::ofstream slow(room.home("slow"), std::ios::binary);
  for (int i = 0; i < 15; ++i) {
    slow << "piece " << std::flush;
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
    CHECK_FALSE(room.has("slow"));
  }
  slow.close();
  CHECK(comes([&] { return room.has("slow"); }));
  CHECK(room.view("slow").size == 15 * 6);

  room.volume->stop_watching();
  CHECK(room.volume->troubles().empty());
  REQUIRE(room.volume->drain());
  CHECK(room.findings() == "");
  CHECK(looks > 5);
}

TEST_CASE("what a watched volume settles itself changes nothing") {
  Room room;
  std::atomic<int> looks = 0;
  std::atomic<bool> any = false;
  room.volume->watch([&](const Result<Adopted>& looked) {
    ++looks;
    if (!looked || !looked->items.empty()) any = true;
  });
  for (int i = 0; i < 200; ++i) {
    REQUIRE(room.save(room.robin, "/members/robin/n" + std::to_string(i % 20), std::to_string(i),
                      true));
  }
  REQUIRE(room.volume->drain());
  const int before = looks;
  CHECK(comes([&] { return looks > before; }));
  room.volume->stop_watching();
  CHECK_FALSE(any);
}

TEST_CASE("with watching off, only what is there at the start is taken in") {
  Room room;
  room.volume.reset();
  std::string settings;
  {
    std::ifstream in(room.path() + "/volume.toml");
    settings.assign(std::istreambuf_iterator<char>(in), {});
  }
  const auto at = settings.find("watch = true");
  REQUIRE(at != std::string::npos);
  settings.replace(at, 12, "watch = false");
  room.put(room.path() + "/volume.toml", settings);
  room.put(room.home("first"), "1");
  room.reopen();
  std::atomic<int> looks = 0;
  room.volume->watch([&](const Result<Adopted>&) { ++looks; });
  CHECK(comes([&] { return room.has("first"); }));
  room.put(room.home("second"), "2");
  std::this_thread::sleep_for(2 * Watcher::quiet);
  CHECK_FALSE(room.has("second"));
  CHECK(looks == 1);
}
