// How lengths, numbers and times of a plan are worded.
#pragma once

#include <cstdint>
#include <string>

#include "admin/plan/room_plan.h"

namespace stationer::admin {

std::string grouped(std::uint64_t number);       // "32,258"
std::string metres(Millimetres length);          // "2.5 m"
std::string span_of_time(std::uint64_t millis);  // "0.25 s", "17.6 s", "4 min 10 s", "3 h 12 min"
std::string segment_words(const PlannedSegment& segment);  // "segment 2, Loft (Upstairs)"

}  // namespace stationer::admin
