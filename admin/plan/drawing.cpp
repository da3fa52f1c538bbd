#include "admin/plan/drawing.h"

#include <algorithm>

#include <fmt/format.h>

#include "admin/plan/plan_words.h"
#include "print/leaflet.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

using print::columns_in;
using print::inches;
using print::Leaflet;
using print::line_of;
using print::pitch_of;
using print::Style;
using print::Type;
using print::Units;
using server::counted;

constexpr Units margin = inches(1, 2);
constexpr Units thick = inches(1, 36);  // a bus
constexpr Units thin = Leaflet::hairline;

// Of a segment's boxes.
constexpr Units narrowest_cell = inches(16, 15);
constexpr Units widest_cell = inches(2);
constexpr Units box_width = inches(1, 4);
constexpr Units box_height = inches(1, 6);
constexpr Units above_bus = inches(1, 3);  // for lengths, and half of the box
constexpr Units to_first = inches(5, 18);  // from the bus down to what is plugged in
constexpr std::size_t things_shown = 6;    // of one box
constexpr std::size_t thing_lines = 4;
constexpr Units thing_step = inches(5, 9);
constexpr Units terminator = inches(1, 18);

// Of the overview.
constexpr Units overview_row = inches(5, 8);
constexpr Units small_box = inches(1, 15);

Units up(Units length) {
  return length / 2;
}

// Sheets one after the other, each with a title and a number, filled from the top.
class Sheets {
 public:
  Sheets(Leaflet& leaflet, std::string title) : leaflet_(leaflet), title_(std::move(title)) {
    head();
  }

  Leaflet& on() { return leaflet_; }
  Units left() const { return margin; }
  Units right() const { return leaflet_.width() - margin; }
  Units width() const { return right() - left(); }
  Units y = 0;  // the next thing's top

  bool fits(Units height) const { return y + height <= leaflet_.height() - margin; }
  // Where so much is free, on this sheet or on the next.
  void need(Units height) {
    if (!fits(height)) begin(title_);
  }
  void begin(std::string title) {
    if (const auto added = leaflet_.next_page(); failed_ && !added) failed_ = added;
    title_ = std::move(title);
    ++number_;
    head();
  }
  void line(Type type, std::string_view text, Style style = Style::plain) {
    for (const std::string& each : print::wrapped(text, columns_in(width(), type))) {
      need(line_of(type));
      leaflet_.text(left(), y + line_of(type) * 3 / 4, type, each, style);
      y += line_of(type);
    }
  }
  // The sink's failure, if it had one.
  fs::Status finish() {
    auto finished = leaflet_.finish();
    return failed_ ? finished : failed_;
  }

 private:
  void head() {
    y = margin;
    leaflet_.text(margin, y + line_of(Type::title) * 2 / 3, Type::title,
                  print::wrapped(title_, columns_in(width(), Type::title) - 4).front());
    const std::string number = fmt::format("{}", number_);
    const auto wide = static_cast<Units>(number.size()) * pitch_of(Type::body);
    leaflet_.text(right() - wide, y + line_of(Type::title) * 2 / 3, Type::body, number);
    y += line_of(Type::title);
    leaflet_.rule(left(), y, width(), thin);
    y += line_of(Type::body);
  }

  Leaflet& leaflet_;
  std::string title_;
  std::size_t number_ = 1;
  fs::Status failed_;
};

class Drawing {
 public:
  Drawing(const Plan& plan, Sheets& sheets) : plan_(plan), sheets_(sheets) {}

  void all() {
    overview();
    parts();
    for (std::size_t i = 0; i < plan_.room.segments.size(); ++i) segment(i);
    words();
  }

 private:
  const PlannedSegment& planned(std::size_t i) const { return plan_.room.segments[i]; }
  const SegmentLayout& layout(std::size_t i) const { return plan_.layout.segments[i]; }

  // ---- the overview ----

  void overview() {
    sheets_.line(Type::body, fmt::format("{} station{} on {}, {}.", grouped(plan_.parts.stations),
                                         plan_.parts.stations == 1 ? "" : "s",
                                         counted(plan_.room.segments.size(), "segment"),
                                         counted(plan_.parts.bridges, "bridge")));
    if (plan_.broken() > 0) {
      sheets_.line(Type::body,
                   fmt::format("It can't be built so, for {}: see the last pages.",
                               counted(plan_.broken(), "reason")),
                   Style::bold);
    }
    sheets_.y += line_of(Type::body) / 2;
    Units above = 0;  // the bus of the segment before, on the same sheet; 0: none is there
    for (std::size_t i = 0; i < plan_.room.segments.size(); ++i) {
      if (!sheets_.fits(overview_row)) above = 0;
      sheets_.need(overview_row);
      const Units bus = sheets_.y + inches(3, 8);
      overview_segment(i, bus);
      if (above > 0 && joined(i - 1, i)) {
        const Units x = sheets_.right() - inches(1, 8);
        sheets_.on().rule(x, above, thin, bus - above);
        filled(x, (above + bus) / 2, small_box);
      }
      above = bus;
      sheets_.y += overview_row;
    }
  }

  void overview_segment(std::size_t i, Units bus) {
    Leaflet& on = sheets_.on();
    std::string text = segment_words(planned(i));
    text[0] = 'S';
    text += fmt::format(": {}, {}, {}", counted(planned(i).stations.size(), "station"),
                        counted(layout(i).boxes.size(), "box", "boxes"), metres(layout(i).length));
    if (planned(i).number == plan_.room.host_segment) text += ", Stationer";
    if (const std::string to = bridges_of(i); !to.empty()) text += "; bridges to " + to;
    on.text(sheets_.left(), sheets_.y + line_of(Type::body), Type::body,
            print::wrapped(text, columns_in(sheets_.width(), Type::body)).front());
    const std::size_t count = layout(i).boxes.size();
    const Units from = sheets_.left() + small_box;
    const Units to = sheets_.right() - inches(1, 2);
    on.rule(from, bus - up(thick), to - from, thick);
    for (std::size_t k = 0; k < count; ++k) {
      const auto along = static_cast<std::int64_t>(to - from) * static_cast<std::int64_t>(k) /
                         static_cast<std::int64_t>(count - 1);
      const Units x = from + static_cast<Units>(along);
      const bool end = k == 0 || k + 1 == count;
      filled(x, bus, end ? small_box * 2 : small_box);
    }
    // To where its bridges are drawn.
    if (!bridges_of(i).empty()) on.rule(to, bus, sheets_.right() - inches(1, 8) - to, thin);
  }

  std::string bridges_of(std::size_t i) const {
    std::string out;
    for (std::size_t k = 0; k < plan_.room.bridges.size(); ++k) {
      const std::size_t from = plan_.layout.bridge_from[k];
      const std::size_t to = plan_.layout.bridge_to[k];
      if (from != i && to != i) continue;
      out +=
          fmt::format("{}{} ({})", out.empty() ? "" : ", ", planned(from == i ? to : from).number,
                      length(plan_.room.bridges[k].cable));
    }
    return out;
  }

  bool joined(std::size_t one, std::size_t other) const {
    for (std::size_t k = 0; k < plan_.room.bridges.size(); ++k) {
      const auto pair = std::minmax(plan_.layout.bridge_from[k], plan_.layout.bridge_to[k]);
      if (pair == std::minmax(one, other)) return true;
    }
    return false;
  }

  // A square around a point.
  void filled(Units x, Units y, Units size) {
    sheets_.on().rule(x - up(size), y - up(size), size, size);
  }

  std::string length(Millimetres measured) const {
    const Millimetres had = to_be_had(plan_.room.cables, measured);
    return had == 0 ? "too long" : metres(had);
  }

  // ---- a segment ----

  void segment(std::size_t i) {
    std::string title = segment_words(planned(i));
    title[0] = 'S';
    sheets_.begin(std::move(title));
    sheets_.line(Type::body,
                 fmt::format("{} with {}, of which {} taken; {} of bus with slack. Lengths are "
                             "those of the parts list.",
                             counted(layout(i).boxes.size(), "box", "boxes"),
                             counted(layout(i).sockets(), "socket"), taken_words(i),
                             metres(layout(i).length)));
    const std::size_t count = layout(i).boxes.size();
    cell_width_ = std::clamp(sheets_.width() / static_cast<Units>(std::min<std::size_t>(count, 99)),
                             narrowest_cell, widest_cell);
    const auto in_row = static_cast<std::size_t>(sheets_.width() / cell_width_);
    for (std::size_t first = 0; first < count; first += in_row) {
      row(i, first, std::min(first + in_row, count));
    }
  }

  std::string taken_words(std::size_t i) const {
    const std::size_t taken = layout(i).plugged.size() - layout(i).left_out;
    return taken == 1 ? "1 is" : fmt::format("{} are", taken);
  }

  void row(std::size_t i, std::size_t first, std::size_t end) {
    const auto& boxes = layout(i).boxes;
    std::size_t most = 0;
    for (std::size_t k = first; k < end; ++k) {
      most = std::max(most, std::min(boxes[k].count, things_shown));
    }
    const bool some_left_out = std::any_of(boxes.begin() + static_cast<std::ptrdiff_t>(first),
                                           boxes.begin() + static_cast<std::ptrdiff_t>(end),
                                           [](const Box& box) { return box.count > things_shown; });
    const Units height = above_bus + to_first + static_cast<Units>(most) * thing_step +
                         (some_left_out ? line_of(Type::small) : 0) + line_of(Type::small);
    sheets_.need(height);
    const Units bus = sheets_.y + above_bus;
    for (std::size_t k = first; k < end; ++k) {
      const Units x = sheets_.left() + static_cast<Units>(k - first) * cell_width_;
      stretch(i, k, x, bus, k + 1 == end);
      box(i, k, x, bus);
    }
    // What comes from the row above.
    if (first > 0) {
      sheets_.on().rule(sheets_.left() - inches(1, 6), bus - up(thick),
                        inches(1, 6) + box_middle - up(box_width), thick);
    }
    sheets_.y += height;
  }

  static constexpr Units box_middle = box_width;  // from the left of its cell

  // The bus from a box to the next.
  void stretch(std::size_t i, std::size_t k, Units x, Units bus, bool last_in_row) {
    if (k + 1 == layout(i).boxes.size()) return;
    const Units from = x + box_middle + up(box_width);
    const Units to = last_in_row ? sheets_.right() : from + cell_width_ - box_width;
    sheets_.on().rule(from, bus - up(thick), to - from, thick);
    const std::string text = length(layout(i).stretches[k]);
    sheets_.on().text(from + inches(1, 12), bus - inches(1, 24), Type::small, text);
  }

  void box(std::size_t i, std::size_t k, Units x, Units bus) {
    Leaflet& on = sheets_.on();
    const Box& box = layout(i).boxes[k];
    const Units left = x + box_middle - up(box_width);
    const Units top = bus - up(box_height);
    on.frame(left, top, box_width, box_height, thin * 2);
    const std::string sockets = fmt::format("{}", box.sockets);
    on.text(left + up(box_width - static_cast<Units>(sockets.size()) * pitch_of(Type::small)),
            bus + line_of(Type::small) / 4, Type::small, sockets, Style::bold);
    const bool starts = k == 0;
    if (starts || k + 1 == layout(i).boxes.size()) {
      on.rule(starts ? left - terminator : left + box_width, top, terminator, box_height);
    }
    const std::size_t shown = std::min(box.count, things_shown);
    if (shown == 0) return;
    const Units stem = x + box_middle;
    Units thing_top = bus + to_first;
    Units last = thing_top;
    for (std::size_t n = 0; n < shown; ++n) {
      last = thing_top + line_of(Type::small) / 2;
      thing(i, layout(i).plugged[box.first + n], x + box_middle + inches(1, 12), thing_top);
      on.rule(stem, last, inches(1, 12), thin);
      thing_top += thing_step;
    }
    on.rule(stem, bus + up(box_height), thin, last - bus - up(box_height));
    if (box.count > shown) {
      on.text(stem, thing_top + line_of(Type::small) / 2, Type::small,
              fmt::format("and {} more", box.count - shown));
    }
  }

  // What is plugged in, in a frame of its own: what it is, where it stands, its cable.
  void thing(std::size_t i, const Plugged& plugged, Units x, Units top) {
    const Units width = cell_width_ - box_middle - inches(1, 12) - inches(1, 24);
    const std::size_t columns = columns_in(width - inches(1, 18), Type::small);
    std::vector<std::string> lines;
    std::size_t bold = 1;
    if (plugged.kind == Plugged::Kind::station) {
      const PlannedStation& station = planned(i).stations[plugged.index];
      lines = print::wrapped(
          fmt::format("{} {}", station.number == 0 ? "?" : fmt::format("{}", station.number),
                      station.name),
          columns);
      lines.resize(std::min<std::size_t>(lines.size(), 2));
      bold = lines.size();
      for (const std::string& each : print::wrapped(station.table, columns)) {
        if (!station.table.empty() && lines.size() + 1 < thing_lines) lines.push_back(each);
      }
    } else if (plugged.kind == Plugged::Kind::timing_unit) {
      lines = {"timing", "unit"};
      bold = 2;
    } else if (plugged.kind == Plugged::Kind::host) {
      lines = {"Stationer"};
    } else {
      const PlannedBridge& bridge = plan_.room.bridges[plugged.index];
      const std::uint32_t other = bridge.from == planned(i).number ? bridge.to : bridge.from;
      lines = {"bridge", fmt::format("to {}", other)};
      bold = 2;
    }
    lines.push_back(length(plugged.cable));
    Leaflet& on = sheets_.on();
    on.frame(x, top, width, line_of(Type::small) * static_cast<Units>(thing_lines) + inches(1, 36));
    Units baseline = top + line_of(Type::small) * 9 / 10;
    for (std::size_t n = 0; n < lines.size(); ++n) {
      on.text(x + inches(1, 36), baseline, Type::small, lines[n],
              n < bold ? Style::bold : Style::plain);
      baseline += line_of(Type::small);
    }
  }

  // ---- parts and words ----

  void parts() {
    const std::vector<PartLine> lines = part_lines(plan_.parts);
    sheets_.y += line_of(Type::head);
    sheets_.need(line_of(Type::head) +
                 static_cast<Units>(std::min<std::size_t>(lines.size(), 30)) * line_of(Type::body));
    sheets_.line(Type::head, "Parts");
    for (const PartLine& line : lines) {
      sheets_.line(Type::body, fmt::format("{:>7}  {}", grouped(line.count), line.part));
    }
    sheets_.line(Type::body, cable_rule(plan_.room.cables));
    sheets_.y += line_of(Type::body);
    legend();
  }

  void legend() {
    sheets_.need(line_of(Type::head) + 5 * inches(1, 4));
    sheets_.line(Type::head, "Signs");
    Leaflet& on = sheets_.on();
    const Units text_x = sheets_.left() + inches(3, 4);
    const auto next = [&](std::string_view what) {
      on.text(text_x, sheets_.y + inches(1, 8), Type::body, what);
      sheets_.y += inches(1, 4);
    };
    const auto middle = [&] { return sheets_.y + inches(1, 12); };
    const Units x = sheets_.left() + inches(1, 4);
    on.frame(x, middle() - up(box_height), box_width, box_height, thin * 2);
    on.rule(x - terminator, middle() - up(box_height), terminator, box_height);
    next("an end box with its terminator; the number in it is how many sockets it has");
    on.frame(x, middle() - up(box_height), box_width, box_height, thin * 2);
    next("a box");
    on.rule(sheets_.left(), middle(), inches(1, 2), thick);
    next("the bus, with each cable's length; a row's end goes on in the next row");
    on.rule(sheets_.left(), middle(), inches(1, 2), thin);
    next("a cable from a box to what is plugged in there, whose length stands below it");
    filled(sheets_.left() + inches(1, 4), middle(), small_box);
    next("in the overview: a box; larger, an end box; on a line between segments, a bridge");
  }

  void words() {
    sheets_.begin("Limits and cautions");
    list("It can't be built so", findings(true));
    list("To be known", findings(false));
    list("Limits", limits_of(plan_.room, plan_.parts));
    list("Loading a program", loading_words(plan_));
    list("Please mind", cautions());
  }

  std::vector<std::string> findings(bool broken) const {
    std::vector<std::string> out;
    for (const Finding& each : plan_.findings) {
      if (each.broken == broken) out.push_back(each.sentence);
    }
    return out;
  }

  void list(std::string_view title, const std::vector<std::string>& sentences) {
    if (sentences.empty()) return;
    sheets_.need(line_of(Type::head) + 2 * line_of(Type::body));
    sheets_.line(Type::head, title);
    for (const std::string& each : sentences) {
      sheets_.line(Type::body, "- " + each);
    }
    sheets_.y += line_of(Type::body) / 2;
  }

  const Plan& plan_;
  Sheets& sheets_;
  Units cell_width_ = widest_cell;
};

}  // namespace

fs::Status draw_plan(const Plan& plan, const print::Fonts& fonts, const print::Paper& paper,
                     const print::Metadata& about, print::ByteSink sink) {
  const print::Paper lying = paper.width < paper.height ? print::turned(paper) : paper;
  Leaflet leaflet(fonts, lying, about, std::move(sink));
  Sheets sheets(leaflet, plan.room.name.empty() ? "The room" : plan.room.name);
  Drawing(plan, sheets).all();
  return sheets.finish();
}

}  // namespace stationer::admin
