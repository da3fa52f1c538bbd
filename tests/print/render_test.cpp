#include "print/render.h"

#include "tests/print/pdf_reader.h"
#include "tests/print/printing.h"

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
