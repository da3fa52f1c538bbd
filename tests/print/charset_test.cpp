#include "print/charset.h"

#include <algorithm>
#include <optional>
#include <random>
#include <string>

#include <iconv.h>

#include "fs/text.h"

using namespace stationer;
using namespace stationer::print;

namespace {

std::u32string decode(Charset charset, std::string_view bytes) {
  Decoder decoder(charset);
  std::u32string out;
  const auto take = [&out](const Decoder::Characters& characters) {
    out.append(characters.at.data(), characters.count);
  };
  for (const char byte : bytes) take(decoder.put(static_cast<std::uint8_t>(byte)));
  take(decoder.finish());
  return out;
}

// What glibc's iconv makes of one byte; nothing if it refuses.
std::optional<char32_t> iconv_decode(const std::string& charset, char byte) {
  const iconv_t conversion = iconv_open("UTF-32LE", charset.c_str());
  if (conversion == reinterpret_cast<iconv_t>(-1)) throw std::runtime_error("no " + charset);
  char32_t character = 0;
  char* in = &byte;
  char* out = reinterpret_cast<char*>(&character);
  std::size_t in_left = 1;
  std::size_t out_left = sizeof character;
  const bool done =
      iconv(conversion, &in, &in_left, &out, &out_left) != static_cast<std::size_t>(-1);
  iconv_close(conversion);
  return done ? std::optional(character) : std::nullopt;
}

}  // namespace

// glibc's tables derive from the registrations and from RFC 1345.
TEST_CASE("every byte of every set is what iconv says") {
  for (const CharsetName& set : charsets()) {
    // iconv doesn't have the international version of 1983.
    if (set.charset == Charset::utf_8 || set.charset == Charset::iso646_irv) continue;
    const std::string name = fs::ascii_upper(set.name);
    for (unsigned byte = 0; byte < 256; ++byte) {
      CAPTURE(name, byte);
      const std::u32string ours = decode(set.charset, std::string(1, static_cast<char>(byte)));
      REQUIRE(ours.size() == 1);
      CHECK(ours[0] == iconv_decode(name, static_cast<char>(byte)).value_or(replacement_character));
    }
  }
}

TEST_CASE("the international version of 1983 has a currency sign and an overline") {
  // ISO-IR 2; from memory.
  CHECK(decode(Charset::iso646_irv, "#$@[\\]^`{|}~a") == U"#¤@[\\]^`{|}‾a");
}

TEST_CASE("cells of code page 437 that are easily confused") {
  // Unicode's mapping table for code page 437.
  const std::pair<unsigned, char32_t> cells[] = {
      {0x9E, 0x20A7}, {0x9F, 0x0192}, {0xA9, 0x2310}, {0xE1, 0x00DF}, {0xE4, 0x03A3},
      {0xE6, 0x00B5}, {0xEA, 0x03A9}, {0xEB, 0x03B4}, {0xED, 0x03C6}, {0xEE, 0x03B5},
      {0xF9, 0x2219}, {0xFA, 0x00B7}, {0xFB, 0x221A}, {0xFC, 0x207F}, {0xFE, 0x25A0}};
  for (const auto& [byte, character] : cells) {
    CHECK(decode(Charset::cp437, std::string(1, static_cast<char>(byte)))[0] == character);
  }
}

TEST_CASE("malformed UTF-8 becomes a replacement character for each maximal part") {
  const std::u32string r = U"\uFFFD";
  const auto times = [&r](int count) {
    std::u32string out;
    for (int i = 0; i < count; ++i) out += r;
    return out;
  };
  // Unicode 15.0 section 3.9, tables 3-8 to 3-11.
  CHECK(decode(Charset::utf_8, "\xC0\xAF\xE0\x80\xBF\xF0\x81\x82\x41") == times(8) + U"A");
  CHECK(decode(Charset::utf_8, "\xED\xA0\x80\xED\xBF\xBF\xED\xAF\x41") == times(8) + U"A");
  CHECK(decode(Charset::utf_8, "\xF4\x91\x92\x93\xFF\x41\x80\xBF\x42") ==
        times(5) + U"A" + times(2) + U"B");
  CHECK(decode(Charset::utf_8, "\xE1\x80\xE2\xF0\x91\x92\xF1\xBF\x41") == times(4) + U"A");
  // A character cut off by a control code or by the end.
  CHECK(decode(Charset::utf_8, "\xE2\x82\n") == r + U"\n");
  CHECK(decode(Charset::utf_8, "\xF0\x9F\x98") == r);
}

TEST_CASE("well-formed UTF-8 gives every character back") {
  std::string bytes;
  std::u32string characters;
  for (char32_t character = 0; character < 0x110000; character += character < 0x3000 ? 1 : 97) {
    if (character >= 0xD800 && character <= 0xDFFF) continue;
    const iconv_t conversion = iconv_open("UTF-8", "UTF-32LE");
    char buffer[8];
    char* in = reinterpret_cast<char*>(&character);
    char* out = buffer;
    std::size_t in_left = sizeof character;
    std::size_t out_left = sizeof buffer;
    REQUIRE(iconv(conversion, &in, &in_left, &out, &out_left) == 0);
    iconv_close(conversion);
    bytes.append(buffer, out);
    characters += character;
  }
  CHECK(decode(Charset::utf_8, bytes) == characters);
}

TEST_CASE("a decoder says truly which bytes are themselves") {
  std::mt19937 random(437);
  for (const CharsetName& set : charsets()) {
    Decoder decoder(set.charset);
    for (int i = 0; i < 5000; ++i) {
      const auto byte = static_cast<std::uint8_t>(random());
      const bool itself = decoder.is_itself(byte);
      const Decoder::Characters got = decoder.put(byte);
      const bool is = got.count == 1 && got.at[0] == byte;
      if (itself || byte < 0x80) CHECK(itself == is);
    }
  }
}

TEST_CASE("character sets go by name") {
  for (const CharsetName& set : charsets()) {
    CHECK(find_charset(set.name).value() == set.charset);
    CHECK(name_of(set.charset) == set.name);
  }
  const auto found = find_charset("ebcdic");
  REQUIRE(found.has_error());
  CHECK(found.error().code == fs::Code::bad_input);
  CHECK_THAT(found.error().message, Catch::Contains("cp437") && Catch::Contains("iso646-it"));
}
