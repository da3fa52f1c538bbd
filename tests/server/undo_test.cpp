// What was done last, taken back.
#include <catch2/catch.hpp>

#include "tests/support/mill.h"

using namespace stationer;
using test::Mill;

namespace {

const char* const nothing =
    "There is nothing to take back: only what you did last in this visit can be.\n";

}  // namespace

TEST_CASE("undo: what was removed is back, once") {
  Mill mill;
  CHECK(mill.answer("undo") == nothing);
  mill.save("/members/robin/letter.txt", "Dear Wren");
  mill.answer("remove letter.txt");
  CHECK(mill.answer("undo") == "letter.txt is back.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "Dear Wren");
  CHECK(mill.answer("undo") == nothing);
}

TEST_CASE("undo: a folder comes back with all that was in it, but not over what took its place") {
  Mill mill;
  mill.answer("folder essays");
  mill.save("/members/robin/essays/one.txt", "1");
  mill.answer("remove essays");
  mill.save("/members/robin/essays", "a file now");
  CHECK(mill.answer("undo") == "There is already something called /members/robin/essays.\n");
  mill.answer("rename essays other");
  CHECK(mill.answer("undo") == "other is essays again.\n");
  CHECK(mill.answer("restore essays").find("already") != std::string::npos);
}

TEST_CASE("undo: also what was somebody else's in one's own folder") {
  Mill mill;
  auto saved = mill.store.save(mill.store.keeper, "/members/robin/letter.txt", "Dear Robin", true);
  REQUIRE(saved);
  CHECK(mill.answer("remove letter.txt").find("is in") != std::string::npos);
  CHECK(mill.answer("undo") == "letter.txt is back.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "Dear Robin");
}

TEST_CASE("undo: what was moved goes back") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren");
  mill.answer("folder post");
  mill.answer("rename letter.txt post");
  CHECK(mill.answer("undo") == "post/letter.txt is letter.txt again.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "Dear Wren");
}

TEST_CASE("undo: what failed since does not count") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren");
  mill.answer("folder post");
  mill.answer("rename letter.txt post");
  mill.answer("rename nothing.txt post");
  mill.answer("remove nothing.txt");
  mill.answer("folder post");
  CHECK(mill.answer("undo") == "post/letter.txt is letter.txt again.\n");
}

TEST_CASE("undo: a file that was replaced is what it was") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "the first");
  mill.types("write letter.txt\r");
  mill.types("y\r");
  mill.types("the second\r.\r");
  CHECK(mill.read("/members/robin/letter.txt") == "the second\n");
  CHECK(mill.answer("undo") ==
        "letter.txt is what it was before. What you saved is under versions letter.txt.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "the first");
}

TEST_CASE("undo: what was made goes to the bin") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren");
  mill.answer("copy letter.txt again.txt");
  CHECK(mill.answer("undo") == "again.txt is in the bin.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "Dear Wren");
  mill.answer("folder essays");
  CHECK(mill.answer("undo") == "essays is in the bin.\n");
}

TEST_CASE("undo: what was changed since stays") {
  Mill mill;
  mill.answer("folder /members/robin/notes");
  mill.types("write notes/a.txt\r");
  mill.types("mine\r.\r");
  *mill.store.now += std::chrono::seconds(5);
  mill.save("/members/robin/notes/a.txt", "the leader's");
  CHECK(mill.answer("undo") ==
        "/members/robin/notes/a.txt is not as you left it any more, so it stays.\n");
  CHECK(mill.read("/members/robin/notes/a.txt") == "the leader's");
}

TEST_CASE("undo: the next person at the machine has nothing of it") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren");
  mill.answer("remove letter.txt");
  mill.sit("wren");
  CHECK(mill.answer("undo") == nothing);
}

TEST_CASE("recall: the last line can be had again, and changed") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren\n");
  CHECK(mill.answer("show letter.txt") == "Dear Wren\n");
  CHECK(mill.answer("\x10") == "Dear Wren\n");
  CHECK(mill.answer("typed instead\x1B[A") == "Dear Wren\n");
  CHECK(mill.answer("\x1BOA\b\b\bold") == "There is no /members/robin/letter.old.\n");
}
