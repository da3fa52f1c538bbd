#include "print/plain_text.h"

#include <algorithm>

namespace stationer::print {
namespace {

constexpr char32_t backspace = 0x08;
constexpr char32_t tab = 0x09;
constexpr char32_t line_feed = 0x0A;
constexpr char32_t vertical_tab = 0x0B;
constexpr char32_t form_feed = 0x0C;
constexpr char32_t carriage_return = 0x0D;
constexpr char32_t substitute = 0x1A;
constexpr char32_t escape = 0x1B;
constexpr char32_t control_sequence = 0x9B;  // CSI, the 8-bit form of ESC [
constexpr char32_t byte_order_mark = 0xFEFF;
constexpr char32_t no_break_space = 0xA0;

constexpr int tab_width = 8;

bool is_control(char32_t character) {
  return character < 0x20 || (character >= 0x7F && character <= 0x9F);
}

}  // namespace

PlainText::PlainText(const PlainTextRules& rules, const Layout& layout, PageSink sink)
    : rules_(rules),
      layout_(layout),
      gate_(rules.most_pages, std::move(sink)),
      decoder_(rules.charset),
      line_cells_(static_cast<std::size_t>(layout.columns)) {
  for (unsigned byte = 0; byte < plain_.size(); ++byte) {
    const std::uint8_t value = significant(static_cast<char>(byte));
    plain_[byte] = value >= 0x20 && value < 0x7F && decoder_.is_itself(value);
  }
}

fs::Status PlainText::feed(std::string_view bytes) {
  while (!bytes.empty() && !ended_) {
    const std::size_t plain = print_plain(bytes);
    offset_ += plain;
    bytes.remove_prefix(plain);
    if (bytes.empty()) break;
    ++offset_;
    if (fs::Status status = put(significant(bytes.front())); !status) return status;
    bytes.remove_prefix(1);
  }
  return {};
}

// Does as put() would, for nearly all there is: ASCII's graphic characters as far as they go on and
// the line has room. Gives how many those are.
std::size_t PlainText::print_plain(std::string_view bytes) {
  if (escape_.inside() || decoder_.inside()) return 0;
  const auto from = static_cast<std::size_t>(column_);
  const std::string_view fitting = bytes.substr(0, line_cells_.size() - from);
  const auto end = std::find_if_not(fitting.begin(), fitting.end(), [this](char byte) {
    return plain_[static_cast<std::uint8_t>(byte)];
  });
  const std::string_view text(fitting.begin(), end);
  if (printed_ > from) {
    for (const char byte : text) print(significant(byte));
    return text.size();
  }
  // There is nothing yet where it goes.
  std::size_t column = from;
  std::size_t printed = 0;
  std::size_t count = 0;
  for (const char byte : text) {
    const char32_t character = significant(byte);
    line_cells_[column++].character = character;
    count += character == U' ' ? 0 : 1;
    printed = character == U' ' ? printed : column;
  }
  column_ = static_cast<int>(column);
  add_printed(count, printed);
  return text.size();
}

fs::Status PlainText::put(std::uint8_t byte) {
  if (escape_.inside() && escape_.put(byte)) return {};
  if (decoder_.is_itself(byte)) return put_character(byte);
  const Decoder::Characters characters = decoder_.put(byte);
  for (unsigned i = 0; i < characters.count; ++i) {
    if (fs::Status status = put_character(characters.at[i]); !status) return status;
  }
  return {};
}

fs::Status PlainText::put_character(char32_t character) {
  return is_control(character) ? control(character) : graphic(character);
}

fs::Status PlainText::finish() {
  if (!ended_ && decoder_.finish().count != 0) {
    if (fs::Status status = graphic(replacement_character); !status) return status;
  }
  end_line();
  return gate_.close(page_);
}

fs::Status PlainText::control(char32_t code) {
  switch (code) {
    case 0x00:
    case 0x07:
    case 0x11:
    case 0x13:
    case 0x7F: return {};
    case backspace: column_ = std::max(column_ - 1, 0); return {};
    case tab: column_ = std::min((column_ / tab_width + 1) * tab_width, layout_.columns); return {};
    case line_feed:
    case vertical_tab:
      if (rules_.feed_returns) column_ = 0;
      return feed_line();
    case form_feed: return feed_form();
    case carriage_return: column_ = 0; return rules_.return_feeds ? feed_line() : fs::Status{};
    case escape:
      ++report_.escape_sequences;
      escape_.begin_escape();
      return {};
    case control_sequence:
      ++report_.escape_sequences;
      escape_.begin_control_sequence();
      return {};
    case substitute:
      if (rules_.control_z_ends) {
        ended_ = true;
        return {};
      }
      [[fallthrough]];
    default: unknown(code); return {};
  }
}

void PlainText::unknown(char32_t code) {
  report_.count_unknown({offset_ - 1, {static_cast<std::uint8_t>(code)}, 1});
}

fs::Status PlainText::graphic(char32_t character) {
  if (character == byte_order_mark) return {};
  if (is_combining(character) && column_ > 0) {
    // On the character before, even if that was the last of its line.
    const auto before = static_cast<std::size_t>(column_ - 1);
    if (line_cells_[before].character != U' ') {
      strike(before, character);
      return {};
    }
  }
  if (column_ == layout_.columns) {
    column_ = 0;
    if (fs::Status status = feed_line(); !status) return status;
  }
  if (character == replacement_character) ++report_.unreadable;
  print(character);
  return {};
}

// There is room for it.
void PlainText::print(char32_t character) {
  const auto column = static_cast<std::size_t>(column_++);
  if (character == U' ' || character == no_break_space) return;
  char32_t& there = line_cells_[column].character;
  if (there == U' ') {
    there = character;
  } else {
    strike(column, character);
  }
  add_printed(1, column + 1);
}

void PlainText::add_printed(std::size_t characters, std::size_t columns) {
  if (characters == 0) return;
  report_.characters += characters;
  printed_ = std::max(printed_, columns);
  gate_.leave_top();
}

// Onto a character that is there.
void PlainText::strike(std::size_t column, char32_t character) {
  if (!struck_over_) {
    struck_over_ = true;
    places_.assign(line_cells_.size(), Place());
  }
  Place& place = places_[column];
  if (place.blank()) place.strike(line_cells_[column].character);
  place.strike(character);
}

fs::Status PlainText::feed_line() {
  end_line();
  gate_.leave_top();
  if (++line_ < layout_.lines) return {};
  return begin_page(gate_.fill(page_));
}

fs::Status PlainText::feed_form() {
  end_line();
  column_ = 0;
  return begin_page(gate_.eject(page_));
}

// After the page before was given, or was none.
fs::Status PlainText::begin_page(fs::Status status) {
  line_ = 0;
  page_.clear();
  return status;
}

void PlainText::end_line() {
  if (printed_ == 0) return;
  if (struck_over_) {
    underline();
    resolve_overstrikes();
  }
  const std::span<Cell> cells = std::span(line_cells_).first(printed_);
  page_.add_run(layout_.left, layout_.baseline(line_), layout_.cell, cells);
  std::fill(cells.begin(), cells.end(), Cell());
  printed_ = 0;
  struck_over_ = false;
}

void PlainText::resolve_overstrikes() {
  for (std::size_t i = 0; i < printed_; ++i) {
    const Place& place = places_[i];
    if (place.blank()) continue;
    const Style style = place.bold() ? Style::bold : Style::plain;
    const Place::Impression impression = place.impression();
    line_cells_[i] = {impression.text, style};
    if (impression.mark_count != 0) ++report_.blots;
    for (unsigned m = 0; m < impression.mark_count; ++m) {
      page_.add_mark({layout_.column(static_cast<int>(i)),
                      layout_.baseline(line_),
                      layout_.cell,
                      {impression.marks[m], style}});
    }
  }
}

// Rules below the underlined places of the line. Underscores between two of them stand below a
// blank: the words were underlined in one stroke, and the blank is a blank.
void PlainText::underline() {
  const Units thickness = layout_.cell.height / 24;
  const Units depth = layout_.cell.height / 12;
  std::size_t end = 0;
  for (std::size_t first = 0; first < printed_; first = end + 1) {
    end = first;
    if (!places_[first].underlined()) continue;
    for (std::size_t i = first; i < printed_; ++i) {
      if (places_[i].underlined()) {
        for (std::size_t blank = end; blank < i; ++blank) line_cells_[blank] = Cell();
        end = i + 1;
      } else if (!places_[i].blank() || line_cells_[i].character != U'_') {
        break;
      }
    }
    page_.add_rule({layout_.column(static_cast<int>(first)), layout_.baseline(line_) + depth,
                    static_cast<Units>(end - first) * layout_.cell.pitch, thickness});
  }
}

JobReport PlainText::report() const {
  JobReport report = report_;
  report.pages = gate_.pages();
  return report;
}

}  // namespace stationer::print
