// A file to a simulated machine and back, over a line of simulated time, as far_end.h has it.
//
//   simulated FILE NOISE SEED forth|back|both IN OUT COMMAND...
//
// COMMAND is a simulator with the machine's program in it. The machine's line is what the simulator
// reads from IN and writes to OUT, which are pipes with names; "-" for both are its standard input
// and output. The machine says
//
//   ?      has a byte come? The answer is 1 or 0; for each 0, ten milliseconds go by
//   <      which? The answer is that byte
//   > B    byte B goes
//   =      now the other way (both). The answer is 0
//   . B    it is over, with the result B; ending with the status B says the same
//
// forth: the machine receives FILE. back: it sends, and what comes must be FILE. both: one after
// the other. Ends with 0 when all came whole, and after five minutes at the latest.
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <iterator>
#include <optional>
#include <string>

#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/server/bootstrap/far_end.h"

using namespace stationer;
using namespace stationer::tests;

namespace {

[[noreturn]] void fail(const std::string& why) {
  std::cerr << "simulated: " << why << '\n';
  std::exit(1);
}

struct Machine {
  pid_t pid = -1;
  int hears = -1;
  int says = -1;

  bool read(std::uint8_t& byte) const { return ::read(says, &byte, 1) == 1; }
  std::uint8_t next() const {
    std::uint8_t byte = 0;
    if (!read(byte)) fail("the machine stopped in the middle of a word");
    return byte;
  }
  void answer(std::uint8_t byte) const {
    if (::write(hears, &byte, 1) != 1) fail("the machine does not listen any more");
  }
};

Machine start(const std::string& in, const std::string& out, char** command) {
  Machine machine;
  int to[2];
  int from[2];
  if (::pipe(to) != 0 || ::pipe(from) != 0) fail("no pipes");
  const bool named = in != "-";
  if (named) {
    // Open for both, so that neither end waits for the other to open.
    machine.hears = ::open(in.c_str(), O_RDWR | O_CLOEXEC);
    machine.says = ::open(out.c_str(), O_RDWR | O_CLOEXEC);
    if (machine.hears < 0 || machine.says < 0) fail("no such pipes");
  }
  machine.pid = ::fork();
  if (machine.pid < 0) fail("no process");
  if (machine.pid == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    ::dup2(to[0], STDIN_FILENO);
    ::dup2(named ? STDERR_FILENO : from[1], STDOUT_FILENO);
    for (const int each : {to[0], to[1], from[0], from[1]}) ::close(each);
    ::execvp(command[0], command);
    ::_exit(127);
  }
  ::close(to[0]);
  ::close(from[1]);
  if (!named) {
    machine.hears = to[1];
    machine.says = from[0];
  }
  return machine;
}

std::string read_file(const char* name) {
  std::ifstream in(name, std::ios::binary);
  if (!in) fail(std::string("cannot read ") + name);
  return {std::istreambuf_iterator<char>(in), {}};
}

LineKind bad_line(unsigned seed, double chance) {
  LineKind kind;
  if (chance > 0) kind.forth = noise(seed, chance);
  if (chance > 0) kind.back = noise(seed + 1, chance);
  return kind;
}

// Serves the machine until it is over with its result.
int serve(const Machine& machine, FarEnd& first, FarEnd* second) {
  FarEnd* far = &first;
  std::uint8_t word = 0;
  while (machine.read(word)) {
    switch (word) {
      case '?': machine.answer(far->came() ? 1 : 0); break;
      case '<': machine.answer(far->take()); break;
      case '>': far->give(machine.next()); break;
      case '.': return machine.next();
      case '=':
        if (second == nullptr) fail("the machine wants to go on");
        far = second;
        machine.answer(0);
        break;
      default: fail("the machine said " + std::to_string(word));
    }
    if (far->out_of_time()) fail("the machine does not come to an end");
  }
  int status = 0;
  if (::waitpid(machine.pid, &status, 0) != machine.pid) fail("the simulator is gone");
  return WIFEXITED(status) ? WEXITSTATUS(status) : 255;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 8) fail("usage: simulated FILE NOISE SEED forth|back|both IN OUT COMMAND...");
  ::alarm(300);
  std::signal(SIGPIPE, SIG_IGN);
  CarriedFile file;
  file.bytes = read_file(argv[1]);
  const double chance = std::atof(argv[2]);
  const auto seed = static_cast<unsigned>(std::atoi(argv[3]));
  const std::string way = argv[4];
  server::XmodemSend sender(server::XmodemSend::Options{.long_blocks = false});
  server::XmodemReceive receiver(server::XmodemReceive::Options{});
  FarEnd forth(sender, {file}, bad_line(seed, chance));
  FarEnd back(receiver, {}, bad_line(seed + 2, chance));
  const Machine machine = start(argv[5], argv[6], argv + 7);
  const int result = serve(machine, way == "back" ? back : forth, way == "both" ? &back : nullptr);
  ::kill(machine.pid, SIGKILL);
  if (result != 0) fail("the machine's result is " + std::to_string(result));
  if (way == "forth") return 0;  // whoever asked compares the file
  if (back.player().files().size() != 1) fail("no file came back");
  if (back.player().files().front().bytes != file.bytes) fail("another file came back");
}
