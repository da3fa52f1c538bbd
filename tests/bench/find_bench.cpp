// Reading printouts back and finding them: how fast the index is filled from PDFs, beside
// pdftotext on the same files (the peer, a process for each file as scripts use it); how large it
// becomes beside the PDFs; how long a search takes, beside grep through the plain texts (the limit
// of anything without an index); and how long forgetting a printout for good takes.
//
//   find_bench FOLDER [PRINTOUTS] [PAGES]
//
// FOLDER is on the disk to be measured. PRINTOUTS of PAGES each, 66 lines of prose to the page: 500
// of 4.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "print/finder.h"
#include "print/pdf_text.h"
#include "print/queue.h"
#include "print/spool.h"

using namespace stationer;
using Steady = std::chrono::steady_clock;

namespace {

double seconds_since(Steady::time_point start) {
  return std::chrono::duration<double>(Steady::now() - start).count();
}

[[noreturn]] void give_up(const std::string& why) {
  std::fprintf(stderr, "find_bench: %s\n", why.c_str());
  std::exit(1);
}

template <class T>
T need(fs::Result<T> result) {
  if (!result) give_up(result.error().message);
  return std::move(*result);
}
void need(const fs::Status& status) {
  if (!status) give_up(status.error().message);
}

// Prose of a vocabulary of some thousand words, used as unevenly as words are.
std::string prose(int pages, std::uint32_t& state) {
  const auto next = [&] { return (state = state * 1664525u + 1013904223u) >> 8; };
  std::string out;
  for (int line = 0; line < 66 * pages; ++line) {
    std::string text;
    while (text.size() < 70) {
      const double even = static_cast<double>(next() % 10'000) / 10'000;
      auto word = static_cast<std::uint32_t>(8000 * even * even * even);
      do text += "etaoinshrdlucmfw"[word % 16];
      while ((word /= 16) != 0);
      text += ' ';
    }
    out += text + "\r\n";
  }
  return out;
}

double search(print::Finder& finder, const std::string& words, std::size_t& count) {
  std::vector<double> times;
  for (int i = 0; i < 9; ++i) {
    const auto start = Steady::now();
    const auto found = need(finder.find(fs::keeper_at_the_box(), {}, words, 50));
    times.push_back(seconds_since(start));
    count = found.items.size();
  }
  std::sort(times.begin(), times.end());
  return times[times.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) give_up("name a folder on the disk to be measured");
  const std::string folder = std::string(argv[1]) + "/find_bench";
  const int printouts = argc > 2 ? std::atoi(argv[2]) : 500;
  const int pages = argc > 3 ? std::atoi(argv[3]) : 4;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  auto volume = need(fs::Volume::create(folder + "/volume", "bench"));
  auto queues = need(print::read_queues("[queue.paper]\nmost_pages = 10000\n"));
  auto spool = need(print::Spool::open(*volume, queues,
                                       print::render_in_place(queues, need(print::Fonts::load()))));
  std::uint32_t state = 1;
  std::uint64_t text_bytes = 0, pdf_bytes = 0;
  std::filesystem::create_directories(folder + "/texts");
  for (int i = 0; i < printouts; ++i) {
    auto job = need(spool->receive("", "letter", fs::no_account, "", "bench"));
    const std::string text = prose(pages, state) + "number" + std::to_string(i) + "\r\n";
    need(job.write(text));
    need(job.finish());
    need(spool->print_next());
    std::ofstream(folder + "/texts/" + std::to_string(i)) << text;
    text_bytes += text.size();
  }
  std::vector<std::string> pdfs;
  for (const auto& each : volume->desk().printouts(fs::keeper_at_the_box(), true)) {
    pdfs.push_back(folder + "/volume/" + each.path);
    pdf_bytes += each.bytes;
  }
  const double all_pages = static_cast<double>(printouts) * pages;

  auto start = Steady::now();
  for (const auto& each : volume->desk().printouts(fs::keeper_at_the_box(), true)) {
    const auto open = [&]() -> fs::Result<fs::Content> {
      return fs::Content(need(volume->host_files().open(*fs::HostPath::from_record(each.path))));
    };
    need(print::each_page_text(open, [](std::string_view) -> fs::Status { return {}; }));
  }
  const double reading = seconds_since(start);

  print::Finder finder(*volume, std::uint64_t{8} << 30);
  start = Steady::now();
  need(finder.catch_up());
  const double filling = seconds_since(start);
  const auto index_bytes = std::filesystem::file_size(folder + "/volume/printouts.index");

  const std::size_t sample = std::min<std::size_t>(pdfs.size(), 50);
  start = Steady::now();
  for (std::size_t i = 0; i < sample; ++i) {
    if (std::system(("pdftotext -layout " + pdfs[i] + " /dev/null").c_str()) != 0)
      give_up("pdftotext did not do it");
  }
  const double peer = seconds_since(start) / static_cast<double>(sample) * printouts;
  std::printf("%d printouts of %d pages\n", printouts, pages);
  std::printf("reading text   %8.0f pages/s  %.1f times pdftotext (%.0f pages/s)\n",
              all_pages / reading, peer / reading, all_pages / peer);
  std::printf("filling index  %8.0f pages/s\n", all_pages / filling);
  std::printf("index          %8.0f bytes a page: %.2f of the PDFs, %.2f of the texts\n",
              static_cast<double>(index_bytes) / all_pages,
              static_cast<double>(index_bytes) / static_cast<double>(pdf_bytes),
              static_cast<double>(index_bytes) / static_cast<double>(text_bytes));

  start = Steady::now();
  static_cast<void>(std::system(("grep -rl number77 " + folder + "/texts > /dev/null").c_str()));
  const double grep = seconds_since(start);
  std::size_t count = 0;
  for (const std::string words : {"number77", "number7*", "tt", "tt nn \"e t\""}) {
    const double took = search(finder, words, count);
    std::printf("find %-12s %7.2f ms, %zu found; grep through the texts takes %.0f times as long\n",
                words.c_str(), took * 1000, count, grep / took);
  }
  start = Steady::now();
  need(volume->desk().discard_printout(fs::keeper_at_the_box(), 1).wait());
  need(finder.forget());
  std::printf("forgetting     %8.0f ms, %.2f of filling\n", seconds_since(start) * 1000,
              seconds_since(start) / filling);
  spool.reset();
  std::filesystem::remove_all(folder);
  return 0;
}
