#include "admin/plan/layout.h"

#include <algorithm>
#include <unordered_map>

namespace stationer::admin {
namespace {

constexpr Millimetres cut_step = 500;

void plug_in(const PlannedSegment& planned, SegmentLayout& segment) {
  std::vector<std::uint32_t> sockets = planned.boxes;
  if (sockets.empty()) sockets = boxes_for(segment.plugged.size());
  std::size_t next = 0;
  for (const std::uint32_t each : sockets) {
    const std::size_t count = std::min<std::size_t>(each, segment.plugged.size() - next);
    segment.boxes.push_back({each, next, count});
    next += count;
  }
  segment.left_out = segment.plugged.size() - next;
}

void measure(const RoomPlan& plan, const PlannedSegment& planned, SegmentLayout& segment) {
  for (std::size_t i = 0; i + 1 < segment.boxes.size(); ++i) {
    const Millimetres stretch =
        i < planned.stretches.size() ? planned.stretches[i] : planned.stretch;
    segment.stretches.push_back(stretch);
    segment.length += with_slack(plan.cables, stretch);
  }
}

}  // namespace

std::vector<std::uint32_t> boxes_for(std::size_t things) {
  std::vector<std::uint32_t> boxes = {end_box_sockets};
  const std::size_t at_ends = std::size_t{2} * end_box_sockets;
  const std::size_t between = things > at_ends ? things - at_ends : 0;
  boxes.insert(boxes.end(), (between + box_sockets - 1) / box_sockets, box_sockets);
  boxes.push_back(end_box_sockets);
  return boxes;
}

std::size_t SegmentLayout::sockets() const {
  std::size_t sum = 0;
  for (const Box& box : boxes) sum += box.sockets;
  return sum;
}

RoomLayout lay_out(const RoomPlan& plan) {
  RoomLayout out;
  out.segments.resize(plan.segments.size());
  std::unordered_map<std::uint32_t, std::size_t> places;
  for (std::size_t i = 0; i < plan.segments.size(); ++i) {
    const PlannedSegment& planned = plan.segments[i];
    SegmentLayout& segment = out.segments[i];
    places[planned.number] = i;
    if (planned.timing_unit) {
      segment.plugged.push_back({Plugged::Kind::timing_unit, 0, plan.usual_cable});
    }
    if (planned.number == plan.host_segment) {
      segment.plugged.push_back({Plugged::Kind::host, 0, plan.usual_cable});
    }
    for (std::size_t k = 0; k < planned.stations.size(); ++k) {
      segment.plugged.push_back({Plugged::Kind::station, k, planned.stations[k].cable});
    }
  }
  for (std::size_t i = 0; i < plan.bridges.size(); ++i) {
    const PlannedBridge& bridge = plan.bridges[i];
    out.bridge_from.push_back(places.at(bridge.from));
    out.bridge_to.push_back(places.at(bridge.to));
    out.segments[out.bridge_from.back()].plugged.push_back(
        {Plugged::Kind::bridge, i, plan.usual_cable});
    out.segments[out.bridge_to.back()].plugged.push_back({Plugged::Kind::bridge, i, bridge.cable});
  }
  for (std::size_t i = 0; i < plan.segments.size(); ++i) {
    plug_in(plan.segments[i], out.segments[i]);
    measure(plan, plan.segments[i], out.segments[i]);
  }
  return out;
}

Millimetres with_slack(const CableRule& rule, Millimetres measured) {
  return measured + (measured * rule.slack_percent + 99) / 100 + rule.slack;
}

Millimetres to_be_had(const CableRule& rule, Millimetres measured) {
  const Millimetres needed = with_slack(rule, measured);
  if (rule.ready_made.empty()) return (needed + cut_step - 1) / cut_step * cut_step;
  const auto found = std::lower_bound(rule.ready_made.begin(), rule.ready_made.end(), needed);
  return found == rule.ready_made.end() ? 0 : *found;
}

}  // namespace stationer::admin
