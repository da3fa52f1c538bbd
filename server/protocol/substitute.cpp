#include "server/protocol/substitute.h"

#include <algorithm>
#include <array>
#include <string_view>

namespace stationer::server {
namespace {

struct Range {
  char32_t first;
  char32_t last;
};

bool in(char32_t c, std::initializer_list<Range> ranges) {
  return std::any_of(ranges.begin(), ranges.end(),
                     [c](Range range) { return c >= range.first && c <= range.last; });
}

// U+00A0 on; a blank cell has no substitute of one cell, but for the first, which is a space.
constexpr std::string_view latin_1 =
    " !cL$Y|S\"Ca<--R-o+23'uP.,1o>   ?"
    "AAAAAAACEEEEIIIIDNOOOOOxOUUUUYTs"
    "aaaaaaaceeeeiiiidnooooo/ouuuuyty";
// U+0100 on.
constexpr std::string_view latin_extended_a =
    "AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHh"
    "IiIiIiIiIiIiJjKkkLlLlLlLlLlNnNnNnnNn"
    "OoOoOoOoRrRrRrSsSsSsSsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs";
static_assert(latin_1.size() == 96 && latin_extended_a.size() == 128);

constexpr std::array<std::pair<char32_t, char>, 10> national = {{{U'#', 'N'},
                                                                 {U'$', 'S'},
                                                                 {U'@', 'a'},
                                                                 {U'[', '('},
                                                                 {U'\\', '/'},
                                                                 {U']', ')'},
                                                                 {U'`', '\''},
                                                                 {U'{', '('},
                                                                 {U'|', '!'},
                                                                 {U'}', ')'}}};

constexpr std::array<std::pair<char32_t, char>, 36> single = {
    {{U'^', '\''}, {U'~', '-'}, {U'ƒ', 'f'}, {U'ˆ', '^'}, {U'˜', '~'},  {U'‗', '_'},
     {U'†', '+'},  {U'•', '*'}, {U'…', '.'}, {U'‰', '%'}, {U'′', '\''}, {U'″', '"'},
     {U'‹', '<'},  {U'›', '>'}, {U'‼', '!'}, {U'‾', '-'}, {U'⁄', '/'},  {U'ⁿ', 'n'},
     {U'₧', 'P'},  {U'€', 'E'}, {U'™', 'T'}, {U'←', '<'}, {U'↑', '^'},  {U'→', '>'},
     {U'↓', 'v'},  {U'−', '-'}, {U'∕', '/'}, {U'∙', '.'}, {U'≈', '~'},  {U'≠', '#'},
     {U'≡', '='},  {U'≤', '<'}, {U'≥', '>'}, {U'■', '#'}, {U'○', 'o'},  {U'●', '*'}}};

char box_drawing(char32_t c) {
  // Solid, broken, double and half lines, by the chart of U+2500.
  if (in(c, {{0x2500, 0x2501},
             {0x2504, 0x2505},
             {0x2508, 0x2509},
             {0x254C, 0x254D},
             {0x2550, 0x2550},
             {0x2574, 0x2574},
             {0x2576, 0x2576},
             {0x2578, 0x2578},
             {0x257A, 0x257A},
             {0x257C, 0x257C},
             {0x257E, 0x257E}})) {
    return '-';
  }
  if (in(c, {{0x2502, 0x2503},
             {0x2506, 0x2507},
             {0x250A, 0x250B},
             {0x254E, 0x254F},
             {0x2551, 0x2551},
             {0x2575, 0x2575},
             {0x2577, 0x2577},
             {0x2579, 0x2579},
             {0x257B, 0x257B},
             {0x257D, 0x257D},
             {0x257F, 0x257F}})) {
    return '|';
  }
  if (c == 0x2571) return '/';
  if (c == 0x2572) return '\\';
  if (c == 0x2573) return 'X';
  return '+';
}

template <class Table>
char find(const Table& table, char32_t c) {
  const auto at =
      std::find_if(table.begin(), table.end(), [c](const auto& entry) { return entry.first == c; });
  return at == table.end() ? '\0' : at->second;
}

char ascii_for(char32_t c) {
  if (const char found = find(national, c)) return found;
  if (const char found = find(single, c)) return found;
  if (c == 0xA0 || in(c, {{0x2000, 0x200A}, {0x202F, 0x202F}, {0x3000, 0x3000}})) return ' ';
  if (c > 0xA0 && c < 0x180) {
    const char found = c < 0x100 ? latin_1[c - 0xA0] : latin_extended_a[c - 0x100];
    return found == ' ' ? '\0' : found;
  }
  if (in(c, {{0x2010, 0x2015}})) return '-';
  if (in(c, {{0x2018, 0x201B}})) return '\'';
  if (in(c, {{0x201C, 0x201F}})) return '"';
  if (in(c, {{0x2500, 0x257F}})) return box_drawing(c);
  if (in(c, {{0x2580, 0x259F}})) return '#';
  return '\0';
}

}  // namespace

char32_t substitute(char32_t c) {
  return static_cast<unsigned char>(ascii_for(c));
}

char32_t capital(char32_t c) {
  if (c >= U'a' && c <= U'z') return c - 0x20;
  if (c >= 0xE0 && c <= 0xFE && c != 0xF7) return c - 0x20;
  return c;
}

bool steers_layout(char32_t c) {
  return in(c, {{0x00AD, 0x00AD},
                {0x200B, 0x200F},
                {0x2028, 0x202E},
                {0x2060, 0x206F},
                {0xFEFF, 0xFEFF},
                {0xFFF9, 0xFFFB},
                {0xE0000, 0xE0FFF}});
}

int cells(char32_t c) {
  if (c < 0x300) return steers_layout(c) ? 0 : 1;
  if (steers_layout(c) || in(c, {{0x0300, 0x036F},
                                 {0x0483, 0x0489},
                                 {0x1AB0, 0x1AFF},
                                 {0x1DC0, 0x1DFF},
                                 {0x20D0, 0x20FF},
                                 {0x3099, 0x309A},
                                 {0xFE00, 0xFE0F},
                                 {0xFE20, 0xFE2F}})) {
    return 0;
  }
  return in(c, {{0x1100, 0x115F},
                {0x2E80, 0x303E},
                {0x3041, 0x3247},
                {0x3250, 0x4DBF},
                {0x4E00, 0xA4CF},
                {0xA960, 0xA97C},
                {0xAC00, 0xD7A3},
                {0xF900, 0xFAFF},
                {0xFE30, 0xFE6F},
                {0xFF01, 0xFF60},
                {0xFFE0, 0xFFE6},
                {0x1F300, 0x1F64F},
                {0x1F680, 0x1F6FF},
                {0x1F900, 0x1F9FF},
                {0x20000, 0x3FFFD}})
             ? 2
             : 1;
}

}  // namespace stationer::server
