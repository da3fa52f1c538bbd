// What a dot-matrix printer's codes show: four character tables of which one is in use, and the
// twelve places that a national set fills (print.md's sources: the STY manual A-20 for the numbers,
// programmer manuals of other makers for the cells).
#pragma once

#include <array>
#include <cstdint>

namespace stationer::print {

enum class DotTable : std::uint8_t {
  italic,  // 80-FF as 00-7F, slanted
  cp437,
  cp850,
  cp863,
  cp865,
  ocr_b,       // ASCII alone
  downloaded,  // 80-FF are the downloaded characters 00-7F
};

class DotSets {
 public:
  struct Character {
    char32_t character = 0;  // U+FFFD for a code that shows nothing
    bool slanted = false;
  };

  // As when switched on: `table` in use, which also is what ESC t 1 selects if it's a code page.
  DotSets(DotTable table, std::uint8_t national);

  const Character& of(std::uint8_t code) const { return table_[code]; }

  // In use are the slanted table, the one where 80-9F are control codes unless told otherwise, or
  // the one where 80-FF are the downloaded characters 00-7F.
  bool is_italic() const { return slots_[slot_] == DotTable::italic; }
  bool is_user_defined() const { return slots_[slot_] == DotTable::downloaded; }

  // False for what there is none of, which changes nothing.
  bool choose_national(std::uint8_t number);                              // ESC R
  bool select(std::uint8_t slot);                                         // ESC t
  bool assign(std::uint8_t slot, std::uint8_t table, std::uint8_t page);  // ESC ( t

 private:
  void make_table();

  std::array<DotTable, 4> slots_;
  std::uint8_t slot_;
  std::uint8_t national_;
  std::array<Character, 256> table_{};
};

// True for the numbers that ESC R knows.
bool is_national_set(std::uint8_t number);

}  // namespace stationer::print
