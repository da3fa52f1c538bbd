#include "print/dot_codes.h"

#include <string>
#include <vector>

using namespace stationer::print;
using namespace std::string_literals;

namespace {

using What = DotCodes::What;

// What a job is cut into: its characters; its commands as code and arguments; its data, unpacked.
struct Cut {
  std::string characters;
  std::vector<std::string> commands;
  std::string data;
  unsigned unknown = 0;
  bool operator==(const Cut&) const = default;
};

std::string shown(const DotCommand& command) {
  std::string out = command.code >= 0x200 ? "ESC ( " : command.code >= 0x100 ? "ESC " : "";
  out += static_cast<char>(command.code & 0xFF);
  for (const std::uint8_t argument : command.arguments) out += " " + std::to_string(argument);
  return out;
}

Cut cut(std::string_view job, Pins pins) {
  DotCodes codes(pins);
  Cut out;
  for (const char byte : job) {
    do {
      switch (codes.put(static_cast<std::uint8_t>(byte))) {
        case What::nothing: break;
        case What::character: out.characters += static_cast<char>(codes.byte()); break;
        case What::command: out.commands.push_back(shown(codes.command())); break;
        case What::data: out.data.append(codes.repeat(), static_cast<char>(codes.byte())); break;
        case What::unknown: ++out.unknown; break;
      }
    } while (!codes.taken());
  }
  return out;
}

// Bytes that would be a command, or characters, if they were not the command's.
std::string traps(std::size_t size) {
  std::string out;
  while (out.size() < size) out += "\x1B\x40Q\x0C";
  return out.substr(0, size);
}

struct Sent {
  std::string bytes;  // a command, whole
  bool nine = true;   // the printers that have it
  bool twenty_four = true;
};

// Each command of the reference with as many bytes as it says (print.md sections 2b to 2d).
std::vector<Sent> all_commands() {
  std::vector<Sent> all;
  const auto add = [&all](std::string_view letters, std::size_t arguments, bool nine = true,
                          bool twenty_four = true) {
    for (const char letter : letters) {
      all.push_back({"\x1B"s + letter + traps(arguments), nine, twenty_four});
    }
  };
  add("#024567<89=>@EFGHMOPTg\x0E\x0F", 0);
  add("1", 0, true, false);
  add(" !-/3AJNQRSUWaijklpqrstwx\x19", 1);
  add("I", 1, true, false);
  add("+", 1, false, true);
  add("$?\\ef", 2);
  add("c", 2, false, true);
  add(":", 3);
  add("X", 3, false, true);
  for (const char* lists : {"D", "B"}) {
    all.push_back({"\x1B"s + lists + "\x05\x0A\x0D\x1B\x40\0"s});
    all.push_back({"\x1B"s + lists + "\x05\x40\x3F"});
    all.push_back({"\x1B"s + lists + "\0"s});
  }
  all.push_back({"\x1B\x62\x01\x05\x0A\0"s});
  all.push_back({"\x1B\x43\x42"s});
  all.push_back({"\x1B\x43\0\x0B"s});
  all.push_back({"\x1B%\0"s});
  all.push_back({"\x1B%5Q"s});
  all.push_back({"\x1Bm\x04"s, true, false});
  for (const char letter : "KLYZ"s) {
    all.push_back({"\x1B"s + letter + "\0\0"s});
    all.push_back({"\x1B"s + letter + "\x07\0"s + traps(7)});
    all.push_back({"\x1B"s + letter + "\x01\x02"s + traps(513)});
  }
  for (const char mode : "\0\1\2\3\4\6"s) {
    all.push_back({"\x1B*"s + mode + "\x05\0"s + traps(5)});
  }
  for (const char mode : "\5\7"s) {
    all.push_back({"\x1B*"s + mode + "\x05\0"s + traps(5), true, false});
  }
  for (const char mode : "\x20\x21\x26\x27\x28"s) {
    all.push_back({"\x1B*"s + mode + "\x05\0"s + traps(15), false, true});
  }
  for (const char mode : "\x40\x41\x46\x47\x48\x49"s) {
    all.push_back({"\x1B*"s + mode + "\x05\0"s + traps(30), false, true});
  }
  all.push_back({"\x1B*\x22\x05\0"s + traps(5), false, false});  // a mode that is none
  all.push_back({"\x1B^\1\x05\0"s + traps(10), true, false});
  for (const char letter : "-CGUVct"s) {
    all.push_back({"\x1B("s + letter + "\x06\0"s + traps(6), false, true});
  }
  all.push_back({"\x1B(z\x03\x01"s + traps(259), false, false});
  all.push_back({"\x1B.\0\x14\x14\x08\x09\0"s + traps(16), false, true});
  // 8 rows of 9 dots are 16 bytes: 11 alike, 4 as they are, 1 alike of 2.
  all.push_back({"\x1B.\1\x14\x14\x08\x09\0\xF6\x1B\x03"s + traps(4) + "\xFFQ", false, true});
  return all;
}

}  // namespace

TEST_CASE("every command takes exactly its bytes, on printers that have it and others") {
  for (const Pins pins : {Pins::nine, Pins::twenty_four}) {
    for (const Sent& sent : all_commands()) {
      const bool known = pins == Pins::nine ? sent.nine : sent.twenty_four;
      CAPTURE(sent.bytes, pins == Pins::nine);
      const Cut found = cut(sent.bytes + "Z", pins);
      // Nothing of it prints, and what follows does. (ESC > has set its eighth bit.)
      REQUIRE(found.characters.size() == 1);
      CHECK((found.characters.front() & 0x7F) == 'Z');
      CHECK(found.unknown == (known ? 0 : 1));
      CHECK(found.commands.size() == (known ? 1 : 0));
    }
  }
}

TEST_CASE("all commands after each other come out as each alone, wherever the job is cut") {
  // Without those that change how long others are.
  for (const Pins pins : {Pins::nine, Pins::twenty_four}) {
    std::string job;
    Cut alone;
    for (const Sent& sent : all_commands()) {
      if ("?=>xS@"s.find(sent.bytes[1]) != std::string::npos) continue;
      job += sent.bytes + "Z";
      const Cut one = cut(sent.bytes + "Z", pins);
      alone.characters += one.characters;
      alone.commands.insert(alone.commands.end(), one.commands.begin(), one.commands.end());
      alone.data += one.data;
      alone.unknown += one.unknown;
    }
    CHECK(cut(job, pins) == alone);
  }
}

TEST_CASE("ESC K L Y Z are ESC * with the densities that ESC ? gives them") {
  // ESC/P Reference Manual C-181, C-185, C-189
  CHECK(cut("\x1BK\1\0a\x1BL\1\0b\x1BY\1\0c\x1BZ\1\0d"s, Pins::nine) ==
        Cut{"", {"ESC * 0 1 0", "ESC * 1 1 0", "ESC * 2 1 0", "ESC * 3 1 0"}, "abcd"});
  // With 24 pins a density may have columns of three bytes.
  CHECK(cut("\x1B?K\x27\x1BK\2\0aaabbbZ"s, Pins::twenty_four) ==
        Cut{"Z", {"ESC ? 75 39", "ESC * 39 2 0"}, "aaabbb"});
}

TEST_CASE("packed rows end when all of them are out, in the middle of a count if need be") {
  // ESC/P Reference Manual R-81: 246 is eleven times the next.
  CHECK(cut("\x1B.\1\x0A\x0A\1\x58\0\xF6xZ"s, Pins::twenty_four) ==
        Cut{"Z", {"ESC . 1 10 10 1 88 0"}, "xxxxxxxxxxx"});
  CHECK(cut("\x1B.\1\x0A\x0A\1\x10\0\xF6xZ"s, Pins::twenty_four).data == "xx");
  CHECK(cut("\x1B.\1\x0A\x0A\1\x10\0\x05xyZ"s, Pins::twenty_four) ==
        Cut{"Z", {"ESC . 1 10 10 1 16 0"}, "xy"});
  // 129 is 128 times (conflicts), 128 no count at all.
  CHECK(cut("\x1B.\1\x0A\x0A\1\0\4\x81xZ"s, Pins::twenty_four).data == std::string(128, 'x'));
  CHECK(cut("\x1B.\1\x0A\x0A\1\x08\0\x80\0xZ"s, Pins::twenty_four).characters == "Z");
}

TEST_CASE("downloaded characters come one by one") {
  CHECK(cut("\x1B&\0AB\x8B"s + std::string(11, 'x') + "\x8C" + std::string(11, 'y') + "Z",
            Pins::nine) ==
        Cut{"Z", {"ESC & 65 139", "ESC & 66 140"}, std::string(11, 'x') + std::string(11, 'y')});
  CHECK(cut("\x1B&\0AB\1\2\3xxxxxx\4\0\5Z"s, Pins::twenty_four) ==
        Cut{"Z", {"ESC & 65 1 2 3", "ESC & 66 4 0 5"}, "xxxxxx"});
}

TEST_CASE("a report shows as much of a code as there is room for") {
  DotCodes codes(Pins::nine);
  for (const char byte : "ab\x1BX\x01\x02"s) codes.put(static_cast<std::uint8_t>(byte));
  REQUIRE(codes.put(0x03) == What::unknown);
  CHECK(codes.code() == UnknownCode{2, {0x1B, 'X', 1, 2}, 4});
}
