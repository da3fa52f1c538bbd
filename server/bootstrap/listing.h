// A program of a few lines of BASIC, for machines that have nothing else, to be typed in. It takes
// a file line by line from line_by_line.h. Pure.
//
// It keeps to what nearly every BASIC with line numbers has: DIM of one dimension, INPUT and PRINT,
// IF with a line number or one assignment behind THEN, FOR, MID$, ASC, LEN, INT and POKE (common
// practice, no source). No number in it is greater than 32,767, so those that know only whole
// numbers can run it.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace stationer::server {

struct BasicLine {
  int number;
  std::string_view text;  // without the number
  bool differs = false;   // from machine to machine
};

std::span<const BasicLine> basic_listing();
// The line of that number, or null.
const BasicLine* find_basic_line(int number);

// "120 FOR I=1 TO M".
std::string typed_line(const BasicLine& line);

// What the lines that differ are to do, in sentences; a line each.
std::string_view basic_advice();

// A number for a typed line, which a slip of one character or two swapped ones changes: from 0, for
// each character times 3 plus its code, in 8 bits. Spaces do not count, small letters are capitals.
std::uint8_t check_of_line(std::string_view typed);

// Whether two typed lines are the same to a BASIC.
bool same_line(std::string_view one, std::string_view other);

}  // namespace stationer::server
