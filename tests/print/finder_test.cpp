#include "print/finder.h"

#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>

#include "tests/support/open_spool.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::print;
using test::TestVolume;

namespace {

constexpr std::uint64_t room_enough = 64u << 20;

// Robin and wren of the class of tuesday, sorrel its leader, teasel of no class; their printouts.
struct Library {
  TestVolume room;
  std::unique_ptr<Spool> spool;
  std::unique_ptr<Finder> finder;
  fs::Caller robin, wren, sorrel, teasel;

  Library() {
    TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
    robin = room.add("robin", fs::Role::member, "tuesday");
    wren = room.add("wren", fs::Role::member, "tuesday");
    sorrel = room.add("sorrel", fs::Role::leader, "tuesday");
    teasel = room.add("teasel");
    open();
  }

  void open() {
    spool = test::open_spool(*room.volume);
    finder = std::make_unique<Finder>(*room.volume, room_enough);
  }
  void close() {
    finder.reset();
    spool.reset();
  }
  void reopen() {
    close();
    room.reopen();
    open();
  }

  std::uint32_t print(const fs::Caller& owner, std::string_view text,
                      const std::string& title = "a letter") {
    auto job = spool->receive("", title, owner.account, "", "test");
    REQUIRE(job);
    REQUIRE(job->write(text));
    const auto number = job->finish();
    REQUIRE(number);
    REQUIRE(spool->print_next());
    return *number;
  }

  // The numbers of what is found, "3 1".
  std::string find(const fs::Caller& caller, std::string_view words,
                   const fs::PrintoutFilter& filter = {}) {
    auto found = finder->find(caller, filter, words, 100);
    if (!found) return found.error().message;
    CHECK_FALSE(found->more);
    std::string out;
    for (const auto& each : found->items) {
      out += (out.empty() ? "" : " ") + std::to_string(each.printout.job);
    }
    return out + (found->unread == 0 ? "" : " and " + std::to_string(found->unread) + " unread");
  }

  std::string index_path() const { return room.path() + "/printouts.index"; }
  bool index_holds(const std::string& bytes) const {
    for (const auto& each : std::filesystem::directory_iterator(room.path())) {
      if (!each.path().filename().string().starts_with("printouts.index")) continue;
      std::ifstream file(each.path(), std::ios::binary);
      const std::string all{std::istreambuf_iterator<char>(file), {}};
      if (all.find(bytes) != std::string::npos) return true;
    }
    return false;
  }
};

}  // namespace

TEST_CASE("printouts are found by their words, each caller's own and those they look after") {
  Library library;
  library.print(library.robin, "High water at the weir\r\n", "tides");
  library.print(library.wren, "The water wheel\r\n\fmore water\r\n");
  library.print(library.teasel, "No water at all\r\n");
  library.print({}, "Unclaimed water\r\n");
  CHECK(library.find(library.room.keeper, "water") == "4 3 2 1");
  CHECK(library.find(library.robin, "water") == "1");
  CHECK(library.find(library.wren, "water") == "2");
  CHECK(library.find(library.sorrel, "water") == "2 1");
  CHECK(library.find(library.teasel, "water") == "3");
  CHECK(library.find({}, "water") == "");
  CHECK(library.find(library.robin, "wheel") == "");
  CHECK(library.find(library.robin, "tides") == "1");

  const auto found = library.finder->find(library.room.keeper, {}, "more water", 100);
  REQUIRE(found);
  REQUIRE(found->items.size() == 1);
  CHECK(found->items[0].page == 2);
  CHECK(found->items[0].line == "more water");
  CHECK(found->items[0].printout.owner == "wren");
}

TEST_CASE("printouts are found by whose they are, class, queue and time") {
  Library library;
  library.print(library.robin, "water\r\n");
  *library.room.now += std::chrono::hours(24);
  const fs::Time next_day = *library.room.now;
  library.print(library.wren, "water\r\n");
  library.print(library.teasel, "water\r\n");
  const fs::Caller& keeper = library.room.keeper;
  CHECK(library.find(keeper, "water", {.owner = "ROBIN"}) == "1");
  CHECK(library.find(keeper, "water", {.klass = "Tuesday"}) == "2 1");
  CHECK(library.find(keeper, "water", {.queue = "paper"}) == "3 2 1");
  CHECK(library.find(keeper, "water", {.queue = "wide"}) == "");
  CHECK(library.find(keeper, "water", {.from = next_day}) == "3 2");
  CHECK(library.find(keeper, "water", {.to = next_day}) == "1");
  CHECK(library.find(keeper, "water", {.klass = "tuesday", .from = next_day}) == "2");
  // Without words, all that are meant.
  CHECK(library.find(keeper, "  ", {.klass = "tuesday"}) == "2 1");
  CHECK(library.find(library.sorrel, "", {.owner = "teasel"}) == "");
  CHECK(library.find(keeper, "water", {.owner = "bram"}) == "There is no account bram.");
  CHECK(library.find(keeper, "water", {.klass = "friday"}) == "There is no class friday.");
}

TEST_CASE("a search tells that there is more, and never of what others have") {
  Library library;
  for (int i = 0; i < 5; ++i) library.print(library.robin, "water\r\n");
  for (int i = 0; i < 5; ++i) library.print(library.wren, "water\r\n");
  const auto some = library.finder->find(library.robin, {}, "water", 3);
  REQUIRE(some);
  CHECK(some->items.size() == 3);
  CHECK(some->more);
  const auto all = library.finder->find(library.robin, {}, "water", 5);
  REQUIRE(all);
  CHECK(all->items.size() == 5);
  CHECK_FALSE(all->more);
  const auto listed = library.finder->find(library.robin, {}, "", 3);
  REQUIRE(listed);
  CHECK(listed->items.size() == 3);
  CHECK(listed->more);
}

TEST_CASE("what is given away or discarded follows at once") {
  Library library;
  const auto letter = library.print(library.robin, "water\r\n");
  const auto other = library.print(library.robin, "water\r\n");
  CHECK(library.find(library.robin, "water") == "2 1");
  TestVolume::done(library.room.desk().give_printout(library.room.keeper, letter, "teasel"));
  CHECK(library.find(library.robin, "water") == "2");
  CHECK(library.find(library.teasel, "water") == "1");
  CHECK(library.find(library.sorrel, "water") == "2");
  TestVolume::done(library.room.desk().discard_printout(library.robin, other));
  CHECK(library.find(library.robin, "water") == "");
}

TEST_CASE("an erased person's words are in the index no more") {
  Library library;
  library.print(library.robin, "vqkjxword\r\n", "zwqtitle");
  library.print(library.wren, "other words\r\n");
  REQUIRE(library.finder->catch_up());
  CHECK(library.index_holds("vqkjxword"));
  fs::AccountChange closed;
  closed.closed = true;
  TestVolume::done(library.room.people().change_account(library.room.keeper, "robin", closed));
  REQUIRE(library.room.volume->leavers().erase(library.room.keeper, "robin"));
  REQUIRE(library.finder->forget());
  CHECK_FALSE(library.index_holds("qkjxword"));
  CHECK_FALSE(library.index_holds("wqtitle"));
  CHECK(library.find(library.room.keeper, "vqkjxword") == "");
  CHECK(library.find(library.room.keeper, "words") == "2");
}

TEST_CASE("the index is made anew when it is missing, damaged or behind") {
  Library library;
  library.print(library.robin, "water one\r\n");
  library.print(library.robin, "water two\r\n");
  REQUIRE(library.finder->catch_up());
  library.finder.reset();
  SECTION("missing") {
    std::filesystem::remove(library.index_path());
  }
  SECTION("no database") {
    std::ofstream(library.index_path(), std::ios::trunc) << "gone";
  }
  SECTION("damaged within") {
    std::fstream file(library.index_path(), std::ios::in | std::ios::out | std::ios::binary);
    const auto size = std::filesystem::file_size(library.index_path());
    for (std::uint64_t at = 4096; at + 4096 <= size; at += 4096) {
      file.seekp(static_cast<std::streamoff>(at));
      file << std::string(100, '\x55');
    }
  }
  SECTION("behind, and ahead of what was put back") {
    library.print(library.robin, "water three\r\n");
    TestVolume::done(library.room.desk().discard_printout(library.robin, 1));
  }
  const bool changed = library.spool->jobs().empty() && library.room.desk().last_job() == 3;
  library.reopen();
  CHECK(library.find(library.robin, "water") == (changed ? "3 2" : "2 1"));
  CHECK(library.finder->trouble() == "");
}

TEST_CASE("a number that means another printout is read anew") {
  Library library;
  library.print(library.robin, "water one\r\n");
  REQUIRE(library.finder->catch_up());
  // As when an older copy of the volume was put back, and the numbers were given again.
  TestVolume::done(library.room.desk().discard_printout(library.robin, 1));
  fs::Printout other;
  other.job = 1;
  other.owner = library.robin.account;
  other.queue = "paper";
  other.title = "put back";
  other.printed = *library.room.now + std::chrono::hours(1);
  other.path = "printouts/back.pdf";
  TestVolume::done(library.room.desk().add_printouts({other}));
  CHECK(library.find(library.robin, "one") == " and 1 unread");
  std::ofstream(library.room.path() + "/printouts/back.pdf") << "no PDF";
  CHECK(library.find(library.robin, "back") == "1");
}

TEST_CASE("a PDF that is gone or damaged keeps no other from being found") {
  Library library;
  library.print(library.robin, "water one\r\n", "first");
  library.print(library.robin, "water two\r\n", "second");
  library.print(library.robin, "water three\r\n", "third");
  const auto path = [&](std::uint32_t job) {
    return library.room.path() + "/" + library.room.desk().printout(library.room.keeper, job)->path;
  };
  std::filesystem::remove(path(1));
  std::ofstream(path(2), std::ios::trunc) << "%PDF-1.7 nothing";
  CHECK(library.find(library.robin, "water") == "3 and 1 unread");
  CHECK(library.find(library.robin, "second") == "2 and 1 unread");
  CHECK(library.finder->trouble() == "");
}

TEST_CASE("each call of the host's that fails leaves an index that catches up") {
  Library library;
  library.print(library.robin, "water one\r\n");
  library.print(library.robin, "water two\r\n");
  for (long n = 1;; ++n) {
    INFO("call " << n);
    library.finder = std::make_unique<Finder>(*library.room.volume, room_enough);
    library.room.failure->calls = 0;
    library.room.failure->failed = false;
    library.room.failure->fail_at = n;
    const auto done = library.finder->catch_up();
    library.room.failure->fail_at = 0;
    const bool failed = library.room.failure->failed;
    if (failed && !done) CHECK_FALSE(library.finder->trouble().empty());
    CHECK(library.find(library.robin, "water") == "2 1");
    CHECK(library.finder->trouble() == "");
    library.finder.reset();
    std::filesystem::remove(library.index_path());
    if (!failed) break;
  }
}

TEST_CASE("an index without room is told, and printing goes on") {
  Library library;
  library.finder = std::make_unique<Finder>(*library.room.volume, 64u << 10);
  std::string text;
  for (int i = 0; i < 3000; ++i) text += "number" + std::to_string(i * 7919) + "\r\n";
  library.print(library.robin, text);
  CHECK_FALSE(library.finder->catch_up());
  CHECK(library.finder->trouble().find("index_mib") != std::string::npos);
  const auto next = library.print(library.robin, "water\r\n");
  CHECK(library.room.desk().printout(library.robin, next));
  CHECK(library.room.desk().printouts(library.robin, false).size() == 2);
}

TEST_CASE("a thread of its own reads what comes while others search") {
  Library library;
  library.finder->start();
  library.spool->on_done([&](const JobView&, bool) { library.finder->nudge(); });
  for (int i = 0; i < 10; ++i) library.print(library.robin, "water\r\n");
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  std::size_t count = 0;
  while (count < 10 && std::chrono::steady_clock::now() < until) {
    const auto found = library.finder->find(library.robin, {}, "water", 100);
    REQUIRE(found);
    CHECK(found->items.size() + found->unread == 10);
    count = found->items.size();
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  CHECK(count == 10);
  library.close();
}

TEST_CASE("how large the index may become is a setting") {
  CHECK(*read_index_size("") == std::uint64_t{1024} << 20);
  CHECK(*read_index_size("[print]\nindex_mib = 5\n") == std::uint64_t{5} << 20);
  CHECK_FALSE(read_index_size("[print]\nindex_mib = 0\n"));
  CHECK_FALSE(read_index_size("[print]\nindex_mib = \"much\"\n"));
}
