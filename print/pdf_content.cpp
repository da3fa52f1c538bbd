#include "print/pdf_content.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "print/pdf_ink.h"

namespace stationer::print {
namespace {

// DejaVu's oblique faces are the upright ones sheared by the tangent of 11 degrees, about a point
// 742/2048 em above the baseline.
constexpr double slant = 0.1944;
constexpr double slant_pivot = 742.0 / 2048;

// In ems: the line that an outline is drawn with, and how far its shadow is from a letter.
constexpr double outline_width = 1.0 / 36;
constexpr double shadow_distance = 1.0 / 14;

double rounded(double value, double to) {
  return std::round(value * to) / to;
}

// Writes a byte of a string, one character or two, and gives where the next one goes.
char* escaped(char* to, unsigned byte) {
  const char character = static_cast<char>(byte);
  if (character == '(' || character == ')' || character == '\\') {
    *to++ = '\\';
  } else if (character == '\r') {
    *to++ = '\\';  // a bare one would be read as a line feed (section 7.3.4.2)
    *to++ = 'r';
    return to;
  }
  *to++ = character;
  return to;
}

}  // namespace

PdfContent::PdfContent(PdfFonts& fonts, PdfDotFonts* dots, const Paper& paper)
    : fonts_(fonts), dots_(dots), height_(points_of_micrometres(paper.height)) {}

void PdfContent::length(std::string& into, Points value) {
  append_points(into, value);
  into += ' ';
}

void PdfContent::decimal(std::string& into, double value, int decimals) {
  append_decimal(into, value, decimals);
  into += ' ';
}

std::string_view PdfContent::write(const Page& page, std::string_view pictures) {
  out_ = pictures;
  outlines_.clear();
  inked_ = false;
  ink_ = Ink::black;
  form_ = LetterForm::filled;
  write_rules(page);
  write_marks(page);
  if (!page.runs().empty()) write_text(page);
  return out_;
}

void PdfContent::write_text(const Page& page) {
  const std::size_t begin = out_.size();
  shadows_.clear();
  line_ = {};
  leading_ = 0;
  slanted_ = false;
  font_set_ = false;
  stretch_ = 100;
  out_ += "BT\n";
  const auto write = dots_ != nullptr ? &PdfContent::write_dot_run : &PdfContent::write_run;
  const auto before = [](const Run& a, const Run& b) {
    return a.baseline != b.baseline ? a.baseline < b.baseline : a.x < b.x;
  };
  if (std::is_sorted(page.runs().begin(), page.runs().end(), before)) {
    for (const Run& run : page.runs()) (this->*write)(run, page.cells(run));
  } else {
    std::vector<Run> runs(page.runs().begin(), page.runs().end());
    std::stable_sort(runs.begin(), runs.end(), before);
    for (const Run& run : runs) (this->*write)(run, page.cells(run));
  }
  out_ += "ET\n";
  if (!shadows_.empty()) out_.insert(begin, shadows_ + "Q\n");
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
  fit_.em_text.clear();
  append_decimal(fit_.em_text, fit_.em, 3);
  fit_.stretch = rounded(natural / fit_.em * 100, 10'000);
}

void PdfContent::write_rules(const Page& page) {
  bool begun = false;
  for (const Rule& rule : page.rules()) {
    if (dots_ != nullptr) {
      set_ink(rule.ink);
      write_dotted(rule);
      continue;
    }
    if (begun && rule.ink != ink_) out_ += "f\n";
    begun = true;
    set_ink(rule.ink);
    const Place top_left = place(rule.x, rule.y);
    const Place bottom_right = place(rule.x + rule.width, rule.y + rule.height);
    length(top_left.x);
    length(bottom_right.y);
    length(bottom_right.x - top_left.x);
    length(top_left.y - bottom_right.y);
    out_ += "re\n";
  }
  if (begun) out_ += "f\n";
}

// A row of dots, or several if it is thicker than a needle.
void PdfContent::write_dotted(const Rule& rule) {
  const Units needle = dots_->needle();
  const Units distance = needle * 3 / 5;
  const bool lying = rule.width >= rule.height;
  const Units thickness = lying ? rule.height : rule.width;
  const Units length_of = (lying ? rule.width : rule.height) / distance * distance;
  const Units rows = std::max(1, (thickness + needle / 2) / needle);
  for (Units row = 0; row < rows; ++row) {
    const Units across = thickness * (2 * row + 1) / (2 * rows);
    const Units x = lying ? rule.x + distance / 2 : rule.x + across;
    const Units y = lying ? rule.y + across : rule.y + distance / 2;
    const Place from = place(x, y);
    const Place to =
        lying ? place(x + length_of - distance / 2, y) : place(x, y + length_of - distance / 2);
    out_ += "q 1 J ";
    length(points_of_units(needle));
    out_ += "w [0 ";
    length(points_of_units(distance));
    out_ += "] 0 d ";
    length(from.x);
    length(from.y);
    out_ += "m ";
    length(to.x);
    length(to.y);
    out_ += "l S Q\n";
  }
}

void PdfContent::write_marks(const Page& page) {
  for (const Mark& mark : page.marks()) {
    set_ink(mark.cell.ink);
    const Place at = place(mark.x, mark.baseline);
    if (dots_ != nullptr) {
      out_ += "q .0333333 0 0 .0333333 ";
      length(at.x);
      length(at.y);
      out_.append("cm\n").append(dots_->shape(mark.cell, mark.size)).append("Q\n");
    } else {
      choose_fit(mark.size);
      write_shape(at, mark.cell, out_);
    }
  }
}

void PdfContent::write_shape(Place at, Cell cell, std::string& into) {
  const bool slanted = has(cell.style, Style::italic);
  const PdfFonts::Outline outline = fonts_.use_outline(cell);
  outlines_.insert(outline);
  into += "q ";
  decimal(into, fit_.em * fit_.stretch / 100, 4);
  into += "0 ";
  decimal(into, slanted ? slant * fit_.em : 0, 4);
  decimal(into, fit_.em, 4);
  length(into, at.x - (slanted ? slant_shift() : 0));
  length(into, at.y);
  into.append("cm ").append(PdfFonts::name(outline)).append(" Do Q\n");
}

void PdfContent::write_shadow(Place at, Cell cell) {
  if (cell.character == U' ') return;
  const Points distance = std::llround(shadow_distance * fit_.em * parts_of_a_point);
  if (shadows_.empty()) shadows_ = "q .65 g\n";
  write_shape({at.x + distance, at.y - distance}, cell, shadows_);
}

void PdfContent::set_ink(Ink ink) {
  if (ink == ink_) return;
  ink_ = ink;
  inked_ = true;
  out_ += choose_ink(ink);
}

// The text rendering modes of ISO 32000-1 section 9.3.6.
void PdfContent::set_form(LetterForm form) {
  switch (form) {
    case LetterForm::filled:
      if (form_ != form) out_ += "0 Tr\n";
      break;
    case LetterForm::hollow:
      decimal(outline_width * fit_.em, 2);
      out_ += "w 1 Tr\n";
      break;
    case LetterForm::unseen:
      if (form_ != form) out_ += "3 Tr\n";
      break;
  }
  form_ = form;
}

// How far a slanted em's origin lies to the left of the upright one's.
Points PdfContent::slant_shift() const {
  return std::llround(slant * slant_pivot * fit_.em * parts_of_a_point);
}

void PdfContent::set_font(PdfFonts::Face face) {
  if (!font_set_ || face != face_ || fit_.em != em_) {
    out_.append(PdfFonts::name(face)).append(" ").append(fit_.em_text).append(" Tf\n");
  }
  set_stretch(fit_.stretch);
  font_set_ = true;
  face_ = face;
  em_ = fit_.em;
}

void PdfContent::set_dot_font(const PdfDotFonts::Code& code, Units pitch) {
  if (!font_set_ || code.font != dot_font_) {
    out_.append(PdfDotFonts::name(code.font)).append(" ");
    decimal(PdfDotFonts::em(code.pitch), 3);
    out_ += "Tf\n";
  }
  set_stretch(100.0 * pitch / code.pitch);
  font_set_ = true;
  dot_font_ = code.font;
}

void PdfContent::set_stretch(double stretch) {
  if (stretch == stretch_) return;
  decimal(stretch, 4);
  out_ += "Tz\n";
  stretch_ = stretch;
}

// Lines that follow each other at the usual distance need no coordinates: the operator ' moves down
// by the leading, which must not change before it has.
void PdfContent::begin_line(Place at, Points leading, bool slanted) {
  if (slanted || slanted_) {
    out_ += "1 0 ";
    decimal(slanted ? slant : 0, 4);
    out_ += "1 ";
    length(at.x - (slanted ? slant_shift() : 0));
    length(at.y);
    out_ += "Tm\n";
  } else if (at.x == line_.x && line_.y - at.y == leading_ && leading == leading_) {
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
  for (std::size_t at = 0; at < cells.size();) {
    const Cell& first = cells[at];
    const bool italic = has(first.style, Style::italic);
    const LetterForm form = form_of(first.style);
    const PdfFonts::Face face = fonts_.use(first).face;
    const auto place_of = [&](std::size_t cell) {
      return place(run.x + static_cast<Units>(cell) * run.size.pitch, run.baseline);
    };
    if (at == 0 || italic != slanted_) {
      show();
      begin_line(place_of(at), points_of_units(run.size.height), italic);
    }
    if (at == 0 || face != face_) {
      show();
      set_font(face);
    }
    if (first.ink != ink_ || form != form_) {
      show();
      set_ink(first.ink);
      set_form(form);
    }
    const std::size_t end = at + gather(cells.subspan(at));
    if (has(first.style, Style::shadow)) {
      for (std::size_t cell = at; cell < end; ++cell) write_shadow(place_of(cell), cells[cell]);
    }
    at = end;
  }
  show();
}

// Adds those to the string that look like the first, but not very many at once; gives how many.
std::size_t PdfContent::gather(std::span<const Cell> cells) {
  constexpr std::size_t most = 256;
  constexpr std::size_t most_bytes = 4;  // of a cell: two, each with a backslash
  const std::span<const Cell> next = cells.first(std::min(cells.size(), most));
  const std::size_t before = string_.size();
  string_.resize(before + most_bytes * next.size());
  char* to = string_.data() + before;
  std::size_t count = 0;
  const Cell first = next.front();
  const PdfFonts::Face face = face_;
  const bool usual_face = face == PdfFonts::face_of(first.style);
  for (const Cell& cell : next) {
    if (cell.style != first.style || cell.ink != first.ink) break;
    if (usual_face && fonts_.use_plain(cell.character, face)) {
      *to++ = static_cast<char>(cell.character);
    } else {
      const PdfFonts::Code code = fonts_.use(cell);
      if (code.face != face) break;
      if (code.missing) ++missing_;
      if (code.value >= 0x80) to = escaped(to, code.value >> 8);
      to = escaped(to, code.value & 0xFFu);
    }
    ++count;
  }
  string_.resize(static_cast<std::size_t>(to - string_.data()));
  return count;
}

void PdfContent::write_dot_run(const Run& run, std::span<const Cell> cells) {
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const PdfDotFonts::Code code = dots_->use(cells[i], run.size);
    if (i == 0) begin_line(place(run.x, run.baseline), points_of_units(run.size.height), false);
    if (i == 0 || code.font != dot_font_) {
      show();
      set_dot_font(code, run.size.pitch);
    }
    if (cells[i].ink != ink_) {
      show();
      set_ink(cells[i].ink);
    }
    if (code.missing) ++missing_;
    char bytes[2];
    string_.append(bytes, escaped(bytes, code.value));
  }
  show();
}

}  // namespace stationer::print
