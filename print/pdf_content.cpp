#include "print/pdf_content.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace stationer::print {
namespace {

// User space in u: 1/30 point, downward from the top edge with y negated, so that all coordinates
// are integers. Ten digits keep the error below 1e-5 point over the longest sheet.
constexpr std::string_view to_units = "0.0333333333 0 0 0.0333333333 0 ";

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

PdfContent::PdfContent(PdfFonts& fonts, std::string height)
    : fonts_(fonts), height_(std::move(height)) {}

void PdfContent::number(std::int64_t value) {
  append_number(out_, value);
  out_ += ' ';
}

void PdfContent::decimal(double value, int decimals) {
  append_decimal(out_, value, decimals);
  out_ += ' ';
}

std::string_view PdfContent::write(const Page& page) {
  out_.clear();
  out_.append(to_units).append(height_).append(" cm\n");
  write_rules(page);
  write_marks(page);
  if (page.runs().empty()) return out_;

  line_x_ = 0;
  line_baseline_ = 0;
  slanted_ = false;
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
  const double natural = size.pitch * 1000.0 / metrics.advance;
  const double joining = size.height * 1000.0 / metrics.block_height;
  const double apart = size.height * 900.0 / metrics.letter_height;
  fit_.size = size;
  const double narrowest = size.pitch / 0.41;
  fit_.em = rounded(std::min(std::max(joining, std::min(natural, apart)), narrowest), 1000);
  fit_.stretch = rounded(natural / fit_.em * 100, 10'000);
}

void PdfContent::write_rules(const Page& page) {
  for (const Rule& rule : page.rules()) {
    number(rule.x);
    number(-(rule.y + rule.height));
    number(rule.width);
    number(rule.height);
    out_ += "re\n";
  }
  if (!page.rules().empty()) out_ += "f\n";
}

void PdfContent::write_marks(const Page& page) {
  for (const Mark& mark : page.marks()) {
    choose_fit(mark.size);
    const bool italic = has(mark.cell.style, Style::italic);
    const double shear = italic ? slant : 0;
    out_ += "q ";
    decimal(fit_.em * fit_.stretch / 100, 3);
    out_ += "0 ";
    decimal(shear * fit_.em, 3);
    decimal(fit_.em, 3);
    decimal(mark.x - shear * slant_pivot * fit_.em, 3);
    number(-mark.baseline);
    out_.append("cm ").append(fonts_.use_outline(mark.cell)).append(" Do Q\n");
  }
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

void PdfContent::move_to(Units x, Units baseline, bool slanted) {
  if (slanted || slanted_) {
    out_ += "1 0 ";
    decimal(slanted ? slant : 0, 4);
    out_ += "1 ";
    decimal(slanted ? x - slant * slant_pivot * fit_.em : x, 3);
    number(-baseline);
    out_ += "Tm\n";
  } else {
    number(x - line_x_);
    number(line_baseline_ - baseline);
    out_ += "Td\n";
  }
  line_x_ = x;
  line_baseline_ = baseline;
  slanted_ = slanted;
}

void PdfContent::write_run(const Run& run, std::span<const Cell> cells) {
  choose_fit(run.size);
  const auto show = [this] {
    if (!string_.empty()) out_.append("(").append(string_).append(")Tj\n");
    string_.clear();
  };
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const bool italic = has(cells[i].style, Style::italic);
    const PdfFonts::Code code = fonts_.use(cells[i]);
    if (i == 0 || italic != slanted_) {
      show();
      move_to(run.x + static_cast<Units>(i) * run.size.pitch, run.baseline, italic);
    }
    if (i == 0 || code.face != face_) {
      show();
      set_font(code.face);
    }
    if (code.missing) ++missing_;
    if (code.value >= 0x80) append_escaped(string_, code.value >> 8);
    append_escaped(string_, code.value & 0xFFu);
  }
  show();
}

}  // namespace stationer::print
