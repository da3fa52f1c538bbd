#include "fs/snapshot_return.h"

#include <fstream>

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

TEST_CASE("nothing that is there is overwritten: what differs goes beside it") {
  Kept room;
  REQUIRE(room.save(room.robin, "/members/robin/letter.txt", "as it is now", true));
  const Returned first = room.bring("/members/robin/letter.txt");
  CHECK(first.beside == std::vector<std::string>{"/members/robin/letter from 2027-01-15.txt"});
  const Returned second = room.bring("/members/robin/letter.txt");
  CHECK(second.beside == std::vector<std::string>{"/members/robin/letter from 2027-01-15 2.txt"});
  CHECK(room.read(room.robin, "/members/robin/letter.txt").value() == "as it is now");
  CHECK(room.read(room.robin, first.beside.front()).value() == "as it was");
  CHECK(room.bring("/members/robin/same").same == 1);
  CHECK(room.bring("/members/robin/same").files == 0);
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
  CHECK(newest.detail.find("1 files, from the snapshot of 2027-01-15") != std::string::npos);
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
