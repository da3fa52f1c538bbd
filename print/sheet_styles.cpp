#include "print/sheet_styles.h"

#include <span>

#include <fmt/format.h>

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

}  // namespace

std::vector<SheetRow> style_rows(const Settings& settings) {
  std::vector<SheetRow> rows = {struck_row()};
  if (settings.language == Language::ecma48) {
    for (SheetRow& row : ecma48_rows(settings)) rows.push_back(std::move(row));
  }
  return rows;
}

std::string codes_to_column(const Settings& settings, int column) {
  return settings.language == Language::ecma48 ? fmt::format("\x1B[{}`", column + 1) : "";
}

}  // namespace stationer::print
