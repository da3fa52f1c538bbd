#include "print/sheet_styles.h"

#include <span>

#include <fmt/format.h>

#include "print/interpreters.h"

namespace stationer::print {
namespace {

// A piece with its codes, by what they are called on the sheet.
struct Sample {
  std::string_view name;
  std::string_view on;
  std::string_view off;
};

void add_samples(SheetRow& row, std::span<const Sample> samples) {
  for (const Sample& sample : samples) {
    row.pieces.push_back({" "});
    row.pieces.push_back(
        {std::string(sample.name), std::string(sample.on), std::string(sample.off)});
  }
}

// By striking twice, as every printer can. Nations replace none of these characters.
SheetRow struck_row() {
  return {{{"Struck twice: "},
           {"bold", "", "", "bold"},
           {", "},
           {"underlined", "", "", "__________"},
           {", accents "},
           {"eoc", "", "", "'\","},
           {", not equal "},
           {"=", "", "", "/"}}};
}

std::vector<SheetRow> ecma48_rows(const Settings& settings) {
  constexpr Sample looks[] = {
      {"bold", "\x1B[1m", "\x1B[22m"},      {"italic", "\x1B[3m", "\x1B[23m"},
      {"both", "\x1B[1;3m", "\x1B[m"},      {"underlined", "\x1B[4m", "\x1B[24m"},
      {"twice", "\x1B[21m", "\x1B[24m"},    {"crossed out", "\x1B[9m", "\x1B[29m"},
      {"overlined", "\x1B[53m", "\x1B[55m"}};
  constexpr Sample inks[] = {
      {"red", "\x1B[31m", "\x1B[39m"},     {"green", "\x1B[32m", "\x1B[39m"},
      {"yellow", "\x1B[33m", "\x1B[39m"},  {"violet", "\x1B[34m", "\x1B[39m"},
      {"magenta", "\x1B[35m", "\x1B[39m"}, {"cyan", "\x1B[36m", "\x1B[39m"}};
  constexpr Sample parts[] = {{"below", "\x1BK", "\x1BL"}, {"above", "\x1BL", "\x1BK"}};
  constexpr Sample sizes[] = {{"wide", "\x1B[100;200 B", "\x1B[ B"},
                              {"low", "\x1B[50 B", "\x1B[ B"}};
  // The usual pitch again, in 1/720 inch.
  const std::string usual = fmt::format("\x1B[2 I\x1B[{} g", settings.form.pitch / 3);
  const Sample pitches[] = {{"12 to the inch", "\x1B[1 K", usual},
                            {"15 to the inch", "\x1B[2 K", usual}};

  std::vector<SheetRow> rows(5);
  rows[0].pieces = {{"SGR:"}};
  add_samples(rows[0], looks);
  rows[1].pieces = {{"SGR:"}};
  add_samples(rows[1], inks);
  rows[2].pieces = {{"PLD and PLU:"}};
  add_samples(rows[2], parts);
  rows[2].pieces.push_back({", REP: -", "", "\x1B[9b"});
  rows[2].odd_width = true;
  rows[3].pieces = {{"GSM, SHS and SCS:"}};
  add_samples(rows[3], sizes);
  add_samples(rows[3], pitches);
  rows[3].odd_width = true;
  rows[4].pieces = {{"QUAD", "", "\x1B[ H"},
                    {"in the middle", "", "\x1B[2 H"},
                    {"to the right ", "", "\x1B[4 H"}};
  rows[4].odd_width = true;
  return rows;
}

bool is_dots(const Settings& settings) {
  return settings.language == Language::nine_pin || settings.language == Language::twenty_four;
}

// The codes for the form's pitch.
std::string usual_pitch(Units pitch) {
  switch (pitch) {
    case inches(1, 12): return "\x1BM";
    case inches(1, 15): return "\x1Bg";
    case inches(7, 120): return "\x1BP\x0F";
    case inches(1, 20): return "\x1BM\x0F";
    default: return "\x1BP";
  }
}

// A frame with its diagonals, of columns of eight dots, in one density of ESC *.
std::string frame(char mode) {
  constexpr char columns = 24;
  constexpr int bytes_from = 32;  // modes from here on have three bytes to a column
  const int bytes = mode < bytes_from ? 1 : 3;
  std::string out = {'\x1B', '*', mode, columns, '\0'};
  for (int column = 0; column < columns; ++column) {
    const bool edge = column == 0 || column == columns - 1;
    const unsigned rows = static_cast<unsigned>(8 * bytes);
    const unsigned down = static_cast<unsigned>(column) * rows / columns;
    const unsigned all = (1u << rows) - 1;
    const unsigned dots = edge ? all : 1u | 1u << (rows - 1) | 1u << down | 1u << (rows - 1 - down);
    for (int byte = bytes - 1; byte >= 0; --byte) out += static_cast<char>(dots >> 8 * byte & 0xFF);
  }
  return out;
}

SheetRow image_row(const Settings& settings) {
  constexpr std::string_view nine("\x00\x01\x02\x03\x04\x05\x06\x07", 8);
  constexpr std::string_view twenty_four("\x00\x01\x02\x03\x04\x06\x20\x21\x26\x27\x28", 11);
  SheetRow row{{{"Images, ESC *:"}}, true};
  for (const char mode : settings.language == Language::nine_pin ? nine : twenty_four) {
    row.pieces.push_back({fmt::format(" {} ", int{mode}), "", frame(mode)});
  }
  return row;
}

// The twelve places of each of ESC R's sets.
std::vector<SheetRow> national_rows(int usual) {
  constexpr std::size_t a_row = 4;
  std::vector<SheetRow> rows;
  for (const int nation : {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 64}) {
    if (rows.empty() || rows.back().pieces.size() > 2 * a_row) rows.push_back({{{"ESC R:"}}});
    rows.back().pieces.push_back({fmt::format(" {:>2} ", nation)});
    rows.back().pieces.push_back({"#$@[\\]^`{|}~", {'\x1B', 'R', static_cast<char>(nation)}});
  }
  rows.back().pieces.back().after = {'\x1B', 'R', static_cast<char>(usual)};
  return rows;
}

std::vector<SheetRow> dot_rows(const Settings& settings) {
  constexpr Sample looks[] = {
      {"bold", "\x1B\x45", "\x1B\x46"},                                        // E and F
      {"twice", "\x1BG", "\x1BH"},        {"italic", "\x1B\x34", "\x1B\x35"},  // 4 and 5
      {"underlined", "\x1B-1", "\x1B-0"}, {"above", "\x1BS0", "\x1BT"},
      {"below", "\x1BS1", "\x1BT"}};
  const std::string usual = usual_pitch(settings.form.pitch);
  const std::string off = "\x12" + usual;
  const Sample widths[] = {{"double", "\x1BW1", "\x1BW0"},
                           {"10 to the inch", "\x12\x1BP", off},
                           {"12", "\x12\x1BM", off},
                           {"condensed", "\x1BP\x0F", off}};
  std::vector<SheetRow> rows(2);
  rows[0].pieces = {{"ESC E, G, 4, -, S:"}};
  add_samples(rows[0], looks);
  rows[1] = {{{"ESC W, P, M, SI:"}}, true};
  add_samples(rows[1], widths);
  rows.push_back(image_row(settings));
  for (SheetRow& row : national_rows(dot_rules(settings).national)) rows.push_back(std::move(row));
  return rows;
}

}  // namespace

std::vector<SheetRow> style_rows(const Settings& settings) {
  std::vector<SheetRow> rows = {struck_row()};
  if (settings.language == Language::ecma48) {
    for (SheetRow& row : ecma48_rows(settings)) rows.push_back(std::move(row));
  }
  if (is_dots(settings)) {
    for (SheetRow& row : dot_rows(settings)) rows.push_back(std::move(row));
  }
  return rows;
}

std::string start_codes(const Settings& settings) {
  if (settings.language == Language::ecma48) return "\x1B\x63";  // RIS
  if (!is_dots(settings)) return {};
  return "\x1B@" + usual_pitch(settings.form.pitch);
}

std::string codes_to_column(const Settings& settings, int column) {
  if (settings.language == Language::ecma48) return fmt::format("\x1B[{}`", column + 1);
  if (!is_dots(settings)) return {};
  // ESC $, in 1/60 inch.
  const Units sixtieths = column * settings.form.pitch / inches(1, 60);
  return {'\x1B', '$', static_cast<char>(sixtieths % 256), static_cast<char>(sixtieths / 256)};
}

}  // namespace stationer::print
