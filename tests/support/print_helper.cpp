// A helper of the printing kind whose jobs can misbehave: what a job is that begins with one of the
// words below is done to its process; all other jobs are printed.
#include "print/print_helper.h"

#include <csignal>
#include <cstdlib>
#include <stdexcept>
#include <string>
#include <vector>

#include <fcntl.h>
#include <sys/socket.h>
#include <unistd.h>

#include "print/frames.h"

using namespace stationer;
using namespace stationer::print;

namespace {

volatile std::uint64_t turns = 0;

void grow(std::size_t bytes) {
  std::vector<std::string> all;
  for (std::size_t had = 0; had < bytes; had += std::size_t{1} << 20) {
    all.emplace_back(std::size_t{1} << 20, 'x');
  }
}

void misbehave(const std::string& job) {
  const auto is = [&](std::string_view word) { return job.starts_with(word); };
  if (is("abort")) std::abort();
  if (is("fault")) ::raise(SIGSEGV);
  if (is("leave")) ::_exit(7);
  if (is("throw")) throw std::logic_error("a wheel is missing");
  if (is("loop")) {
    for (;;) turns = turns + 1;
  }
  if (is("stop")) ::raise(SIGSTOP);
  if (is("grow without an end")) grow(std::size_t{8} << 30);
  if (is("grow a little")) grow(std::size_t{32} << 20);
  if (is("open")) ::open("/dev/null", O_RDONLY | O_CLOEXEC);
  if (is("make")) ::open("made-by-a-job", O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
  if (is("connect")) ::socket(AF_INET, SOCK_STREAM, 0);
  if (is("fork")) ::fork();
  if (is("run")) ::execl("/bin/true", "true", nullptr);
  if (is("kill")) ::kill(::getppid(), SIGKILL);
  if (is("look")) ::access("/", R_OK);
  // Says what no process that prints may say.
  const auto say = [](std::string_view bytes) {
    for (int any = 3; any < 100 && ::write(any, bytes.data(), bytes.size()) < 0;) ++any;
  };
  if (is("babble")) say("QQQQQQQQQQQQ");
  if (is("long")) say("P\xFF\xFF\xFF\xFF");
  if (is("half")) {
    say(
        std::string_view("P\x09\x00\x00\x00"
                         "abc",
                         8));
    ::_exit(0);
  }
  if (is("beyond")) say(frame_of(Frame::Kind::more, BodyWriter().number(301).body()));
  if (is("no page")) say(frame_of(Frame::Kind::more));
  const auto talk = [&](int times) {
    for (int i = 0; i < times; ++i) {
      say(frame_of(Frame::Kind::more, BodyWriter().number(i % 301).body()));
    }
  };
  if (is("much talk")) talk(20'000);
  if (is("endless talk")) {
    for (;;) talk(1000);
  }
  if (is("early")) {
    say(frame_of(Frame::Kind::done, "no report"));
    ::_exit(0);
  }
}

fs::Result<JobReport> carry_out_or_not(const Order& order, const Queues& queues, const Fonts& fonts,
                                       const ByteSource& source, const PartSink& sink,
                                       const PageTold& on_page) {
  std::string start(64, '\0');
  const auto size = source(start);
  if (!size) return size.error();
  start.resize(*size);
  misbehave(start);
  std::string_view rest = start;
  const ByteSource whole = [&](std::span<char> into) -> fs::Result<std::size_t> {
    if (rest.empty()) return source(into);
    const std::size_t part = rest.copy(into.data(), into.size());
    rest.remove_prefix(part);
    return part;
  };
  return carry_out(order, queues, fonts, whole, sink, on_page);
}

}  // namespace

int main() {
  return run_print_helper(carry_out_or_not);
}
