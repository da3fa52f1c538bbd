// What a planned room may not go beyond, and what of it does. Common practice, no source.
#pragma once

#include <string>
#include <vector>

#include "admin/plan/layout.h"
#include "admin/plan/parts.h"
#include "admin/plan/room_plan.h"
#include "admin/plan/ways.h"

namespace stationer::admin {

inline constexpr std::uint32_t most_bridges = 126;

struct Finding {
  std::string sentence;  // what is so, why it matters, what to do
  bool broken = false;   // it can't be built so; else it is only to be known
};

std::vector<Finding> findings_of(const RoomPlan& plan, const RoomLayout& layout,
                                 const PartsList& parts, const Ways& ways);

// How near the room is to each limit, a sentence each.
std::vector<std::string> limits_of(const RoomPlan& plan, const PartsList& parts);

// What is said with every plan: what can hurt people, and what can't be seen from a plan.
const std::vector<std::string>& cautions();

}  // namespace stationer::admin
