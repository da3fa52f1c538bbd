#include "admin/plan/parts.h"

#include <algorithm>

#include <fmt/format.h>

#include "admin/plan/plan_words.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

// Machines on extension leads, one after the other: a lead is full when its outlets are taken or
// when another machine would be too much for it.
class Leads {
 public:
  Leads(const MainsRule& rule, MainsPlace& place) : rule_(rule), place_(place) {}

  void add(std::uint32_t outlets, std::uint32_t watts) {
    if (outlets == 0) return;
    place_.outlets += outlets;
    place_.watts += watts;
    place_.heaviest = std::max(place_.heaviest, watts);
    const bool too_much = rule_.lead_watts > 0 && watts_ + watts > rule_.lead_watts;
    if (place_.leads == 0 || outlets > free_ || too_much) begin();
    while (outlets > free_) {  // one machine takes more than a lead has
      outlets -= free_;
      begin();
    }
    free_ -= outlets;
    watts_ += watts;
  }

 private:
  void begin() {
    ++place_.leads;
    free_ = rule_.lead_outlets;
    watts_ = 0;
  }

  const MainsRule& rule_;
  MainsPlace& place_;
  std::uint32_t free_ = 0;
  std::uint32_t watts_ = 0;
};

void add_mains(const RoomPlan& plan, const RoomLayout& layout, PartsList& parts) {
  for (std::size_t i = 0; i < plan.segments.size(); ++i) {
    // Tables in the order in which the cable comes to them.
    std::map<std::string, std::vector<const PlannedStation*>> by_table;
    std::vector<const std::string*> order;
    for (const PlannedStation& station : plan.segments[i].stations) {
      const auto [at, is_new] = by_table.try_emplace(station.table);
      if (is_new) order.push_back(&at->first);
      at->second.push_back(&station);
    }
    for (const std::string* table : order) {
      MainsPlace place;
      place.segment = i;
      place.table = *table;
      Leads leads(plan.mains, place);
      for (const PlannedStation* each : by_table.at(*table)) leads.add(each->outlets, each->watts);
      if (place.outlets > 0) parts.mains.push_back(place);
    }
    MainsPlace own;
    own.segment = i;
    own.is_table = false;
    Leads leads(plan.mains, own);
    for (const Plugged& each : layout.segments[i].plugged) {
      const bool here = each.kind != Plugged::Kind::bridge || layout.bridge_from[each.index] == i;
      if (each.kind != Plugged::Kind::station && here) leads.add(1, 0);
    }
    if (own.outlets > 0) parts.mains.push_back(own);
  }
  for (const MainsPlace& place : parts.mains) {
    parts.outlets += place.outlets;
    parts.leads += place.leads;
  }
}

void add_lines(const CableLengths& cables, std::string_view what, std::vector<PartLine>& lines) {
  for (const auto& [length, count] : cables) {
    lines.push_back({count,
                     length == 0 ? fmt::format("{}, longer than any there is", what)
                                 : fmt::format("{}, {}", what, metres(length)),
                     length});
  }
}

}  // namespace

PartsList parts_of(const RoomPlan& plan, const RoomLayout& layout) {
  PartsList parts;
  parts.bridges = plan.bridges.size();
  for (std::size_t i = 0; i < plan.segments.size(); ++i) {
    const SegmentLayout& segment = layout.segments[i];
    parts.stations += plan.segments[i].stations.size();
    parts.timing_units += plan.segments[i].timing_unit ? 1 : 0;
    parts.terminators += 2;
    for (std::size_t k = 0; k < segment.boxes.size(); ++k) {
      const Box& box = segment.boxes[k];
      parts.free_sockets += box.sockets - box.count;
      const bool end = k == 0 || k + 1 == segment.boxes.size();
      ++(end ? parts.end_boxes : parts.boxes)[box.sockets];
    }
    for (const Millimetres stretch : segment.stretches) {
      ++parts.bus_cables[to_be_had(plan.cables, stretch)];
    }
    for (const Plugged& each : segment.plugged) {
      ++parts.machine_cables[to_be_had(plan.cables, each.cable)];
    }
  }
  add_mains(plan, layout, parts);
  return parts;
}

std::vector<PartLine> part_lines(const PartsList& parts) {
  std::vector<PartLine> lines;
  const auto add = [&lines](std::uint64_t count, std::string part) {
    if (count > 0) lines.push_back({count, std::move(part)});
  };
  for (const auto& [sockets, count] : parts.end_boxes) {
    add(count, "end box, " + server::counted(sockets, "socket"));
  }
  add(parts.terminators, "terminator, one in each end box");
  for (const auto& [sockets, count] : parts.boxes) {
    add(count, "box, " + server::counted(sockets, "socket"));
  }
  add(parts.timing_units, "timing unit");
  add(parts.bridges, "bridge");
  add_lines(parts.bus_cables, "bus cable, box to box", lines);
  add_lines(parts.machine_cables, "cable, box to machine", lines);
  add(parts.outlets, "mains outlet, on the leads");
  add(parts.leads, "extension lead, each in a wall outlet of its own");
  return lines;
}

std::string cable_rule(const CableRule& rule) {
  std::string out = fmt::format("A cable is as long as what was measured, {} % and {} more",
                                rule.slack_percent, metres(rule.slack));
  if (rule.ready_made.empty()) return out + ", rounded up to half metres.";
  std::string lengths;
  for (const Millimetres each : rule.ready_made) {
    lengths += (lengths.empty() ? "" : ", ") + metres(each);
  }
  return out + "; then the next length that is to be had: " + lengths + ".";
}

}  // namespace stationer::admin
