// The hardware addresses of machines on the same network, as the kernel has them.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <unordered_map>

#include "fs/result.h"
#include "server/protocol/time.h"

namespace stationer::server {

// By the network address: what /proc/net/arp says (proc(5)), of Ethernet machines that answered.
// Lines that are otherwise are left out.
std::unordered_map<std::string, std::string> parse_neighbours(std::string_view table);

// Looks the table up for as little as it costs: when it is seconds old, or does not know an
// address, and then so rarely that it takes a small part of all time, however long the table is.
class Neighbours {
 public:
  using Read = std::function<fs::Result<std::string>()>;
  using Now = std::function<Time()>;

  // By default the kernel's table and the steady clock.
  Neighbours();
  Neighbours(Read read, Now now) : read_(std::move(read)), now_(std::move(now)) {}

  // The hardware address in its stored form (fs/station.h); empty when it is not known.
  std::string at(const std::string& address);

 private:
  Read read_;
  Now now_;
  std::unordered_map<std::string, std::string> table_;
  Time old_{};         // from when on the table is looked up again for all
  Time not_before_{};  // and for addresses that it does not have
};

}  // namespace stationer::server
