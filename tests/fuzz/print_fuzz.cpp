// Any bytes in any printer language give pages: no crash, no control code among what is shown, and
// a page that is bounded; and the same ones in whatever pieces they come.
//
// The first byte of an input chooses the language, the second the form and how the job is cut. The
// rest is the job. One job in so many, by its bytes, goes on to the PDF writer, which takes ten
// times as long as all before it.

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string_view>

#include "print/interpreters.h"
#include "print/profile.h"
#include "print/render.h"
#include "print/strikes.h"

namespace {

using namespace stationer;
using namespace stationer::print;

// A job may end with so many, so that a small input is a small amount of work.
constexpr std::uint64_t most_pages = 30;

constexpr std::uint64_t written = 20;  // one in so many

void require(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %s\n", what);
  std::abort();
}

bool is_control(char32_t character) {
  return character < 0x20 || (character >= 0x7F && character <= 0x9F);
}

// The pages of a job as one number.
class Sum {
 public:
  void add(std::uint64_t value) { sum_ = (sum_ ^ value) * 0x100000001B3u; }
  template <class... Values>
  void add_all(Values... values) {
    (add(static_cast<std::uint64_t>(values)), ...);
  }
  std::uint64_t value() const { return sum_; }

 private:
  std::uint64_t sum_ = 0xCBF29CE484222325u;
};

void check_cell(const Cell& cell, CellSize size, Sum& sum) {
  require(!is_control(cell.character), "what is shown is no control code");
  require(size.pitch > 0 && size.height > 0, "cells have a size");
  sum.add_all(cell.character, cell.style, cell.ink, size.pitch, size.height);
}

void check(const Page& page, Sum& sum) {
  std::size_t cells = 0;
  for (const Run& run : page.runs()) {
    cells += run.count;
    sum.add_all(run.x, run.baseline);
    for (const Cell& cell : page.cells(run)) check_cell(cell, run.size, sum);
  }
  require(cells <= 4 * Strikes::most, "a page has so many characters");
  for (const Mark& mark : page.marks()) {
    sum.add_all(mark.x, mark.baseline);
    check_cell(mark.cell, mark.size, sum);
  }
  require(page.rules().size() <= 2 * Strikes::most, "a page has so many rules");
  for (const Rule& rule : page.rules()) {
    require(rule.width > 0, "rules have a length");
    sum.add_all(rule.x, rule.y, rule.width, rule.height, rule.ink);
  }
  for (const Image& image : page.images()) {
    require(image.across > 0 && image.down > 0, "dots are apart");
    sum.add_all(image.x, image.y, image.across, image.down, image.columns, image.rows, image.ink);
    for (const std::uint8_t bits : page.bits(image)) sum.add(bits);
  }
}

Settings settings_of(std::uint8_t language, std::uint8_t form) {
  const auto profiles = printer_profiles();
  Settings settings = profiles[form % profiles.size()].settings;
  settings.language = languages()[language % languages().size()].language;
  settings.text.most_pages = most_pages;
  settings.text.return_feeds = (form & 0x40) != 0;
  settings.dots.drop_neighbours = (form & 0x80) != 0;
  return settings;
}

std::uint64_t pages_of(std::string_view job, const Settings& settings, std::size_t piece) {
  Sum sum;
  const auto interpreter =
      make_interpreter(settings, lay_out(settings.form).value(), [&sum](const Page& page) {
        check(page, sum);
        return fs::Status{};
      });
  fs::Status status;
  for (std::size_t at = 0; at < job.size() && status; at += piece) {
    status = interpreter->feed(job.substr(at, piece));
  }
  if (status) status = interpreter->finish();
  require(status || status.error().code == fs::Code::over_quota, "a job is printed or too long");
  const JobReport report = interpreter->report();
  require(report.pages <= most_pages, "a job has so many pages");
  require(report.unknown.size() <= JobReport::most_shown, "a report shows so much");
  if (!status) return sum.value();  // what else was read of a job that is refused doesn't count
  sum.add_all(report.pages, report.characters, report.unknown_controls, report.blots);
  for (const UnknownCode& code : report.unknown) {
    require(code.offset < job.size(), "an unknown code stands in the job");
    sum.add_all(code.offset, code.size);
  }
  return sum.value();
}

void write(std::string_view job, const Settings& settings) {
  static const Fonts fonts = Fonts::load().value();
  std::size_t size = 0;
  const auto report = render(
      [&job](std::span<char> room) -> fs::Result<std::size_t> {
        const std::size_t some = std::min(room.size(), job.size());
        std::copy_n(job.begin(), some, room.begin());
        job.remove_prefix(some);
        return some;
      },
      settings, {}, fonts,
      [&size](std::string_view bytes) {
        size += bytes.size();
        return fs::Status{};
      });
  require(!report || size > 0, "a printed job is a PDF");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 2) return 0;
  const Settings settings = settings_of(data[0], data[1]);
  const std::string_view job(reinterpret_cast<const char*>(data) + 2, size - 2);
  const std::size_t piece = 1 + data[1] % 7;
  require(pages_of(job, settings, job.size() + 1) == pages_of(job, settings, piece),
          "pieces make the same pages");
  Sum sum;
  for (const char byte : job) sum.add(static_cast<std::uint8_t>(byte));
  if (sum.value() % written == 0) write(job, settings);
  return 0;
}
