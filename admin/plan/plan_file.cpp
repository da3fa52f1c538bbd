#include "admin/plan/plan_file.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/settings_table.h"
#include "fs/station.h"

namespace stationer::admin {
namespace {

using fs::Result;
using fs::Status;

constexpr double longest_length = 100'000;  // metres
constexpr std::int64_t most_outlets = 20;
constexpr std::int64_t most_watts = 100'000;
constexpr std::int64_t most_sockets = 64;  // in a box
constexpr std::int64_t most_rate = 1'000'000'000;
constexpr std::int64_t largest_program = std::int64_t{1} << 30;
constexpr std::size_t most_lengths = 100;

// What is not said of a thing is as the tables in front of the segments say.
struct Usual {
  Millimetres box_to_box = 3000;
  Millimetres box_to_machine = 1500;
  Millimetres bridge = 10'000;
  std::uint32_t outlets = 2;
  std::uint32_t watts = 0;
};

template <class Value>
Status take(Result<Value> from, Value& into) {
  if (!from) return from.error();
  into = std::move(*from);
  return {};
}

template <class Value>
Status take_number(const toml::table& table, std::string_view key, std::int64_t least,
                   std::int64_t most, Value& into) {
  auto number = fs::number_setting(table, key, static_cast<std::int64_t>(into), least, most);
  if (!number) return number.error();
  into = static_cast<Value>(*number);
  return {};
}

Status take_text(const toml::table& table, std::string_view key, std::string& into) {
  return take(fs::text_setting(table, key, into), into);
}

Status first_failure(std::initializer_list<Status> all) {
  for (const Status& each : all) {
    if (!each) return each;
  }
  return {};
}

Result<Millimetres> length_of(const toml::node& node, std::string_view key) {
  const auto length = node.value<double>();
  if (!node.is_number() || !length || !(*length >= 0) || *length > longest_length) {
    return fs::wrong_setting(node,
                             fmt::format("{} must be a length in metres, such as 3 or 2.5.", key));
  }
  return std::llround(*length * 1000);
}

Status take_length(const toml::table& table, std::string_view key, Millimetres& into) {
  const toml::node* node = table.get(key);
  return node == nullptr ? Status() : take(length_of(*node, key), into);
}

Status take_lengths(const toml::node& node, std::string_view key, std::vector<Millimetres>& into) {
  const toml::array* array = node.as_array();
  if (array == nullptr || array->size() > most_lengths + fs::most_on_segment) {
    return fs::wrong_setting(node,
                             fmt::format("{} is a list of lengths in metres: [2, 5, 10].", key));
  }
  for (const toml::node& each : *array) {
    auto length = length_of(each, key);
    if (!length) return length.error();
    into.push_back(*length);
  }
  return {};
}

// The tables of [[name]], of which there are `most` at most.
Result<std::vector<const toml::table*>> tables_of(const toml::table& parent, std::string_view key,
                                                  std::string_view name, std::size_t most) {
  std::vector<const toml::table*> out;
  const toml::node* node = parent.get(key);
  if (node == nullptr) return out;
  const toml::array* array = node->as_array();
  const bool fine =
      array != nullptr &&
      std::all_of(array->begin(), array->end(), [](const auto& each) { return each.is_table(); });
  if (!fine) {
    return fs::wrong_setting(
        *node, fmt::format("write [[{}]] on a line of its own for each, and what it is like below.",
                           name));
  }
  if (array->size() > most) {
    return fs::wrong_setting(*node, fmt::format("more than {} of [[{}]] can't be planned in one "
                                                "room.",
                                                most, name));
  }
  for (const toml::node& each : *array) out.push_back(each.as_table());
  return out;
}

Status read_room(const toml::table& file, RoomPlan& plan) {
  auto table = fs::settings_table(file, "room");
  if (!table) return table.error();
  return first_failure({
      fs::check_keys(**table, "room", {"name", "stationer_on"}),
      take_text(**table, "name", plan.name),
      take_number(**table, "stationer_on", 1, fs::most_segments, plan.host_segment),
  });
}

Status read_cable(const toml::table& file, RoomPlan& plan, Usual& usual) {
  auto table = fs::settings_table(file, "cable");
  if (!table) return table.error();
  auto read = first_failure({
      fs::check_keys(**table, "cable",
                     {"box_to_box_m", "box_to_machine_m", "bridge_m", "slack_percent", "slack_m",
                      "ready_made_m"}),
      take_length(**table, "box_to_box_m", usual.box_to_box),
      take_length(**table, "box_to_machine_m", usual.box_to_machine),
      take_length(**table, "bridge_m", usual.bridge),
      take_number(**table, "slack_percent", 0, 100, plan.cables.slack_percent),
      take_length(**table, "slack_m", plan.cables.slack),
  });
  if (!read) return read;
  plan.usual_cable = usual.box_to_machine;
  std::vector<Millimetres>& ready_made = plan.cables.ready_made;
  if (const toml::node* node = (*table)->get("ready_made_m")) {
    if (auto lengths = take_lengths(*node, "ready_made_m", ready_made); !lengths) return lengths;
    if (std::find(ready_made.begin(), ready_made.end(), 0) != ready_made.end()) {
      return fs::wrong_setting(*node, "a cable of no length is none; take the 0 out.");
    }
  }
  std::sort(ready_made.begin(), ready_made.end());
  return {};
}

Status read_mains(const toml::table& file, RoomPlan& plan, Usual& usual) {
  auto table = fs::settings_table(file, "mains");
  if (!table) return table.error();
  return first_failure({
      fs::check_keys(**table, "mains", {"outlets", "watts", "lead_outlets", "lead_watts"}),
      take_number(**table, "outlets", 0, most_outlets, usual.outlets),
      take_number(**table, "watts", 0, most_watts, usual.watts),
      take_number(**table, "lead_outlets", 1, most_outlets, plan.mains.lead_outlets),
      take_number(**table, "lead_watts", 0, most_watts, plan.mains.lead_watts),
  });
}

Status read_line(const toml::table& file, LineRule& line) {
  auto table = fs::settings_table(file, "line");
  if (!table) return table.error();
  return first_failure({
      fs::check_keys(**table, "line", {"rate", "frame_bytes", "frame_overhead", "program_bytes"}),
      take_number(**table, "rate", 1, most_rate, line.rate),
      take_number(**table, "frame_bytes", 1, 65'535, line.frame_bytes),
      take_number(**table, "frame_overhead", 0, 65'535, line.frame_overhead),
      take_number(**table, "program_bytes", 1, largest_program, line.program_bytes),
  });
}

// A form in which the store would keep it; what it says of one that can't be is told with the line.
Status check_form(const toml::table& table, std::string_view key, std::string& value,
                  Result<std::string> (*form)(std::string_view)) {
  if (value.empty()) return {};
  auto stored = form(value);
  if (!stored) return fs::wrong_setting(*table.get(key), stored.error().message);
  value = std::move(*stored);
  return {};
}

Result<PlannedStation> read_station(const toml::table& table, const Usual& usual) {
  PlannedStation station;
  station.cable = usual.box_to_machine;
  station.outlets = usual.outlets;
  station.watts = usual.watts;
  auto read = first_failure({
      fs::check_keys(table, "segment.station",
                     {"number", "name", "table", "cable_m", "outlets", "watts", "profile",
                      "address", "hardware", "line", "note"}),
      take_number(table, "number", 1, fs::most_on_segment, station.number),
      take_text(table, "name", station.name),
      take_text(table, "table", station.table),
      take_length(table, "cable_m", station.cable),
      take_number(table, "outlets", 0, most_outlets, station.outlets),
      take_number(table, "watts", 0, most_watts, station.watts),
      take_text(table, "profile", station.profile),
      take_text(table, "address", station.address),
      take_text(table, "hardware", station.hardware),
      take_text(table, "line", station.line),
      take_text(table, "note", station.note),
      check_form(table, "name", station.name, fs::station_name),
      check_form(table, "address", station.address, fs::network_address),
      check_form(table, "hardware", station.hardware, fs::hardware_address),
  });
  if (!read) return read.error();
  return station;
}

// Numbers that are taken, and the lowest that are not.
class Numbers {
 public:
  explicit Numbers(std::uint32_t most) : most_(most) {}
  bool take(std::uint32_t number) { return taken_.insert(number).second; }
  std::uint32_t free() {  // 0: none is left
    while (next_ <= most_ && taken_.count(next_) > 0) ++next_;
    return next_ <= most_ ? next_++ : 0;
  }

 private:
  std::uint32_t most_;
  std::uint32_t next_ = 1;
  std::set<std::uint32_t> taken_;
};

// What no two stations of a room may have.
struct Taken {
  std::map<std::string, std::string> names, addresses, hardware, lines;  // and who has it
};

Status take_own(const toml::table& table, std::string_view key, const std::string& value,
                const std::string& who, std::map<std::string, std::string>& taken) {
  if (value.empty()) return {};
  const auto [at, is_new] = taken.emplace(value, who);
  if (is_new) return {};
  return fs::wrong_setting(*table.get(key),
                           fmt::format("{} has the {} \"{}\" already. Give each station its own.",
                                       at->second, key, value));
}

Status read_stations(const toml::table& table, const Usual& usual, PlannedSegment& segment,
                     Taken& taken) {
  auto tables = tables_of(table, "station", "segment.station", most_planned_stations);
  if (!tables) return tables.error();
  Numbers numbers(fs::most_on_segment);
  for (const toml::table* each : *tables) {
    auto station = read_station(*each, usual);
    if (!station) return station.error();
    if (station->number != 0 && !numbers.take(station->number)) {
      return fs::wrong_setting(*each->get("number"),
                               fmt::format("the number {} is there twice on segment {}. Give each "
                                           "station its own, or leave the number out.",
                                           station->number, segment.number));
    }
    const std::string who = station->name.empty() ? "another station" : station->name;
    auto own = first_failure({
        take_own(*each, "name", station->name, "another station", taken.names),
        take_own(*each, "address", station->address, who, taken.addresses),
        take_own(*each, "hardware", station->hardware, who, taken.hardware),
        take_own(*each, "line", station->line, who, taken.lines),
    });
    if (!own) return own;
    segment.stations.push_back(std::move(*station));
  }
  std::uint32_t more = 0;
  if (auto read = take_number(table, "more", 0, most_planned_stations, more); !read) return read;
  PlannedStation unnamed;
  unnamed.cable = usual.box_to_machine;
  unnamed.outlets = usual.outlets;
  unnamed.watts = usual.watts;
  segment.stations.insert(segment.stations.end(), more, unnamed);
  for (PlannedStation& station : segment.stations) {
    if (station.number == 0) station.number = numbers.free();
  }
  return {};
}

Status read_boxes(const toml::table& table, std::vector<std::uint32_t>& boxes) {
  const toml::node* node = table.get("boxes");
  if (node == nullptr) return {};
  const toml::array* array = node->as_array();
  const bool fine =
      array != nullptr && array->size() >= 2 && array->size() <= most_planned_stations &&
      std::all_of(array->begin(), array->end(), [](const auto& each) {
        const auto* sockets = each.as_integer();
        return sockets != nullptr && sockets->get() >= 0 && sockets->get() <= most_sockets;
      });
  if (!fine) {
    return fs::wrong_setting(*node,
                             "boxes is a list of how many sockets each box along the cable has, "
                             "with the two end boxes: [1, 2, 2, 1].");
  }
  for (const toml::node& each : *array) {
    boxes.push_back(static_cast<std::uint32_t>(each.as_integer()->get()));
  }
  return {};
}

Status read_stretches(const toml::table& table, PlannedSegment& segment) {
  const toml::node* node = table.get("box_to_box_m");
  if (node == nullptr) return {};
  if (node->is_number()) return take_length(table, "box_to_box_m", segment.stretch);
  if (auto read = take_lengths(*node, "box_to_box_m", segment.stretches); !read) return read;
  if (!segment.boxes.empty() && segment.stretches.size() + 1 != segment.boxes.size()) {
    return fs::wrong_setting(
        *node, fmt::format("between {} boxes are {} lengths, not {}.", segment.boxes.size(),
                           segment.boxes.size() - 1, segment.stretches.size()));
  }
  return {};
}

Status read_segment(const toml::table& table, const Usual& usual, PlannedSegment& segment,
                    Taken& taken) {
  segment.stretch = usual.box_to_box;
  return first_failure({
      fs::check_keys(table, "segment",
                     {"number", "name", "room", "timing_unit", "longest_m", "boxes", "box_to_box_m",
                      "more", "station"}),
      take_text(table, "name", segment.name),
      take_text(table, "room", segment.room),
      take(fs::switch_setting(table, "timing_unit", true), segment.timing_unit),
      take_length(table, "longest_m", segment.longest),
      read_boxes(table, segment.boxes),
      read_stretches(table, segment),
      read_stations(table, usual, segment, taken),
  });
}

Status read_segments(const toml::table& file, const Usual& usual, RoomPlan& plan) {
  auto tables = tables_of(file, "segment", "segment", most_planned_segments);
  if (!tables) return tables.error();
  if (tables->empty()) {
    return fs::wrong_setting(file,
                             "there is no [[segment]] in this plan. Begin with one; stationer plan "
                             "example shows how.");
  }
  Numbers numbers(std::numeric_limits<std::uint32_t>::max());
  for (const toml::table* each : *tables) {
    PlannedSegment segment;
    auto read = take_number(*each, "number", 1, fs::most_segments, segment.number);
    if (!read) return read;
    if (segment.number != 0 && !numbers.take(segment.number)) {
      return fs::wrong_setting(
          *each->get("number"),
          fmt::format("segment {} is there twice. Give each its own number.", segment.number));
    }
    plan.segments.push_back(std::move(segment));
  }
  Taken taken;
  for (std::size_t i = 0; i < tables->size(); ++i) {
    PlannedSegment& segment = plan.segments[i];
    if (segment.number == 0) segment.number = numbers.free();
    if (auto read = read_segment(*(*tables)[i], usual, segment, taken); !read) return read;
  }
  return {};
}

bool has_segment(const RoomPlan& plan, std::uint32_t number) {
  return std::any_of(plan.segments.begin(), plan.segments.end(),
                     [number](const auto& each) { return each.number == number; });
}

Status read_bridge(const toml::table& table, RoomPlan& plan, PlannedBridge& bridge) {
  auto read = first_failure({
      fs::check_keys(table, "bridge", {"between", "cable_m"}),
      take_length(table, "cable_m", bridge.cable),
  });
  if (!read) return read;
  const toml::node* between = table.get("between");
  const toml::array* pair = between == nullptr ? nullptr : between->as_array();
  const bool fine = pair != nullptr && pair->size() == 2 && pair->get(0)->is_integer() &&
                    pair->get(1)->is_integer();
  if (!fine) {
    return fs::wrong_setting(between == nullptr ? static_cast<const toml::node&>(table) : *between,
                             "a bridge needs the two segments it is between: between = [1, 2].");
  }
  for (const toml::node& each : *pair) {
    const std::int64_t number = each.as_integer()->get();
    const bool known = number > 0 && number <= std::numeric_limits<std::uint32_t>::max() &&
                       has_segment(plan, static_cast<std::uint32_t>(number));
    if (!known) {
      return fs::wrong_setting(each, fmt::format("there is no segment {} in this plan.", number));
    }
    (&each == pair->get(0) ? bridge.from : bridge.to) = static_cast<std::uint32_t>(number);
  }
  if (bridge.from == bridge.to) {
    return fs::wrong_setting(*between, "a bridge joins two different segments.");
  }
  return {};
}

Status read_bridges(const toml::table& file, const Usual& usual, RoomPlan& plan) {
  auto tables = tables_of(file, "bridge", "bridge", most_planned_segments);
  if (!tables) return tables.error();
  plan.bridges_named = !tables->empty();
  for (const toml::table* each : *tables) {
    PlannedBridge bridge{0, 0, usual.bridge};
    if (auto read = read_bridge(*each, plan, bridge); !read) return read;
    plan.bridges.push_back(bridge);
  }
  if (plan.bridges_named) return {};
  for (std::size_t i = 1; i < plan.segments.size(); ++i) {
    plan.bridges.push_back({plan.segments[i - 1].number, plan.segments[i].number, usual.bridge});
  }
  return {};
}

}  // namespace

Result<RoomPlan> read_plan(std::string_view text, std::string_view file_name) {
  auto file = fs::parse_settings(text, file_name);
  if (!file) return file.error();
  RoomPlan plan;
  Usual usual;
  auto read = first_failure({
      fs::check_keys(*file, "the plan", {"room", "cable", "mains", "line", "segment", "bridge"}),
      read_room(*file, plan),
      read_cable(*file, plan, usual),
      read_mains(*file, plan, usual),
      read_line(*file, plan.line),
  });
  if (read) read = read_segments(*file, usual, plan);
  if (read) read = read_bridges(*file, usual, plan);
  if (!read) return read.error();
  if (plan.host_segment != 0 && !has_segment(plan, plan.host_segment)) {
    return fs::wrong_setting(
        *file->at_path("room.stationer_on").node(),
        fmt::format("there is no segment {} in this plan.", plan.host_segment));
  }
  return plan;
}

}  // namespace stationer::admin
