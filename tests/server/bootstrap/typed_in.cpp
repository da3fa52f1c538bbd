// The listing, run by a real BASIC, and a file that goes to it line by line over a line of
// simulated time: the clock goes on only while the BASIC waits.
//
//   typed_in listing                       prints the listing, for a BASIC that has files
//   typed_in FILE NOISE SEED COMMAND...    COMMAND is a BASIC that runs it; the bytes that came are
//                                          numbers in "got", one a line, and are compared with FILE
//
// Ends with 0 when FILE came whole; with 3 when the sender said that it did not.
#include <algorithm>
#include <csignal>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>

#include <fmt/format.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "server/bootstrap/line_by_line.h"
#include "server/bootstrap/listing.h"
#include "tests/support/transfer_line.h"

using namespace stationer;
using namespace stationer::tests;

namespace {

[[noreturn]] void fail(const std::string& why) {
  std::cerr << "typed_in: " << why << '\n';
  std::exit(1);
}

// Its lines of the machine's own, as the BASIC of the tests wants them.
void print_listing() {
  for (const server::BasicLine& line : server::basic_listing()) {
    if (line.number == 30) {
      std::cout << "30 OPEN \"O\",#2,\"got\"\n";
    } else if (line.number == 240) {
      std::cout << "240 PRINT #2,B(I)\n";
    } else if (line.number == 300) {
      std::cout << "300 CLOSE #2\n310 QUIT\n";
    } else {
      std::cout << server::typed_line(line) << '\n';
    }
  }
}

struct Basic {
  int hears = -1;
  int says = -1;
  pid_t pid = -1;
};

Basic start(char** command) {
  int to[2];
  int from[2];
  if (::pipe(to) != 0 || ::pipe(from) != 0) fail("no pipes");
  const pid_t pid = ::fork();
  if (pid < 0) fail("no process");
  if (pid == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    ::dup2(to[0], STDIN_FILENO);
    ::dup2(from[1], STDOUT_FILENO);
    for (const int each : {to[0], to[1], from[0], from[1]}) ::close(each);
    ::execvp(command[0], command);
    ::_exit(127);
  }
  ::close(to[0]);
  ::close(from[1]);
  return {to[1], from[0], pid};
}

// All it says until it waits for a line; false when it has ended.
bool hear(const Basic& basic, std::string& said) {
  char byte = 0;
  while (!said.ends_with("? ")) {
    if (::read(basic.says, &byte, 1) != 1) return false;
    said += byte;
  }
  return true;
}

std::string read_file(const char* name) {
  std::ifstream in(name, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::string received() {
  std::ifstream in("got");
  return {std::istream_iterator<int>(in), {}};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc == 2) {
    print_listing();
    return 0;
  }
  if (argc < 5) fail("usage: typed_in listing | typed_in FILE NOISE SEED COMMAND...");
  ::alarm(120);
  std::signal(SIGPIPE, SIG_IGN);
  CarriedFile file;
  file.bytes = read_file(argv[1]);
  const double chance = std::atof(argv[2]);
  const auto seed = static_cast<unsigned>(std::atoi(argv[3]));
  const Spoiling forth = noise(seed, chance);
  const Spoiling back = noise(seed + 1, chance);
  const auto spoiled = [&](const Spoiling& line, const std::string& bytes) {
    return chance > 0 ? line(bytes) : bytes;
  };
  server::LineByLine::Options options;
  options.ending = server::LineEnding::lf;
  server::LineByLine sender(options);
  Player player(sender, {file});
  const Basic basic = start(argv + 4);
  player.begin();
  for (bool there = true; there && !sender.outcome();) {
    std::string said;
    there = hear(basic, said);
    player.hear(spoiled(back, said));
    // Until it has a whole line, it goes on waiting. A line that ends it has no answer.
    for (bool whole = false; there && !whole && !sender.outcome();) {
      const std::string sent = spoiled(forth, player.take_sent());
      if (!sent.empty() && ::write(basic.hears, sent.data(), sent.size()) < 0) there = false;
      whole = sent.find('\n') != std::string::npos;
      for (auto more = std::count(sent.begin(), sent.end(), '\n'); more > 1; --more) {
        std::string answer;
        there = there && hear(basic, answer);
        player.hear(spoiled(back, answer));
      }
      if (!whole) player.sleep(std::chrono::milliseconds(100));
    }
  }
  for (int left = 600; !sender.outcome() && left > 0; --left) {
    player.sleep(std::chrono::seconds(1));
  }
  ::close(basic.hears);
  ::waitpid(basic.pid, nullptr, 0);
  const bool same = received() == file.bytes;
  if (!sender.outcome()) fail("the sender does not come to an end");
  if (!sender.outcome()->done) {
    std::cout << sender.outcome()->why << '\n';
    return 3;
  }
  if (!same) fail("another file came");
}
