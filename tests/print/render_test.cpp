#include "print/render.h"

#include <sstream>

#include "tests/print/pdf_reader.h"
#include "tests/print/printing.h"
#include "tests/print/tools.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

ByteSource from(std::string_view& bytes) {
  return [&bytes](std::span<char> room) -> fs::Result<std::size_t> {
    const std::size_t size = std::min(room.size(), bytes.size());
    std::copy_n(bytes.begin(), size, room.begin());
    bytes.remove_prefix(size);
    return size;
  };
}

}  // namespace

TEST_CASE("a job's report says what became of it") {
  std::string_view job =
      "caf\xC3\xA9 \xE6\xBC\xA2\xE5\xAD\x97 \xFF\x01\x1B"
      "E\fb";
  std::string out;
  const JobReport report =
      render(from(job), settings("plain-80"), metadata(), fonts(), to(out)).value();
  CHECK(report.pages == 2);
  CHECK(report.characters == 8);
  CHECK(report.unreadable == 1);
  CHECK(report.unknown_controls == 1);
  CHECK(report.unknown == std::vector<UnknownCode>{{14, {0x01}, 1}});
  CHECK(report.escape_sequences == 1);
  CHECK(report.missing_glyphs == 2);
  CHECK(PdfReader(out).pages().size() == 2);
}

TEST_CASE("a listing's first column moves the paper whatever the rules for text are") {
  Settings set = settings("listing-132");
  set.language = Language::listing;
  set.text.feed_returns = false;
  set.text.return_feeds = true;
  std::string_view job = "1PEG RENTS\r\n+PEG RENTS\r\n0low water\r\n?high water\r\n1end\r\n";
  std::string out;
  const JobReport report = render(from(job), set, metadata(), fonts(), to(out)).value();
  CHECK(report.pages == 2);
  CHECK(report.unknown == std::vector<UnknownCode>{{36, {'?'}, 1}});
  CHECK(out.find("%PDF-") == 0);
}

TEST_CASE("invariant 5: a job that can't be printed says why") {
  std::string out;
  std::string_view job = "x";

  Settings misfit = settings("plain-80");
  misfit.form.columns = 200;
  const auto refused = render(from(job), misfit, metadata(), fonts(), to(out));
  REQUIRE(refused.has_error());
  CHECK(refused.error().code == fs::Code::bad_input);
  CHECK(out.empty());

  Settings limited = settings("plain-80");
  limited.text.most_pages = 2;
  std::string_view long_job = "a\fb\fc";
  const auto over = render(from(long_job), limited, metadata(), fonts(), to(out));
  REQUIRE(over.has_error());
  CHECK(over.error().code == fs::Code::over_quota);

  const ByteSource broken = [](std::span<char>) -> fs::Result<std::size_t> {
    return fs::Error{fs::Code::io, "the disk didn't answer"};
  };
  CHECK(render(broken, settings("plain-80"), metadata(), fonts(), to(out)).error().message ==
        "the disk didn't answer");

  const ByteSink full = [](std::string_view) -> fs::Status {
    return fs::Error{fs::Code::no_space, "the disk is full"};
  };
  job = "x";
  CHECK(render(from(job), settings("plain-80"), metadata(), fonts(), full).error().message ==
        "the disk is full");
}

namespace {

RenderJob plain_job() {
  RenderJob job;
  job.settings = settings("plain-80");
  job.metadata = metadata();
  return job;
}

// A job's printouts, and the report.
struct Parts {
  std::vector<std::string> pdfs;
  JobReport report;

  Parts(std::string_view bytes, const RenderJob& job) {
    const PartSink sink = [this](std::size_t part, std::string_view piece) -> fs::Status {
      pdfs.resize(std::max(pdfs.size(), part + 1));
      pdfs[part] += piece;
      return {};
    };
    report = render(from(bytes), job, fonts(), sink).value();
  }
};

}  // namespace

TEST_CASE("a job is split after so many pages, without an empty printout at its end") {
  RenderJob job = plain_job();
  job.split.pages = 2;
  const Parts five("1\f2\f3\f4\f5", job);
  CHECK(five.report.pages == 5);
  CHECK(five.report.parts == std::vector<std::uint64_t>{2, 2, 1});
  REQUIRE(five.pdfs.size() == 3);
  CHECK(PdfReader(five.pdfs[1]).pages().size() == 2);
  const auto title = [&five](std::size_t part) {
    const PdfReader reader(five.pdfs[part]);
    return PdfReader::value(reader.object(reader.info()), "/Title");
  };
  CHECK(title(0) == "(Ledger \\(May\\))");
  CHECK(title(2) == "(Ledger \\(May\\) \\(part 3\\))");
  CHECK(Parts("1\f2\f3\f4\f", job).report.parts == std::vector<std::uint64_t>{2, 2});
  CHECK(Parts("", job).report.pages == 0);
  // The limit of pages is the whole job's.
  job.settings.text.most_pages = 3;
  std::string_view four = "1\f2\f3\f4";
  const PartSink nowhere = [](std::size_t, std::string_view) -> fs::Status { return {}; };
  CHECK(render(from(four), job, fonts(), nowhere).error().code == fs::Code::over_quota);
}

TEST_CASE("each page of a job is told of before it is drawn, whichever printout it is in") {
  RenderJob job = plain_job();
  job.split.pages = 2;
  job.banner = true;
  std::string_view four = "1\f2\f\f4";
  std::vector<std::uint64_t> told;
  const PartSink nowhere = [](std::size_t, std::string_view) -> fs::Status { return {}; };
  const PageTold on_page = [&told](std::uint64_t page) { told.push_back(page); };
  REQUIRE(render(from(four), job, fonts(), nowhere, on_page));
  CHECK(told == std::vector<std::uint64_t>{1, 2, 3, 4});
}

TEST_CASE("a job is split at its marker, and where another was joined begins a new page") {
  RenderJob job = plain_job();
  job.split.marker = "NEXT";
  const Parts split("NEXT\none\n\x01NEXT\nNEXT\ntwo\f\nNEXT\n\x02three\nNEXT\n", job);
  CHECK(split.report.parts == std::vector<std::uint64_t>{1, 1, 1});
  CHECK(split.report.unknown == std::vector<UnknownCode>{{9, {1}, 1}, {30, {2}, 1}});

  RenderJob joined = plain_job();
  joined.starts = {4, 9};
  const Parts whole("one\ntwo\n\x01three", joined);
  CHECK(whole.report.parts == std::vector<std::uint64_t>{3});
  CHECK(whole.report.unknown == std::vector<UnknownCode>{{8, {1}, 1}});
  CHECK(PdfReader(whole.pdfs[0]).pages().size() == 3);
}

TEST_CASE("a banner says whose it is, stands in front of all, and is counted nowhere") {
  RenderJob job = plain_job();
  job.split.pages = 1;
  job.banner = true;
  const Parts parts("one\ftwo\f", job);
  CHECK(parts.report.pages == 2);
  CHECK(parts.report.parts == std::vector<std::uint64_t>{1, 1});
  CHECK(PdfReader(parts.pdfs[0]).pages().size() == 2);
  CHECK(PdfReader(parts.pdfs[1]).pages().size() == 1);
}

TEST_CASE("a banner takes the first place of a sheet that has several") {
  RenderJob job = plain_job();
  job.banner = true;
  for (const int together : {2, 4}) {
    job.settings.dress.pages_a_sheet = together;
    const Parts parts("one\ftwo\fthree\ffour\f", job);
    CHECK(parts.report.pages == 4);
    REQUIRE(parts.pdfs.size() == 1);
    std::vector<std::string> sheets;
    std::istringstream text(run_on(parts.pdfs[0], "pdftotext -raw % -").out);
    for (std::string sheet; std::getline(text, sheet, '\f');) sheets.push_back(sheet);
    CAPTURE(together);
    REQUIRE(sheets.size() == static_cast<std::size_t>(together == 2 ? 3 : 2));
    const std::size_t banner = sheets[0].find("robin");
    REQUIRE(banner != std::string::npos);
    CHECK(sheets[0].find("Ledger (May)") != std::string::npos);
    CHECK(banner < sheets[0].find("one"));
    CHECK(sheets.back().find("four") != std::string::npos);
    CHECK(sheets.back().find("robin") == std::string::npos);
  }
}
