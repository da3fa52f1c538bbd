#include "print/sheet.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "print/sheet_styles.h"

namespace stationer::print {
namespace {

constexpr int head_lines = 2;
constexpr int foot_lines = 1;
constexpr int number_width = 4;  // of a line's number and the blank after it
constexpr char edge = '!';       // a character that no nation replaces

double in_inches(Units length) {
  return static_cast<double>(length) / units_per_inch;
}

std::string ruler(int columns, int step) {
  std::string out;
  for (int column = 1; column <= columns; ++column) {
    const bool shown = column % step == 0;
    out += shown ? static_cast<char>('0' + column / step % 10) : ' ';
  }
  return out;
}

SheetRow plain(std::string text) {
  return {{{std::move(text)}}};
}

std::string utf_8(char32_t character) {
  std::string out;
  if (character < 0x800) {
    out += static_cast<char>(0xC0 | character >> 6);
  } else {
    out += static_cast<char>(0xE0 | character >> 12);
    out += static_cast<char>(0x80 | (character >> 6 & 0x3F));
  }
  return out + static_cast<char>(0x80 | (character & 0x3F));
}

class Sheet {
 public:
  explicit Sheet(const PrinterProfile& profile)
      : profile_(profile),
        settings_(profile.settings),
        layout_(lay_out(profile.settings.form).value()) {}

  std::string write() {
    describe();
    rows_.push_back(plain(""));
    for (SheetRow& row : style_rows(settings_)) rows_.push_back(std::move(row));
    rows_.push_back(plain(""));
    characters();
    out_ = start_codes(settings_);
    Rows row = rows_.cbegin();
    do row = page(row);
    while (row != rows_.cend());
    return std::move(out_);
  }

 private:
  using Rows = std::vector<SheetRow>::const_iterator;

  void describe();
  void characters();
  Rows page(Rows row);
  void begin_line();
  void end_line();
  void numbered(const SheetRow* row);
  int show(const SheetPiece& piece, int room, int column);

  const PrinterProfile& profile_;
  const Settings& settings_;
  const Layout layout_;
  std::vector<SheetRow> rows_;
  std::string out_;
  int line_ = 0;      // of the page, from 1
  std::string over_;  // what strikes over the line, of listings
};

void Sheet::describe() {
  const Form& form = settings_.form;
  const auto say = [this](std::string_view what, std::string_view text) {
    rows_.push_back(plain(fmt::format("{:<12}{}", what, text)));
  };
  const Paper paper = paper_of(form);
  const Units right = units(paper.width) - layout_.column(layout_.columns);
  const Units foot = units(paper.height) - layout_.top - layout_.lines * layout_.cell.height;
  rows_.push_back(plain(profile_.title));
  say("Printer", profile_.name);
  say("Language", name_of(settings_.language));
  say("Characters", name_of(settings_.text.charset));
  say("Paper", paper.title);
  say("Spacing", fmt::format("{} characters and {} lines an inch", name_of_pitch(form.pitch),
                             name_of_line_spacing(form.line)));
  say("Form", fmt::format("{} columns and {} lines", layout_.columns, layout_.lines));
  say("Margins", fmt::format("{:.2f} in left, {:.2f} right, {:.2f} above, {:.2f} below",
                             in_inches(layout_.left), in_inches(right), in_inches(layout_.top),
                             in_inches(foot)));
}

// Sixteen to a row, by their codes; in UTF-8 the blocks of Unicode that printers have.
void Sheet::characters() {
  struct Block {
    char32_t first;
    char32_t last;
  };
  constexpr Block blocks[] = {{0x00A0, 0x017F}, {0x2010, 0x201F}, {0x2030, 0x2036},
                              {0x203C, 0x203F}, {0x20A0, 0x20AF}, {0x2190, 0x219F},
                              {0x2500, 0x25BF}, {0x2660, 0x266F}};
  constexpr int label = 6;
  int a_row = 16;
  while (a_row > 1 && label + 2 * a_row > layout_.columns - number_width - 1) a_row /= 2;
  const auto row = [&](unsigned first, auto character) {
    std::string text = fmt::format("{:<{}}", fmt::format("{:02X}", first), label);
    bool any = false;
    for (unsigned code = first; code < first + static_cast<unsigned>(a_row); ++code) {
      const std::string shown = character(code);
      any |= !shown.empty();
      text += (shown.empty() ? " " : shown) + " ";
    }
    if (any) rows_.push_back(plain(std::move(text)));
  };
  const bool is_utf_8 = settings_.text.charset == Charset::utf_8;
  const unsigned last = is_utf_8 || settings_.text.seven_bits ? 0x7F : 0xFF;
  for (unsigned first = 0x20; first <= last; first += static_cast<unsigned>(a_row)) {
    row(first, [&](unsigned code) {
      const char32_t character =
          Decoder(settings_.text.charset).put(static_cast<std::uint8_t>(code)).at[0];
      const bool shows = character >= 0x20 && (character < 0x7F || character > 0x9F) &&
                         character != replacement_character;
      return shows ? std::string(1, static_cast<char>(code)) : std::string();
    });
  }
  if (!is_utf_8) return;
  for (const Block& block : blocks) {
    for (unsigned first = block.first; first <= block.last; first += static_cast<unsigned>(a_row)) {
      row(first, [](unsigned code) { return utf_8(code); });
    }
  }
}

Sheet::Rows Sheet::page(Rows row) {
  const bool ruled = layout_.lines > head_lines + foot_lines;
  const auto next = [&] { return row == rows_.cend() ? nullptr : &*row++; };
  for (line_ = 1; line_ <= layout_.lines; ++line_) {
    begin_line();
    if (ruled && line_ == 1) {
      out_ += ruler(layout_.columns, 10);
    } else if (ruled && (line_ == head_lines || line_ == layout_.lines)) {
      out_ += ruler(layout_.columns, 1);
    } else {
      numbered(next());
    }
    end_line();
  }
  return row;
}

void Sheet::begin_line() {
  if (settings_.language == Language::listing) out_ += line_ == 1 ? '1' : ' ';
}

void Sheet::end_line() {
  if (settings_.language == Language::listing) {
    if (!over_.empty()) out_.append("\r\n+").append(std::exchange(over_, {}));
    out_ += "\r\n";
  } else if (line_ == layout_.lines) {
    out_.append("\x0C").append(codes_to_column(settings_, 0));
  } else {
    out_ += settings_.text.return_feeds ? "\r" : "\r\n";
  }
}

// A line's number, what stands in it, and the mark at its end.
void Sheet::numbered(const SheetRow* row) {
  const int room = layout_.columns - number_width - 1;
  if (room < 0) {
    out_.append(static_cast<std::size_t>(layout_.columns - 1), ' ') += edge;
    return;
  }
  out_ += fmt::format("{:<{}}", line_, number_width);
  int free = room;
  if (row != nullptr) {
    for (const SheetPiece& piece : row->pieces) {
      out_ += piece.before;
      free -= show(piece, free, layout_.columns - 1 - free);
      out_ += piece.after;
    }
  }
  if (row != nullptr && row->odd_width) {
    out_ += codes_to_column(settings_, layout_.columns - 1);
  } else {
    out_.append(static_cast<std::size_t>(free), ' ');
  }
  out_ += edge;
}

// As many of the piece's characters as there is room for, and how many those are.
int Sheet::show(const SheetPiece& piece, int room, int column) {
  Decoder decoder(settings_.text.charset);
  int shown = 0;
  for (std::size_t i = 0; i < piece.text.size() && shown < room; ++i) {
    out_ += piece.text[i];
    if (decoder.put(static_cast<std::uint8_t>(piece.text[i])).count == 0) continue;
    if (i < piece.over.size()) {
      if (settings_.language == Language::listing) {
        over_.resize(static_cast<std::size_t>(column + shown), ' ');
        over_ += piece.over[i];
      } else {
        out_.append("\b") += piece.over[i];
      }
    }
    ++shown;
  }
  return shown;
}

}  // namespace

std::string calibration_sheet(const PrinterProfile& profile) {
  return Sheet(profile).write();
}

}  // namespace stationer::print
