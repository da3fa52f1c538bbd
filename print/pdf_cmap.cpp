#include "print/pdf_cmap.h"

#include <algorithm>

#include <fmt/format.h>

#include "print/pdf_file.h"

namespace stationer::print {
namespace {

constexpr std::string_view byte_codes = "1 begincodespacerange\n<00> <FF>\n";
constexpr std::string_view mixed_codes = "2 begincodespacerange\n<00> <7F>\n<8000> <FFFF>\n";

std::string code_text(unsigned code) {
  return code < 0x100 ? fmt::format("<{:02X}>", code) : fmt::format("<{:04X}>", code);
}

// `kind` is the operator between the lines, such as "bfchar". A block has at most a hundred lines.
std::string cmap(std::string_view name, std::string_view ordering, int type, std::string_view codes,
                 std::string_view kind, const std::vector<std::string>& lines) {
  std::string out = fmt::format(
      "/CIDInit /ProcSet findresource begin\n"
      "12 dict begin\n"
      "begincmap\n"
      "/CIDSystemInfo 3 dict dup begin\n"
      "/Registry (Adobe) def /Ordering ({}) def /Supplement 0 def\n"
      "end def\n"
      "/CMapName /{} def\n"
      "/CMapType {} def\n"
      "/WMode 0 def\n"
      "{}endcodespacerange\n",
      ordering, name, type, codes);
  constexpr std::size_t most_in_a_block = 100;
  for (std::size_t at = 0; at < lines.size();) {
    const std::size_t count = std::min(lines.size() - at, most_in_a_block);
    out += fmt::format("{} begin{}\n", count, kind);
    for (const std::size_t end = at + count; at < end; ++at) out += lines[at] + "\n";
    out += fmt::format("end{}\n", kind);
  }
  return out + "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n";
}

}  // namespace

std::string cid_cmap(std::string_view name, const std::vector<std::uint16_t>& codes) {
  // A range may only run over a code's last byte.
  std::vector<std::string> lines = {"<00> <7F> 0"};
  unsigned row = 0;
  for (const std::uint16_t code : codes) {
    if ((code & 0xFF00u) == row) continue;
    row = code & 0xFF00u;
    lines.push_back(fmt::format("{} {} {}", code_text(row), code_text(row | 0xFF), row));
  }
  return cmap(name, "Identity", 1, mixed_codes, "cidrange", lines);
}

namespace {

std::string to_unicode(const std::vector<std::pair<std::uint16_t, char32_t>>& characters,
                       std::string_view codes) {
  // One line each, though ranges would be shorter: Ghostscript 10 misreads a range's values above
  // FF.
  std::vector<std::string> lines;
  for (const auto& [code, character] : characters) {
    lines.push_back(code_text(code) + " <");
    append_utf_16(lines.back(), character);
    lines.back() += '>';
  }
  return cmap("Stationer-UCS", "UCS", 2, codes, "bfchar", lines);
}

}  // namespace

std::string unicode_cmap(const std::vector<std::pair<std::uint16_t, char32_t>>& characters) {
  return to_unicode(characters, mixed_codes);
}

std::string unicode_cmap_of_bytes(
    const std::vector<std::pair<std::uint16_t, char32_t>>& characters) {
  return to_unicode(characters, byte_codes);
}

}  // namespace stationer::print
