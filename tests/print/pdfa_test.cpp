// That printouts keep to PDF/A-2u, and that the rules notice when a file doesn't.
#include <regex>

#include "tests/print/pdfa_rules.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

using Broken = std::vector<std::string>;

TEST_CASE("every profile's printouts keep to PDF/A-2u") {
  for (const PrinterProfile& profile : printer_profiles()) {
    CAPTURE(profile.name);
    CHECK(
        broken_rules(pdf_of("plain b\bbo\bol\bld\bd \xE2\x94\x8C\xE2\x94\x80 M\bW \xE6\xBC\xA2\r\n"
                            "a\b_b\b_ (\\)\r\n\fmore",
                            profile.settings)) == Broken{});
    CHECK(broken_rules(pdf_of("", profile.settings)) == Broken{});
  }
}

TEST_CASE("all that a page can have keeps to PDF/A-2u, in every look and dress") {
  Page text;
  text.add_run(0, 280, {216, 360}, cells(U"text alone"));
  for (const LookName& look : looks()) {
    for (const int pages : {1, 2, 4}) {
      for (const bool dressed : {false, true}) {
        CAPTURE(look.name, pages, dressed);
        const Dress dress{look.look, dressed, dressed, pages};
        const std::string pdf = pdf_of(
            {page_with_everything(), text, Page(), page_with_everything()}, "fanfold-11", dress);
        CHECK(broken_rules(pdf) == Broken{});
      }
    }
  }
}

TEST_CASE("a page that is black and without images has nothing that only others need") {
  Page text;
  text.add_run(0, 280, {216, 360}, cells(U"text alone", Style::bold));
  const PdfReader reader(pdf_of({text}));
  for (const char* key :
       {"/Group", "/ColorSpace", "/ExtGState", "/Pattern", "/XObject", "/Type3"}) {
    CAPTURE(key);
    CHECK(reader.with(key).empty());
  }
}

TEST_CASE("the rules of PDF/A-2u notice what breaks them") {
  const std::string pdf = pdf_of({page_with_everything()});
  REQUIRE(broken_rules(pdf) == Broken{});
  const auto with = [&pdf](std::string_view from, std::string_view to) {
    PdfReader changed(pdf);
    changed.change(from, to);
    return broken_rules(std::move(changed));
  };
  CHECK_FALSE(with("/CalRGB", "/LabRGB").empty());
  CHECK_FALSE(with("/BM/Multiply", "/BM/Multi   ").empty());
  CHECK_FALSE(with("/ImageMask true/Bits", "/ImageMusk true/Bits").empty());
  CHECK_FALSE(with("/Group<</S/Transparency", "/Grouq<</S/Transparency").empty());
  CHECK_FALSE(with("/GTS_PDFA1", "/GTS_PDFX1").empty());
  CHECK_FALSE(with("<pdfaid:part>2", "<pdfaid:part>3").empty());
  CHECK_FALSE(with("/Width 1", "/Width 2").empty());
  CHECK_FALSE(with("/XObject<<", "/YObject<<").empty());
}
