// typein as a dialogue: what is typed, what the screen answers.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "server/bootstrap/hex_lines.h"
#include "server/bootstrap/line_by_line.h"
#include "server/bootstrap/listing.h"
#include "tests/support/mill.h"

using namespace stationer;
using namespace stationer::server;
using test::screen_of;
using test::TestRoom;
using test::TestVolume;
using test::Visit;

namespace {

// Robin at a terminal, with a program for a machine in the folder.
struct Mill : TestRoom {
  std::optional<Visit> visit;
  const std::string lantern = "\xC3\x07\x40Hello";

  explicit Mill(const Terminal::Setup& setup = screen_of(80, 0)) {
    store.add("robin");
    save("lantern", lantern);
    visit.emplace(*this, setup);
    visit->sign_in("robin");
  }
  void save(const std::string& name, std::string_view bytes) {
    REQUIRE(store.save(store.caller("robin"), "/members/robin/" + name, bytes, false));
  }
  std::string answer(std::string_view line) { return visit->answer(line); }
  std::string types(std::string_view bytes) { return visit->types(bytes); }
  void pass(std::chrono::milliseconds time) {
    loop.pass(time);
    visit->terminal.tick(loop.now());
    visit->settle();
  }
};

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::size_t widest(const std::string& text) {
  std::size_t widest = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    widest = std::max(widest, end - at);
    at = end + 1;
  }
  return widest;
}

}  // namespace

TEST_CASE("typein: alone it tells what there is, and what it does not know it asks for") {
  Mill mill;
  CHECK(has(mill.answer("typein"), "typein send NAME   sends a file to that program"));
  CHECK(mill.answer("typein send") == "typein send NAME, please.\n");
  CHECK(mill.answer("typein hex") == "typein hex NAME, please.\n");
  CHECK(mill.answer("typein lantern") == "typein alone tells what there is.\n");
  CHECK(mill.answer("typein send lantern 4000") == "typein alone tells what there is.\n");
  CHECK(mill.answer("typein hex nothing") == "There is no /members/robin/nothing.\n");
  CHECK(mill.answer("typein send nothing") == "There is no /members/robin/nothing.\n");
  CHECK(mill.answer("typein hex lantern 40000") ==
        "\"40000\" is no address: up to four hex digits, such as 4000.\n");
  CHECK(mill.answer("typein hex lantern FFFF") ==
        "lantern with 8 bytes does not fit into 64K of memory from FFFF hex.\n");
}

TEST_CASE("typein basic: the listing with its checks, on any screen") {
  for (const int columns : {20, 40, 80}) {
    Mill mill(screen_of(columns, 0));
    const std::string shown = mill.answer("typein basic");
    CHECK(widest(shown) < static_cast<std::size_t>(columns));
    if (columns < 40) continue;
    CHECK(has(shown, "\n10 DIM B(20)                      1C*\n"));
    for (const BasicLine& line : basic_listing()) CHECK(has(shown, '\n' + typed_line(line) + ' '));
  }
}

TEST_CASE("typein check: a line of the listing is right, or what is wrong with it is said") {
  Mill mill;
  mill.types("typein check\r");
  const auto said = [&](std::string_view line) {
    std::string shown = mill.types(std::string(line) + "\r");
    std::erase(shown, '\r');
    return shown.substr(shown.find('\n') + 1);
  };
  CHECK(said("120 FOR I=1 TO M") == "120 is right.\n");
  CHECK(said("120 for i = 1 to m") == "120 is right.\n");
  const std::string wrong = said("120 FOR I=1 TO N");
  CHECK(has(wrong, "120 has the check "));
  CHECK(has(wrong, "It should be:\n120 FOR I=1 TO M\n"));
  CHECK(said("60 INPUT #1,L$") ==
        "60 is well if your machine wants it so. In the listing it is:\n60 INPUT L$\n");
  CHECK(said("121 REM") == "There is no line 121 in the listing.\n");
  CHECK(said("99999999999999999999 REM") == "There is no line 999999 in the listing.\n");
  CHECK(said("") == "Nothing was typed.\n");
  CHECK(has(mill.types(".\r"), "/members/robin> "));
  mill.types("typein check\r");
  CHECK(has(mill.types("\x03"), "/members/robin> "));
}

TEST_CASE("typein check: a machine may list the whole program at once") {
  Mill mill;
  std::string listed = "typein check\r";
  std::string right;
  for (const BasicLine& line : basic_listing()) {
    listed += ' ' + typed_line(line) + " \r\n";
    right += fmt::format("{} is right.", line.number);
  }
  std::string shown = mill.types(listed + ".\r");
  std::string said;
  for (const BasicLine& line : basic_listing()) {
    const std::string well = fmt::format("\r\n{} is right.\r\n", line.number);
    if (has(shown, well)) said += well.substr(2, well.size() - 4);
  }
  CHECK(said == right);
  CHECK(shown.ends_with("/members/robin> "));
}

TEST_CASE("typein hex: bytes with addresses and checks, and what was typed is compared") {
  Mill mill(screen_of(40, 0));
  CHECK(has(mill.answer("typein hex lantern 4000"), '\n' + hex_line(0x4000, mill.lantern) + '\n'));
  mill.types("typein check lantern 4000\r");
  const auto said = [&](std::string_view line) {
    std::string shown = mill.types(std::string(line) + "\r");
    std::erase(shown, '\r');
    return shown.substr(shown.find('\n') + 1);
  };
  CHECK(said("4000: C3 07 40 48 65 6C 6C 6F") == "4000 is right.\n");
  CHECK(said(hex_line(0x4000, mill.lantern)) == "4000 is right.\n");  // with its check
  CHECK(said("4002 40 48") == "4002 is right.\n");
  CHECK(said("4000: C3 70 40") == "4001 is 70, and should be 07.\n");
  CHECK(said("4007: 6F 00") == "There is nothing of the file at 4008.\n");
  CHECK(said("3FFF: 00") == "There is nothing of the file at 3FFF.\n");
  CHECK(said("FFFF: 00 00") == "There is nothing of the file at FFFF.\n");
  CHECK(said("what?") == "An address and bytes, please, as in\n4000: C3 00.\n");
}

TEST_CASE("typein ihex and srec: records without a stop, that fit on the screen") {
  Mill mill(screen_of(80, 10));
  CHECK(mill.answer("typein ihex lantern 4000") ==
        ihex_line(0x4000, mill.lantern) + "\n:00000001FF\n");
  CHECK(mill.answer("typein srec lantern 4000") ==
        srec_line(0x4000, mill.lantern) + "\n" + srec_end(0x4000) + "\n");
  mill.save("large", std::string(5000, 'x'));
  const std::string all = mill.answer("typein ihex large");
  CHECK(std::count(all.begin(), all.end(), '\n') == 5000 / 16 + 2);
  mill.visit.emplace(mill, screen_of(20, 0));
  mill.visit->sign_in("robin");
  CHECK(widest(mill.answer("typein srec large")) < 20);
  CHECK(widest(mill.answer("typein ihex large")) < 20);
}

TEST_CASE("typein send: a file goes line by line, as the machine asks for it") {
  Mill mill;
  bool as_bytes = false;  // the station's pauses would be off then
  mill.visit->terminal.on_wire = [&](bool) { as_bytes = true; };
  CHECK(mill.types("typein send lantern\r") ==
        "typein send lantern\r\nRun the program on the machine now. Ctrl-C stops it.\r\n");
  CHECK(mill.types("WANT 1\r") == LineByLine::line(1, mill.lantern) + "\r\n");
  CHECK(mill.types("WANT 2\r") == "Z\r\n");
  mill.types("GOT 1\r");
  mill.visit->screen.clear();
  mill.pass(std::chrono::seconds(1));
  CHECK(mill.visit->screen == "\r\nlantern was sent.\r\n/members/robin> ");
  CHECK_FALSE(as_bytes);
}

TEST_CASE("typein send: what the machine said before the file was found is heard") {
  Mill mill;
  CHECK(has(mill.types("typein send lantern\rWANT 1\r"), LineByLine::line(1, mill.lantern)));
  mill.types("\x03");
  mill.visit->screen.clear();
  mill.pass(std::chrono::seconds(1));
  CHECK(has(mill.visit->screen, "You broke it off.\r\n"));
}

TEST_CASE("typein: a guest may, with what guests may read") {
  Mill mill;
  Visit guest(mill, screen_of(80, 0));
  guest.types("guest\r");
  CHECK(has(guest.answer("typein basic"), "10 DIM B(20)"));
  CHECK(guest.answer("typein send /members/robin/lantern") ==
        "You may not look into /members/robin.\n");
}
