#include "server/bootstrap/listing.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

// Of use when reading it: N is the number of the line wanted, L$ the line, M how many bytes it has
// with its check, B the bytes, C the check, A where the next byte goes.
constexpr auto listing = std::to_array<BasicLine>({
    {10, "DIM B(20)", true},
    {20, "A=16384", true},
    {30, "REM OPEN THE LINE", true},
    {40, "N=1"},
    {50, "PRINT \"WANT\";N", true},
    {60, "INPUT L$", true},
    {70, "IF MID$(L$,1,1)=\"Z\" THEN 290", true},
    {80, "M=INT(LEN(L$)/2)"},
    {90, "IF M<3 THEN 50"},
    {100, "IF M>18 THEN 50"},
    {110, "C=N"},
    {120, "FOR I=1 TO M"},
    {130, "D=ASC(MID$(L$,I*2-1,1))-48", true},
    {140, "IF D>9 THEN D=D-7"},
    {150, "E=ASC(MID$(L$,I*2,1))-48", true},
    {160, "IF E>9 THEN E=E-7"},
    {170, "B(I)=D*16+E"},
    {180, "IF I>M-2 THEN 210"},
    {190, "C=C*3+B(I)"},
    {200, "C=C-INT(C/9973)*9973"},
    {210, "NEXT I"},
    {220, "IF B(M-1)*256+B(M)<>C THEN 50"},
    {230, "FOR I=1 TO M-2"},
    {240, "POKE A,B(I)", true},
    {250, "A=A+1"},
    {260, "NEXT I"},
    {270, "N=N+1"},
    {280, "GOTO 50"},
    {290, "PRINT \"GOT\";N-1", true},
    {300, "END", true},
});

constexpr std::string_view advice =
    "Lines with a * differ from machine to machine. Its manual knows.\n"
    "10: some BASICs want to hear here how long L$ gets: DIM B(20),L$(40).\n"
    "20: A is where the first byte goes in memory. Choose a place that nothing else uses.\n"
    "30: opens the line, where that is needed: often something like OPEN 1 with the line's name, "
    "its speed, 8 bits, no parity.\n"
    "50 and 290: PRINT to the line, often as PRINT #1, and so on. Where PRINT and INPUT themselves "
    "go over the line, they stay.\n"
    "60: INPUT from the line, often INPUT #1, and so on. Where only single characters can be had, "
    "add them to L$ until the one with code 13 comes.\n"
    "70, 130 and 150: MID$(L$,K,1) is the letter at place K, and ASC its code. Some BASICs write "
    "L$(K,K) or L$(K TO K), and CODE.\n"
    "240: on a machine with files, open one in line 30 and write to it instead: PRINT "
    "#2,CHR$(B(I)); and close it in line 300.\n"
    "300: what starts the program that has come, or END.\n";

template <class Use>
void each_that_counts(std::string_view typed, Use use) {
  for (const char c : typed) {
    if (c == ' ' || c == '\t') continue;
    use(c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c);
  }
}

std::string what_counts(std::string_view typed) {
  std::string out;
  each_that_counts(typed, [&](char c) { out += c; });
  return out;
}

}  // namespace

std::span<const BasicLine> basic_listing() {
  return listing;
}

const BasicLine* find_basic_line(int number) {
  const auto found = std::find_if(listing.begin(), listing.end(),
                                  [&](const BasicLine& line) { return line.number == number; });
  return found == listing.end() ? nullptr : &*found;
}

std::string typed_line(const BasicLine& line) {
  return fmt::format("{} {}", line.number, line.text);
}

std::string_view basic_advice() {
  return advice;
}

std::uint8_t check_of_line(std::string_view typed) {
  unsigned check = 0;
  each_that_counts(typed, [&](char c) { check = check * 3 + static_cast<unsigned char>(c); });
  return static_cast<std::uint8_t>(check);
}

bool same_line(std::string_view one, std::string_view other) {
  return what_counts(one) == what_counts(other);
}

}  // namespace stationer::server
