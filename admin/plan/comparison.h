// A planned room beside the stations that are registered.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "admin/plan/room_plan.h"

namespace stationer::admin {

struct RegisteredStation {
  std::uint32_t segment = 0;
  std::uint32_t number = 0;
  std::string name, profile, address, hardware, line;
};

struct Difference {
  enum class Kind : std::uint8_t { missing, extra, different };
  Kind kind = Kind::missing;
  std::uint32_t segment = 0;  // as planned, or of what is extra
  std::uint32_t number = 0;
  std::string name;
  std::string sentence;
  std::size_t station = 0;  // of what is missing: its place on its segment
};

// By the order of the plan, then what is extra. A planned station is the registered one of its
// name, or else that of its number. What a plan says nothing of is not compared: a machine without
// a name is no difference, registered or not.
std::vector<Difference> compare(const RoomPlan& plan,
                                const std::vector<RegisteredStation>& registered);

// "missing", "extra", "different".
const char* kind_name(Difference::Kind kind);

}  // namespace stationer::admin
