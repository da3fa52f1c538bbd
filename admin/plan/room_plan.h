// A room as its keeper plans it: segments of a bus, the machines on them in the order in which the
// cable passes them, and the bridges between segments. What is written here is what the plan's file
// says (plan_file.h); what follows from it is in layout.h.
//
// Lengths are in millimetres.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace stationer::admin {

using Millimetres = std::int64_t;

struct PlannedStation {
  std::uint32_t number = 0;  // on its segment; 0: there was none left
  std::string name;          // may be empty
  std::string table;         // or the place it stands at; may be empty
  Millimetres cable = 0;     // from its box
  std::uint32_t outlets = 0;
  std::uint32_t watts = 0;  // 0: not known
  // What it is registered by; see fs/station.h.
  std::string profile, address, hardware, line, note;

  bool operator==(const PlannedStation&) const = default;
};

struct PlannedSegment {
  std::uint32_t number = 0;
  std::string name;
  std::string room;
  bool timing_unit = true;
  Millimetres longest = 0;             // that the bus may be; 0: not known
  std::vector<std::uint32_t> boxes;    // how many sockets each has, ends included; empty: as needed
  std::vector<Millimetres> stretches;  // from box to box; one, and all others are like it, or each
  Millimetres stretch = 0;             // of those that are not named
  std::vector<PlannedStation> stations;

  bool operator==(const PlannedSegment&) const = default;
};

// It stands on the first of its segments, and its longer cable leads to the other.
struct PlannedBridge {
  std::uint32_t from = 0;
  std::uint32_t to = 0;
  Millimetres cable = 0;

  bool operator==(const PlannedBridge&) const = default;
};

// How much longer a cable is than what was measured, and in which lengths it is to be had.
struct CableRule {
  std::uint32_t slack_percent = 10;
  Millimetres slack = 500;
  std::vector<Millimetres> ready_made;  // ascending; empty: cut to measure

  bool operator==(const CableRule&) const = default;
};

struct MainsRule {
  std::uint32_t lead_outlets = 6;  // on an extension lead
  std::uint32_t lead_watts = 0;    // that it carries, as is written on it; 0: not known

  bool operator==(const MainsRule&) const = default;
};

// How programs travel over the bus.
struct LineRule {
  std::uint64_t rate = 115'200;       // bit/s
  std::uint32_t frame_bytes = 512;    // of a program, in each frame
  std::uint32_t frame_overhead = 16;  // bytes that travel with them, answers included
  std::uint64_t program_bytes = 16'384;

  bool operator==(const LineRule&) const = default;
};

struct RoomPlan {
  std::string name;
  std::uint32_t host_segment = 0;  // that Stationer's own machine is on; 0: it is on none
  Millimetres usual_cable = 0;     // from a box to what is plugged in there
  CableRule cables;
  MainsRule mains;
  LineRule line;
  std::vector<PlannedSegment> segments;  // one at least
  std::vector<PlannedBridge> bridges;
  bool bridges_named = false;  // false: the segments are joined one after the other

  bool operator==(const RoomPlan&) const = default;
};

}  // namespace stationer::admin
