#include "print/pdf_content.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace stationer::print {
namespace {

// DejaVu's oblique faces are the upright ones sheared by the tangent of 11 degrees, about a point
// 742/2048 em above the baseline.
constexpr double slant = 0.1944;
constexpr double slant_pivot = 742.0 / 2048;

double rounded(double value, double to) {
  return std::round(value * to) / to;
}

void append_escaped(std::string& out, unsigned byte) {
  const char character = static_cast<char>(byte);
  if (character == '(' || character == ')' || character == '\\') {
    out += '\\';
    out += character;
  } else if (character == '\r') {
    out += "\\r";  // a bare one would be read as a line feed (section 7.3.4.2)
  } else {
    out += character;
  }
}

}  // namespace

PdfContent::PdfContent(PdfFonts& fonts, const Paper& paper)
    : fonts_(fonts), height_(points_of_micrometres(paper.height)) {}

void PdfContent::length(Points value) {
  append_points(out_, value);
  out_ += ' ';
}

void PdfContent::decimal(double value, int decimals) {
  append_decimal(out_, value, decimals);
  out_ += ' ';
}

std::string_view PdfContent::write(const Page& page) {
  out_.clear();
  write_rules(page);
  write_marks(page);
  if (page.runs().empty()) return out_;

  line_ = {};
  leading_ = 0;
  slanted_ = false;
  unseen_ = false;
  font_set_ = false;
  stretch_ = 100;
  out_ += "BT\n";
  const auto before = [](const Run& a, const Run& b) {
    return a.baseline != b.baseline ? a.baseline < b.baseline : a.x < b.x;
  };
  if (std::is_sorted(page.runs().begin(), page.runs().end(), before)) {
    for (const Run& run : page.runs()) write_run(run, page.cells(run));
  } else {
    std::vector<Run> runs(page.runs().begin(), page.runs().end());
    std::stable_sort(runs.begin(), runs.end(), before);
    for (const Run& run : runs) write_run(run, page.cells(run));
  }
  out_ += "ET\n";
  return out_;
}

// The glyph's width is the pitch, always. Its height is the one that goes with that, within bounds:
// tall enough for box drawing to join with the lines above and below, and low enough to leave a
// tenth of the line free between letters.
void PdfContent::choose_fit(CellSize size) {
  if (fit_.size == size) return;
  const Metrics& metrics = fonts_.metrics();
  const double pitch = static_cast<double>(size.pitch) / units_per_point;
  const double height = static_cast<double>(size.height) / units_per_point;
  const double natural = pitch * 1000 / metrics.advance;
  const double joining = height * 1000 / metrics.block_height;
  const double apart = height * 900 / metrics.letter_height;
  const double narrowest = pitch / 0.41;
  fit_.size = size;
  fit_.em = rounded(std::min(std::max(joining, std::min(natural, apart)), narrowest), 1000);
  fit_.stretch = rounded(natural / fit_.em * 100, 10'000);
}

void PdfContent::write_rules(const Page& page) {
  for (const Rule& rule : page.rules()) {
    const Place top_left = place(rule.x, rule.y);
    const Place bottom_right = place(rule.x + rule.width, rule.y + rule.height);
    length(top_left.x);
    length(bottom_right.y);
    length(bottom_right.x - top_left.x);
    length(top_left.y - bottom_right.y);
    out_ += "re\n";
  }
  if (!page.rules().empty()) out_ += "f\n";
}

void PdfContent::write_marks(const Page& page) {
  for (const Mark& mark : page.marks()) {
    choose_fit(mark.size);
    const Place at = place(mark.x, mark.baseline);
    const bool slanted = has(mark.cell.style, Style::italic);
    out_ += "q ";
    decimal(fit_.em * fit_.stretch / 100, 4);
    out_ += "0 ";
    decimal(slanted ? slant * fit_.em : 0, 4);
    decimal(fit_.em, 4);
    length(at.x - (slanted ? slant_shift() : 0));
    length(at.y);
    out_.append("cm ").append(fonts_.use_outline(mark.cell)).append(" Do Q\n");
  }
}

// How far a slanted em's origin lies to the left of the upright one's.
Points PdfContent::slant_shift() const {
  return std::llround(slant * slant_pivot * fit_.em * parts_of_a_point);
}

void PdfContent::set_font(PdfFonts::Face face) {
  if (!font_set_ || face != face_ || fit_.em != em_) {
    out_.append(PdfFonts::name(face)).append(" ");
    decimal(fit_.em, 3);
    out_ += "Tf\n";
  }
  if (fit_.stretch != stretch_) {
    decimal(fit_.stretch, 4);
    out_ += "Tz\n";
  }
  font_set_ = true;
  face_ = face;
  em_ = fit_.em;
  stretch_ = fit_.stretch;
}

// Lines that follow each other at the usual distance need no coordinates: the operator ' moves down
// by the leading.
void PdfContent::begin_line(Place at, Points leading, bool slanted) {
  if (slanted || slanted_) {
    out_ += "1 0 ";
    decimal(slanted ? slant : 0, 4);
    out_ += "1 ";
    length(at.x - (slanted ? slant_shift() : 0));
    length(at.y);
    out_ += "Tm\n";
  } else if (at.x == line_.x && line_.y - at.y == leading_) {
    next_line_ = true;
  } else {
    length(at.x - line_.x);
    length(at.y - line_.y);
    out_ += "Td\n";
  }
  line_ = at;
  slanted_ = slanted;
  if (leading != leading_) {
    length(leading);
    out_ += "TL\n";
    leading_ = leading;
  }
}

void PdfContent::show() {
  if (string_.empty()) return;
  out_.append("(").append(string_).append(next_line_ ? ")'\n" : ")Tj\n");
  next_line_ = false;
  string_.clear();
}

void PdfContent::write_run(const Run& run, std::span<const Cell> cells) {
  choose_fit(run.size);
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const bool italic = has(cells[i].style, Style::italic);
    const bool unseen = has(cells[i].style, Style::unseen);
    const PdfFonts::Code code = fonts_.use(cells[i]);
    if (i == 0 || italic != slanted_) {
      show();
      begin_line(place(run.x + static_cast<Units>(i) * run.size.pitch, run.baseline),
                 points_of_units(run.size.height), italic);
    }
    if (i == 0 || code.face != face_) {
      show();
      set_font(code.face);
    }
    if (unseen != unseen_) {
      show();
      out_ += unseen ? "3 Tr\n" : "0 Tr\n";
      unseen_ = unseen;
    }
    if (code.missing) ++missing_;
    if (code.value >= 0x80) append_escaped(string_, code.value >> 8);
    append_escaped(string_, code.value & 0xFFu);
  }
  show();
}

}  // namespace stationer::print
