#include "admin/evening_sheet.h"

#include <algorithm>
#include <vector>

#include <fmt/format.h>

#include "admin/report.h"
#include "fs/local_time.h"
#include "fs/text.h"
#include "print/leaflet.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using print::inches;
using print::Type;
using print::Units;
using server::counted;

constexpr Units margin = inches(3, 5);
constexpr std::size_t most_classes = 12;
constexpr std::size_t most_lines = 8;  // of each list below the table

const json::array& items_of(const json::object& object, std::string_view key) {
  static const json::array none;
  const json::value* value = object.if_contains(key);
  return value != nullptr && value->is_array() ? value->as_array() : none;
}

// Writes from the top of the page downwards.
class Writer {
 public:
  explicit Writer(print::Leaflet& leaflet) : leaflet_(leaflet) {}

  Units width() const { return leaflet_.width() - 2 * margin; }

  void line(Type type, std::string_view text, print::Style style = print::Style::plain) {
    y_ = leaflet_.paragraph(margin, y_, width(), type, text, style);
  }
  void gap() { y_ += inches(1, 8); }
  void rule() {
    y_ += inches(1, 24);
    leaflet_.rule(margin, y_, width(), print::Leaflet::hairline);
    y_ += inches(1, 24);
  }
  // A head, and sentences under it; those beyond the bound are counted.
  void part(std::string_view head, const std::vector<std::string>& sentences) {
    gap();
    line(Type::head, head);
    const std::size_t columns = print::columns_in(width(), Type::small);
    std::vector<std::string> lines;
    for (const auto& sentence : sentences) {
      const auto wrapped = print::wrapped(sentence, columns);
      lines.insert(lines.end(), wrapped.begin(), wrapped.end());
    }
    const bool all = lines.size() <= most_lines;
    const std::size_t shown = all ? lines.size() : most_lines - 1;
    for (std::size_t i = 0; i < shown; ++i) line(Type::small, lines[i]);
    if (!all) line(Type::small, fmt::format("and {} more.", counted(lines.size() - shown, "line")));
  }

 private:
  print::Leaflet& leaflet_;
  Units y_ = margin;
};

// ---- class by class ----

struct Row {
  std::string name;
  std::uint64_t here = 0, visits = 0, files = 0, bytes = 0, printouts = 0, pages = 0, handed_in = 0,
                late = 0;

  void add(const Row& other) {
    here += other.here;
    visits += other.visits;
    files += other.files;
    bytes += other.bytes;
    printouts += other.printouts;
    pages += other.pages;
    handed_in += other.handed_in;
    late += other.late;
  }
};

Row row_of(const json::object& of) {
  const std::string name = text_of(of, "class");
  return {name.empty() ? "in no class" : name,
          items_of(of, "was_here").size(),
          number_of(of, "visits"),
          number_of(of, "files"),
          number_of(of, "bytes"),
          number_of(of, "printouts"),
          number_of(of, "pages"),
          number_of(of, "handed_in"),
          number_of(of, "late")};
}

std::string shown(const Row& row) {
  return fmt::format("{:<17}{:>5}{:>8}{:>7}{:>8}{:>11}{:>7}{:>11}{:>6}", row.name, row.here,
                     row.visits, row.files, server::short_size(row.bytes), row.printouts, row.pages,
                     row.handed_in, row.late);
}

void write_classes(Writer& writer, const json::object& evening) {
  std::vector<Row> rows;
  for (const auto& item : items_of(evening, "classes")) rows.push_back(row_of(item.as_object()));
  if (rows.size() > most_classes) {
    // The busiest stay; the others are one row.
    std::stable_sort(rows.begin(), rows.end(),
                     [](const Row& a, const Row& b) { return a.here > b.here; });
    Row others;
    for (std::size_t i = most_classes - 1; i < rows.size(); ++i) others.add(rows[i]);
    others.name = fmt::format("{} others", rows.size() - (most_classes - 1));
    rows.resize(most_classes - 1);
    rows.push_back(others);
  }
  writer.line(Type::body,
              fmt::format("{:<17}{:>5}{:>8}{:>7}{:>8}{:>11}{:>7}{:>11}{:>6}", "Class", "Here",
                          "Visits", "Files", "Size", "Printouts", "Pages", "Handed in", "Late"),
              print::Style::bold);
  writer.rule();
  for (const Row& row : rows) writer.line(Type::body, shown(row));
  writer.rule();
  const json::value* all = evening.if_contains("all");
  Row total = all != nullptr && all->is_object() ? row_of(all->as_object()) : Row();
  total.name = "All";
  writer.line(Type::body, shown(total), print::Style::bold);
}

std::vector<std::string> who_was_here(const json::object& evening) {
  std::vector<std::string> out;
  for (const auto& item : items_of(evening, "classes")) {
    const std::string names = names_of(item.as_object(), "was_here");
    if (names.empty()) continue;
    const std::string klass = text_of(item.as_object(), "class");
    out.push_back(fmt::format("{}: {}.", klass.empty() ? "in no class" : klass, names));
  }
  if (out.empty()) out.emplace_back("Nobody signed in.");
  return out;
}

std::vector<std::string> turned_away(const json::object& evening) {
  std::vector<std::string> out;
  std::uint64_t count = 0;
  std::string names;
  for (const auto& item : items_of(evening, "refused_sign_ins")) {
    const json::object& each = item.as_object();
    count += number_of(each, "count");
    names += fmt::format("{}{} {}", names.empty() ? "" : ", ", text_of(each, "name"),
                         number_of(each, "count"));
  }
  if (count != 0) {
    out.push_back(
        fmt::format("{} refused: {}.", counted(count, "sign-in was", "sign-ins were"), names));
  }
  for (const auto& item : items_of(evening, "refused_jobs")) {
    const json::object& job = item.as_object();
    out.push_back(fmt::format("Job {}, {}, was not printed: {}", text_of(job, "job"),
                              text_of(job, "title"), text_of(job, "reason")));
  }
  if (out.empty()) out.emplace_back("Nobody and nothing.");
  return out;
}

std::vector<std::string> troubles(const json::object& status) {
  std::vector<std::string> out;
  for (const auto& each : items_of(status, "troubles")) {
    if (each.is_string()) out.push_back(printable(each.as_string()));
  }
  for (const auto& item : items_of(status, "failed_transfers")) {
    const json::object& failed = item.as_object();
    out.push_back(fmt::format("{} could not load {}: {}", text_of(failed, "address"),
                              text_of(failed, "file"), text_of(failed, "reason")));
  }
  if (out.empty()) out.emplace_back("None.");
  return out;
}

std::vector<std::string> the_box(const json::object& evening, const json::object& status) {
  std::vector<std::string> out;
  const auto waiting = number_of(status, "unclaimed");
  out.push_back(waiting == 0 ? "No printout waits to be claimed."
                             : fmt::format("{} to be claimed, {} of them from this time.",
                                           counted(waiting, "printout waits", "printouts wait"),
                                           number_of(evening, "unclaimed_printouts")));
  out.push_back(fmt::format("{} of {} are free on the disk.", size_of(status, "free_bytes"),
                            size_of(status, "total_bytes")));
  const std::string snapshot = time_of(status, "last_snapshot");
  out.push_back(snapshot.empty() ? "No snapshot was taken yet."
                                 : fmt::format("The last snapshot is of {}.", snapshot));
  return out;
}

}  // namespace

fs::Status make_evening_sheet(const json::object& evening, const json::object& status,
                              const print::Paper& paper, const print::Fonts& fonts,
                              const print::ByteSink& sink) {
  const std::string room = text_of(status, "name");
  const std::string since = time_of(evening, "since");
  const std::string until = time_of(evening, "until");
  print::Metadata about;
  about.title = fmt::format("{}, {} to {}", room, since, until);
  about.origin = "stationer";
  // Of the span's end, not of now: the same evening is the same file.
  if (const auto time = fs::parse_time(text_of(evening, "until"))) {
    about.created = std::chrono::floor<std::chrono::seconds>(*time);
  }
  print::Leaflet leaflet(fonts, paper, about, sink);
  Writer writer(leaflet);
  writer.line(Type::title, room);
  writer.line(Type::head, fmt::format("From {} to {}", since, until));
  writer.gap();
  write_classes(writer, evening);
  writer.part("Who was here", who_was_here(evening));
  writer.part("Turned away", turned_away(evening));
  writer.part("Troubles of the box now", troubles(status));
  writer.part("Printouts, disk and snapshots now", the_box(evening, status));
  writer.gap();
  writer.line(Type::small,
              "Files are those made or changed in that time and still there, printouts those still "
              "kept. This page tells about people: keep it no longer than it is needed.");
  return leaflet.finish();
}

}  // namespace stationer::admin
