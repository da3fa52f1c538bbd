// The ways between the segments of a planned room, over its bridges.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "admin/plan/layout.h"
#include "admin/plan/room_plan.h"

namespace stationer::admin {

struct Ways {
  // From the segment that Stationer's machine is on, or else the first, by segments' places.
  std::size_t from = 0;
  std::vector<std::size_t> bridges_to;  // how many bridges away; `nowhere`: there is no way
  std::vector<std::size_t> rings;       // bridges without which there would still be all ways

  static constexpr std::size_t nowhere = static_cast<std::size_t>(-1);
  std::size_t farthest() const;
};

Ways find_ways(const RoomPlan& plan, const RoomLayout& layout);

}  // namespace stationer::admin
