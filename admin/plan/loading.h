// How long it takes until every machine of a room has a program.
//
// The model: a bus carries one frame after the other, at the line's rate, and nothing else
// meanwhile. A byte is 10 bits on it: a start bit, eight, a stop bit (8N1). A program goes in
// frames of `frame_bytes`, the last one shorter, each with `frame_overhead` bytes around it,
// answers included. Bridges pass a frame on when they have it whole, so each on the longest way
// adds the time of one frame. Nothing is lost, and no machine is slower than the line.
//
//   a copy for each    all copies go over the segment that Stationer is on, which decides
//   once for all       one copy goes over each segment, to all machines on it
#pragma once

#include <cstdint>

#include "admin/plan/room_plan.h"
#include "admin/plan/ways.h"

namespace stationer::admin {

inline constexpr std::uint64_t bits_a_byte = 10;

struct Loading {
  std::uint64_t frames = 0;      // of one copy
  std::uint64_t line_bytes = 0;  // of one copy, with what is around it
  std::uint64_t copies = 0;      // the stations that there is a way to
  std::uint64_t bridges = 0;     // on the longest way
  // Milliseconds, rounded up.
  std::uint64_t one_millis = 0;  // a single machine on Stationer's own segment
  std::uint64_t each_millis = 0;
  std::uint64_t once_millis = 0;
};

Loading loading_of(const RoomPlan& plan, const Ways& ways);

}  // namespace stationer::admin
