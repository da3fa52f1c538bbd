// What has to be bought or found for a planned room.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "admin/plan/layout.h"
#include "admin/plan/room_plan.h"

namespace stationer::admin {

// One place where mains is needed: a table, or a segment's timing unit and bridges.
struct MainsPlace {
  std::size_t segment = 0;  // its place in the plan
  std::string table;        // empty: none is named
  bool is_table = true;
  std::uint32_t outlets = 0;
  std::uint32_t watts = 0;     // of those that are known
  std::uint32_t leads = 0;     // extension leads, each in a wall outlet of its own
  std::uint32_t heaviest = 0;  // watts of the machine that draws most
};

using CableLengths = std::map<Millimetres, std::uint64_t>;  // how many of each

struct PartsList {
  std::uint64_t stations = 0;
  std::map<std::uint32_t, std::uint64_t> end_boxes;  // by their sockets
  std::map<std::uint32_t, std::uint64_t> boxes;      // between them
  std::uint64_t terminators = 0;                     // one in each end box
  std::uint64_t timing_units = 0;
  std::uint64_t bridges = 0;
  std::uint64_t free_sockets = 0;
  CableLengths bus_cables;      // from box to box
  CableLengths machine_cables;  // from a box to what is plugged in there, bridges included
  std::vector<MainsPlace> mains;
  std::uint64_t outlets = 0;
  std::uint64_t leads = 0;
};

PartsList parts_of(const RoomPlan& plan, const RoomLayout& layout);

// The list in lines: how many, and of what.
struct PartLine {
  std::uint64_t count = 0;
  std::string part;
  Millimetres length = 0;  // of a cable
};
std::vector<PartLine> part_lines(const PartsList& parts);

// The rule by which cables are longer than what was measured, in a sentence.
std::string cable_rule(const CableRule& rule);

}  // namespace stationer::admin
