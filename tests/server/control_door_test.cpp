// Doors and lines as they are set up, by control methods.
#include <algorithm>

#include <catch2/catch.hpp>

#include "server/net/addresses.h"
#include "server/net/own_addresses.h"
#include "tests/support/test_control.h"

using namespace stationer;
using test::TestControl;
namespace json = boost::json;

TEST_CASE("doors are told with where machines find them, open or not") {
  TestControl control(
      "[door.terminal]\naddress = \"loopback\"\nport = 0\nguests = false\n"
      "[door.lpd]\nopen = false\n"
      "[door.tftp]\naddress = \"192.168.7.1\"\nfolder = \"/public\"\n"
      "[door.ftp]\naddress = \"loopback\"\n"
      "[print]\nqueue = \"wide\"\n[queue.wide]\n[queue.raw]\n[door.raw]\nqueue = \"raw\"\n");
  CHECK(control.listed("door.list", "name") == "terminal lpd raw tftp ftp time daytime http");
  CHECK(control.listed("door.list", "open") == "true false true true true true true true");
  const auto items = control.done("door.list").at("items").as_array();
  const auto door = [&](std::size_t i) { return items.at(i).as_object(); };
  // The settings leave the port to the service, which has chosen this one.
  CHECK(json::serialize(door(0)) ==
        "{\"name\":\"terminal\",\"open\":true,\"reach\":\"loopback\",\"addresses\":[\"127.0.0.1\"],"
        "\"port\":8023,\"guests\":false,\"sign_on\":\"\",\"columns\":80}");
  CHECK(door(1).at("queue") == "wide");
  CHECK(door(2).at("queue") == "raw");
  CHECK(door(3).at("addresses") == json::array{"192.168.7.1"});
  CHECK(door(3).at("folder") == "/public");
  CHECK(door(4).at("needs_tls") == false);
  // A door to the room is found at each of this machine's addresses there.
  json::array own;
  for (const auto& each : server::own_addresses()) own.push_back(json::string(each));
  if (own.empty()) own.push_back("127.0.0.1");
  CHECK(door(7).at("addresses") == own);
}

TEST_CASE("serial lines are told with how their ports are set") {
  TestControl control(
      "[serial.bench]\ndevice = \"/dev/ttyS9\"\nspeed = 300\nbits = 7\nparity = \"even\"\n"
      "flow = \"xon-xoff\"\ncolumns = 40\n[serial.table]\ndevice = \"/dev/ttyS8\"\n");
  const auto items = control.done("line.list").at("items").as_array();
  REQUIRE(items.size() == 2);
  CHECK(json::serialize(items[0]) ==
        "{\"name\":\"bench\",\"device\":\"/dev/ttyS9\",\"speed\":300,\"bits\":7,\"parity\":\"even\","
        "\"stop_bits\":1,\"flow\":\"xon-xoff\",\"guests\":true,\"sign_on\":\"\",\"columns\":40}");
  CHECK(items[1].as_object().at("flow") == "none");
}

TEST_CASE("this machine's addresses are those that its networks can reach") {
  for (const auto& each : server::own_addresses()) {
    INFO(each);
    const auto address = boost::asio::ip::make_address(each);
    CHECK(address.is_v4());
    CHECK_FALSE(address.is_loopback());
    CHECK(server::is_private(address));
  }
}
