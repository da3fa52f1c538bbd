#include "admin/plan/ways.h"

#include <algorithm>
#include <numeric>

namespace stationer::admin {
namespace {

// Sets of segments that are joined.
class Joined {
 public:
  explicit Joined(std::size_t count) : above_(count) {
    std::iota(above_.begin(), above_.end(), std::size_t{0});
  }
  // False when they were joined already.
  bool join(std::size_t one, std::size_t other) {
    one = root(one);
    other = root(other);
    above_[one] = other;
    return one != other;
  }

 private:
  std::size_t root(std::size_t of) {
    while (above_[of] != of) of = above_[of] = above_[above_[of]];
    return of;
  }

  std::vector<std::size_t> above_;
};

}  // namespace

std::size_t Ways::farthest() const {
  std::size_t most = 0;
  for (const std::size_t each : bridges_to) {
    if (each != nowhere) most = std::max(most, each);
  }
  return most;
}

Ways find_ways(const RoomPlan& plan, const RoomLayout& layout) {
  Ways ways;
  std::vector<std::vector<std::size_t>> next(plan.segments.size());
  Joined joined(plan.segments.size());
  for (std::size_t i = 0; i < plan.bridges.size(); ++i) {
    const std::size_t one = layout.bridge_from[i];
    const std::size_t other = layout.bridge_to[i];
    if (!joined.join(one, other)) ways.rings.push_back(i);
    next[one].push_back(other);
    next[other].push_back(one);
  }
  for (std::size_t i = 0; i < plan.segments.size(); ++i) {
    if (plan.segments[i].number == plan.host_segment) ways.from = i;
  }
  ways.bridges_to.assign(plan.segments.size(), Ways::nowhere);
  ways.bridges_to[ways.from] = 0;
  std::vector<std::size_t> reached = {ways.from};
  for (std::size_t at = 0; at < reached.size(); ++at) {
    for (const std::size_t other : next[reached[at]]) {
      if (ways.bridges_to[other] != Ways::nowhere) continue;
      ways.bridges_to[other] = ways.bridges_to[reached[at]] + 1;
      reached.push_back(other);
    }
  }
  return ways;
}

}  // namespace stationer::admin
