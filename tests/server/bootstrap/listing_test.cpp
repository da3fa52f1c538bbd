#include "server/bootstrap/listing.h"

#include <cctype>
#include <set>

#include <catch2/catch.hpp>

#include "server/bootstrap/hex_lines.h"
#include "tests/support/transfer_line.h"

using namespace stationer;
using namespace stationer::server;

TEST_CASE("the listing: short lines in order, that any keyboard can type") {
  int before = 0;
  std::set<int> numbers;
  for (const BasicLine& line : basic_listing()) {
    CHECK(line.number > before);
    before = line.number;
    numbers.insert(line.number);
    CHECK(typed_line(line).size() <= 34);
    for (const char c : typed_line(line)) {
      CHECK((std::isupper(static_cast<unsigned char>(c)) != 0 || c == ' ' || c == '$' ||
             (c >= '"' && c <= '?')));
    }
    CHECK(find_basic_line(line.number) == &line);
  }
  CHECK(find_basic_line(15) == nullptr);
  // Every line that is gone to is there.
  for (const BasicLine& line : basic_listing()) {
    for (const char* word : {"THEN ", "GOTO "}) {
      const auto at = line.text.find(word);
      if (at == std::string_view::npos) continue;
      const int number = std::atoi(std::string(line.text.substr(at + 5)).c_str());
      if (number != 0) CHECK(numbers.contains(number));
    }
  }
}

TEST_CASE("the listing: the check of a line shows a slip, and not how it is spaced") {
  // Worked out by hand: ((0x31 * 3 + 0x30) * 3 + 0x41) mod 256 = 0x8A.
  CHECK(check_of_line("10A") == 0x8A);
  CHECK(check_of_line(" 1 0 a") == 0x8A);
  for (const BasicLine& line : basic_listing()) {
    const std::string right = typed_line(line);
    for (std::size_t i = 0; i < right.size(); ++i) {
      if (right[i] == ' ') continue;
      std::string wrong = right;
      wrong[i] = wrong[i] == 'X' ? 'Y' : 'X';
      CHECK(check_of_line(wrong) != check_of_line(right));
      wrong = right;
      wrong.erase(i, 1);
      CHECK_FALSE(same_line(wrong, right));
    }
    for (std::size_t i = 0; i + 1 < right.size(); ++i) {
      std::string wrong = right;
      std::swap(wrong[i], wrong[i + 1]);
      if (!same_line(wrong, right)) CHECK(check_of_line(wrong) != check_of_line(right));
    }
    CHECK(same_line("  " + right + " ", right));
  }
}

TEST_CASE("hex lines: an address, bytes and a check, for screens of any width") {
  // Worked out by hand: (((0x80 * 3 + 0) * 3 + 0xC3) * 3 + 0x01) mod 256 = 0xCA.
  CHECK(hex_line(0x8000, "\xC3\x01") == "8000: C3 01  CA");
  CHECK(check_of_hex_line(0x8000, "\x01\xC3") != 0xCA);
  CHECK(check_of_hex_line(0x8001, "\xC3\x01") != 0xCA);
  for (const int columns : {1, 20, 32, 40, 64, 80, 132}) {
    const std::size_t count = bytes_in_hex_line(columns);
    const std::size_t width = hex_line(0, std::string(count, 'x')).size();
    if (columns >= 20) CHECK(width < static_cast<std::size_t>(columns));
  }
  CHECK(bytes_in_hex_line(80) == 16);
  CHECK(bytes_in_hex_line(40) == 8);
  CHECK(bytes_in_hex_line(20) == 2);
}

TEST_CASE("hex lines: what is typed or shown by a monitor is read up to what is something else") {
  const auto bytes = [](std::string_view typed) {
    const auto read = read_hex_line(typed);
    return read ? read->bytes : "nothing";
  };
  CHECK(read_hex_line("8000: C3 01  CA")->address == 0x8000);
  CHECK(bytes("8000: C3 01  CA") == "\xC3\x01\xCA");
  CHECK(bytes("  8000-c3 01") == "\xC3\x01");
  CHECK(bytes("8000 C3 01 |..|") == "\xC3\x01");
  CHECK(bytes("8000 C3 0 01") == "\xC3");
  for (const char* nonsense : {"", "8000", "8000:", "hello", ": C3", "18000: C3", "8000: xx"}) {
    CHECK(bytes(nonsense) == "nothing");
  }
}

TEST_CASE("records that monitors load are as published") {
  // Worked out by hand, by the rules of the sources that hex_lines.h names; `simulators records`
  // has another reader of both.
  CHECK(ihex_line(0x0100, "\x21\x46\x01\x36") == ":04010000214601365D");
  CHECK(ihex_end() == ":00000001FF");
  CHECK(srec_line(0x0038, "Hi") == "S1050038486911");
  CHECK(srec_end(0) == "S9030000FC");
}
