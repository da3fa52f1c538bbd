#include "admin/plan/plan.h"

#include <algorithm>
#include <utility>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/plan/plan_words.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

using server::counted;
using server::Table;

constexpr int widest = 100;    // that sentences go
constexpr int narrowest = 20;  // that they can be put in

// Sentences below a title, each wrapped, with a dash in front.
void append_sentences(std::string_view title, const std::vector<std::string>& sentences,
                      int columns, std::string& out) {
  if (sentences.empty()) return;
  out += fmt::format("\n{}\n", title);
  const auto width = static_cast<std::size_t>(std::clamp(columns, narrowest, widest));
  for (std::string_view text : sentences) {
    std::size_t column = 0;
    while (!text.empty()) {
      const std::string_view word = text.substr(0, text.find(' '));
      text.remove_prefix(std::min(word.size() + 1, text.size()));
      if (column == 0) {
        out += "- ";
        column = 2;
      } else if (column + 1 + word.size() > width) {
        out += "\n  ";
        column = 2;
      } else {
        out += ' ';
        ++column;
      }
      out += word;
      column += word.size();
    }
    out += '\n';
  }
}

std::vector<std::string> sentences_of(const Plan& plan, bool broken) {
  std::vector<std::string> out;
  for (const Finding& each : plan.findings) {
    if (each.broken == broken) out.push_back(each.sentence);
  }
  return out;
}

std::string segments_table(const Plan& plan, int columns) {
  Table table({{"Segment", 0, true},
               {"Name", 1},
               {"Room", 2},
               {"Stations", 0, true},
               {"Boxes", 0, true},
               {"Sockets free", 3, true},
               {"Bus", 0, true}});
  for (std::size_t i = 0; i < plan.room.segments.size(); ++i) {
    const PlannedSegment& planned = plan.room.segments[i];
    const SegmentLayout& segment = plan.layout.segments[i];
    const std::size_t taken = segment.plugged.size() - segment.left_out;
    table.add({fmt::format("{}", planned.number), planned.name, planned.room,
               fmt::format("{}", planned.stations.size()), fmt::format("{}", segment.boxes.size()),
               fmt::format("{}", segment.sockets() - taken), metres(segment.length)});
  }
  return table.text(columns);
}

std::string parts_table(const Plan& plan, int columns) {
  Table table({{"Count", 0, true}, {"Part", 0}});
  for (const PartLine& line : part_lines(plan.parts)) table.add({grouped(line.count), line.part});
  return table.text(columns);
}

std::string mains_table(const Plan& plan, int columns) {
  Table table({{"Segment", 0, true},
               {"Place", 0},
               {"Outlets", 0, true},
               {"Leads", 0, true},
               {"Watts", 0, true}});
  for (const MainsPlace& place : plan.parts.mains) {
    if (!place.is_table || place.table.empty()) continue;
    table.add({fmt::format("{}", plan.room.segments[place.segment].number), place.table,
               fmt::format("{}", place.outlets), fmt::format("{}", place.leads),
               place.watts == 0 ? "" : grouped(place.watts)});
  }
  return table.empty() ? "" : table.text(columns);
}

json::array as_json(const std::vector<std::string>& sentences) {
  json::array out;
  for (const std::string& each : sentences) out.push_back(json::string(each));
  return out;
}

json::array lengths_json(const std::vector<Millimetres>& lengths) {
  json::array out;
  for (const Millimetres each : lengths) out.push_back(each);
  return out;
}

json::object segment_json(const Plan& plan, std::size_t i) {
  const PlannedSegment& planned = plan.room.segments[i];
  const SegmentLayout& segment = plan.layout.segments[i];
  json::array boxes;
  for (const Box& box : segment.boxes) {
    json::array plugged;
    for (std::size_t k = box.first; k < box.first + box.count; ++k) {
      const Plugged& each = segment.plugged[k];
      if (each.kind == Plugged::Kind::timing_unit) {
        plugged.push_back("timing unit");
      } else if (each.kind == Plugged::Kind::host) {
        plugged.push_back("Stationer");
      } else if (each.kind == Plugged::Kind::bridge) {
        const PlannedBridge& bridge = plan.room.bridges[each.index];
        plugged.push_back(json::string(
            fmt::format("bridge to {}", bridge.from == planned.number ? bridge.to : bridge.from)));
      } else {
        plugged.push_back(
            json::string(fmt::format("station {}", planned.stations[each.index].number)));
      }
    }
    boxes.push_back(json::object{{"sockets", box.sockets}, {"plugged", std::move(plugged)}});
  }
  return {{"segment", planned.number}, {"name", planned.name},
          {"room", planned.room},      {"stations", planned.stations.size()},
          {"boxes", std::move(boxes)}, {"stretches_mm", lengths_json(segment.stretches)},
          {"bus_mm", segment.length}};
}

}  // namespace

Plan::Plan(RoomPlan planned)
    : room(std::move(planned)),
      layout(lay_out(room)),
      parts(parts_of(room, layout)),
      ways(find_ways(room, layout)),
      loading(loading_of(room, ways)),
      findings(findings_of(room, layout, parts, ways)) {}

std::size_t Plan::broken() const {
  return static_cast<std::size_t>(std::count_if(findings.begin(), findings.end(),
                                                [](const auto& each) { return each.broken; }));
}

std::vector<std::string> loading_words(const Plan& plan) {
  const LineRule& line = plan.room.line;
  const Loading& loading = plan.loading;
  std::vector<std::string> out = {fmt::format(
      "A program of {} bytes at {} bit/s takes {} to one machine.", grouped(line.program_bytes),
      grouped(line.rate), span_of_time(loading.one_millis))};
  if (loading.copies > 0) {
    out.push_back(fmt::format("Sent once for all: every machine has it after {}.",
                              span_of_time(loading.once_millis)));
    out.push_back(fmt::format("A copy for each: all {} machines have theirs after {}.",
                              grouped(loading.copies), span_of_time(loading.each_millis)));
  }
  out.push_back(fmt::format(
      "Reckoned so: {} of {} bytes, {} more with each, make {} bytes of 10 bits (8N1) on a bus "
      "that carries one frame at a time; {}. Real rooms are slower: machines that take their "
      "time, and frames that come twice.",
      counted(loading.frames, "frame"), grouped(line.frame_bytes), grouped(line.frame_overhead),
      grouped(loading.line_bytes),
      loading.bridges == 0
          ? std::string("there is no bridge on the way")
          : fmt::format("{} on the longest way add{} a frame{}", counted(loading.bridges, "bridge"),
                        loading.bridges == 1 ? "s" : "", loading.bridges == 1 ? "" : " each")));
  return out;
}

std::string plan_text(const Plan& plan, int columns) {
  std::string out = fmt::format(
      "{}{} on {}\n\n", plan.room.name.empty() ? "" : plan.room.name + ": ",
      plan.parts.stations == 1 ? "1 station" : grouped(plan.parts.stations) + " stations",
      counted(plan.room.segments.size(), "segment"));
  out += segments_table(plan, columns);
  out += "\nParts\n" + parts_table(plan, columns);
  out += cable_rule(plan.room.cables) + "\n";
  if (const std::string mains = mains_table(plan, columns); !mains.empty()) {
    out += "\nMains, table by table\n" + mains;
  }
  append_sentences("Can't be built so", sentences_of(plan, true), columns, out);
  append_sentences("To be known", sentences_of(plan, false), columns, out);
  append_sentences("Limits", limits_of(plan.room, plan.parts), columns, out);
  append_sentences("Loading a program", loading_words(plan), columns, out);
  append_sentences("Please mind", cautions(), columns, out);
  return out;
}

json::object plan_json(const Plan& plan) {
  json::array segments;
  for (std::size_t i = 0; i < plan.room.segments.size(); ++i) {
    segments.push_back(segment_json(plan, i));
  }
  json::array bridges;
  for (const PlannedBridge& each : plan.room.bridges) {
    bridges.push_back(
        json::object{{"between", json::array{each.from, each.to}}, {"measured_mm", each.cable}});
  }
  json::array parts;
  for (const PartLine& line : part_lines(plan.parts)) {
    json::object part{{"count", line.count}, {"part", line.part}};
    if (line.length > 0) part["length_mm"] = line.length;
    parts.push_back(std::move(part));
  }
  json::array mains;
  for (const MainsPlace& place : plan.parts.mains) {
    mains.push_back(json::object{{"segment", plan.room.segments[place.segment].number},
                                 {"table", place.table},
                                 {"outlets", place.outlets},
                                 {"leads", place.leads},
                                 {"watts", place.watts}});
  }
  json::array findings;
  for (const Finding& each : plan.findings) {
    findings.push_back(json::object{{"sentence", each.sentence}, {"broken", each.broken}});
  }
  const Loading& loading = plan.loading;
  return {{"name", plan.room.name},
          {"stations", plan.parts.stations},
          {"segments", std::move(segments)},
          {"bridges", std::move(bridges)},
          {"parts", std::move(parts)},
          {"mains", std::move(mains)},
          {"free_sockets", plan.parts.free_sockets},
          {"findings", std::move(findings)},
          {"limits", as_json(limits_of(plan.room, plan.parts))},
          {"loading", json::object{{"program_bytes", plan.room.line.program_bytes},
                                   {"rate", plan.room.line.rate},
                                   {"frames", loading.frames},
                                   {"line_bytes", loading.line_bytes},
                                   {"copies", loading.copies},
                                   {"bridges", loading.bridges},
                                   {"one_ms", loading.one_millis},
                                   {"each_ms", loading.each_millis},
                                   {"once_ms", loading.once_millis}}},
          {"cautions", as_json(cautions())}};
}

}  // namespace stationer::admin
