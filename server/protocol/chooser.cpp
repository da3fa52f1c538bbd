#include "server/protocol/chooser.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/protocol/substitute.h"

namespace stationer::server {
namespace {

constexpr char escape = 0x1B;
constexpr std::string_view control_sequence = "\x1B[";
// ECMA-48 §8.3.39, §8.3.41, §8.3.117.
constexpr std::string_view erase_page = "\x1B[2J";
constexpr std::string_view erase_to_end_of_line = "\x1B[K";
constexpr std::string_view negative = "\x1B[7m";
constexpr std::string_view plain = "\x1B[m";
constexpr std::size_t most_parameters = 8;  // bytes of a key's sequence that mean something

std::string position(int row) {
  return fmt::format("\x1B[{};1H", row);
}

std::string position(std::size_t row) {
  return position(static_cast<int>(row));
}

}  // namespace

std::string_view where_is_the_corner() {
  return "\x1B[999;999H\x1B[6n";
}

std::optional<ScreenSize> corner_in(std::string_view heard) {
  for (auto at = heard.find(control_sequence); at != std::string_view::npos;
       at = heard.find(control_sequence, at + 1)) {
    const char* const end = heard.data() + heard.size();
    ScreenSize size;
    const auto [row_end, no_row] = std::from_chars(heard.data() + at + 2, end, size.rows);
    if (no_row != std::errc() || row_end == end || *row_end != ';') continue;
    const auto [column_end, no_column] = std::from_chars(row_end + 1, end, size.columns);
    if (no_column != std::errc() || column_end == end || *column_end != 'R') continue;
    return size;
  }
  return std::nullopt;
}

Chooser::Chooser(const Screen& screen, ScreenSize size, List list, std::size_t at)
    : encoder_(screen.charset, screen.capitals), size_(size), list_(std::move(list)) {
  size_.rows = std::max(size_.rows, least_rows);
  if (!list_.rows.empty()) at_ = std::min(at, list_.rows.size() - 1);
  top_ = at_ - at_ % shown_rows();
}

std::string_view Chooser::clear() {
  return "\x1B[2J\x1B[1;1H";
}

// In the station's characters, of at most so many cells; the last column stays free.
std::string Chooser::line(std::string_view left, std::string_view right, int width) const {
  std::string out;
  int used = 0;
  const auto put = [&](std::string_view text, int most) {
    for (const char32_t c : decode(text)) {
      const char32_t shown = encoder_.shown(c);
      if (shown == 0) continue;
      if (used + cells(shown) > most) return;
      used += cells(shown);
      encoder_.append(shown, out);
    }
  };
  const int right_cells = static_cast<int>(fs::characters(right));
  const bool both = right_cells > 0 && right_cells < width / 2;
  put(left, both ? width - right_cells - 1 : width);
  if (both) {
    out.append(static_cast<std::size_t>(width - right_cells - used), ' ');
    used = width - right_cells;
    put(right, width);
  }
  return out;
}

std::string Chooser::row_bytes(std::size_t row) const {
  const bool chosen = row == at_;
  const Row& shown = list_.rows[row];
  std::string out = position(row - top_ + 2);
  out += chosen ? std::string(negative) + ">" : " ";
  out += line(shown.left, shown.right, size_.columns - 2);
  if (chosen) out += plain;
  return out + std::string(erase_to_end_of_line);
}

std::string Chooser::rows_bytes() const {
  std::string out;
  for (std::size_t i = 0; i < shown_rows(); ++i) {
    if (top_ + i < list_.rows.size()) {
      out += row_bytes(top_ + i);
    } else {
      out += position(i + 2) + std::string(erase_to_end_of_line);
    }
  }
  return out;
}

std::string Chooser::draw() const {
  const int width = size_.columns - 1;
  std::string out = std::string(plain) + std::string(erase_page) + position(1);
  out += line(list_.title, "", width);
  out += list_.rows.empty() ? position(2) + line(" (nothing)", "", width) : rows_bytes();
  return out + position(size_.rows) + line(list_.keys, "", width);
}

Chooser::Step Chooser::feed(std::string_view typed) {
  Step step;
  while (step.used < typed.size() && !step.choice) {
    const char byte = typed[step.used++];
    switch (escape_) {
      case Escape::none:
        if (byte == escape) {
          escape_ = Escape::started;
          parameters_.clear();
        } else {
          key(byte, step);
        }
        break;
      case Escape::started:
        escape_ = byte == '[' ? Escape::sequence : byte == 'O' ? Escape::single : Escape::none;
        break;
      case Escape::single:
        escape_ = Escape::none;
        sequence_end(byte, step);
        break;
      case Escape::sequence:
        if (byte >= 0x20 && byte < 0x40) {
          if (parameters_.size() < most_parameters) parameters_ += byte;
          break;
        }
        escape_ = Escape::none;
        sequence_end(byte, step);
        break;
    }
  }
  return step;
}

void Chooser::sequence_end(char final, Step& step) {
  const auto screen = static_cast<std::ptrdiff_t>(shown_rows());
  switch (final) {
    case 'A': return by_rows(-1, step);
    case 'B': return by_rows(1, step);
    case '~':
      if (parameters_ == "5") by_rows(-screen, step);
      if (parameters_ == "6") by_rows(screen, step);
      return;
    default: return;
  }
}

void Chooser::key(char byte, Step& step) {
  constexpr char etx = 0x03;
  constexpr char ff = 0x0C;
  constexpr char dc2 = 0x12;
  const auto screen = static_cast<std::ptrdiff_t>(shown_rows());
  switch (byte) {
    case '-': return by_rows(-1, step);
    case '+': return by_rows(1, step);
    case '<': return by_rows(-screen, step);
    case '>': return by_rows(screen, step);
    case ff:
    case dc2: step.send += draw(); return;
    default: break;
  }
  const char small = byte >= 'A' && byte <= 'Z' ? static_cast<char>(byte + 0x20) : byte;
  if (small == Choice::leave || byte == etx) {
    step.choice = Choice{at_, Choice::leave};
  } else if (!list_.rows.empty() &&
             (small == Choice::enter || list_.actions.find(small) != std::string::npos)) {
    step.choice = Choice{at_, small};
  }
}

void Chooser::by_rows(std::ptrdiff_t rows, Step& step) {
  if (list_.rows.empty()) return;
  const auto last = static_cast<std::ptrdiff_t>(list_.rows.size()) - 1;
  go(static_cast<std::size_t>(
         std::clamp<std::ptrdiff_t>(static_cast<std::ptrdiff_t>(at_) + rows, 0, last)),
     step);
}

// Sends no more than has changed: a slow line draws two rows in the time of one screen.
void Chooser::go(std::size_t to, Step& step) {
  if (to == at_) return;
  const std::size_t from = std::exchange(at_, to);
  if (to >= top_ && to < top_ + shown_rows()) {
    step.send += row_bytes(from) + row_bytes(to);
  } else {
    top_ = to - to % shown_rows();
    step.send += rows_bytes();
  }
  step.send += position(size_.rows);
}

}  // namespace stationer::server
