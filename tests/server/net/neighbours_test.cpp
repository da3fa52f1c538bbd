#include "server/net/neighbours.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::server;
using namespace std::chrono_literals;

namespace {

// The form is that of proc(5), /proc/net/arp.
constexpr std::string_view heading =
    "IP address       HW type     Flags       HW address            Mask     Device\n";
constexpr std::string_view owl =
    "10.0.0.7         0x1         0x2         02:00:5e:00:00:01     *        eth0\n";
constexpr std::string_view wren =
    "10.0.0.8         0x1         0x6         02:00:5E:00:00:02     *        eth0\n";

struct Kernel {
  std::string table;
  Time now{};
  int reads = 0;
  std::chrono::milliseconds takes{0};
  Neighbours neighbours{[this]() -> fs::Result<std::string> {
                          ++reads;
                          now += takes;
                          if (table.empty()) return fs::Error{fs::Code::not_found, "None."};
                          return table;
                        },
                        [this] { return now; }};
};

}  // namespace

TEST_CASE("the kernel's table of neighbours is read, without what is of no use") {
  const std::string table =
      std::string(heading) + std::string(owl) + std::string(wren) +
      "10.0.0.9         0x1         0x0         00:00:00:00:00:00     *        eth0\n"
      "10.0.0.10        0x18        0x2         02:00:5e:00:00:03     *        fw0\n"
      "10.0.0.11        0x1         0x0         02:00:5e:00:00:04     *        eth0\n"
      "rubbish\n\n10.0.0.12 0x1 0x2\n"
      "10.0.0.7         0x1         0x2         02:00:5e:00:00:05     *        eth1";
  const auto found = parse_neighbours(table);
  CHECK(found.size() == 2);
  CHECK(found.at("10.0.0.7") == "02:00:5e:00:00:01");
  CHECK(found.at("10.0.0.8") == "02:00:5e:00:00:02");
  CHECK(parse_neighbours("").empty());
}

TEST_CASE("any beginning of the table can be read") {
  const std::string table = std::string(heading) + std::string(owl) + std::string(wren);
  for (std::size_t length = 0; length <= table.size(); ++length) {
    CHECK(parse_neighbours(table.substr(0, length)).size() <= 2);
  }
}

TEST_CASE("the table is looked up again when it is old, and for whom it does not have") {
  Kernel kernel;
  kernel.table = std::string(heading) + std::string(owl);
  CHECK(kernel.neighbours.at("10.0.0.7") == "02:00:5e:00:00:01");
  CHECK(kernel.reads == 1);
  CHECK(kernel.neighbours.at("10.0.0.7") == "02:00:5e:00:00:01");
  CHECK(kernel.neighbours.at("10.0.0.8") == "");
  CHECK(kernel.reads == 1);
  kernel.table += wren;
  kernel.now += 20ms;
  CHECK(kernel.neighbours.at("10.0.0.8") == "02:00:5e:00:00:02");
  CHECK(kernel.reads == 2);
  // The machine at an address may be another one by now.
  kernel.table = std::string(heading) +
                 "10.0.0.7         0x1         0x2         02:00:5e:00:00:09     *        eth0\n";
  kernel.now += 5s;
  CHECK(kernel.neighbours.at("10.0.0.7") == "02:00:5e:00:00:09");
  CHECK(kernel.reads == 3);
}

TEST_CASE(
    "invariant 6: whoever asks for strangers does not make us read a long table all the time") {
  Kernel kernel;
  kernel.table = heading;
  kernel.takes = 20ms;
  for (int i = 0; i < 10'000; ++i) {
    CHECK(kernel.neighbours.at("10.0.0." + std::to_string(i)) == "");
    kernel.now += 1ms;
  }
  CHECK(kernel.reads <= 11);  // a second between two of them
}

TEST_CASE("without a table nobody's hardware address is known") {
  Kernel kernel;
  CHECK(kernel.neighbours.at("10.0.0.7") == "");
  CHECK(Neighbours().at("not an address") == "");
}
