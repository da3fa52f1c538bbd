#include "print/ecma48_parser.h"

#include <string>
#include <vector>

#include <fmt/format.h>

using namespace stationer::print;
using namespace std::string_literals;

namespace {

std::string show(const Ecma48Parser& parser) {
  using enum ControlFunction::Kind;
  const ControlFunction& function = parser.function();
  const std::string length = fmt::format("/{}{}", function.length, function.standard ? "" : "!");
  const std::string middle =
      function.intermediate == 0 ? "" : std::string(1, static_cast<char>(function.intermediate));
  switch (function.kind) {
    case code: return fmt::format("{:02X}{}", function.final, length);
    case escape: return fmt::format("esc{}{:c}{}", middle, function.final, length);
    case string: return fmt::format("string{:02X}{}", function.final, length);
    case broken: return fmt::format("broken{:02X}{}", function.final, length);
    case sequence: break;
  }
  std::string out = "csi";
  for (std::size_t i = 0; i < parser.parameters(); ++i) {
    if (i > 0) out += ';';
    const std::uint32_t value = parser.parameter(i, 7777);
    if (value == Ecma48Parser::largest) {
      out += '*';
    } else if (value != 7777) {
      out += fmt::format("{}", value);
    }
  }
  return out + fmt::format("{}{:c}{}", middle, function.final, length);
}

// What the bytes are: functions by show(), what is to be printed as it is.
std::string parse(std::string_view bytes, bool eight_bits = true) {
  Ecma48Parser parser(eight_bits);
  std::string out;
  bool text = false;
  const auto add = [&](const std::string& item) {
    out += out.empty() || (text && item.size() == 1) ? item : " " + item;
    text = item.size() == 1;
  };
  for (const char each : bytes) {
    const auto byte = static_cast<std::uint8_t>(each);
    auto step = Ecma48Parser::Step::refused;
    while (step == Ecma48Parser::Step::refused) {
      if (!parser.takes(byte)) {
        add(std::string(1, each));
        break;
      }
      step = parser.put(byte);
      if (step != Ecma48Parser::Step::more) add(show(parser));
    }
  }
  if (parser.finish()) add(show(parser));
  return out;
}

}  // namespace

TEST_CASE("a sequence has parameters, intermediate bytes and a final byte") {
  // ECMA-48 5.4.
  CHECK(parse("a\x1B[mb") == "a csim/3 b");
  CHECK(parse("\x1B[1;2f") == "csi1;2f/6");
  CHECK(parse("\x1B[120;72 G") == "csi120;72 G/10");
  CHECK(parse("\x9B" "4m") == "csi4m/3");
  CHECK(parse("\x1B[4mA\x1B[0mB") == "csi4m/4 A csi0m/4 B");
  // B.1 and B.2: leading zeros, and parameters that are empty.
  CHECK(parse("\x1B[0001C") == "csi1C/7");
  CHECK(parse("\x1B[;5f") == "csi;5f/5");
  CHECK(parse("\x1B[1;;4m") == "csi1;;4m/7");
  CHECK(parse("\x1B[5;m") == "csi5;m/5");
}

TEST_CASE("parts of a parameter, private and malformed sequences are told apart") {
  CHECK(parse("\x1B[38:2:1;4m") == "csi*;4m/11");
  CHECK(parse("\x1B[?25h") == "csi25h/6!");
  CHECK(parse("\x1B[1?h") == "csi1h/5!");
  CHECK(parse("\x1B[1 2G") == "csi1 G/6!");
  CHECK(parse("\x1B[1 !G") == "csi1!G/6!");
  CHECK(parse("\x1B[1p") == "csi1p/4");
  CHECK(parse("\x1B[" + std::string(40, ';') + "m").ends_with("m/43!"));
  CHECK(parse("\x1B[99999999999999999999m") == "csi*m/23");
  CHECK(parse("\x1B[" + std::string(5000, '1') + "mx").ends_with("m/5003! x"));
}

TEST_CASE("ESC and a letter is the code of eight bits; another ends with small letters") {
  CHECK(parse("\x1B" "E\x85") == "85/2 85/1");
  CHECK(parse("\x1B" "c") == "escc/2");
  CHECK(parse("\x1B(B") == "esc(B/3");
  CHECK(parse("\x1B$(Bx") == "esc(B/4! x");
  CHECK(parse("\x1B" "7x") == "esc7/2 x");
  CHECK(parse("\r\n\x7F") == "0D/1 0A/1 7F/1");
}

TEST_CASE("bytes 80-9F are no codes where the character set has letters there") {
  CHECK(parse("\x85\x9B" "4m", false) == "\x85\x9B" "4m");
  CHECK(parse("\x1B" "E\x1B[4m", false) == "85/2 csi4m/4");
}

TEST_CASE("strings are passed over to their end") {
  // ECMA-48 5.6.
  CHECK(parse("a\x1BP1;2qxyz\x1B\\b") == "a string90/11 b");
  CHECK(parse("\x1B]0;title\x07" "b") == "string9D/10 b");
  CHECK(parse("\x9F" "abc\x9C" "b") == "string9F/5 b");
  CHECK(parse("\x1BX\x01\x18\x1B[m\xFF\x1B\\b") == "string98/10 b");
  CHECK(parse("\x1B^a\r\nb\x1B\\") == "string9E/8");
  CHECK(parse("\x1BPabc\x18x") == "broken90/6 x");
  CHECK(parse("\x1BPabc\x01x") == "broken90/5 01/1 x");
  CHECK(parse("\x1BPabc\x1B[mx") == "broken90/6 csim/3 x");
  CHECK(parse("\x1BPabc") == "broken90/5");
  CHECK(parse("\x1B_\xC3\xA9\x1B\\x", false) == "string9F/6 x");
}

TEST_CASE("what comes in the midst of a sequence is obeyed, or ends it") {
  // Common practice, no source.
  CHECK(parse("\x1B[4\nm") == "0A/1 csi4m/5");
  CHECK(parse("\x1B\rE") == "0D/1 85/3");
  CHECK(parse("\x1B[4\x18m") == "broken9B/4 m");
  CHECK(parse("\x1B[4\x1A" "m") == "broken9B/4 m");
  CHECK(parse("\x1B\x18m") == "broken1B/2 m");
  CHECK(parse("\x1B[4\x1B[5m") == "broken9B/3 csi5m/4");
  CHECK(parse("\x1B\x1B[5m") == "broken1B/1 csi5m/4");
  CHECK(parse("\x1B[4\x9B" "5m") == "broken9B/3 csi5m/3");
  CHECK(parse("\x1B[4\xC4m") == "broken9B/3 \xC4m");
  CHECK(parse("x\x1B") == "x broken1B/1");
  CHECK(parse("\x1B[1;") == "broken9B/4");
}
