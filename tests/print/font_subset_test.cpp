#include "print/font_subset.h"

#include <algorithm>
#include <fstream>
#include <thread>

#include "print/charset.h"
#include "tests/print/printing.h"
#include "tests/support/temp_folder.h"

using namespace stationer;
using namespace stationer::print;
using stationer::test::fonts;

namespace {

// A table of a TrueType font program (ISO/IEC 14496-22: offset table, table directory).
std::string_view table(std::string_view program, std::string_view tag) {
  const auto number = [&](std::size_t at, int bytes) {
    std::uint32_t value = 0;
    for (int i = 0; i < bytes; ++i) {
      value = value << 8 | static_cast<std::uint8_t>(program[at + static_cast<std::size_t>(i)]);
    }
    return value;
  };
  const std::uint32_t tables = number(4, 2);
  for (std::size_t i = 0; i < tables; ++i) {
    const std::size_t entry = 12 + 16 * i;
    if (program.substr(entry, 4) == tag) {
      return program.substr(number(entry + 8, 4), number(entry + 12, 4));
    }
  }
  return {};
}

}  // namespace

TEST_CASE("the faces have every character of every set") {
  for (const CharsetName& set : charsets()) {
    if (set.charset == Charset::utf_8) continue;
    Decoder decoder(set.charset);
    for (unsigned byte = 0x20; byte < 0x100; ++byte) {
      const char32_t character = decoder.put(static_cast<std::uint8_t>(byte)).at[0];
      if (character >= 0x7F && character <= 0x9F) continue;
      CAPTURE(set.name, byte);
      CHECK(fonts().regular.glyph(character) != 0);
      CHECK(fonts().bold.glyph(character) != 0);
    }
  }
  CHECK(fonts().regular.glyph(U'\U0001F600') == 0);
}

TEST_CASE("metrics are DejaVu Sans Mono's") {
  const Metrics& metrics = fonts().regular.metrics();
  // Advance 1233 of 2048, full block from -512 to 1921, as the font's own tables say.
  CHECK(metrics.advance == 602);
  CHECK(metrics.block_height == 1188);
  CHECK(metrics.ascent == 928);
  CHECK(metrics.descent == -236);
  CHECK(metrics.cap_height == 729);
  CHECK(metrics.left < 0);
  CHECK(metrics.top > metrics.cap_height);
  CHECK(fonts().bold.metrics().advance == metrics.advance);
  CHECK(fonts().regular.name() == "DejaVuSansMono");
  CHECK(fonts().bold.name() == "DejaVuSansMono-Bold");
}

TEST_CASE("a subset holds the glyphs asked for, and only what PDF needs") {
  const std::vector<Glyph> glyphs = {fonts().regular.glyph(U'z'), fonts().regular.glyph(U'A'),
                                     fonts().regular.glyph(U'é')};
  const Subset subset = fonts().regular.subset(glyphs);
  REQUIRE(subset.new_glyphs.size() == 3);
  CHECK(subset.new_glyphs[0] > subset.new_glyphs[1]);  // numbered in the font's order
  for (const Glyph glyph : subset.new_glyphs) CHECK(glyph != 0);
  CHECK(subset.program.size() < 3000);
  for (const char* needed : {"glyf", "head", "hhea", "hmtx", "loca", "maxp"}) {
    CHECK_FALSE(table(subset.program, needed).empty());
  }
  for (const char* other : {"GSUB", "GPOS", "cmap", "name", "post", "OS/2", "fpgm", "prep"}) {
    CHECK(table(subset.program, other).empty());
  }
}

TEST_CASE("subsets are the same from first use, later use, and several threads") {
  const Fonts fresh = Fonts::load().value();
  std::vector<Glyph> glyphs;
  for (char32_t character = U'!'; character < U'~'; character += 2) {
    glyphs.push_back(fresh.bold.glyph(character));
  }
  const std::string first = fresh.bold.subset(glyphs).program;
  std::vector<std::string> results(8);
  std::vector<std::thread> threads;
  for (std::string& result : results) {
    threads.emplace_back([&] { result = fresh.bold.subset(glyphs).program; });
  }
  for (std::thread& thread : threads) thread.join();
  for (const std::string& result : results) CHECK(result == first);
}

TEST_CASE("outlines are PDF paths") {
  // In thousandths of the em: the font's bar is a rectangle.
  const std::string bar = fonts().regular.outline(fonts().regular.glyph(U'|'));
  CHECK(std::count(bar.begin(), bar.end(), 'l') >= 3);
  CHECK(bar.find('m') != std::string::npos);
  CHECK_THAT(bar, Catch::EndsWith("h\n"));
  CHECK(fonts().regular.outline(fonts().regular.glyph(U'o')).find("c\n") != std::string::npos);
  CHECK(fonts().regular.outline(fonts().regular.glyph(U' ')).empty());
}

TEST_CASE("a missing or unsuitable font is refused with what to install") {
  const test::TempFolder folder;
  const auto missing = Fonts::load(folder.path());
  REQUIRE(missing.has_error());
  CHECK(missing.error().code == fs::Code::io);
  CHECK_THAT(missing.error().message,
             Catch::Contains("DejaVuSansMono.ttf") && Catch::Contains("fonts-dejavu-core"));
  const auto proportional = Typeface::load(Fonts::default_directory() + "/DejaVuSans.ttf");
  REQUIRE(proportional.has_error());
  CHECK_THAT(proportional.error().message, Catch::Contains("one width"));
  const std::string path = folder / "letter.ttf";
  std::ofstream(path) << "Dear robin";
  const auto no_font = Typeface::load(path);
  REQUIRE(no_font.has_error());
  CHECK_THAT(no_font.error().message, Catch::Contains("TrueType"));
}
