// The power goes at any call while the index of printouts is written: what is left catches up, and
// finds all that was printed.
#include <atomic>

#include <catch2/catch.hpp>

#include "print/finder.h"
#include "tests/support/open_spool.h"
#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using namespace stationer::print;

namespace {

constexpr std::uint64_t room_enough = 8u << 20;

void put_on_paper(fs::Volume& volume, std::string_view text) {
  const auto spool = test::open_spool(volume);
  auto job = spool->receive("", "a letter", fs::no_account, "", "test");
  REQUIRE(job);
  REQUIRE(job->write(text));
  REQUIRE(job->finish());
  REQUIRE(spool->print_next());
}

std::string found(Finder& finder, std::string_view words) {
  auto found = finder.find(fs::keeper_at_the_box(), {}, words, 100);
  if (!found) return found.error().message;
  std::string out;
  for (const auto& each : found->items) out += std::to_string(each.printout.job) + " ";
  return out;
}

}  // namespace

TEST_CASE("an index cut off by the power at any call catches up") {
  test::MountPoint place;
  const auto disk = test::SimulatedDisk::create();
  {
    auto volume = place.create(disk);
    REQUIRE(volume);
    for (const char* text : {"water one\r\n", "water two\r\n", "water three\r\n"}) {
      put_on_paper(**volume, text);
      Finder finder(**volume, room_enough);
      REQUIRE(finder.catch_up());
    }
    put_on_paper(**volume, "water four\r\n");
    REQUIRE((*volume)->desk().discard_printout(fs::keeper_at_the_box(), 2).wait());
    REQUIRE((*volume)->drain());
  }
  long cuts = 0;
  for (long n = 1;; n += 3) {
    auto at_work = disk->copy();
    auto volume = place.open(at_work);
    REQUIRE(volume);
    const auto calls = std::make_shared<std::atomic<long>>(0);
    const auto cut = std::make_shared<std::shared_ptr<test::SimulatedDisk>>();
    at_work->set_hook([=, disk = at_work.get()](const test::DiskCall&) -> std::optional<fs::Code> {
      const long call = ++*calls;
      if (call == n) *cut = disk->after_power_cut(static_cast<std::uint64_t>(n));
      if (call >= n) return fs::Code::io;
      return std::nullopt;
    });
    {
      Finder finder(**volume, room_enough);
      static_cast<void>(finder.forget());
      static_cast<void>(finder.catch_up());
    }
    at_work->set_hook({});
    volume->reset();
    if (!*cut) break;
    ++cuts;
    INFO("call " << n);
    auto again = place.open(*cut);
    REQUIRE(again);
    Finder finder(**again, room_enough);
    CHECK(found(finder, "water") == "4 3 1 ");
    CHECK(found(finder, "two") == "");
    CHECK(finder.trouble() == "");
  }
  CHECK(cuts > 10);
}

TEST_CASE("every call that fails while the index is written is told, and made good") {
  test::MountPoint place;
  const auto disk = test::SimulatedDisk::create();
  {
    auto volume = place.create(disk);
    REQUIRE(volume);
    put_on_paper(**volume, "water one\r\n");
    Finder finder(**volume, room_enough);
    REQUIRE(finder.catch_up());
    put_on_paper(**volume, "water two\r\n");
  }
  long failures = 0;
  for (long n = 1;; n += 2) {
    auto at_work = disk->copy();
    auto volume = place.open(at_work);
    REQUIRE(volume);
    const auto calls = std::make_shared<std::atomic<long>>(0);
    at_work->set_hook([=](const test::DiskCall&) -> std::optional<fs::Code> {
      if (++*calls != n) return std::nullopt;
      return n % 4 == 1 ? fs::Code::io : fs::Code::no_space;
    });
    INFO("call " << n);
    Finder finder(**volume, room_enough);
    const auto done = finder.catch_up();
    at_work->set_hook({});
    CHECK(done.has_value() == finder.trouble().empty());
    CHECK(found(finder, "water") == "2 1 ");
    CHECK(finder.trouble() == "");
    if (*calls < n) break;
    ++failures;
  }
  CHECK(failures > 10);
}
