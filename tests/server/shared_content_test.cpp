#include "server/shared_content.h"

#include <catch2/catch.hpp>

#include "tests/support/hand_loop.h"

using namespace stationer;
using server::SharedContents;

namespace {

std::string bytes_of(std::size_t size, char first) {
  std::string out(size, '\0');
  for (std::size_t i = 0; i < size; ++i) out[i] = static_cast<char>(first + i * 7 + i / 251);
  return out;
}

fs::Content content(const std::string& bytes, std::uint64_t id) {
  return fs::Content(std::make_shared<const std::string>(bytes), fs::ContentId{id});
}

// Copies, waiting as often as it takes; counts the waits.
std::string copied(test::HandLoop& loop, SharedContents& contents,
                   const SharedContents::OpenPtr& open, std::uint64_t offset, std::size_t size,
                   int* waits = nullptr) {
  std::string out(size, '\0');
  for (;;) {
    bool ready = false;
    const auto outcome = contents.copy(open, offset, out, [&] { ready = true; });
    if (outcome == SharedContents::Copied::all) return out;
    REQUIRE(outcome == SharedContents::Copied::later);
    if (waits != nullptr) ++*waits;
    REQUIRE(loop.turn_until([&] { return ready; }));
  }
}

}  // namespace

TEST_CASE("a content that many read is read from the disk once") {
  test::HandLoop loop;
  SharedContents contents(loop);
  const std::string bytes = bytes_of(100'000, 1);
  const auto open = contents.add(content(bytes, 7), bytes.size());
  for (int reader = 0; reader < 1000; ++reader) {
    CHECK(contents.find(fs::ContentId{7}) == open);
    for (std::size_t offset = 0; offset < bytes.size(); offset += 20'000) {
      REQUIRE(copied(loop, contents, open, offset, 20'000) == bytes.substr(offset, 20'000));
    }
  }
  CHECK(contents.reads() == 4);  // pieces of 32 KiB
}

TEST_CASE("those who wait for the same piece wait for one reading, and are all told") {
  test::HandLoop loop;
  loop.holds_work = true;
  SharedContents contents(loop);
  const std::string bytes = bytes_of(1000, 3);
  const auto open = contents.add(content(bytes, 7), bytes.size());
  int told = 0;
  std::string into(1000, '\0');
  for (int i = 0; i < 50; ++i) {
    CHECK(contents.copy(open, 0, into, [&] { ++told; }) == SharedContents::Copied::later);
  }
  CHECK(loop.works() == 1);
  loop.do_work();
  loop.turn_all();
  CHECK(told == 50);
  CHECK(contents.copy(open, 0, into, {}) == SharedContents::Copied::all);
  CHECK(into == bytes);
}

TEST_CASE("every cut of a content is the same bytes, across pieces and at its end") {
  test::HandLoop loop;
  SharedContents contents(loop);
  const std::string bytes = bytes_of(2 * SharedContents::piece + 100, 5);
  const auto open = contents.add(content(bytes, 7), bytes.size());
  for (const std::size_t size : {0U, 1U, 511U, 40'000U}) {
    for (std::size_t offset = SharedContents::piece - 600; offset + size <= bytes.size();
         offset += 97) {
      REQUIRE(copied(loop, contents, open, offset, size) == bytes.substr(offset, size));
    }
  }
}

TEST_CASE("what was not asked for longest goes when there is too much, and comes again") {
  test::HandLoop loop;
  constexpr std::size_t bound = 4 * SharedContents::piece;
  SharedContents contents(loop, bound);
  const std::string bytes = bytes_of(10 * SharedContents::piece, 9);
  const auto open = contents.add(content(bytes, 7), bytes.size());
  for (int round = 0; round < 3; ++round) {
    for (std::size_t offset = 0; offset < bytes.size(); offset += SharedContents::piece) {
      REQUIRE(copied(loop, contents, open, offset, 100) == bytes.substr(offset, 100));
      // The first piece is always wanted, so it stays.
      REQUIRE(copied(loop, contents, open, 0, 100) == bytes.substr(0, 100));
      CHECK(contents.bytes() <= bound);
    }
  }
  CHECK(contents.reads() == 1 + 3 * 9);
}

TEST_CASE("a content that is cut short on the disk is a failure, and is tried again") {
  test::HandLoop loop;
  SharedContents contents(loop);
  const auto open = contents.add(content(bytes_of(100, 1), 7), 5000);
  std::string into(5000, '\0');
  for (std::uint64_t reads = 1; reads <= 2; ++reads) {
    SharedContents::Copied then = SharedContents::Copied::all;
    CHECK(contents.copy(open, 0, into, [&] { then = contents.copy(open, 0, into, {}); }) ==
          SharedContents::Copied::later);
    loop.turn_all();
    CHECK(then == SharedContents::Copied::failed);
    CHECK(contents.reads() == reads);
    CHECK(contents.bytes() == 0);
  }
}

TEST_CASE("what is read when everything goes is dropped") {
  test::HandLoop loop;
  loop.holds_work = true;
  int told = 0;
  {
    SharedContents contents(loop);
    const auto open = contents.add(content("bytes", 7), 5);
    std::string into(5, '\0');
    CHECK(contents.copy(open, 0, into, [&] { ++told; }) == SharedContents::Copied::later);
  }
  loop.do_work();
  loop.turn_all();
  CHECK(told == 0);
}

TEST_CASE("a content that nobody reads any more is let go") {
  test::HandLoop loop;
  SharedContents contents(loop);
  for (std::uint64_t id = 1; id < 1000; ++id) {
    const auto open = contents.add(content("x", id), 1);
    CHECK(contents.find(fs::ContentId{id}) == open);
  }
  CHECK(contents.find(fs::ContentId{5}) == nullptr);
}
