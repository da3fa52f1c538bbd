#include "admin/slips.h"

#include <algorithm>
#include <tuple>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/report.h"
#include "fs/text.h"
#include "print/leaflet.h"

namespace stationer::admin {
namespace {

using print::inches;
using print::Type;
using print::Units;

constexpr int across = 2;
constexpr Units least_height = inches(23, 10);  // holds the longest names
constexpr Units edge = inches(3, 16);           // of a slip: nothing comes nearer to a cut
constexpr std::string_view how =
    "At a terminal: press Enter, type the name, then the password. Capitals do not count.";
constexpr std::string_view caution =
    "Keep this to yourself: with it anybody can read and change your work. The word password "
    "changes it.";

std::string first_line(const Slip& slip, const std::string& room) {
  std::string out = room;
  if (!slip.klass.empty()) out += ", class " + slip.klass;
  if (slip.role != "member") out += ", " + slip.role;
  return out;
}

void draw(print::Leaflet& leaflet, const Slip& slip, const std::string& room, Units left, Units top,
          Units width) {
  const Units x = left + edge;
  const Units inner = width - 2 * edge;
  Units y = top + edge;
  y = leaflet.paragraph(x, y, inner, Type::small, first_line(slip, room));
  if (!slip.full_name.empty()) y = leaflet.paragraph(x, y, inner, Type::head, slip.full_name);
  y += inches(1, 16);
  const auto fact = [&](std::string_view label, const std::string& value) {
    // The label stands before the value, on its baseline.
    constexpr std::size_t label_columns = 10;
    const Units baseline = y + print::line_of(Type::title) * 3 / 4;
    leaflet.text(x, baseline, Type::body, label);
    leaflet.text(x + Units{label_columns} * print::pitch_of(Type::body), baseline, Type::title,
                 value);
    y += print::line_of(Type::title);
  };
  fact("Name", slip.name);
  fact("Password", slip.password);
  y += inches(1, 16);
  y = leaflet.paragraph(x, y, inner, Type::small, how);
  leaflet.paragraph(x, y, inner, Type::small, caution);
}

}  // namespace

fs::Status make_slips(std::vector<Slip> slips, const std::string& room, const print::Paper& paper,
                      std::chrono::sys_seconds created, const print::Fonts& fonts,
                      const print::ByteSink& sink) {
  const auto order = [](const Slip& slip) {
    return std::tuple(slip.klass, fs::fold(slip.full_name), slip.name);
  };
  std::sort(slips.begin(), slips.end(),
            [&](const Slip& a, const Slip& b) { return order(a) < order(b); });
  print::Metadata about;
  about.title = fmt::format("Slips of {}", room);
  about.origin = "stationer";
  about.created = created;
  print::Leaflet leaflet(fonts, paper, about, sink);
  const Units width = leaflet.width() / across;
  const int down = leaflet.height() / least_height;
  const Units height = leaflet.height() / down;
  for (std::size_t i = 0; i < slips.size(); ++i) {
    const int place = static_cast<int>(i % (across * down));
    if (i > 0 && place == 0) {
      if (auto next = leaflet.next_page(); !next) return next;
    }
    if (place == 0) {
      for (int column = 1; column < across; ++column) {
        leaflet.cut_down(column * width, 0, leaflet.height());
      }
      for (int row = 1; row < down; ++row) {
        leaflet.text(edge, row * height + inches(1, 30), Type::body, "\u2702");  // scissors
        leaflet.cut_across(row * height, edge + 2 * print::pitch_of(Type::body), leaflet.width());
      }
    }
    draw(leaflet, slips[i], room, place % across * width, place / across * height, width);
  }
  return leaflet.finish();
}

void SlipsFile::add_options(CLI::App& command, Options& options) {
  auto* slips =
      command
          .add_option("--slips", options.path,
                      "Put the made-up passwords into this PDF instead, as slips to cut apart")
          ->type_name("FILE");
  command.add_option("--slips-paper", options.paper, "The paper of the slips")
      ->check(one_of({"a4", "letter"}))
      ->capture_default_str()
      ->type_name("a4|letter")
      ->needs(slips);
}

fs::Result<SlipsFile> SlipsFile::begin(const Options& options) {
  auto paper = print::find_paper(options.paper);
  if (!paper) return paper.error();
  auto fonts = print::Fonts::load();
  if (!fonts) return fonts.error();
  auto output = Output::create(options.path, false, Output::For::user);
  if (!output) return output.error();
  return SlipsFile(std::move(*output), std::move(*fonts), *paper, options.path);
}

fs::Status SlipsFile::ask(Channel& channel) {
  auto status = channel.call("status");
  if (!status) return status.error();
  room_ = text_of(*status, "name");
  return {};
}

fs::Result<std::string> SlipsFile::finish(std::vector<Slip> slips, Of of) {
  if (slips.empty()) return std::string();
  const auto now = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
  if (auto made = make_slips(std::move(slips), room_, paper_, now, fonts_,
                             [&](std::string_view bytes) { return output_.write(bytes); });
      !made) {
    return made.error();
  }
  if (of == Of::part) return output_.finish_in_part();
  if (auto named = output_.finish(); !named) return named.error();
  return path_;
}

}  // namespace stationer::admin
