#include "print/escape.h"

#include <string>
#include <string_view>

using namespace stationer::print;
using namespace std::string_literals;

namespace {

// The text without its escape sequences.
std::string without(std::string_view bytes) {
  std::string out;
  EscapeSkipper skipper;
  for (const char byte : bytes) {
    const auto value = static_cast<std::uint8_t>(byte);
    if (skipper.inside() && skipper.put(value)) continue;
    if (value == 0x1B) {
      skipper.begin_escape();
    } else {
      out += byte;
    }
  }
  return out + (skipper.inside() ? "..." : "");
}

std::string of(int count) {
  return std::string(static_cast<std::size_t>(count), 'x');
}

}  // namespace

// Lengths: ESC/P Reference Manual (1997) and the manuals of 9-pin and 24-pin printers.
TEST_CASE("dot-matrix commands are skipped with their arguments") {
  for (const std::string& command :
       {"\x1B@"s,     "\x1B"s + "0"s,   "\x1B"s + "2"s,    "\x1B"s + "E"s,     "\x1B"s + "F"s,
        "\x1BM"s,     "\x1BP"s,         "\x1B"s + "4"s,    "\x1B"s + "3\x18"s, "\x1B"s + "A\x0C"s,
        "\x1B-1"s,    "\x1B-\x01"s,     "\x1B!8"s,         "\x1BR\x02"s,       "\x1Bt1"s,
        "\x1Bx1"s,    "\x1Bk2"s,        "\x1Bl\x05"s,      "\x1BQ\x50"s,       "\x1BW1"s,
        "\x1BJ\x24"s, "\x1BN\x06"s,     "\x1Bp1"s,         "\x1BS0"s,          "\x1BT"s,
        "\x1BO"s,     "\x1B$\x3C\x00"s, "\x1B\\\x3C\x00"s, "\x1B\x19"s + "1"s}) {
    CAPTURE(command);
    CHECK(without("A" + command + "B") == "AB");
  }
}

TEST_CASE("tab lists end at NUL or at a smaller value") {
  CHECK(without("A\x1B"s + "D\x08\x10\x18\x00"s + "B"s) == "AB");
  CHECK(without("A\x1B"s + "B\x05\x0A\x00"s + "B"s) == "AB");
  CHECK(without("A\x1B"s + "D\x08\x10\x05"s + "B"s) == "AB");
  CHECK(without("\x1B"s + "D" + of(100)) == of(100 - 33));
}

TEST_CASE("bit images are skipped with their data") {
  CHECK(without("A\x1BK\x05\x00"s + of(5) + "B") == "AB");
  CHECK(without("A\x1BL\x00\x01"s + of(256) + "B") == "AB");
  CHECK(without("A\x1B*\x05\x07\x00"s + of(7) + "B") == "AB");
  CHECK(without("A\x1B*\x21\x07\x00"s + of(21) + "B") == "AB");  // 24 dots: three bytes a column
  CHECK(without("A\x1B*\x47\x07\x00"s + of(42) + "B") == "AB");  // 48 dots
  CHECK(without("A\x1B^\x00\x07\x00"s + of(14) + "B") == "AB");  // 9 dots: two bytes
  CHECK(without("A\x1BK\x00\x00"s + "B") == "AB");
  CHECK(without("A\x1B(U\x01\x00\x0A"s + "B") == "AB");
  CHECK(without("A\x1B(C\x02\x00\x10\x20"s + "B") == "AB");
}

TEST_CASE("control sequences are skipped to their final byte") {
  // ECMA-48 section 5.4.
  CHECK(without("A\x1B[1;31mB") == "AB");
  CHECK(without("A\x1B[mB") == "AB");
  CHECK(without("A\x1B[?25lB") == "AB");
  CHECK(without("A\x1B[12 kB") == "AB");
  CHECK(without("A\x1B[12\nB") == "A\nB");  // broken off: the line feed stands for itself
  EscapeSkipper skipper;
  skipper.begin_control_sequence();
  CHECK(skipper.put('3'));
  CHECK(skipper.put('m'));
  CHECK_FALSE(skipper.inside());
}

TEST_CASE("laser printers' sequences are skipped with their data") {
  // From memory.
  CHECK(without("A\x1B&l0OB") == "AB");
  CHECK(without("A\x1B&l6D\x1B(s0p10h12v0s0b3TB") == "AB");
  CHECK(without("A\x1B(8UB") == "AB");
  CHECK(without("A\x1B(10UB") == "AB");
  CHECK(without("A\x1B*t300RB") == "AB");
  CHECK(without("A\x1B*b5Wxxxxx"
                "B") == "AB");
  CHECK(without("A\x1B%-12345XB") == "AB");
  CHECK(without("A\x1B"
                "EB") == "AB");
}

TEST_CASE("terminals' character set sequences don't swallow text") {
  // ECMA-35: ESC ( F. What ends bold in many a terminal's description.
  CHECK(without("A\x1B(B\x1B[mB and so on") == "AB and so on");
  CHECK(without("A\x1B(B text") == "A text");
  CHECK(without("A\x1B(0lqqk\x1B(B text") == "Alqqk text");
}

TEST_CASE("an escape at the end, twice, or before a control code does no harm") {
  CHECK(without("A\x1B") == "A...");
  CHECK(without("A\x1B\x1B\x1B"
                "EB") == "AB");
  CHECK(without("A\x1B\nB") == "A\nB");
}

TEST_CASE("no count swallows a whole job") {
  // A count that no bit image has is a letter that means something else.
  CHECK(without("\x1BKinder") == "der");
}
