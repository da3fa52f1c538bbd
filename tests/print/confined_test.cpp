// Jobs printed by processes that are locked in, some of which do what they should not.
#include <algorithm>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <thread>

#include <fmt/format.h>

#include "print/confined_renderer.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

constexpr const char* settings_text =
    "[print]\nqueue = \"paper\"\n[queue.paper]\nmost_pages = 300\n[queue.wide]\nprofile = "
    "\"listing-132\"\nlanguage = \"listing\"\n[queue.parts]\nsplit_pages = 2\nsplit_marker = "
    "\"NEXT\"\nbanner = true\n";

Confinement confinement() {
  Confinement out;
  out.program = STATIONER_PRINT_HELPER;
  out.words = {};
  return out;
}

std::unique_ptr<ConfinedRenderer> open(const Confinement& how = confinement()) {
  auto opened = ConfinedRenderer::open(settings_text, how);
  if (!opened) FAIL(opened.error().message);
  return std::move(*opened);
}

// All of them, one behind the other.
PartSink to_parts(std::string& pdfs) {
  return [&pdfs](std::size_t, std::string_view bytes) -> fs::Status {
    pdfs += bytes;
    return {};
  };
}

struct Printed {
  fs::Result<JobReport> report;
  std::string pdf;
  std::vector<std::uint64_t> pages;  // as they were told, without repeats

  std::string outcome() const {
    if (report) return fmt::format("{} pages", report->pages);
    return report.error().message;
  }
  // Whether it is the job that is refused, and not printing that is to be tried again.
  bool refused() const { return !report && report.error().code == fs::Code::bad_input; }
};

Printed print_by(Renderer& renderer, std::string_view job, const std::string& queue = "paper",
                 std::uint64_t most_pages = 300) {
  std::string pdf;
  const ByteSource source = [&job](std::span<char> into) -> fs::Result<std::size_t> {
    const std::size_t size = job.copy(into.data(), into.size());
    job.remove_prefix(size);
    return size;
  };
  std::vector<std::uint64_t> pages;
  const PageTold on_page = [&pages](std::uint64_t page) {
    if (pages.empty() || pages.back() != page) pages.push_back(page);
  };
  auto report =
      renderer.render({queue, most_pages, metadata(), {}}, source, to_parts(pdf), on_page);
  return {std::move(report), std::move(pdf), std::move(pages)};
}

std::size_t open_descriptors(const std::string& process) {
  std::size_t count = 0;
  for ([[maybe_unused]] const auto& each :
       std::filesystem::directory_iterator("/proc/" + process + "/fd")) {
    ++count;
  }
  return count;
}

// The numbers of a process's own processes (proc(5)).
std::string children_of(int process) {
  std::ifstream file(fmt::format("/proc/{}/task/{}/children", process, process));
  std::string out;
  std::getline(file, out);
  return out;
}

// The fewest within a tenth of a second: between two jobs a helper has more for a moment, while it
// makes the copy that waits for the next.
std::size_t idle_descriptors(const std::string& process) {
  std::size_t fewest = open_descriptors(process);
  for (int i = 0; i < 20; ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
    fewest = std::min(fewest, open_descriptors(process));
  }
  return fewest;
}

}  // namespace

TEST_CASE("invariant 7: a locked-in process prints the same bytes as this one") {
  const auto renderer = open();
  const auto in_place = render_in_place(read_queues(settings_text).value(), Fonts::load().value());
  std::string long_job;
  for (int line = 0; line < 9000; ++line) {
    long_job += fmt::format("{:05} the tide table of the mill, b\bbold and \xC3\xA9\r\n", line);
  }
  for (const std::string& job : {std::string("High water 07:41\f"), long_job, std::string()}) {
    const Printed there = print_by(*renderer, job);
    const Printed here = print_by(*in_place, job);
    CHECK(there.outcome() == here.outcome());
    CHECK(there.pdf == here.pdf);
  }
  const std::string parts = "1\f2\f3\nNEXT\n4\f5\n";
  const Printed split_there = print_by(*renderer, parts, "parts");
  const Printed split_here = print_by(*in_place, parts, "parts");
  REQUIRE(split_there.outcome() == "5 pages");
  CHECK(split_there.report->parts == std::vector<std::uint64_t>{2, 1, 2});
  CHECK(split_there.pdf == split_here.pdf);
  const Printed listing = print_by(*renderer, "1PEG RENTS\r\n0low water\r\n?\r\n", "wide");
  REQUIRE(listing.outcome() == "1 pages");
  CHECK(listing.report->unknown == std::vector<UnknownCode>{{24, {'?'}, 1}});
}

TEST_CASE(
    "invariant 7: no language and no profile asks more of the host than a locked-in process may") {
  std::string text = "[print]\nqueue = \"plain\"\n[queue.plain]\n";
  std::vector<std::string> queues{"plain"};
  const auto add = [&](std::string_view key, std::string_view value) {
    queues.push_back(fmt::format("q{}", queues.size()));
    text += fmt::format("[queue.{}]\n{} = \"{}\"\n", queues.back(), key, value);
  };
  for (const LanguageName& each : languages()) add("language", each.name);
  for (const PrinterProfile& each : printer_profiles()) add("profile", each.name);
  std::string job = " ";
  for (int i = 0; i < 3; ++i) {
    for (int byte = 255; byte >= 0; --byte) {
      job += static_cast<char>(byte);
      if (i == 1) job += "\x1B";
      if (i == 2) job += "\b_";
    }
  }
  const auto opened = ConfinedRenderer::open(text, confinement());
  REQUIRE(opened);
  const auto in_place = render_in_place(read_queues(text).value(), Fonts::load().value());
  for (const std::string& queue : queues) {
    const Printed there = print_by(**opened, job, queue);
    const Printed here = print_by(*in_place, job, queue);
    INFO(queue << " of " << text);
    REQUIRE(there.outcome() == here.outcome());
    CHECK(there.pdf == here.pdf);
  }
}

TEST_CASE("a locked-in process tells which page it draws, now and then") {
  const auto renderer = open();
  const auto in_place = render_in_place(read_queues(settings_text).value(), Fonts::load().value());
  std::string job;
  for (int line = 0; line < 66 * 200; ++line) {
    job += fmt::format("{:05} the tide table of the mill, high water and low\r\n", line);
  }
  const Printed here = print_by(*in_place, job);
  REQUIRE(here.outcome() == "200 pages");
  REQUIRE(here.pages.size() == 200);
  CHECK(here.pages.front() == 1);
  CHECK(here.pages.back() == 200);
  const Printed there = print_by(*renderer, job);
  // Once for each piece of the job or of the PDF, of 64 KiB.
  CHECK(there.pages.size() >= 5);
  CHECK(there.pages.size() <= (job.size() + there.pdf.size()) / 65536 + 2);
  CHECK(std::is_sorted(there.pages.begin(), there.pages.end()));
  CHECK(there.pages.back() == 200);
}

TEST_CASE("what is wrong with a job is told by a locked-in process in the same words") {
  const auto renderer = open();
  const auto in_place = render_in_place(read_queues(settings_text).value(), Fonts::load().value());
  const Printed over = print_by(*renderer, "1\f2\f3\f", "paper", 2);
  REQUIRE_FALSE(over.report);
  CHECK(over.report.error().code == fs::Code::over_quota);
  CHECK(over.outcome() == print_by(*in_place, "1\f2\f3\f", "paper", 2).outcome());
  const Printed nowhere = print_by(*renderer, "text", "nowhere");
  CHECK(nowhere.refused());
  CHECK(nowhere.outcome() == "The queue \"nowhere\" is not there any more.");
}

TEST_CASE("the disk's failures stay the service's, and the process that printed goes") {
  const auto renderer = open();
  std::string pdf;
  const ByteSource broken = [](std::span<char>) -> fs::Result<std::size_t> {
    return fs::Error{fs::Code::io, "The disk did not answer."};
  };
  CHECK(renderer->render({"paper", 9, metadata(), {}}, broken, to_parts(pdf), {}).error().message ==
        "The disk did not answer.");
  std::string_view text = "text";
  const ByteSource source = [&text](std::span<char> into) -> fs::Result<std::size_t> {
    const std::size_t size = text.copy(into.data(), into.size());
    text.remove_prefix(size);
    return size;
  };
  const PartSink full = [](std::size_t, std::string_view) -> fs::Status {
    return fs::Error{fs::Code::no_space, "The disk is full."};
  };
  CHECK(renderer->render({"paper", 9, metadata(), {}}, source, full, {}).error().code ==
        fs::Code::no_space);
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
}

TEST_CASE("invariant 5: a job that breaks its process is refused in a sentence, and no other is") {
  Confinement how = confinement();
  how.limits.processor = std::chrono::seconds(1);
  const auto renderer = open(how);
  const int helper = renderer->helper();
  const std::vector<std::pair<std::string, std::string>> expected = {
      {"abort", "signal 6"},
      {"fault", "signal 11"},
      {"leave", "makes no sense"},
      {"throw", "a wheel is missing"},
      {"loop", "more than 1 seconds"},
      {"babble", "makes no sense"},
      {"long", "makes no sense"},
      {"half", "makes no sense"},
      {"early", "makes no sense"},
      {"beyond", "makes no sense"},
      {"no page", "makes no sense"},
      // The cage: whatever is not reading, writing or memory.
      {"open", "something else"},
      {"make", "something else"},
      {"connect", "something else"},
      {"fork", "something else"},
      {"run", "something else"},
      {"kill", "something else"},
      {"look", "something else"},
  };
  for (const auto& [job, words] : expected) {
    const Printed printed = print_by(*renderer, job);
    INFO(job << ": " << printed.outcome());
    CHECK(printed.refused());
    CHECK(printed.outcome().find(words) != std::string::npos);
    CHECK(printed.outcome().ends_with('.'));
    CHECK(print_by(*renderer, "text").outcome() == "1 pages");
  }
  CHECK_FALSE(std::filesystem::exists("made-by-a-job"));
  CHECK(renderer->helper() == helper);
}

TEST_CASE("a process that tells of pages without an end costs nothing but its own time") {
  Confinement how = confinement();
  how.limits.processor = std::chrono::seconds(1);
  const auto renderer = open(how);
  const Printed much = print_by(*renderer, "much talk");
  CHECK(much.outcome() == "1 pages");
  CHECK(*std::max_element(much.pages.begin(), much.pages.end()) == 300);
  const Printed endless = print_by(*renderer, "endless talk");
  CHECK(endless.refused());
  CHECK(endless.outcome().find("more than 1 seconds") != std::string::npos);
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
}

TEST_CASE("invariant 5: a job that stands still is refused") {
  Confinement how = confinement();
  how.silence = std::chrono::milliseconds(1000);
  const auto renderer = open(how);
  const Printed printed = print_by(*renderer, "stop");
  CHECK(printed.refused());
  CHECK(printed.outcome() ==
        "Turning it into pages did not get on for 1 seconds, so it was stopped.");
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
}

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
TEST_CASE("invariant 5: a job that takes ever more memory is refused") {
  const auto renderer = open();
  CHECK(print_by(*renderer, "grow a little").outcome() == "1 pages");
  const Printed printed = print_by(*renderer, "grow without an end");
  CHECK(printed.refused());
  CHECK(printed.outcome() == "Turning it into pages takes more memory than a job may have.");
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
}
#endif

TEST_CASE("a killed process costs its job, a killed helper none: it is started again") {
  const auto renderer = open();
  const auto killed_amid_a_job = [&](int process) {
    std::string pdf;
    int pieces = 0;
    const ByteSource source = [&](std::span<char> into) -> fs::Result<std::size_t> {
      if (++pieces > Frame::ahead) ::kill(process, SIGKILL);
      into[0] = 'x';
      return 1;
    };
    return renderer->render({"paper", 9, metadata(), {}}, source, to_parts(pdf), {}).error();
  };
  // The one that waits now will print.
  const fs::Error lost = killed_amid_a_job(std::stoi(children_of(renderer->helper())));
  CHECK(lost.code == fs::Code::bad_input);
  CHECK(lost.message.find("signal 9") != std::string::npos);
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");

  const int first = renderer->helper();
  const fs::Error to_try_again = killed_amid_a_job(first);
  CHECK(to_try_again.code == fs::Code::io);
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
  CHECK(renderer->helper() != first);

  // Killed while nothing is printed, nobody notices; nor of the process that waits for a job.
  const int second = renderer->helper();
  ::kill(second, SIGKILL);
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
  CHECK(renderer->helper() != second);
  ::kill(std::stoi(children_of(renderer->helper())), SIGKILL);
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
}

TEST_CASE("a helper that can't be had is told, with what to do") {
  Confinement how = confinement();
  how.program = "/nowhere/at-all";
  const auto missing = ConfinedRenderer::open(settings_text, how);
  REQUIRE_FALSE(missing);
  CHECK(missing.error().code == fs::Code::io);
  CHECK(missing.error().message.find("could not start") != std::string::npos);
  how.program = "/bin/true";
  CHECK_FALSE(ConfinedRenderer::open(settings_text, how));
  CHECK(ConfinedRenderer::open("[queue.paper]\nprofile = \"none\"", confinement())
            .error()
            .message.find("plain-80") != std::string::npos);
}

TEST_CASE("a thousand jobs leave no descriptor and no process behind") {
  const auto renderer = open();
  CHECK(print_by(*renderer, "text").outcome() == "1 pages");
  const std::string helper = std::to_string(renderer->helper());
  const std::size_t ours = open_descriptors("self");
  const std::size_t theirs = idle_descriptors(helper);
  for (int job = 0; job <= 1000; ++job) {
    REQUIRE(print_by(*renderer, job % 10 == 0 ? "abort" : "text").refused() == (job % 10 == 0));
  }
  CHECK(open_descriptors("self") == ours);
  CHECK(idle_descriptors(helper) == theirs);
  const std::string children = children_of(renderer->helper());
  CHECK(std::count(children.begin(), children.end(), ' ') == 1);  // the one that waits
}

TEST_CASE("the processes end with the renderer") {
  int helper = 0;
  int waiting = 0;
  {
    const auto renderer = open();
    helper = renderer->helper();
    waiting = std::stoi(children_of(helper));
  }
  CHECK_FALSE(std::filesystem::exists(fmt::format("/proc/{}", helper)));
  // It is the system's to reap.
  for (int i = 0; i < 2000 && std::filesystem::exists(fmt::format("/proc/{}/fd/3", waiting)); ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  CHECK_FALSE(std::filesystem::exists(fmt::format("/proc/{}/fd/3", waiting)));
}
