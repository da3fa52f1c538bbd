#include "admin/plan/limits.h"

#include <algorithm>

#include <fmt/format.h>

#include "admin/plan/plan_words.h"
#include "fs/station.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

using server::counted;

constexpr std::size_t most_named = 5;  // in one sentence

class Findings {
 public:
  Findings(const RoomPlan& plan, const RoomLayout& layout, const PartsList& parts, const Ways& ways)
      : plan_(plan), layout_(layout), parts_(parts), ways_(ways) {}

  std::vector<Finding> all() {
    room();
    for (std::size_t i = 0; i < plan_.segments.size(); ++i) segment(i);
    ways();
    cables();
    mains();
    between_rooms();
    return std::move(found_);
  }

 private:
  void broken(std::string sentence) { found_.push_back({std::move(sentence), true}); }
  void known(std::string sentence) { found_.push_back({std::move(sentence), false}); }

  void room() {
    if (plan_.segments.size() > fs::most_segments) {
      broken(
          fmt::format("There are {} segments; {} bridges join {} at most, with {} stations. Plan a "
                      "second room, with a Stationer of its own.",
                      plan_.segments.size(), most_bridges, fs::most_segments,
                      grouped(std::uint64_t{fs::most_segments} * fs::most_on_segment)));
    }
    if (parts_.stations == 0) {
      known("No machines are in the plan yet. Write [[segment.station]] for each, or more = 8.");
    }
  }

  void segment(std::size_t i) {
    const PlannedSegment& planned = plan_.segments[i];
    const SegmentLayout& segment = layout_.segments[i];
    const std::string name = capital(segment_words(planned));
    if (planned.stations.size() > fs::most_on_segment) {
      broken(
          fmt::format("{} has {} stations; there are numbers for {}. Put {} of them on another "
                      "segment, and join it by a bridge.",
                      name, planned.stations.size(), fs::most_on_segment,
                      planned.stations.size() - fs::most_on_segment));
    }
    if (segment.left_out > 0) {
      broken(
          fmt::format("{} has {} for {} things to plug in, its bridges and its timing unit "
                      "among them. Add {} of {} sockets, or leave \"boxes\" out to have them "
                      "reckoned.",
                      name, counted(segment.sockets(), "socket"), segment.plugged.size(),
                      counted((segment.left_out + box_sockets - 1) / box_sockets, "box", "boxes"),
                      box_sockets));
    }
    if (!planned.stretches.empty() && planned.stretches.size() != segment.stretches.size()) {
      broken(fmt::format(
          "{} has {}, so {} between them; {} given. Measure from each box to the "
          "next, or give one length for all.",
          name, counted(segment.boxes.size(), "box", "boxes"),
          counted(segment.stretches.size(), "length"),
          planned.stretches.size() == 1 ? std::string("1 is")
                                        : fmt::format("{} are", planned.stretches.size())));
    }
    if (planned.longest > 0 && segment.length > planned.longest) {
      broken(
          fmt::format("The bus of {} is {} long with its slack; it may be {}. Move the boxes "
                      "nearer to each other, or make two segments of it with a bridge between "
                      "them.",
                      segment_words(planned), metres(segment.length), metres(planned.longest)));
    }
    if (!planned.timing_unit) {
      known(
          fmt::format("{} has no timing unit. That is right only for a bus whose machines keep "
                      "time by themselves; see what its manual says.",
                      name));
    }
  }

  void ways() {
    for (const std::size_t i : ways_.rings) {
      broken(
          fmt::format("The bridge between {} and {} closes a ring, in which frames could go "
                      "round for ever. Take it out: there is another way already.",
                      plan_.bridges[i].from, plan_.bridges[i].to));
    }
    std::vector<std::string> alone;
    std::size_t count = 0;
    for (std::size_t i = 0; i < plan_.segments.size(); ++i) {
      if (ways_.bridges_to[i] != Ways::nowhere) continue;
      if (count++ < most_named) alone.push_back(fmt::format("{}", plan_.segments[i].number));
    }
    if (count == 0) return;
    if (count > most_named) alone.push_back(fmt::format("{} more", count - most_named));
    broken(fmt::format("No bridge leads to segment{} {}. Add a [[bridge]] between = [{}, {}].",
                       count == 1 ? "" : "s", server::listed(alone),
                       plan_.segments[ways_.from].number, alone.front()));
  }

  void cables() {
    const auto too_long = [](const CableLengths& cables) {
      const auto found = cables.find(0);
      return found == cables.end() ? 0 : found->second;
    };
    const std::uint64_t count = too_long(parts_.bus_cables) + too_long(parts_.machine_cables);
    if (count == 0) return;
    broken(
        fmt::format("{} longer with slack than {}, the longest that is to be had. Have one made "
                    "to measure and write its length under ready_made_m, or move something "
                    "nearer.",
                    count == 1 ? "1 cable has to be" : fmt::format("{} cables have to be", count),
                    metres(plan_.cables.ready_made.back())));
  }

  void mains() {
    for (const MainsPlace& place : parts_.mains) {
      if (plan_.mains.lead_watts == 0 || place.heaviest <= plan_.mains.lead_watts) continue;
      broken(
          fmt::format("A machine {} draws {} W; an extension lead may carry {} W. Plug it into "
                      "a wall outlet by itself, and write outlets = 0 for it.",
                      place_words(place), place.heaviest, plan_.mains.lead_watts));
    }
    const bool watts_known = std::any_of(parts_.mains.begin(), parts_.mains.end(),
                                         [](const auto& each) { return each.watts > 0; });
    if (!watts_known || plan_.mains.lead_watts == 0) {
      known(
          "How much the machines draw, or what a lead may carry, is not said, so leads are "
          "counted by their outlets only. Read the plates, add up the watts of each lead, and "
          "keep below what is written on it; or write watts and lead_watts under [mains].");
    }
  }

  std::string place_words(const MainsPlace& place) const {
    const PlannedSegment& segment = plan_.segments[place.segment];
    if (place.table.empty()) return fmt::format("on segment {}", segment.number);
    return fmt::format("at {} on segment {}", place.table, segment.number);
  }

  void between_rooms() {
    for (std::size_t i = 0; i < plan_.bridges.size(); ++i) {
      const PlannedSegment& from = plan_.segments[layout_.bridge_from[i]];
      const PlannedSegment& to = plan_.segments[layout_.bridge_to[i]];
      if (from.room == to.room) continue;
      known(
          fmt::format("The bridge between segments {} and {} joins two rooms, {} and {}, whose "
                      "mains and earths may differ. Use one that isolates, and ask an "
                      "electrician first.",
                      from.number, to.number, room_words(from), room_words(to)));
    }
  }

  static std::string room_words(const PlannedSegment& segment) {
    return segment.room.empty() ? "one without a name" : segment.room;
  }

  static std::string capital(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] -= 'a' - 'A';
    return text;
  }

  const RoomPlan& plan_;
  const RoomLayout& layout_;
  const PartsList& parts_;
  const Ways& ways_;
  std::vector<Finding> found_;
};

}  // namespace

std::vector<Finding> findings_of(const RoomPlan& plan, const RoomLayout& layout,
                                 const PartsList& parts, const Ways& ways) {
  return Findings(plan, layout, parts, ways).all();
}

std::vector<std::string> limits_of(const RoomPlan& plan, const PartsList& parts) {
  const auto fullest = std::max_element(
      plan.segments.begin(), plan.segments.end(),
      [](const auto& a, const auto& b) { return a.stations.size() < b.stations.size(); });
  return {
      fmt::format("{} stations on a segment at most: segment {} has {}.", fs::most_on_segment,
                  fullest->number, fullest->stations.size()),
      fmt::format("{} segments at most, joined by {} bridges: there are {} and {}.",
                  fs::most_segments, most_bridges, plan.segments.size(), plan.bridges.size()),
      fmt::format("{} stations in a room at most: there are {}.",
                  grouped(std::uint64_t{fs::most_segments} * fs::most_on_segment),
                  grouped(parts.stations)),
  };
}

const std::vector<std::string>& cautions() {
  static const std::vector<std::string> all = {
      "Local codes and licensed practice come first. This plan is arithmetic and knows neither "
      "your "
      "building nor its wiring: have an electrician look at both before you switch anything on.",
      "Mains and old power supplies can kill, and age makes them worse: cracked cords, dried-out "
      "capacitors, missing covers. Switch on nothing that nobody qualified has looked at.",
      "Displays and power supplies hold a charge that can kill long after they are unplugged. Open "
      "none; leave that to people who are trained for it.",
      "A cable between machines joins their earths. Between rooms, buildings or circuits earths "
      "may "
      "differ, by enough to hurt people and to destroy machines: join them by what isolates. The "
      "same goes for serial lines.",
      "Never plug one extension lead into another, nor cover or coil one. Keep what hangs on a "
      "lead "
      "below what is written on it, and use one with a switch that somebody can reach.",
      "People trip over cables. Lay them along walls or under covers, never across a way out, and "
      "keep the fire extinguisher and the main switch free.",
  };
  return all;
}

}  // namespace stationer::admin
