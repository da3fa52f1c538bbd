// What has returned as done is there after a power cut at that very moment, in the cases that the
// crash test found wanting.
#include <catch2/catch.hpp>

#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using namespace stationer::fs;

TEST_CASE("invariant 1: the notice of what was handed back is as durable as that") {
  const Path folder = Path::parse("/classes/tuesday/hand-in").value();
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    test::MountPoint place;
    const auto disk = test::SimulatedDisk::create();
    auto made = place.create(disk);
    REQUIRE(made);
    Volume& volume = **made;
    const Caller keeper = keeper_at_the_box();
    REQUIRE(volume.people().add_class(keeper, "tuesday").wait());
    REQUIRE(volume.people().add_account(keeper, {"robin", "", Role::member, "tuesday", ""}).wait());
    const Caller robin{volume.people().account(std::string_view("robin"))->id, false, "test"};
    auto upload = volume.files().save(robin, folder / "work", {});
    REQUIRE(upload);
    REQUIRE(upload->write("a poem"));
    REQUIRE(upload->finish().wait());
    REQUIRE(volume.hand_ins().hand_back(keeper, folder, {}));
    const auto cut = disk->after_power_cut(seed);
    made->reset();
    auto opened = place.open(cut);
    REQUIRE(opened);
    CHECK((*opened)->desk().notices(robin).size() == 1);
  }
}
