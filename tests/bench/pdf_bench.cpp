// How fast text becomes PDF, beside the least that can be done and beside other ways:
//
//   pdf_bench [PAGES ...]        1, 10 and 1000 unless told otherwise; of text, styled text and
//                                graphics
//
// Each way runs in a process of its own, so that its peak of memory is its own. Jobs of the
// libraries are made anew until a fifth of a second is over and the median is told, after the
// first, which reads fonts and is told apart. Rates are of processor time, which says more than the
// clock where other things run besides; the first job is by the clock. Prints ratios; fails on
// nothing.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/bench/pdf_ways.h"

namespace {

using namespace stationer::bench;
using Seconds = std::chrono::duration<double>;

// Prose of a small world: common words often, rare ones rarely, numbers now and then, lines filled
// to 80 characters as a text program fills them.
std::string prose(int pages) {
  const std::vector<std::string> words = {
      "the",       "of",          "and",        "to",       "a",         "in",         "is",
      "it",        "was",         "for",        "that",     "on",        "with",       "as",
      "at",        "by",          "from",       "mill",     "water",     "wheel",      "tide",
      "sluice",    "flour",       "stone",      "robin",    "wren",      "teasel",     "sorrel",
      "bram",      "ledger",      "page",       "printed",  "machine",   "keyboard",   "program",
      "listing",   "paper",       "ribbon",     "evening",  "members",   "which",      "were",
      "when",      "after",       "before",     "between",  "nobody",    "somebody",   "looked",
      "found",     "carried",     "repaired",   "borrowed", "returned",  "counted",    "measured",
      "slowly",    "quietly",     "again",      "twice",    "yesterday", "tomorrow",   "morning",
      "winter",    "volunteer",   "workshop",   "circuit",  "solder",    "cable",      "terminal",
      "register",  "memory",      "Monday",     "Tuesday",  "Thursday",  "May",        "October",
      "Tidewrack", "They",        "There",      "quantity", "average",   "difference", "adjustment",
      "exercise",  "bookkeeping", "juxtaposed", "azimuth"};
  std::mt19937 random(6680);
  // 1/rank, as words are spread in any language.
  std::vector<double> weights;
  for (std::size_t rank = 1; rank <= words.size(); ++rank)
    weights.push_back(1.0 / static_cast<double>(rank));
  std::discrete_distribution<std::size_t> choose(weights.begin(), weights.end());
  std::string out;
  std::string next;
  for (int line = 0; line < pages * 66; ++line) {
    std::string text = next;
    for (;;) {
      next = random() % 25 == 0 ? std::to_string(random() % 2000) : words[choose(random)];
      if (random() % 12 == 0) next += random() % 3 == 0 ? "." : ",";
      if (text.size() + 1 + next.size() > 80) break;
      if (!text.empty()) text += ' ';
      text += next;
    }
    out += text + '\n';
  }
  return out;
}

// Every sixth word is struck twice, every ninth over underscores.
std::string styled(const std::string& text) {
  std::string out;
  int word = 0;
  for (const char character : text) {
    if (character == ' ' || character == '\n') {
      ++word;
      out += character;
    } else if (word % 6 == 0) {
      out.append(1, character).append(1, '\b').append(1, character);
    } else if (word % 9 == 0) {
      out.append("_\b").append(1, character);
    } else {
      out += character;
    }
  }
  return out;
}

// A picture as programs of the time sent: a dithered ball on a ruled ground, and some noise.
std::vector<std::uint8_t> picture(unsigned seed) {
  std::mt19937 random(seed);
  std::vector<std::uint8_t> bits(std::size_t{picture_columns / 8} * picture_rows);
  for (unsigned y = 0; y < picture_rows; ++y) {
    for (unsigned x = 0; x < picture_columns; ++x) {
      const double dx = (x - 480.0) / 1.67;
      const double dy = y - 396.0;
      const double distance = std::sqrt(dx * dx + dy * dy);
      const unsigned shade = distance > 250 ? 16 : static_cast<unsigned>(distance / 16);
      const bool dot = distance < 250 ? (x * 7 + y * 13) % 16 >= shade
                                      : y % 36 == 0 || x % 60 == 0 || random() % 64 == 0;
      if (dot) bits[y * (picture_columns / 8) + x / 8] |= static_cast<std::uint8_t>(0x80 >> x % 8);
    }
  }
  return bits;
}

Job job_of(Kind kind, int pages) {
  Job job{kind, pages, {}, {}};
  if (kind == Kind::text) job.text = prose(pages);
  if (kind == Kind::styled) job.text = styled(prose(pages));
  if (kind == Kind::graphics) {
    for (unsigned seed = 0; seed < 4; ++seed) job.images.push_back(picture(seed));
  }
  return job;
}

// Of the processor, by this process and the programs it has started and seen end.
double seconds_spent() {
  double sum = 0;
  for (const int who : {RUSAGE_SELF, RUSAGE_CHILDREN}) {
    rusage usage{};
    ::getrusage(who, &usage);
    for (const timeval& part : {usage.ru_utime, usage.ru_stime}) {
      sum += static_cast<double>(part.tv_sec) + static_cast<double>(part.tv_usec) / 1e6;
    }
  }
  return sum;
}

struct Result {
  double first = 0;   // seconds by the clock
  double median = 0;  // seconds of the processor, of those after the first
  double bytes = 0;
  double peak = 0;  // KiB, above a process that does nothing
};

// Runs one way in a child of ours.
Result measure(const Way* way, Kind kind, int pages) {
  int ends[2];
  if (::pipe(ends) != 0) throw std::runtime_error("no pipe");
  const pid_t child = ::fork();
  if (child == 0) {
    Result result;
    try {
      const Job job = job_of(kind, pages);
      if (way != nullptr) {
        const auto once = [&] {
          const double begin = seconds_spent();
          result.bytes = static_cast<double>(way->make(job));
          return seconds_spent() - begin;
        };
        const auto begin = std::chrono::steady_clock::now();
        once();
        result.first = Seconds(std::chrono::steady_clock::now() - begin).count();
        std::vector<double> times;
        double spent = 0;
        while (spent < 0.2 || times.size() < 3) {
          times.push_back(once());
          spent += times.back();
          if (way->starts_programs) break;
        }
        std::nth_element(times.begin(), times.begin() + static_cast<long>(times.size() / 2),
                         times.end());
        result.median = times[times.size() / 2];
      }
      rusage own{};
      rusage started{};
      ::getrusage(RUSAGE_SELF, &own);
      ::getrusage(RUSAGE_CHILDREN, &started);
      result.peak = static_cast<double>(std::max(own.ru_maxrss, started.ru_maxrss));
    } catch (const std::exception& error) {
      fmt::print(stderr, "{}: {}\n", way->name, error.what());
    }
    const auto written = ::write(ends[1], &result, sizeof result);
    ::_exit(written == sizeof result ? 0 : 1);
  }
  ::close(ends[1]);
  Result result;
  const auto got = ::read(ends[0], &result, sizeof result);
  ::close(ends[0]);
  ::waitpid(child, nullptr, 0);
  return got == sizeof result ? result : Result{};
}

void compare(const std::vector<Way>& all, Kind kind, int pages) {
  const double idle = measure(nullptr, kind, pages).peak;
  fmt::print("\n{} {} of {}\n", pages, pages == 1 ? "page" : "pages",
             kind_names[static_cast<std::size_t>(kind)]);
  fmt::print("{:<28}{:>10}{:>10}{:>12}{:>10}{:>11}\n", "", "pages/s", "ratio", "bytes/page",
             "peak MiB", "first, ms");
  double ours = 0;
  for (const Way& way : all) {
    const bool able = std::find(way.kinds.begin(), way.kinds.end(), kind) != way.kinds.end();
    if (!able || pages > way.most_pages) continue;
    const Result result = measure(&way, kind, pages);
    if (result.median == 0) continue;
    const double rate = pages / result.median;
    if (ours == 0) ours = rate;
    fmt::print("{:<28}{:>10.0f}{:>10.2f}{:>12.0f}{:>10.1f}{:>11.1f}\n", way.name, rate, rate / ours,
               result.bytes / pages, std::max(0.0, result.peak - idle) / 1024, result.first * 1000);
    std::fflush(stdout);
  }
}

void compare_all(std::vector<int> sizes) {
  if (sizes.empty()) sizes = {1, 10, 1000};

  std::vector<std::string> missing;
  const std::vector<Way> all = ways(missing);
  for (const std::string& name : missing) fmt::print("left out, not installed: {}\n", name);

  for (const Kind kind : {Kind::text, Kind::styled, Kind::graphics}) {
    for (const int pages : sizes) compare(all, kind, pages);
  }
}

}  // namespace

int main(int count, char** arguments) {
  try {
    std::vector<int> sizes;
    for (int i = 1; i < count; ++i) sizes.push_back(std::max(1, std::atoi(arguments[i])));
    compare_all(std::move(sizes));
  } catch (const std::exception& error) {
    fmt::print(stderr, "pdf_bench: {}\n", error.what());
    return 1;
  }
}
