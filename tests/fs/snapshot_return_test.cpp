#include "fs/snapshot_return.h"

#include <atomic>
#include <fstream>
#include <thread>

#include <catch2/catch.hpp>

#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::TestVolume;

namespace {

// The clock of a test's volume stands at 2027-01-15 08:00 UTC.
struct Kept : TestVolume {
  Caller robin = add("robin");
  Caller wren = add("wren");
  std::string snapshot = folder / "kept.tar.zst";

  Kept() {
    REQUIRE(save(robin, "/members/robin/letter.txt", "as it was"));
    REQUIRE(save(robin, "/members/robin/same", "unchanged"));
    done(files().make_folder(robin, at("/members/robin/games")));
    REQUIRE(save(robin, "/members/robin/games/maze", "walls"));
    REQUIRE(save(robin, "/public/poster", "robin's"));
    REQUIRE(save(wren, "/public/verse", "wren's"));
    done(files().set_access(robin, at("/members/robin/games"), "o=rw,c=,e="));
    done(files().set_access(robin, at("/members/robin/games/maze"), "o=rw,c=,e=,+k"));
    done(
        files().set_details(robin, at("/members/robin/letter.txt"), Kind::program, 0x1900, 0x1903));
    auto taken = volume->snapshots().take(snapshot);
    REQUIRE(taken);
  }

  Result<Returned> give_back(const ReturnWish& wish) {
    return return_from_snapshot(*volume, keeper, snapshot, wish, {});
  }
  Returned bring(std::string_view text) {
    auto returned = give_back({{at(text)}, ""});
    if (!returned) FAIL(returned.error().message);
    CHECK(returned->failures.empty());
    return *returned;
  }
  void forget(std::string_view path) {
    done(files().set_access(keeper, at(path), "-k"));
    done(files().remove(keeper, at(path)));
  }
};

}  // namespace

TEST_CASE("a file that was removed comes back as it was") {
  Kept room;
  room.forget("/members/robin/letter.txt");
  const Returned returned = room.bring("/members/robin/letter.txt");
  CHECK(returned.files == 1);
  CHECK(returned.beside.empty());
  CHECK(room.read(room.robin, "/members/robin/letter.txt").value() == "as it was");
  const NodeView node = room.files().look(room.robin, room.at("/members/robin/letter.txt")).value();
  CHECK(node.owner == "robin");
  CHECK(node.kind == Kind::program);
  CHECK(node.load_address == 0x1900u);
  CHECK(node.entry_point == 0x1903u);
  CHECK(room.findings() == "");
}

TEST_CASE("what a file has by now is a version once the old contents are back") {
  Kept room;
  const char* letter = "/members/robin/letter.txt";
  REQUIRE(room.save(room.robin, letter, "as it is now", true));
  const Returned returned = room.bring(letter);
  CHECK(returned.files == 1);
  CHECK(returned.replaced == std::vector<std::string>{letter});
  CHECK(returned.beside.empty());
  CHECK(room.read(room.robin, letter).value() == "as it was");
  const auto versions = room.volume->history().versions(room.robin, room.at(letter)).value();
  REQUIRE(versions.size() == 2);
  room.done(room.volume->history().restore(room.robin, room.at(letter), versions.front().id));
  CHECK(room.read(room.robin, letter).value() == "as it is now");
  CHECK(room.bring("/members/robin/same").same == 1);
  CHECK(room.bring("/members/robin/same").files == 0);
  CHECK(room.findings() == "");
}

TEST_CASE("what is somebody else's by now, or kept, stays, and the old goes beside it") {
  Kept room;
  room.forget("/public/poster");
  REQUIRE(room.save(room.wren, "/public/poster", "wren's"));
  const Returned first = room.bring("/public/poster");
  CHECK(first.beside == std::vector<std::string>{"/public/poster from 2027-01-15"});
  CHECK(first.replaced.empty());
  const Returned second = room.bring("/public/poster");
  CHECK(second.beside == std::vector<std::string>{"/public/poster from 2027-01-15 2"});
  CHECK(room.read(room.wren, "/public/poster").value() == "wren's");
  CHECK(room.read(room.robin, "/public/poster from 2027-01-15").value() == "robin's");
  CHECK(room.files().look(room.wren, room.at("/public/poster from 2027-01-15 2"))->owner ==
        "robin");

  REQUIRE(room.save(room.robin, "/members/robin/same", "changed", true));
  room.done(room.files().set_access(room.robin, room.at("/members/robin/same"), "+k"));
  CHECK(room.bring("/members/robin/same").beside_count == 1);
  CHECK(room.read(room.robin, "/members/robin/same").value() == "changed");
}

TEST_CASE("invariant 3: nobody may read for a moment what comes back and was not theirs to read") {
  Kept room;
  const Path poster = room.at("/public/poster");
  const Path diary = room.at("/public/diary");
  const std::string file = room.folder / "private.tar.zst";
  REQUIRE(room.save(room.robin, "/public/diary", "robin's alone"));
  room.done(room.files().set_access(room.robin, diary, "o=rw,c=,e="));
  room.done(room.files().set_access(room.robin, poster, "o=rw,c=r,e="));
  REQUIRE(room.volume->snapshots().take(file));
  room.forget("/public/diary");
  // What it has now may be read by all, what it had not.
  REQUIRE(room.save(room.robin, "/public/poster", "for all", true));
  room.done(room.files().set_access(room.robin, poster, "c=rw,e=rw"));
  room.done(room.volume->people().add_class(room.keeper, "tuesday"));
  room.done(room.files().set_class(room.keeper, poster, "tuesday"));

  std::string seen;
  std::atomic<bool> over = false;
  std::thread looking([&] {
    const Caller guest{no_account, false, "test"};
    while (!over) {
      for (const Path& path : {poster, diary}) {
        auto content = room.files().read(guest, path);
        std::string bytes(20, '\0');
        if (content) bytes.resize(content->read_at(0, bytes).value());
        if (content && bytes != "for all") seen += bytes;
      }
    }
  });
  const auto returned =
      return_from_snapshot(*room.volume, room.keeper, file, {{diary, poster}, ""}, {});
  over = true;
  looking.join();
  REQUIRE(returned);
  CHECK(returned->files == 2);
  CHECK(seen == "");
  CHECK(room.files().look(room.robin, diary)->access.text() == "rw----");
  // Its class is another by now: the bits of the one it had are no others'.
  CHECK(room.files().look(room.robin, poster)->access.text() == "rw----");
  CHECK(room.read(room.robin, "/public/poster").value() == "robin's");
  // One commit each: no entry but that it was brought back.
  JournalQuery query;
  query.most = 2;
  for (const auto& entry : room.desk().journal(query).value()) CHECK(entry.what == "brought back");
}

TEST_CASE("only a manager may say what something was") {
  Kept room;
  SaveOptions options;
  options.former = Former{"wren", "", Access(0x7f), "", "nowhere"};
  const auto code = room.files().save(room.robin, room.at("/public/new"), options).error().code;
  CHECK(code == Code::denied);
  const auto folder = room.files().make_folder(room.robin, room.at("/public/new"), options.former);
  CHECK(folder.wait().error().code == Code::denied);
}

TEST_CASE("what comes back is refused for no limit, and counts as its owner's") {
  Kept room;
  AccountChange change;
  change.quota = Quota{1, 1, 1, 1};
  room.done(room.volume->people().change_account(room.keeper, "robin", change));
  REQUIRE(room.save(room.keeper, "/members/robin/same", "", true));
  room.forget("/public/poster");
  const auto before = room.files().space(room.robin)->usage;
  CHECK(room.bring("/public/poster").files == 1);
  CHECK(room.bring("/members/robin/same").files == 1);
  CHECK(room.files().space(room.robin)->usage.bytes == before.bytes + 7 + 9);
  CHECK(room.findings() == "");
}

TEST_CASE("a folder comes back with all that is in it, its bits and its owner") {
  Kept room;
  room.forget("/members/robin/games/maze");
  room.forget("/members/robin/games");
  room.done(room.files().empty_bin(room.keeper, true));
  // A single file brings its folder with it.
  CHECK(room.bring("/members/robin/games/maze").files == 1);
  const auto folder = room.files().look(room.robin, room.at("/members/robin/games")).value();
  CHECK(folder.access.text() == "rw----");
  CHECK(folder.owner == "robin");
  const auto maze = room.files().look(room.robin, room.at("/members/robin/games/maze")).value();
  CHECK(maze.access.text() == "rw----k");
  CHECK(maze.owner == "robin");
  CHECK_FALSE(room.files().read(room.wren, room.at("/members/robin/games/maze")));
  const Returned all = room.bring("/members");
  CHECK(all.files == 0);
  CHECK(all.same == 3);
}

TEST_CASE("one account's work comes back, and nobody else's") {
  Kept room;
  for (const char* path : {"/public/poster", "/public/verse", "/members/robin/same"}) {
    room.forget(path);
  }
  auto returned = room.give_back({{}, "Robin"});
  REQUIRE(returned);
  CHECK(returned->files == 2);
  CHECK(returned->same == 2);
  CHECK(room.read(room.keeper, "/public/poster").value() == "robin's");
  CHECK_FALSE(room.files().look(room.keeper, room.at("/public/verse")));
}

TEST_CASE("invariant 9: bringing work back is in the journal") {
  Kept room;
  room.forget("/public/poster");
  room.bring("/public/poster");
  JournalQuery query;
  query.most = 1;
  const auto newest = room.desk().journal(query).value().front();
  CHECK(newest.what == "brought back");
  CHECK(newest.who == "the keeper");
  CHECK(newest.where == "the box");
  CHECK(newest.subject == "/public/poster");
  CHECK(newest.detail == "from the snapshot of 2027-01-15");
}

TEST_CASE("what can't come back is refused before anything is changed") {
  Kept room;
  const auto code = [&](const ReturnWish& wish) { return room.give_back(wish).error().code; };
  CHECK(code({}) == Code::bad_input);
  CHECK(code({{room.at("/public/none")}, ""}) == Code::not_found);
  CHECK(code({{}, "nobody"}) == Code::not_found);
  CHECK(return_from_snapshot(*room.volume, room.robin, room.snapshot, {{}, "robin"}, {})
            .error()
            .code == Code::denied);
  CHECK(return_from_snapshot(*room.volume, room.keeper, room.folder / "none", {{}, "robin"}, {})
            .error()
            .code == Code::not_found);
  room.forget("/public/poster");
  std::fstream file(room.snapshot, std::ios::binary | std::ios::in | std::ios::out);
  file.seekp(-60, std::ios::end);
  file << "x";
  file.close();
  CHECK(code({{room.at("/public/poster")}, ""}) == Code::damaged);
  CHECK_FALSE(room.files().look(room.keeper, room.at("/public/poster")));
  CHECK(std::filesystem::is_empty(room.path() + "/incoming"));
}

TEST_CASE("a file that stands in a folder's place is told, and the rest comes back") {
  Kept room;
  room.forget("/members/robin/games/maze");
  room.forget("/members/robin/games");
  room.forget("/public/poster");
  REQUIRE(room.save(room.robin, "/members/robin/games", "a file now"));
  auto returned = room.give_back({{}, "robin"});
  REQUIRE(returned);
  CHECK(returned->files == 1);
  CHECK(returned->failed == 2);  // the folder, and what was in it
  REQUIRE_FALSE(returned->failures.empty());
  CHECK(returned->failures.front().find("is a file now") != std::string::npos);
  CHECK(room.read(room.robin, "/members/robin/games").value() == "a file now");
}
