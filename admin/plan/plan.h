// All that is found out about a planned room, and how it is told: as text, and as JSON.
#pragma once

#include <string>
#include <vector>

#include <boost/json/object.hpp>

#include "admin/plan/layout.h"
#include "admin/plan/limits.h"
#include "admin/plan/loading.h"
#include "admin/plan/parts.h"
#include "admin/plan/room_plan.h"
#include "admin/plan/ways.h"

namespace stationer::admin {

struct Plan {
  RoomPlan room;
  RoomLayout layout;
  PartsList parts;
  Ways ways;
  Loading loading;
  std::vector<Finding> findings;

  explicit Plan(RoomPlan planned);
  std::size_t broken() const;  // how many limits are
};

// `columns`: how wide the screen is.
std::string plan_text(const Plan& plan, int columns);
boost::json::object plan_json(const Plan& plan);

// How the loading was reckoned, in sentences.
std::vector<std::string> loading_words(const Plan& plan);

}  // namespace stationer::admin
