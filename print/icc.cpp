#include "print/icc.h"

#include <array>
#include <cstdint>
#include <string_view>

namespace stationer::print {
namespace {

void append_16(std::string& out, std::uint32_t value) {
  out += static_cast<char>(value >> 8);
  out += static_cast<char>(value & 0xFF);
}

void append_32(std::string& out, std::uint32_t value) {
  append_16(out, value >> 16);
  append_16(out, value & 0xFFFF);
}

// D50 as s15Fixed16 numbers: X 0.9642, Y 1, Z 0.8249.
void append_d50(std::string& out) {
  append_32(out, 0x0000F6D6);
  append_32(out, 0x00010000);
  append_32(out, 0x0000D32D);
}

// A textDescriptionType: ASCII, then neither a Unicode nor a script form.
std::string description(std::string_view text) {
  std::string out = "desc";
  append_32(out, 0);
  append_32(out, static_cast<std::uint32_t>(text.size() + 1));
  out.append(text).append(1, '\0');
  out.append(4 + 4 + 2 + 1 + 67, '\0');
  return out;
}

std::string plain_text(std::string_view text) {
  return std::string("text").append(4, '\0').append(text).append(1, '\0');
}

std::string white_point() {
  std::string out = std::string("XYZ ").append(4, '\0');
  append_d50(out);
  return out;
}

// A curveType of one entry is a gamma, as u8Fixed8: 2.2.
std::string tone_curve() {
  std::string out = std::string("curv").append(4, '\0');
  append_32(out, 1);
  append_16(out, 0x0233);
  return out;
}

}  // namespace

std::string gray_profile() {
  struct Tag {
    std::string_view name;
    std::string data;
  };
  const std::array<Tag, 4> tags = {{{"desc", description("Gray, gamma 2.2")},
                                    {"cprt", plain_text("No copyright, use freely")},
                                    {"wtpt", white_point()},
                                    {"kTRC", tone_curve()}}};
  constexpr std::size_t header_size = 128;
  std::string table;
  std::string data;
  append_32(table, tags.size());
  for (const Tag& tag : tags) {
    table += tag.name;
    append_32(table, static_cast<std::uint32_t>(header_size + 4 + 12 * tags.size() + data.size()));
    append_32(table, static_cast<std::uint32_t>(tag.data.size()));
    data += tag.data;
    data.append((4 - data.size() % 4) % 4, '\0');
  }

  // The header. The date is that of the specification: a profile's own would say nothing.
  std::string out;
  append_32(out, static_cast<std::uint32_t>(header_size + table.size() + data.size()));
  append_32(out, 0);
  append_32(out, 0x02100000);
  out += "mntrGRAYXYZ ";
  for (const std::uint32_t part : {1998u, 9u, 1u, 0u, 0u, 0u}) append_16(out, part);
  out += "acsp";
  out.append(28, '\0');
  append_d50(out);
  out.append(header_size - out.size(), '\0');
  return out + table + data;
}

}  // namespace stationer::print
