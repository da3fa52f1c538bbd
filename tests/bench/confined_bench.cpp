// What it costs to print each job in a process of its own that is locked in, beside printing in
// this one: jobs of one page, of ten and of a thousand, each first alone and then one after the
// other.
//
//   confined_bench PROGRAM
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "print/confined_renderer.h"

using namespace stationer::print;
namespace fs = stationer::fs;

namespace {

std::string prose(int pages) {
  std::string out;
  for (int page = 0; page < pages; ++page) {
    for (int line = 0; line < 66; ++line) {
      out += fmt::format(
          "{:3} {:2} The wheel turned twice that night, and the mill race ran {} over.\r\n", page,
          line, (page * 7919 + line * 104729) % 99991);
    }
  }
  return out;
}

// Milliseconds for one job, the middle of several.
double time_of(Renderer& renderer, const std::string& job, int times) {
  std::vector<double> all;
  for (int i = 0; i < times; ++i) {
    std::string_view rest = job;
    std::size_t size = 0;
    std::uint64_t last_page = 0;
    const auto start = std::chrono::steady_clock::now();
    auto report = renderer.render(
        {"", 10'000, {"prose", "", "", "1", {}}, {}},
        [&](std::span<char> into) -> fs::Result<std::size_t> {
          const std::size_t piece = rest.copy(into.data(), into.size());
          rest.remove_prefix(piece);
          return piece;
        },
        [&](std::size_t, std::string_view bytes) -> fs::Status {
          size += bytes.size();
          return {};
        },
        [&](std::uint64_t page) { last_page = page; });
    if (!report) {
      fmt::print("{}\n", report.error().message);
      return 0;
    }
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - start;
    all.push_back(took.count());
  }
  std::nth_element(all.begin(), all.begin() + times / 2, all.end());
  return all[static_cast<std::size_t>(times) / 2];
}

}  // namespace

int main(int count, char** words) {
  if (count != 2) {
    fmt::print("confined_bench PROGRAM\n");
    return 2;
  }
  Confinement how;
  how.program = words[1];
  auto confined = ConfinedRenderer::open("", how);
  if (!confined) {
    fmt::print("{}\n", confined.error().message);
    return 1;
  }
  const auto in_place = render_in_place(read_queues("").value(), Fonts::load().value());
  fmt::print("pages  in place, ms  locked in, ms  ratio\n");
  for (const auto& [pages, times] : {std::pair(1, 200), {10, 200}, {1000, 5}}) {
    const std::string job = prose(pages);
    time_of(*in_place, job, 3);
    const double here = time_of(*in_place, job, times);
    const double there = time_of(**confined, job, times);
    fmt::print("{:5}  {:12.2f}  {:13.2f}  {:5.2f}\n", pages, here, there, there / here);
  }
}
