#include "fs/node_name.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::string_view forbidden = "/\\:*?\"<>|";
constexpr std::string_view short_symbols = "$%'-_@~`!(){}^#&";
constexpr std::size_t stem_limit = 8;
constexpr std::size_t extension_limit = 3;

bool is_control(char32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0);
}

// Characters that change the order of what is shown, so that a name could pose as another, and
// those that show nothing (Unicode 15, 23.2 and 23.3).
bool is_deceiving(char32_t c) {
  return (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069) ||
         (c >= 0x200B && c <= 0x200F) || c == 0x2028 || c == 0x2029 || c == 0xFEFF;
}

// "Naming Files, Paths, and Namespaces", Windows documentation: reserved with any extension.
bool is_device(std::string_view name) {
  const std::string stem = ascii_upper(name.substr(0, name.find('.')));
  static constexpr std::array<std::string_view, 5> plain = {"CON", "PRN", "AUX", "NUL", "CLOCK$"};
  if (std::find(plain.begin(), plain.end(), stem) != plain.end()) return true;
  return stem.size() == 4 && (stem.starts_with("COM") || stem.starts_with("LPT")) &&
         stem[3] >= '1' && stem[3] <= '9';
}

bool is_short_character(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
         short_symbols.find(c) != std::string_view::npos;
}

Error bad(std::string message) {
  return {Code::bad_name, std::move(message)};
}

struct Basis {
  std::string stem;
  std::string extension;
  bool lossy = false;
};

// The characters of a name part as a short name can hold them, one for each of the original's.
std::string squeeze(std::string_view part, std::size_t limit, bool& lossy) {
  std::string out;
  each_character(part, [&](char32_t c) {
    if (c == ' ' || c == '.') return;
    char narrow = c < 0x80 ? static_cast<char>(c) : '_';
    if (narrow >= 'a' && narrow <= 'z') narrow = static_cast<char>(narrow - 32);
    if (!is_short_character(narrow) || c >= 0x80) {
      narrow = '_';
      lossy = true;
    }
    if (out.size() < limit) {
      out += narrow;
    } else {
      lossy = true;
    }
  });
  return out;
}

Basis basis_of(std::string_view name) {
  Basis basis;
  const auto start = name.find_first_not_of(". ");
  std::string_view rest = start == std::string_view::npos ? "" : name.substr(start);
  basis.lossy = start != 0 || name.find(' ') != std::string_view::npos;
  const auto first = rest.find('.');
  const auto last = rest.rfind('.');
  if (first != last) basis.lossy = true;
  basis.stem = squeeze(rest.substr(0, first), stem_limit, basis.lossy);
  if (last != std::string_view::npos) {
    basis.extension = squeeze(rest.substr(last + 1), extension_limit, basis.lossy);
  }
  if (basis.stem.empty()) {
    basis.stem = "_";
    basis.lossy = true;
  }
  return basis;
}

std::string joined(std::string_view stem, std::string_view extension) {
  return extension.empty() ? std::string(stem) : fmt::format("{}.{}", stem, extension);
}

}  // namespace

Status check_name(std::string_view name) {
  if (name.empty()) return bad("A name can't be empty.");
  if (name.size() > longest_name) {
    return bad(fmt::format("A name can have at most {} bytes; this one has {}.", longest_name,
                           name.size()));
  }
  if (name == "." || name == "..") {
    return bad(fmt::format("\"{}\" can't be a name: it stands for a folder.", name));
  }
  if (!is_utf8(name)) return bad("The name holds bytes that are not text (not UTF-8).");
  bool control = false;
  bool deceiving = false;
  each_character(name, [&](char32_t c) {
    control = control || is_control(c);
    deceiving = deceiving || is_deceiving(c);
  });
  if (control) return bad("The name holds a control character. Use letters, digits and - _ only.");
  if (deceiving) return bad("The name holds a character that can't be seen.");
  if (const auto at = name.find_first_of(forbidden); at != std::string_view::npos) {
    return bad(fmt::format("A name can't hold the character {}", name[at]));
  }
  if (name.front() == ' ' || name.back() == ' ') {
    return bad("A name can't start or end with a space.");
  }
  if (name.back() == '.') return bad("A name can't end with a dot.");
  if (name.front() == '-') return bad("A name can't start with a dash.");
  if (is_device(name)) {
    return bad(
        fmt::format("\"{}\" is the name of a device on DOS machines. Choose another.", name));
  }
  return {};
}

bool is_short_name(std::string_view name) {
  if (!is_ascii(name)) return false;
  const Basis basis = basis_of(name);
  return !basis.lossy && ascii_upper(name) == joined(basis.stem, basis.extension);
}

std::string short_alias(std::string_view name, const std::function<bool(std::string_view)>& taken) {
  const Basis basis = basis_of(name);
  if (!basis.lossy) {
    std::string whole = joined(basis.stem, basis.extension);
    if (!taken(whole)) return whole;
  }
  for (std::uint32_t n = 1;; ++n) {
    const std::string tail = fmt::format("~{}", n);
    std::string candidate =
        joined(basis.stem.substr(0, stem_limit - tail.size()) + tail, basis.extension);
    if (!taken(candidate)) return candidate;
  }
}

}  // namespace stationer::fs
