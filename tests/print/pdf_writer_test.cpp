#include "print/pdf_writer.h"

#include <cmath>
#include <random>
#include <regex>
#include <set>

#include <sys/resource.h>

#include "print/flate.h"
#include "tests/print/pdf_reader.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

std::string text_of(int pages) {
  std::string out;
  for (int page = 0; page < pages; ++page) {
    for (int line = 0; line < 60; ++line) {
      out +=
          "page " + std::to_string(page) + " line " + std::to_string(line) + " of the ledger\r\n";
    }
    out += '\f';
  }
  return out;
}

const std::string everything =
    "plain b\bbo\bol\bld\bd \xE2\x94\x8C\xE2\x94\x80 M\bW \xE6\xBC\xA2\r\n_____";

std::uint32_t number(std::string_view bytes, std::size_t at, int size) {
  std::uint32_t value = 0;
  for (int i = 0; i < size; ++i) {
    value = value << 8 | static_cast<std::uint8_t>(bytes[at + static_cast<std::size_t>(i)]);
  }
  return value;
}

std::string_view font_table(std::string_view program, std::string_view tag) {
  for (std::size_t i = 0; i < number(program, 4, 2); ++i) {
    const std::size_t entry = 12 + 16 * i;
    if (program.substr(entry, 4) == tag) {
      return program.substr(number(program, entry + 8, 4), number(program, entry + 12, 4));
    }
  }
  return {};
}

}  // namespace

TEST_CASE("the page tree holds every page, however many") {
  for (const int pages : {1, 2, 199, 200, 201, 450}) {
    CAPTURE(pages);
    std::vector<Page> blank(static_cast<std::size_t>(pages));
    CHECK(PdfReader(pdf_of(blank)).pages().size() == static_cast<std::size_t>(pages));
  }
}

TEST_CASE("a job that prints nothing is one blank page") {
  const PdfReader reader(pdf_of("\r\n", settings("plain-80")));
  REQUIRE(reader.pages().size() == 1);
  CHECK(reader.content(reader.pages()[0]).empty());
}

TEST_CASE("pages have their sheet's size") {
  const PdfReader reader(pdf_of("x", settings("plain-80")));
  const int root = PdfReader::target(reader.object(reader.catalog()), "/Pages");
  // ISO 216: 210 x 297 mm.
  CHECK(PdfReader::value(reader.object(root), "/MediaBox") == "[0 0 595.2756 841.8898]");
}

TEST_CASE("the catalogue carries what PDF/A-2 asks for") {
  const PdfReader reader(pdf_of(everything, settings("plain-80")));
  const std::string catalog = reader.object(reader.catalog());
  const std::string packet = reader.object(PdfReader::target(catalog, "/Metadata"));
  // ISO 19005-2 section 6.6.2.1; not compressed, so that any tool can read it.
  CHECK_THAT(packet, Catch::StartsWith("<</Type/Metadata/Subtype/XML/Length"));
  CHECK_THAT(packet, Catch::Contains("<pdfaid:part>2</pdfaid:part>"));
  // Section 6.2.3.
  CHECK_THAT(catalog, Catch::Contains("/S/GTS_PDFA1"));
  const int profile = PdfReader::target(catalog, "/DestOutputProfile");
  CHECK_THAT(reader.object(profile), Catch::StartsWith("<</N 1/"));
  CHECK(reader.stream(profile).substr(36, 4) == "acsp");
  // Sections 6.1.3, 6.1.7, 6.2.10: no encryption, no foreign filters, no transparency.
  for (const char* forbidden : {"/Encrypt", "/LZWDecode", "/FFilter", "/SMask", "/BM",
                                "/Interpolate", "/Group", "/JavaScript", "/EmbeddedFile"}) {
    CHECK(reader.with(forbidden).empty());
  }
  // Section 6.2.2: a content stream's resources are its page's own.
  for (const int page : reader.pages())
    CHECK_THAT(reader.object(page), Catch::Contains("/Resources"));
}

TEST_CASE("the Info dictionary and the XMP packet of a file agree") {
  Metadata about = metadata();
  about.title = "Übersicht <1> & (2)";
  const PdfReader reader(pdf_of("x", settings("plain-80"), about));
  CHECK(reader.object(reader.info()) == info_dictionary(about));
  CHECK(reader.stream(PdfReader::target(reader.object(reader.catalog()), "/Metadata")) ==
        xmp_packet(about));
}

TEST_CASE("fonts are embedded subsets with their own widths, and map back to Unicode") {
  const PdfReader reader(pdf_of(everything, settings("plain-80")));
  const std::vector<int> fonts_used = reader.with("/Subtype/Type0");
  REQUIRE(fonts_used.size() == 2);
  std::set<std::string> names;
  for (const int font : fonts_used) {
    const std::string dictionary = reader.object(font);
    const std::string list = PdfReader::value(dictionary, "/DescendantFonts");
    const int descendant = std::stoi(list.substr(1));
    const std::string cid_font = reader.object(descendant);
    const std::string descriptor = reader.object(PdfReader::target(cid_font, "/FontDescriptor"));
    const std::string program = reader.stream(PdfReader::target(descriptor, "/FontFile2"));

    // ISO 32000-1 section 9.6.4: six capitals and a plus sign; the same name in all three places.
    const std::string name = PdfReader::value(descriptor, "/FontName");
    CHECK(std::regex_match(name, std::regex("/[A-Z]{6}\\+DejaVuSansMono(-Bold)?")));
    CHECK_THAT(cid_font, Catch::Contains("/BaseFont" + name + "/"));
    CHECK_THAT(dictionary, Catch::Contains("/BaseFont" + name + "-Stationer"));
    CHECK(names.insert(name.substr(0, 7)).second);

    // ISO 19005-2 section 6.2.11.5: the widths are the program's, to a thousandth of the em.
    const double per_em = number(font_table(program, "head"), 18, 2);
    const std::uint32_t metrics = number(font_table(program, "hhea"), 34, 2);
    const double width = std::stod(PdfReader::value(cid_font, "/DW"));
    const std::uint32_t glyphs = number(font_table(program, "maxp"), 4, 2);
    for (std::uint32_t glyph = 0; glyph < glyphs; ++glyph) {
      const std::uint32_t advance =
          number(font_table(program, "hmtx"), 4 * std::min(glyph, metrics - 1), 2);
      CHECK(std::abs(advance * 1000 / per_em - width) <= 1);
    }

    // Every code with a way back to Unicode is a CID by the encoding, and every glyph that CIDs
    // lead to is in the program; none that text uses is glyph 0.
    const std::string encoding = reader.stream(PdfReader::target(dictionary, "/Encoding"));
    const std::string unicode = reader.stream(PdfReader::target(dictionary, "/ToUnicode"));
    for (const std::string& map : {encoding, unicode}) {
      CHECK_THAT(map, Catch::Contains("<00> <7F>\n<8000> <FFFF>\n"));
    }
    CHECK_THAT(encoding, Catch::Contains("begincidrange\n<00> <7F> 0\n<8000> <80FF> 32768\nend"));
    const std::string glyph_of = reader.stream(PdfReader::target(cid_font, "/CIDToGIDMap"));
    std::set<std::uint32_t> seen;
    for (std::size_t at = 0; at < glyph_of.size(); at += 2) {
      const std::uint32_t glyph = number(glyph_of, at, 2);
      CHECK(glyph < glyphs);
      if (glyph != 0) seen.insert(glyph);
    }
    CHECK_FALSE(seen.empty());
    const bool bold = name.ends_with("-Bold");
    CHECK((number(glyph_of, 2 * 'b', 2) != 0) == bold);
    CHECK((number(glyph_of, 2 * 'p', 2) != 0) != bold);
    CHECK(number(glyph_of, 2 * 'q', 2) == 0);
    CHECK_THAT(unicode, Catch::Contains("<62> <0062>\n"));
  }
}

TEST_CASE("invariant 7: the same input and settings give the same bytes") {
  for (const PrinterProfile& profile : printer_profiles()) {
    const std::string once = pdf_of(everything + text_of(3), profile.settings);
    CHECK(once == pdf_of(everything + text_of(3), profile.settings));
    // Not by being cached: from fonts read anew, given byte by byte.
    const Fonts fresh = Fonts::load().value();
    const std::string bytes = everything + text_of(3);
    std::size_t at = 0;
    std::string slowly;
    const ByteSource source = [&](std::span<char> room) -> fs::Result<std::size_t> {
      if (at == bytes.size()) return std::size_t{0};
      room[0] = bytes[at++];
      return std::size_t{1};
    };
    REQUIRE(render(source, profile.settings, metadata(), fresh, to(slowly)));
    CHECK(once == slowly);
  }
}

TEST_CASE("invariant 7: another job's equal printout differs only in what it says of the job") {
  Metadata other = metadata();
  other.job = "job-0018";
  const std::string one = pdf_of("x", settings("plain-80"));
  const std::string two = pdf_of("x", settings("plain-80"), other);
  REQUIRE(one.size() == two.size());
  const std::size_t id = one.find("/ID[");
  CHECK(one.substr(0, id) == two.substr(0, id));
  CHECK(one.substr(id, 72) != two.substr(id, 72));
  CHECK(one.substr(id + 72) == two.substr(id + 72));
}

TEST_CASE("a printout of ten thousand pages takes no more memory than a short one") {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  WARN("skipped: sanitizers keep freed memory");
#else
  const auto peak = [] {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return usage.ru_maxrss;  // KiB
  };
  const auto print_pages = [](int pages) {
    const std::string one = text_of(1);
    Settings long_job = settings("fanfold-11");
    long_job.text.most_pages = 20'000;
    int left = pages;
    std::size_t at = 0;
    const ByteSource source = [&](std::span<char> room) -> fs::Result<std::size_t> {
      if (left == 0) return std::size_t{0};
      const std::size_t size = std::min(room.size(), one.size() - at);
      std::copy_n(one.begin() + static_cast<std::ptrdiff_t>(at), size, room.begin());
      at += size;
      if (at == one.size()) {
        at = 0;
        --left;
      }
      return size;
    };
    std::uint64_t bytes = 0;
    const ByteSink sink = [&bytes](std::string_view piece) -> fs::Status {
      bytes += piece.size();
      return {};
    };
    CHECK(render(source, long_job, metadata(), fonts(), sink)->pages ==
          static_cast<std::uint64_t>(pages));
    return bytes;
  };
  print_pages(100);
  const long before = peak();
  CHECK(print_pages(10'000) > 1'000'000);
  CHECK(peak() - before < 4 * 1024);
  CHECK(peak() < 64 * 1024);
#endif
}

TEST_CASE("a full page takes less than half a byte for each that it prints, beyond the fonts") {
  // Prose of words that come often and seldom, 66 lines of up to 80 characters.
  const std::vector<std::string> words = {
      "the",     "of",      "and",      "a",         "to",     "in",      "mill",    "water",
      "wheel",   "sluice",  "flour",    "tide",      "wren",   "ledger",  "printed", "paper",
      "ribbon",  "evening", "which",    "before",    "nobody", "found",   "slowly",  "morning",
      "winter",  "solder",  "register", "Monday",    "August", "average", "There",   "volume",
      "azimuth", "June",    "quartz",   "juxtaposed"};
  std::mt19937 random(80);
  const auto prose = [&](int pages) {
    std::string out;
    for (int line = 0; line < pages * 66; ++line) {
      std::string text;
      for (;;) {
        const std::size_t rank = random() % words.size();
        const std::string& word = words[random() % (rank + 1)];
        if (text.size() + 1 + word.size() > 80) break;
        if (!text.empty()) text += ' ';
        text += word;
      }
      out += text + '\n';
    }
    return out;
  };
  const std::string text = prose(60);
  const auto part = [&](std::string_view bytes) {
    return static_cast<double>(pdf_of(bytes, settings("plain-80")).size());
  };
  std::size_t ten_pages = 0;
  for (int line = 0; line < 660; ++line) ten_pages = text.find('\n', ten_pages) + 1;
  // What ten pages have, fonts and all, is taken off.
  const double fifty = part(text) - part(std::string_view(text).substr(0, ten_pages));
  const auto printed = static_cast<double>(text.size() - ten_pages);
  CHECK(printed / 50 > 66 * 72);
  CHECK(fifty / printed < 0.5);
  CAPTURE(fifty / 50, printed / 50);

  // And what is not the text itself, compressed page by page, is 4 % of that.
  double alone = 0;
  Deflater deflater(Effort::quick);
  for (std::size_t at = ten_pages; at < text.size();) {
    std::size_t end = at;
    for (int line = 0; line < 66; ++line) end = text.find('\n', end) + 1;
    std::string compressed;
    deflater.compress(std::string_view(text).substr(at, end - at), compressed);
    alone += static_cast<double>(compressed.size());
    at = end;
  }
  CHECK((fifty - alone) / printed < 0.04);
}

TEST_CASE("what the sink says ends the writing") {
  int calls = 0;
  PdfWriter writer(fonts(), find_paper("a4").value(), metadata(),
                   [&calls](std::string_view) -> fs::Status {
                     ++calls;
                     return fs::Error{fs::Code::no_space, "the disk is full"};
                   });
  Page page;
  fs::Status status;
  for (int i = 0; i < 100'000 && status; ++i) status = writer.add(page);
  REQUIRE(status.has_error());
  CHECK(status.error().message == "the disk is full");
  CHECK(writer.finish().error().message == "the disk is full");
  CHECK(calls == 1);
}
