// Finding the way to a volume.
#include "admin/channel.h"

#include <filesystem>

#include <catch2/catch.hpp>

#include "fs/volume.h"
#include "tests/admin/process.h"

using namespace stationer;
using namespace stationer::admin;
using fs::Code;
using test::Keeper;

TEST_CASE("a name that is no volume says what to do") {
  const Keeper keeper;
  auto missing = Channel::open(keeper / "not there");
  REQUIRE_FALSE(missing);
  CHECK(missing.error().code == Code::not_found);
  CHECK(missing.error().message.find("stationer init '") != std::string::npos);
  auto other = Channel::open(keeper / ".");
  REQUIRE_FALSE(other);
  CHECK(other.error().message.find("is not a volume") != std::string::npos);
  keeper.write("a file", "");
  CHECK_FALSE(Channel::open(keeper / "a file"));
}

TEST_CASE("without a service the volume is opened straight, and by one at a time") {
  Keeper keeper;
  keeper.make_volume();
  auto channel = Channel::open(keeper.volume());
  REQUIRE(channel);
  auto status = (*channel)->call("status");
  REQUIRE(status);
  CHECK_FALSE(status->at("serving").as_bool());
  CHECK(open_socket_channel(keeper.volume()).error().code == Code::not_found);
  CHECK(open_volume_channel(keeper.volume()).error().code == Code::busy);
  auto wrong = (*channel)->call("account.show", {{"name", "nobody"}});
  REQUIRE_FALSE(wrong);
  CHECK(wrong.error().code == Code::not_found);
  CHECK((*channel)->call("no.such").error().message.ends_with('.'));
  channel->reset();
  CHECK(open_volume_channel(keeper.volume()));
}

TEST_CASE("a volume that stays in use is waited for, and then said to be in use") {
  Keeper keeper;
  keeper.make_volume();
  const auto held = fs::Volume::open(keeper.volume());
  REQUIRE(held);
  CHECK(keeper.failed("account list").find("is in use") != std::string::npos);
}

TEST_CASE("a socket that a killed service left behind is in nobody's way") {
  Keeper keeper;
  keeper.make_volume();
  // A name to which nothing listens, as a plain file answers too.
  keeper.write("volume/control", "");
  CHECK(keeper.done("account list").find("wren") != std::string::npos);
}
