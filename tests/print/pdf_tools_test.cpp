// Printouts as other people's programs see them: qpdf, poppler's tools, mutool and Ghostscript.

#include <algorithm>
#include <random>
#include <regex>
#include <tuple>

#include "print/charset.h"
#include "tests/print/pages.h"
#include "tests/print/printing.h"
#include "tests/print/random_text.h"
#include "tests/print/tools.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

std::string sample() {
  return "Tidewrack Mill\r______________\r\n\nledger b\bbo\bol\bld\bd caf\xC3\xA9 0\b/ M\bW\r\n"
         "\xE2\x94\x8C\xE2\x94\x80\xE2\x94\x90 \xE6\xBC\xA2 \xF0\x9F\x98\x80\f\f last";
}

}  // namespace

TEST_CASE("qpdf finds nothing amiss") {
  for (const PrinterProfile& profile : printer_profiles()) {
    const Ran ran = run_on(pdf_of(sample(), profile.settings), "qpdf --check %");
    CAPTURE(profile.name, ran.out);
    CHECK(ran.exit == 0);
    CHECK_THAT(ran.out, Catch::Contains("PDF Version: 1.7") &&
                            Catch::Contains("No syntax or stream encoding errors found"));
  }
  // 450 pages: more than one branch of the page tree.
  std::string long_job;
  for (int page = 0; page < 450; ++page) long_job += "page " + std::to_string(page) + "\f";
  const Ran ran =
      run_on(pdf_of(long_job, settings("plain-80")), "qpdf --check % && qpdf --show-npages %");
  CHECK(ran.exit == 0);
  CHECK_THAT(ran.out, Catch::EndsWith("\n450\n"));
}

TEST_CASE("pdffonts finds the fonts embedded, subset and mapped to Unicode") {
  const Ran ran = run_on(pdf_of(sample(), settings("plain-80")), "pdffonts %");
  CAPTURE(ran.out);
  const std::regex row("[A-Z]{6}\\+DejaVuSansMono\\S* +CID TrueType +\\S+ +yes yes yes +\\d+ +0");
  CHECK(std::distance(std::sregex_iterator(ran.out.begin(), ran.out.end(), row), {}) == 2);
  CHECK(std::count(ran.out.begin(), ran.out.end(), '\n') == 4);  // two lines of heading
}

TEST_CASE("pdfinfo shows the metadata and the sheet") {
  const Ran ran = run_on(pdf_of(sample(), settings("plain-80")), "TZ=UTC pdfinfo %");
  for (const char* line : {"Title:           Ledger (May)", "Author:          robin",
                           "Creator:         station 1.7, queue listing",
                           "CreationDate:    Sun May 17 09:00:00 2026 UTC", "Pages:           3",
                           "Page size:       595.276 x 841.89 pts (A4)", "PDF version:     1.7",
                           "Encrypted:       no", "JavaScript:      no"}) {
    CHECK_THAT(ran.out, Catch::Contains(line));
  }
}

TEST_CASE("the text of random listings comes back column for column") {
  std::mt19937 random(2160);
  for (const PrinterProfile& profile : printer_profiles()) {
    Settings set = profile.settings;
    set.language = Language::text;
    const Layout layout = lay_out(set.form).value();
    for (int round = 0; round < 5; ++round) {
      const RandomText listing =
          random_listing(random, 3, layout.lines, layout.columns, printing_ascii());
      CAPTURE(profile.name, round);
      CHECK(difference(indented(listing.pages, set),
                       columns_of(pdf_of(listing.bytes, set), cell_width(set))) == "");
    }
  }
}

TEST_CASE("the text comes back at every pitch and line spacing") {
  std::mt19937 random(17);
  for (const char* pitch : {"10", "12", "15", "17.14", "20"}) {
    for (const char* spacing : {"6", "8"}) {
      Settings set = settings("plain-80");
      set.form = Form();
      set.form.paper = find_paper("fanfold-11").value();
      set.form.pitch = find_pitch(pitch).value();
      set.form.line = find_line_spacing(spacing).value();
      const Layout layout = lay_out(set.form).value();
      const RandomText listing =
          random_listing(random, 2, layout.lines, layout.columns, printing_ascii());
      CAPTURE(pitch, spacing);
      CHECK(difference(indented(listing.pages, set),
                       columns_of(pdf_of(listing.bytes, set), cell_width(set))) == "");
    }
  }
}

TEST_CASE("single letters with a blank between them stay apart at every pitch") {
  for (const char* pitch : {"10", "12", "15", "17.14", "20"}) {
    for (const char* spacing : {"6", "8"}) {
      Settings set = settings("plain-80");
      set.form = small_form(40, 10);
      set.form.pitch = find_pitch(pitch).value();
      set.form.line = find_line_spacing(spacing).value();
      CAPTURE(pitch, spacing);
      const Lines lines = {"x y", "a b c", "1 2 3 4 5", "| | |", ". . . .", "i       j k      l"};
      std::string bytes;
      for (const std::string& line : lines) bytes += line + "\r\n";
      CHECK(difference(indented({lines}, set), columns_of(pdf_of(bytes, set), cell_width(set))) ==
            "");
    }
  }
}

TEST_CASE("bold and underlined text comes back column for column") {
  std::mt19937 random(7);
  RandomText listing = random_listing(random, 2, 60, 80, "abcdefghijklmnopqrstuvwxyz0123456789");
  std::string styled;
  for (const char character : listing.bytes) {
    const auto style = random() % 8;
    if (character > ' ' && style == 0) styled += std::string("_\b");
    styled += character;
    if (character > ' ' && style == 1) styled += std::string("\b") + character;
  }
  const Settings set = settings("fanfold-11");
  CHECK(difference(indented(listing.pages, set), columns_of(pdf_of(styled, set), "7.2")) == "");
}

TEST_CASE("every character of every set comes back as itself") {
  for (const CharsetName& one : charsets()) {
    if (one.charset == Charset::utf_8) continue;
    Settings set = settings("plain-80");
    set.text.charset = one.charset;
    std::string bytes;
    Lines lines;
    std::u32string line;
    Decoder decoder(one.charset);
    for (unsigned byte = 0x21; byte <= 0xFF; ++byte) {
      const char32_t character = decoder.put(static_cast<std::uint8_t>(byte)).at[0];
      const bool shown = character > 0x20 && (character < 0x7F || character > 0xA0) &&
                         character != replacement_character;
      if (shown) {
        bytes += static_cast<char>(byte);
        line += character;
      }
      if ((byte & 0x0F) == 0x0F && !line.empty()) {
        bytes += "\r\n";
        lines.push_back(utf_8(line));
        line.clear();
      }
    }
    CAPTURE(one.name);
    CHECK(difference(indented({lines}, set), columns_of(pdf_of(bytes, set), "7.2")) == "");
  }
}

TEST_CASE("every character of every set comes back from its dots") {
  const Layout layout = lay_out(settings("plain-80").form).value();
  std::vector<Page> pages;
  std::vector<Lines> expected;
  for (const CharsetName& one : charsets()) {
    if (one.charset == Charset::utf_8) continue;
    Page page;
    Lines lines;
    std::u32string line;
    Decoder decoder(one.charset);
    for (unsigned byte = 0x21; byte <= 0xFF; ++byte) {
      const char32_t character = decoder.put(static_cast<std::uint8_t>(byte)).at[0];
      if (character > 0x20 && (character < 0x7F || character > 0xA0) &&
          character != replacement_character) {
        line += character;
      }
      if ((byte & 0x0F) != 0x0F || line.empty()) continue;
      page.add_run(layout.left, layout.baseline(static_cast<int>(lines.size())), layout.cell,
                   cells(line));
      lines.push_back(" " + utf_8(line));
      line.clear();
    }
    pages.push_back(page);
    expected.push_back(lines);
  }
  for (const Look look : {Look::dots, Look::fine_dots}) {
    const std::string pdf = pdf_of(pages, "a4", {look, false, false, 1});
    CHECK(difference(expected, columns_of(pdf, "7.2")) == "");
  }
}

TEST_CASE(
    "all of code page 437 comes back from a printer that shows signs for codes, in every look") {
  // ESC ( ^ prints 128 codes as they are, whatever they mean elsewhere: LQ and Stylus manuals. The
  // signs of 01-1F and 7F are Unicode's mapping of the page's graphics, also as iconv's own text of
  // it has them.
  const std::u32string low =
      U"\u263A\u263B\u2665\u2666\u2663\u2660\u2022\u25D8\u25CB\u25D9\u2642\u2640\u266A\u266B\u263C"
      U"\u25BA\u25C4\u2195\u203C\u00B6\u00A7\u25AC\u21A8\u2191\u2193\u2192\u2190\u221F\u2194\u25B2"
      U"\u25BC";
  std::string bytes = "\x1Bt\x01";
  Lines lines;
  Decoder decoder(Charset::cp437);
  for (unsigned begin = 0; begin <= 0xF0; begin += 0x10) {
    std::u32string line;
    bytes += std::string("\x1B(^\x10\0", 5);
    for (unsigned code = begin; code < begin + 0x10; ++code) {
      bytes += static_cast<char>(code);
      const bool sign = code < 0x20 || code == 0x7F;
      line += code == 0      ? U' '
              : code == 0x7F ? U'\u2302'
              : sign         ? low[code - 1]
                             : decoder.put(static_cast<std::uint8_t>(code)).at[0];
    }
    bytes += "\r\n";
    while (line.back() == U' ' || line.back() == U'\u00A0') line.pop_back();
    lines.push_back(utf_8(line));
  }
  for (const LookName& look : looks()) {
    Settings set = settings("24-pin-136");
    set.dress.look = look.look;
    CAPTURE(look.name);
    CHECK(difference(indented({lines}, set), columns_of(pdf_of(bytes, set), cell_width(set))) ==
          "");
  }
}

TEST_CASE("the text comes back from its dots at every pitch and line spacing") {
  std::mt19937 random(9);
  for (const char* pitch : {"10", "12", "15", "17.14", "20"}) {
    for (const char* spacing : {"6", "8"}) {
      Settings set = settings("plain-80");
      set.form = Form();
      set.form.paper = find_paper("fanfold-11").value();
      set.form.pitch = find_pitch(pitch).value();
      set.form.line = find_line_spacing(spacing).value();
      set.dress.look = spacing[0] == '6' ? Look::dots : Look::fine_dots;
      const Layout layout = lay_out(set.form).value();
      const RandomText listing =
          random_listing(random, 2, layout.lines, layout.columns, printing_ascii());
      CAPTURE(pitch, spacing);
      CHECK(difference(indented(listing.pages, set),
                       columns_of(pdf_of(listing.bytes, set), cell_width(set))) == "");
    }
  }
}

TEST_CASE("the programs find nothing amiss with a page that has everything, in any look or dress") {
  for (const LookName& look : looks()) {
    for (const int pages : {1, 2, 4}) {
      const Dress dress{look.look, pages == 2, pages != 4, pages};
      const std::string pdf =
          pdf_of({page_with_everything(), page_with_everything()}, "fanfold-11", dress);
      const Ran ran = run_on(pdf, "qpdf --check %");
      CAPTURE(look.name, pages, ran.out);
      CHECK(ran.exit == 0);
      CHECK_THAT(ran.out, Catch::Contains("No syntax or stream encoding errors found"));
      // Poppler complains of what it can't read.
      CHECK(run_on(pdf, "pdftotext -raw % - | grep -c 'Sluice and wheel'").out ==
            std::to_string(2 * 7) + "\n");
      CHECK(run_on(pdf, "pdftoppm -r 40 -gray % >/dev/null").out.empty());
    }
  }
}

TEST_CASE("downloaded characters are found as text once, and drawn by their dots alone") {
  const std::string no_dots(11, '\0');
  const std::string define = "\x1B&" + std::string(1, '\0') + "AA\x8B" + no_dots;
  for (const LookName& look : looks()) {
    Settings set = settings("nine-pin-80");
    set.dress.look = look.look;
    CAPTURE(look.name);
    // Plain, struck twice, bold and wide, between others and alone.
    const std::string mixed =
        define + "x\x1B%1AbA\x1BGA\x1BH\x1B" + "EA\x1B" + "F\x0E" + "A\x14y\r\n";
    CHECK(run_on(pdf_of(mixed, set), "pdftotext -raw % - | tr -d ' \\n\\f'").out == "xAbAAAAy");
    const std::string alone = define + "\x1B%1AAA\x1BGA\x1BH\x1B" + "EA\x1B" + "F\x0E" + "A\r\n";
    CHECK(run_on(pdf_of(alone, set), "pdftotext -raw % - | tr -d ' \\n\\f'").out == "AAAAAA");
    CHECK(run_on(pdf_of(alone, set), "pdftoppm -r 50 -gray % | tail -c +16 | tr -d '\\377' | wc -c")
              .out == "0\n");
  }
}

TEST_CASE("pages on one sheet are read one after the other") {
  std::vector<Page> pages(4);
  std::string expected;
  for (int page = 0; page < 4; ++page) {
    for (int line = 0; line < 3; ++line) {
      std::u32string text = U"page 0 line 0";
      text[5] += static_cast<char32_t>(page);
      text[12] += static_cast<char32_t>(line);
      pages[static_cast<std::size_t>(page)].add_run(432, 280 + 360 * line, {216, 360}, cells(text));
      expected += utf_8(text) + "\n";
    }
  }
  for (const LookName& look : looks()) {
    for (const int together : {2, 4}) {
      const std::string pdf = pdf_of(pages, "a4", {look.look, false, false, together});
      std::string text = run_on(pdf, "pdftotext -raw % -").out;
      CHECK(std::count(text.begin(), text.end(), '\f') == 4 / together);
      text.erase(std::remove(text.begin(), text.end(), '\f'), text.end());
      CAPTURE(look.name, together);
      CHECK(text == expected);
    }
  }
}

TEST_CASE("characters without a glyph come back as themselves") {
  const std::string text = "\xE6\xBC\xA2\xE5\xAD\x97 \xF0\x9F\x98\x80 end";
  const Settings set = settings("plain-80");
  const Ran ran = run_on(pdf_of(text, set), "pdftotext -raw -enc UTF-8 % -");
  CHECK(ran.out == text + "\n\f");
}

TEST_CASE("what was struck over is seen but not found") {
  const std::string pdf = pdf_of("M\bW 0\b/ e\b'x\r\n=\b/", settings("plain-80"));
  CHECK(run_on(pdf, "pdftotext -raw -enc UTF-8 % -").out == "W 0 éx\n≠\n\f");
}

TEST_CASE("words stand where the layout puts them") {
  const Settings set = settings("fanfold-12");
  const Layout layout = lay_out(set.form).value();
  std::string bytes;
  struct Word {
    int line;
    int column;
  };
  std::vector<Word> words;
  for (int line = 0; line < 72; ++line) {
    std::string text;
    for (int column = (line * 7) % 10; column + 4 <= 80; column += 10 + line % 3) {
      text.resize(static_cast<std::size_t>(column), ' ');
      text += "word";
      words.push_back({line, column});
    }
    bytes += text + (line < 71 ? "\r\n" : "");
  }
  const std::string out = run_on(pdf_of(bytes, set), "pdftotext -bbox % -").out;
  const std::regex box(
      "<word xMin=\"([0-9.]+)\" yMin=\"([-0-9.]+)\" xMax=\"([0-9.]+)\" "
      "yMax=\"([0-9.]+)\">word</word>");
  struct Box {
    double top, left, right, bottom;
    bool operator<(const Box& other) const {
      return std::tie(top, left) < std::tie(other.top, other.left);
    }
  };
  std::vector<Box> boxes;
  for (auto at = std::sregex_iterator(out.begin(), out.end(), box); at != std::sregex_iterator();
       ++at) {
    boxes.push_back(
        {std::stod((*at)[2]), std::stod((*at)[1]), std::stod((*at)[3]), std::stod((*at)[4])});
  }
  std::sort(boxes.begin(), boxes.end());
  REQUIRE(boxes.size() == words.size());
  for (std::size_t i = 0; i < words.size(); ++i) {
    CHECK(boxes[i].left * units_per_point == Approx(layout.column(words[i].column)).margin(0.5));
    CHECK(boxes[i].right * units_per_point ==
          Approx(layout.column(words[i].column + 4)).margin(0.5));
    // The box spans the font's ascent and descent about the baseline, as the tool has it.
    const double baseline = layout.baseline(words[i].line) / 30.0;
    CHECK(boxes[i].top < baseline);
    CHECK(boxes[i].bottom > baseline);
    CHECK(boxes[i].bottom < baseline + 4);
  }
}

namespace {

// A page as gray pixels, by pdftoppm.
struct Picture {
  int width = 0;
  int height = 0;
  std::string pixels;

  bool dark(int x, int y) const {
    return static_cast<unsigned char>(pixels[static_cast<std::size_t>(y * width + x)]) < 128;
  }
};

Picture render_page(std::string_view pdf, int dots) {
  const Ran ran = run_on(
      pdf, "pdftoppm -gray -aa no -aaVector no -singlefile -r " + std::to_string(dots) + " %");
  Picture picture;
  int offset = 0;
  REQUIRE(std::sscanf(ran.out.c_str(), "P5 %d %d 255%n", &picture.width, &picture.height,
                      &offset) == 2);
  picture.pixels = ran.out.substr(static_cast<std::size_t>(offset) + 1);
  REQUIRE(picture.pixels.size() == static_cast<std::size_t>(picture.width * picture.height));
  return picture;
}

}  // namespace

TEST_CASE("box drawing joins across lines and columns") {
  for (const char* profile : {"fanfold-11", "plain-132"}) {
    for (const char* spacing : {"6", "8"}) {
      Settings set = settings(profile);
      set.form.lines = 0;
      set.form.line = find_line_spacing(spacing).value();
      set.text.charset = Charset::cp437;
      std::string bytes = "\xDA\xC4\xC4\xC4\xBF\r\n";
      for (int i = 0; i < 8; ++i) bytes += "\xB3   \xB3\r\n";
      bytes += "\xC0\xC4\xC4\xC4\xD9\r\n";
      const int dots = 360;
      const Picture picture = render_page(pdf_of(bytes, set), dots);
      const Layout layout = lay_out(set.form).value();
      const auto pixel = [](Units at) { return at * 360 / units_per_inch; };
      CAPTURE(profile, spacing);
      // Down the middle of the first column: dark without a gap from the corner to the other
      // corner.
      const int middle = pixel(layout.column(0) + layout.cell.pitch / 2);
      int gaps = 0;
      for (int y = pixel(layout.baseline(0)); y < pixel(layout.baseline(8)); ++y) {
        bool dark = false;
        for (int x = middle - 4; x <= middle + 4; ++x) dark = dark || picture.dark(x, y);
        gaps += dark ? 0 : 1;
      }
      CHECK(gaps == 0);
      // And along the top line.
      for (int x = pixel(layout.column(1)); x < pixel(layout.column(4)); ++x) {
        bool dark = false;
        for (int y = 0; y < pixel(layout.baseline(0)); ++y) {
          dark = dark || picture.dark(x, y);
        }
        gaps += dark ? 0 : 1;
      }
      CHECK(gaps == 0);
    }
  }
}

TEST_CASE("underlines lie below the letters, marks and boxes are seen") {
  const Settings set = settings("fanfold-11");
  const Layout layout = lay_out(set.form).value();
  const auto pixel = [](Units at) { return at * 180 / units_per_inch; };
  const auto dark_in = [&](const Picture& picture, int column, Units from, Units to) {
    int dark = 0;
    for (int y = pixel(from); y < pixel(to); ++y) {
      for (int x = pixel(layout.column(column)); x < pixel(layout.column(column + 1)); ++x) {
        dark += picture.dark(x, y) ? 1 : 0;
      }
    }
    return dark;
  };
  // Columns: a underlined, a, l over n, n, a character that has no glyph.
  const Picture picture = render_page(pdf_of("a\b_al\bnn\xE6\xBC\xA2", set), 180);
  const Units baseline = layout.baseline(0);
  const Units below = baseline + layout.cell.height * 2 / 9;
  CHECK(dark_in(picture, 0, baseline + 18, below) > dark_in(picture, 1, baseline + 18, below) + 10);
  CHECK(dark_in(picture, 2, 0, baseline) > dark_in(picture, 3, 0, baseline) + 5);
  CHECK(dark_in(picture, 4, 0, baseline) > 20);
}

TEST_CASE("dots are seen where the needles struck, and nowhere else") {
  // A checkerboard of dots 1/36 inch apart, each column of it shifted from the sheet's corner.
  Page page;
  Image image{2160, 2160, 60, 60, 16, 8};
  std::vector<std::uint8_t> bits;
  for (int row = 0; row < 8; ++row) bits.insert(bits.end(), 2, row % 2 == 0 ? 0xAA : 0x55);
  page.add_image(image, bits);
  for (const LookName& look : looks()) {
    const Picture picture =
        render_page(pdf_of({page}, "fanfold-11", {look.look, false, false, 1}), 432);
    CAPTURE(look.name);
    int wrong = 0;
    for (int row = 0; row < 8; ++row) {
      for (int column = 0; column < 16; ++column) {
        const int x = (2160 + 60 * column) * 432 / units_per_inch;
        const int y = (2160 + 60 * row) * 432 / units_per_inch;
        wrong += picture.dark(x, y) == ((row + column) % 2 == 0) ? 0 : 1;
      }
    }
    CHECK(wrong == 0);
  }
}

TEST_CASE("other readers agree on the text") {
  // ASCII and all of code page 850, so that there are more glyphs than ASCII has codes.
  std::mt19937 random(1);
  const RandomText listing =
      random_listing(random, 1, 40, 80, "abcdefghijklmnopqrstuvwxyz0123456789");
  Settings set = settings("plain-80");
  set.text.charset = Charset::cp850;
  std::string bytes = listing.bytes.substr(0, listing.bytes.size() - 1);  // no form feed
  std::u32string characters;
  Decoder decoder(Charset::cp850);
  for (unsigned byte = 0x80; byte < 0xFF; ++byte) {
    if (byte == 0xF0) continue;  // the soft hyphen, which readers may drop
    bytes += static_cast<char>(byte);
    characters += decoder.put(static_cast<std::uint8_t>(byte)).at[0];
    if (byte % 16 == 15) {
      bytes += "\r\n";
      characters += U' ';
    }
  }
  const std::string text = listing.bytes + utf_8(characters);
  const std::string pdf = pdf_of(bytes, set);
  const auto words = [](const std::string& all) {
    std::vector<std::string> out;
    std::string word;
    for (const char character : all + " ") {
      if (static_cast<unsigned char>(character) > ' ') {
        word += character;
      } else if (!word.empty()) {
        out.push_back(std::move(word));
        word.clear();
      }
    }
    return out;
  };
  const Ran ghostscript = run_on(pdf, "gs -q -dNOPAUSE -dBATCH -sDEVICE=txtwrite -sOutputFile=- %");
  CHECK(ghostscript.exit == 0);
  CHECK(words(ghostscript.out) == words(text));
  if (have("mutool")) {
    CHECK(words(run_on(pdf, "mutool draw -q -F txt % 2>/dev/null").out) == words(text));
    CHECK_THAT(run_on(pdf, "mutool draw -F txt -o /dev/null %").out, !Catch::Contains("CMap"));
  } else {
    WARN("mutool isn't installed: left out");
  }
}

TEST_CASE("letters struck over read as col has them") {
  // col -b keeps the last character of each place: col(1).
  std::mt19937 random(42);
  for (int round = 0; round < 20; ++round) {
    std::string bytes;
    for (int line = 0; line < 20; ++line) {
      int column = 0;
      for (int i = 0; i < 120; ++i) {
        const auto kind = random() % 20;
        if (kind == 0 && column > 0) {
          bytes += '\b';
          --column;
        } else if (kind == 1 && i % 40 == 0) {
          bytes += '\r';
          column = 0;
        } else if (kind == 2 && column < 79) {
          bytes += ' ';
          ++column;
        } else if (column < 79) {
          bytes += static_cast<char>('A' + random() % 26);
          ++column;
        }
      }
      bytes += "\r\n";
    }
    const Ran col = run_on(bytes, "col -bx < %");
    Form form = small_form(80, 66);
    const Printed printed = print_text(bytes, {}, form);
    REQUIRE(printed.text.size() == 1);
    CHECK(printed.text[0] == col.out);
  }
}
