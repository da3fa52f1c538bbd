#include "server/saving_behind.h"

#include <random>
#include <string>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "tests/support/test_room.h"

using namespace stationer;
using namespace stationer::server;
using test::TestRoom;

namespace {

constexpr std::size_t piece_size = std::size_t{256} * 1024;

// Robin, who saves a file; what other threads would do is done when the test says so.
struct Saving : TestRoom {
  std::optional<Session> session;
  Session::UploadPtr upload;
  std::optional<SavingBehind> behind;

  Saving() {
    store.add("robin");
    session.emplace(*room, "ftp", "10.0.0.7");
    REQUIRE(result(session->sign_in("robin", "mill-race-robin")));
    auto begun = session->save(*session->path("game"), {});
    REQUIRE(begun);
    upload = std::move(*begun);
    behind.emplace(*session, upload);
    // From here on it is streamed.
    REQUIRE(result(behind->add(std::string(piece_size, 'x'))));
    REQUIRE(upload->is_streamed());
    loop.holds_work = true;
  }
  ~Saving() { let_go(); }

  // As when the station hangs up. What other threads have begun they end.
  void let_go() {
    behind.reset();
    upload.reset();
    while (loop.do_work()) loop.turn_all();
    session.reset();
  }

  fs::Status finish() {
    loop.holds_work = false;
    return result(session->finish(upload));
  }

  std::string saved() {
    auto bytes = store.read(store.caller("robin"), "/members/robin/game");
    if (!bytes) FAIL(bytes.error().message);
    return *bytes;
  }
};

}  // namespace

TEST_CASE("saving behind: whichever side is ahead, the file is what came, and its hash too") {
  const unsigned seed = GENERATE(range(0u, 12u));
  CAPTURE(seed);
  std::mt19937 random(seed);
  Saving at;
  std::string sent(piece_size, 'x');
  for (int i = 0; i < 40; ++i) {
    std::string piece(1 + random() % piece_size, static_cast<char>('a' + i % 26));
    sent += piece;
    auto adding = at.behind->add(std::move(piece));
    adding.start();
    while (!adding.done() || random() % 3 == 0) {
      if (random() % 2 == 0) at.loop.do_work();
      if (random() % 2 == 0) at.loop.turn();
    }
    REQUIRE(adding.take());
  }
  auto ending = at.behind->done();
  ending.start();
  while (!ending.done()) {
    at.loop.do_work();
    at.loop.turn_all();
  }
  REQUIRE(ending.take());
  REQUIRE(at.finish());
  CHECK(at.saved() == sent);
  CHECK(at.store.findings() == "");
}

TEST_CASE("saving behind: no more waits in memory than is said") {
  Saving at;
  std::uint64_t added = 0;
  std::optional<Task<fs::Status>> adding;
  for (;;) {
    adding = at.behind->add(std::string(piece_size, 'y'));
    adding->start();
    if (!adding->done()) break;
    added += piece_size;
    REQUIRE(added <= SavingBehind::most_behind);
  }
  CHECK(added == SavingBehind::most_behind);
  CHECK(at.loop.works() == 2);  // one for each side
  // Neither side alone makes room.
  CHECK(at.loop.do_work());
  at.loop.turn_all();
  CHECK_FALSE(adding->done());
  CHECK(at.loop.do_work());
  at.loop.turn_all();
  CHECK(adding->done());
  at.let_go();
}

TEST_CASE("saving behind: what the disk refuses ends it, and is told at once and at the end") {
  Saving at;
  CHECK(at.store.findings() == "");  // which waits until all before is in its place
  at.loop.holds_work = false;
  fs::Status added;
  for (int i = 0; i < 50 && added; ++i) {
    // Again and again: what the store still had to do for the sign-in may have had the last one.
    at.store.failure->fail_at = at.store.failure->calls + 1;
    added = at.result(at.behind->add(std::string(piece_size, 'z')));
    at.loop.turn_all();
  }
  REQUIRE_FALSE(added);
  CHECK(added.error().code == fs::Code::io);
  const auto again = at.result(at.behind->add("more"));
  REQUIRE_FALSE(again);
  CHECK(again.error().code == fs::Code::io);
  const auto ended = at.result(at.behind->done());
  REQUIRE_FALSE(ended);
  CHECK(ended.error().code == fs::Code::io);
  at.let_go();
  at.store.failure->fail_at = 0;
  CHECK_FALSE(at.store.read(at.store.caller("robin"), "/members/robin/game"));
  CHECK(at.store.findings() == "");
}

TEST_CASE("saving behind: who hangs up at any moment leaves nothing") {
  for (int moment = 0; moment < 30; ++moment) {
    CAPTURE(moment);
    Saving at;
    int steps = 0;
    for (int i = 0; i < 12 && steps < moment; ++i) {
      auto adding = at.behind->add(std::string(piece_size, 'y'));
      adding.start();
      while (steps++ < moment && (!adding.done() || steps % 3 != 0)) {
        if (steps % 2 == 0) at.loop.do_work();
        if (steps % 2 == 1) at.loop.turn();
      }
    }
    at.let_go();
    CHECK(at.store.findings() == "");
    CHECK_FALSE(at.store.read(at.store.caller("robin"), "/members/robin/game"));
  }
}
