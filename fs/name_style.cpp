#include "fs/name_style.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/node_name.h"
#include "fs/text.h"
#include "fs/utf8.h"

namespace stationer::fs {
namespace {

constexpr std::string_view alias_symbols = "$%'-_@~`!(){}^#&";  // FAT specification 1.03
constexpr std::size_t longest_alias = 12;
// Base 36 writes every number of a node: they stay below 2^31 (fs/tree.h), and 36^6 is above that.
constexpr std::size_t longest_number = 6;

constexpr std::array<NameStyle, 5> styles = {{
    {"long", "systems that take any name as it is", longest_name, 0, 0, "", false, '/', '.', "+",
     0},
    // POSIX.1-2017 XBD 3.282 (portable filename character set), <limits.h> _POSIX_NAME_MAX.
    {"portable", "systems with names of 14 letters, digits, dots and dashes", 14, 0, 0, "._-",
     false, '/', '.', "__", 0x7FFFFFFF},
    // FAT specification 1.03, "Name Limits and Character Sets"; lengths are 32-bit numbers there.
    {"dos", "DOS: 8 characters, a dot, 3 characters, all capitals", longest_alias, 8, 3,
     alias_symbols, true, '\\', '.', "%", 0xFFFFFFFF},
    // Common practice, no source: the disc systems of eight-bit micros.
    {"micro10", "micros with names of 10 characters, where a dot divides a path", 10, 0, 0,
     "!%&'()+,-;=_", false, '.', '!', "+", 0xFFFFFF},
    {"micro7", "micros with names of 7 capitals, where a dot divides a path", 7, 0, 0, "!'()+-",
     true, '.', '!', "+", 0xFFFF},
}};

bool is_ascii_letter_or_digit(char32_t c) {
  return (c >= U'0' && c <= U'9') || (c >= U'A' && c <= U'Z') || (c >= U'a' && c <= U'z');
}

bool is_character(std::uint32_t number) {
  return number != 0 && number <= 0x10FFFF && (number < 0xD800 || number > 0xDFFF);
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

int base_36_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'Z') return c - 'A' + 10;
  if (c >= 'a' && c <= 'z') return c - 'a' + 10;
  return -1;
}

std::string in_base_36(std::uint32_t number) {
  std::string out;
  do {
    out.insert(out.begin(), "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"[number % 36]);
    number /= 36;
  } while (number != 0);
  return out;
}

bool same(std::string_view a, std::string_view b) {
  return fold(a) == fold(b);
}

}  // namespace

std::span<const NameStyle> name_styles() {
  return styles;
}

Result<const NameStyle*> find_name_style(std::string_view name) {
  std::string names;
  for (const NameStyle& style : styles) {
    if (style.name == ascii_lower(name)) return &style;
    names += fmt::format("{}{}", names.empty() ? "" : ", ", style.name);
  }
  return Error{Code::bad_input,
               fmt::format("There is no name style \"{}\". There are {}.", clip(name, 20), names)};
}

// ---- spelling ----

std::string unspelled(std::string_view typed) {
  std::string out;
  while (!typed.empty()) {
    const std::size_t end = typed.front() == '=' ? typed.find('=', 1) : std::string_view::npos;
    if (end >= 3 && end <= 7) {  // two to six digits in between; npos is more than that
      std::uint32_t number = 0;
      bool digits = true;
      for (const char c : typed.substr(1, end - 1)) {
        digits = digits && hex_digit(c) >= 0;
        number = number * 16 + static_cast<std::uint32_t>(std::max(hex_digit(c), 0));
      }
      if (digits && is_character(number)) {
        append_utf8(out, number);
        typed.remove_prefix(end + 1);
        continue;
      }
    }
    out += typed.front();
    typed.remove_prefix(1);
  }
  return out;
}

std::string spelled(std::string_view name, std::string_view plain) {
  std::string out;
  each_character(name, [&](char32_t c) {
    const bool stays =
        is_ascii_letter_or_digit(c) ||
        (c < 0x80 && c != '=' && plain.find(static_cast<char>(c)) != std::string_view::npos);
    if (stays) {
      out += static_cast<char>(c);
    } else {
      out += fmt::format("={:02X}=", static_cast<std::uint32_t>(c));
    }
  });
  return out;
}

// ---- a station's names ----

StationNames::StationNames(const NameStyle& style, Has has, bool capitals)
    : style_(&style), has_(std::move(has)), capitals_(capitals || style.capitals), numbers_(false) {
  // When every alias can be shown, nothing needs a number.
  const bool room =
      style.stem != 0 ? style.stem >= 8 && style.extension >= 3 : style.longest >= longest_alias;
  numbers_ = !room || style.dot != '.' ||
             !std::all_of(alias_symbols.begin(), alias_symbols.end(),
                          [&](char c) { return takes(static_cast<unsigned char>(c)); });
}

bool StationNames::takes(char32_t c) const {
  if (capitals_ && c >= U'a' && c <= U'z') c -= 0x20;
  const bool allowed =
      style_->symbols.empty() || is_ascii_letter_or_digit(c) ||
      (c < 0x80 && style_->symbols.find(static_cast<char>(c)) != std::string_view::npos);
  return allowed && (!has_ || has_(c));
}

std::string StationNames::cased(std::string_view name) const {
  return capitals_ ? ascii_upper(name) : std::string(name);
}

// `name` as the station takes it, if it can and if nothing else could be meant by it.
std::optional<std::string> StationNames::taken(std::string_view name) const {
  const bool swaps_dots = style_->dot != '.';
  std::string out;
  bool fits = !name.empty();
  each_character(name, [&](char32_t c) {
    if (c == U'.' && (swaps_dots || style_->stem != 0)) {
      out += style_->dot;
      return;
    }
    fits = fits && takes(c) && !(swaps_dots && c == static_cast<unsigned char>(style_->dot));
    append_utf8(out, c);
  });
  if (!fits || characters(out) > style_->longest) return std::nullopt;
  if (style_->stem != 0) {
    const std::size_t stem = std::min(out.find('.'), out.size());
    const std::size_t extension = stem == out.size() ? 0 : out.size() - stem - 1;
    if (stem == 0 || stem > style_->stem || extension > style_->extension) return std::nullopt;
    if (out.find('.', stem + 1) != std::string::npos) return std::nullopt;
  }
  if (unspelled(out) != out || number_in(out)) return std::nullopt;
  return cased(out);
}

std::optional<NodeId> StationNames::number_in(std::string_view shown) const {
  if (!numbers_) return std::nullopt;
  const auto mark = shown.rfind(style_->mark);
  if (mark == std::string_view::npos) return std::nullopt;
  const std::string_view digits = shown.substr(mark + style_->mark.size());
  if (digits.empty() || digits.size() > longest_number) return std::nullopt;
  std::uint64_t number = 0;
  for (const char c : digits) {
    if (base_36_digit(c) < 0) return std::nullopt;
    number = number * 36 + static_cast<std::uint64_t>(base_36_digit(c));
  }
  return NodeId{static_cast<std::uint32_t>(number)};
}

std::string StationNames::numbered(const Named& node) const {
  const std::string end = std::string(style_->mark) + in_base_36(number(node.id));
  const std::size_t room = (style_->stem != 0 ? style_->stem : style_->longest) - end.size();
  std::string start;
  std::size_t length = 0;
  each_character(node.name.substr(0, node.name.rfind('.')), [&](char32_t c) {
    const bool first_that_hides = start.empty() && (c == U'-' || c == U'.');
    if (length == room || !takes(c) || first_that_hides) return;
    append_utf8(start, c);
    ++length;
  });
  return cased(start) + end;
}

std::string StationNames::shown(const Named& node) const {
  if (auto name = taken(node.name)) return *name;
  if (auto alias = taken(node.alias)) return *alias;
  return numbered(node);
}

std::string StationNames::shown(std::string_view name) const {
  const auto whole = taken(name);
  return whole ? *whole : spelled(name);
}

std::string StationNames::spelled(std::string_view name) const {
  return fs::spelled(name, style_->separator == '.' ? "- " : "-. ");
}

std::string StationNames::meant(std::string_view typed, const Folder& folder) const {
  if (const auto number = number_in(typed)) {
    for (const Named& node : folder.list()) {
      if (node.id == *number && same(shown(node), typed)) return node.name;
    }
  }
  std::string dotted(typed);
  if (style_->dot != '.') std::replace(dotted.begin(), dotted.end(), style_->dot, '.');
  std::string read = unspelled(dotted);
  if (read != typed && !folder.has(read)) {
    // A name that really holds what has a meaning of its own here can still be typed as it is.
    if (std::string as_it_is(typed); folder.has(as_it_is)) return as_it_is;
  }
  return read;
}

}  // namespace stationer::fs
