// What takes long: a thousand random listings through other people's eyes, and jobs of ten thousand
// pages within their memory.

#include <cmath>
#include <functional>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "print/pdf_writer.h"
#include "print/raster.h"
#include "print/settings.h"
#include "tests/print/printing.h"
#include "tests/print/random_text.h"
#include "tests/print/tools.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

TEST_CASE("the text of a thousand random listings comes back column for column") {
  std::mt19937 random(1000);
  std::vector<Settings> plain;
  for (const PrinterProfile& profile : printer_profiles()) {
    if (profile.settings.language == Language::text) plain.push_back(profile.settings);
  }
  REQUIRE(plain.size() >= 5);
  constexpr Look all_looks[] = {Look::plain, Look::plain, Look::dots, Look::fine_dots};
  for (int number = 0; number < 1000; ++number) {
    Settings set = plain[static_cast<std::size_t>(number) % plain.size()];
    set.dress.look = all_looks[random() % 4];
    const Layout layout = lay_out(set.form).value();
    const RandomText listing = random_listing(random, 1 + static_cast<int>(random() % 3),
                                              layout.lines, layout.columns, printing_ascii());
    CAPTURE(number, set.form.paper.name, name_of(set.dress.look));
    REQUIRE(difference(indented(listing.pages, set),
                       columns_of(pdf_of(listing.bytes, set), cell_width(set))) == "");
  }
}

namespace {

// A page full of dots: 960 x 792 of them, in the bands that a head strikes.
void strike_picture(Raster& raster, unsigned seed, Ink ink) {
  std::vector<std::uint8_t> columns(960);
  for (Units band = 0; band < 99; ++band) {
    for (std::size_t i = 0; i < columns.size(); ++i) {
      seed = seed * 1103515245 + 12345;
      columns[i] = static_cast<std::uint8_t>(i % 16 < 8 ? seed >> 16 : 0x81);
    }
    raster.add(Band{270, 400 + 240 * band, inches(1, 120), inches(1, 72), 960, 1, ink}, columns);
  }
}

// How many KiB a process of its own needs at most, above one that does nothing.
long peak_of(const std::function<void()>& work) {
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  const pid_t child = ::fork();
  if (child == 0) {
    rusage before{};
    ::getrusage(RUSAGE_SELF, &before);
    work();
    rusage after{};
    ::getrusage(RUSAGE_SELF, &after);
    const long peak = after.ru_maxrss - before.ru_maxrss;
    ::_exit(::write(ends[1], &peak, sizeof peak) == sizeof peak ? 0 : 1);
  }
  ::close(ends[1]);
  long peak = -1;
  const auto got = ::read(ends[0], &peak, sizeof peak);
  ::close(ends[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  REQUIRE(got == sizeof peak);
  return peak;
}

}  // namespace

TEST_CASE("jobs of ten thousand pages need at most 64 MiB, whatever is on them") {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  WARN("skipped: sanitizers keep freed memory");
#else
  constexpr long most = 64 << 10;
  constexpr int pages = 10'000;
  fonts();
  for (const Look look : {Look::plain, Look::dots}) {
    const long of_graphics = peak_of([&] {
      const ByteSink nowhere = [](std::string_view) -> fs::Status { return {}; };
      PdfWriter writer(fonts(), find_paper("letter").value(), metadata(), nowhere,
                       {look, false, false, 1});
      Raster raster;
      Page page;
      for (int number = 0; number < pages; ++number) {
        strike_picture(raster, static_cast<unsigned>(number), Ink::black);
        if (number % 100 == 0) strike_picture(raster, static_cast<unsigned>(number), Ink::red);
        raster.give_to(page);
        writer.add(page).value();
        page.clear();
      }
      writer.finish().value();
    });
    std::mt19937 random(64);
    const RandomText one = random_listing(random, 1, 66, 80, printing_ascii());
    const long of_text = peak_of([&] {
      Settings set = settings("plain-80-letter");
      set.dress.look = look;
      set.text.most_pages = pages;
      int left = pages;
      const ByteSource source = [&](std::span<char> room) -> fs::Result<std::size_t> {
        if (left == 0) return std::size_t{0};
        --left;
        return one.bytes.copy(room.data(), room.size());
      };
      const ByteSink nowhere = [](std::string_view) -> fs::Status { return {}; };
      CHECK(render(source, set, metadata(), fonts(), nowhere)->pages == pages);
    });
    CAPTURE(name_of(look), of_graphics, of_text);
    CHECK(of_graphics > 0);
    CHECK(of_graphics < most);
    CHECK(of_text > 0);
    CHECK(of_text < most);
    WARN(name_of(look) << ": graphics " << of_graphics << " KiB, text " << of_text << " KiB");
  }
#endif
}

TEST_CASE("a page with as many dots as may be stays within its memory") {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  WARN("skipped: sanitizers keep freed memory");
#else
  fonts();
  for (const Look look : {Look::plain, Look::dots}) {
    const long peak = peak_of([&] {
      const ByteSink nowhere = [](std::string_view) -> fs::Status { return {}; };
      PdfWriter writer(fonts(), find_paper("fanfold-11-wide").value(), metadata(), nowhere,
                       {look, false, false, 1});
      Raster raster(needle_of_24);
      Page page;
      // 14 x 11 in at 360 x 360 in six inks, twice.
      std::vector<std::uint8_t> columns(5040 * 6, 0x5A);
      for (int pass = 0; pass < 2; ++pass) {
        for (const Ink ink :
             {Ink::black, Ink::cyan, Ink::magenta, Ink::yellow, Ink::red, Ink::green}) {
          for (Units band = 0; band < 82; ++band) {
            raster.add(Band{500, 6 * 48 * band, 6, 6, 5040, 6, ink}, columns);
          }
        }
      }
      raster.give_to(page);
      writer.add(page).value();
      writer.finish().value();
    });
    CAPTURE(name_of(look), peak);
    CHECK(peak < 64 << 10);
    WARN(name_of(look) << ": " << peak << " KiB");
  }
#endif
}
