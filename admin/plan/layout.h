// Where everything of a planned room is plugged in: the boxes along each segment's cable, what is
// in their sockets, and the cables between them.
//
// A bus has an end box of one socket, with a terminator, at each of its two ends, and between them
// boxes of two sockets each: as many as what is left needs. A socket is taken by each station, by
// the segment's timing unit, by each bridge at both of its segments, and by Stationer's own
// machine. Bridges and timing units have no number. Common practice, no source.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "admin/plan/room_plan.h"

namespace stationer::admin {

inline constexpr std::uint32_t end_box_sockets = 1;
inline constexpr std::uint32_t box_sockets = 2;

// The sockets of each box of a segment with so many things on it, its ends included.
std::vector<std::uint32_t> boxes_for(std::size_t things);

// What is plugged in, in the order of the cable: the timing unit, Stationer's machine, the
// stations, and bridges at the end.
struct Plugged {
  enum class Kind : std::uint8_t { timing_unit, host, station, bridge };
  Kind kind = Kind::station;
  std::size_t index = 0;  // of the station on its segment, of the bridge in the plan
  Millimetres cable = 0;  // as measured
};

struct Box {
  std::uint32_t sockets = 0;
  std::size_t first = 0;  // of what is plugged in
  std::size_t count = 0;
};

struct SegmentLayout {
  std::vector<Plugged> plugged;
  std::vector<Box> boxes;              // from end to end
  std::vector<Millimetres> stretches;  // as measured, from each box to the next
  std::size_t left_out = 0;            // what has no socket, the last of those plugged in
  Millimetres length = 0;              // of the bus: of all stretches, with slack

  std::size_t sockets() const;
};

struct RoomLayout {
  std::vector<SegmentLayout> segments;              // as in the plan
  std::vector<std::size_t> bridge_from, bridge_to;  // their segments' places in the plan
};

RoomLayout lay_out(const RoomPlan& plan);

// How long a cable has to be: what is measured and its slack; then as long as can be had. 0 when no
// ready-made one is long enough.
Millimetres with_slack(const CableRule& rule, Millimetres measured);
Millimetres to_be_had(const CableRule& rule, Millimetres measured);

}  // namespace stationer::admin
