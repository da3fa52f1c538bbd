// stationer pdf, which needs no volume.
#include <catch2/catch.hpp>

#include "tests/admin/process.h"

using namespace stationer;
using test::Keeper;
using test::Said;

TEST_CASE("a captured job becomes a PDF, with what was found said on standard error") {
  Keeper keeper;
  keeper.named = "";
  keeper.write("tides.prn", "High water\r\n\x0cLow water \xff\x1b[1m\r\n");
  const Said said = keeper.run("pdf tides.prn tides.pdf --charset ascii");
  CHECK(said.status == 0);
  CHECK(said.out.empty());
  CHECK(said.err.starts_with("2 pages, "));
  CHECK(said.err.find("1 byte that is none of the character set") != std::string::npos);
  CHECK(said.err.find("1 escape sequence left out") != std::string::npos);
  const std::string pdf = keeper.read("tides.pdf");
  CHECK(pdf.starts_with("%PDF-"));
  CHECK(pdf.find("%%EOF") != std::string::npos);

  // By pipe it is the same document, but for its title and date.
  const Said piped = keeper.run("pdf - - --charset ascii", "High water\r\n");
  CHECK(piped.status == 0);
  CHECK(piped.out.starts_with("%PDF-"));
  CHECK(piped.err.starts_with("1 page, "));
}

TEST_CASE("invariant 7: the same file gives the same PDF, whenever it is made") {
  Keeper keeper;
  keeper.write("tides.prn", "High water at noon\r\n");
  keeper.done("pdf tides.prn one.pdf");
  keeper.done("pdf tides.prn two.pdf");
  CHECK((keeper.read("one.pdf") == keeper.read("two.pdf")));
  keeper.done("pdf tides.prn three.pdf --paper letter --title Tides --printer plain-132");
  CHECK_FALSE((keeper.read("one.pdf") == keeper.read("three.pdf")));
}

TEST_CASE("what pdf can't do is said, and leaves nothing") {
  Keeper keeper;
  keeper.named = "";
  keeper.write("tides.prn", "High water\r\n");
  const auto before = keeper.names();
  CHECK(keeper.failed("pdf none.prn a.pdf").find("could not be opened") != std::string::npos);
  CHECK(keeper.failed("pdf tides.prn a.pdf --printer owl").find("Choose one of: plain-80") !=
        std::string::npos);
  CHECK(keeper.failed("pdf tides.prn a.pdf --paper owl").find("Choose one of: a4") !=
        std::string::npos);
  CHECK(keeper.failed("pdf tides.prn a.pdf --charset owl").find("Choose one of: ascii") !=
        std::string::npos);
  CHECK(keeper.failed("pdf tides.prn a.pdf --language owl")
            .find("Choose one of: text, listing, nine-pin, 24-pin, ecma-48") != std::string::npos);
  CHECK(keeper.names() == before);
  keeper.write("long.prn", std::string(3, '\x0c') + "x");
  CHECK(keeper.failed("pdf long.prn a.pdf --most-pages 2").find("more than 2 pages") !=
        std::string::npos);
  CHECK(keeper.read("a.pdf").empty());
  CHECK(keeper.run("pdf long.prn a.pdf --most-pages 4").status == 0);
}

TEST_CASE("a listing's first column is not printed but moves the paper") {
  Keeper keeper;
  keeper.named = "";
  keeper.write("rents.prn", "1PEG RENTS\n+PEG RENTS\n1END\n?\n");
  const Said said = keeper.run("pdf rents.prn rents.pdf --printer listing-132 --language listing");
  CHECK(said.status == 0);
  CHECK(said.err.starts_with("2 pages, 19 characters"));
  CHECK(said.err.find("1 unknown control code") != std::string::npos);
}

TEST_CASE("a printer of the volume's own is known to pdf and printer, by service or without") {
  Keeper keeper;
  keeper.make_volume();
  keeper.write("volume/volume.toml", keeper.read("volume/volume.toml") +
                                         "\n[printer.office]\nlike = \"daisy-wheel-12\"\n"
                                         "title = \"In the office\"\ncolumns = 60\n");
  CHECK(keeper.done("printer list").find("In the office") != std::string::npos);
  CHECK(keeper.done("printer show office").find("columns = 60\n") != std::string::npos);
  CHECK(keeper.done("pdf --list printers").find("office  ") != std::string::npos);
  const std::string sheet = keeper.done("printer sheet office -");
  keeper.write("sheet.prn", sheet);
  const Said said = keeper.run("pdf sheet.prn sheet.pdf --printer office");
  CHECK(said.status == 0);
  CHECK(said.err.starts_with("1 page, "));
  CHECK(keeper.failed("printer show owl").find("office") != std::string::npos);
  keeper.named = "";
  CHECK(keeper.failed("printer show office").find("Choose one of") != std::string::npos);
  CHECK(keeper.done("printer list").find("office") == std::string::npos);
  CHECK(keeper.done("printer show office --volume volume").find("columns = 60") !=
        std::string::npos);
}

TEST_CASE("a calibration sheet is the job that becomes its PDF") {
  Keeper keeper;
  keeper.named = "";
  keeper.done("printer sheet ecma-48-80 sheet.prn");
  CHECK(keeper.read("sheet.prn").starts_with("\x1B\x63"));
  keeper.done("printer sheet ecma-48-80 sheet.pdf --pdf");
  CHECK(keeper.read("sheet.pdf").starts_with("%PDF-"));
  const Said said = keeper.run("pdf sheet.prn - --printer ecma-48-80");
  CHECK(said.err.starts_with("1 page, "));
  CHECK(said.err.find("unknown") == std::string::npos);
}

TEST_CASE("what a captured job looks like is said when it is printed as something else") {
  Keeper keeper;
  keeper.named = "";
  keeper.write("bold.prn", "\x1B[1mHigh water\x1B[0m\r\n");
  Said said = keeper.run("pdf bold.prn bold.pdf");
  CHECK(said.status == 0);
  CHECK(said.err.find("\nIt looks like ECMA-48 control sequences: CSI m at byte 0") !=
        std::string::npos);
  said = keeper.run("pdf bold.prn bold.pdf --language ecma-48");
  CHECK(said.err == "1 page, 9 characters.\n");
  keeper.write("long.prn", "\x1B[1mone\f\f\x1B[0mtwo");
  CHECK(keeper.failed("pdf long.prn a.pdf --most-pages 1").find("Try the language ecma-48.") !=
        std::string::npos);
}

TEST_CASE("what there is to choose from is listed") {
  Keeper keeper;
  keeper.named = "";
  CHECK(keeper.done("pdf --list printers").find("plain-80  ") == 0);
  CHECK(keeper.done("pdf --list papers").find("letter  ") != std::string::npos);
  CHECK(keeper.done("pdf --list languages").find("listing  ") != std::string::npos);
  CHECK(keeper.done("pdf --list charsets").find("\ncp437\n") != std::string::npos);
}
