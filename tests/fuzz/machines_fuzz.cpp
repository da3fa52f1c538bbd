// Whatever comes over a line, in whatever pieces and rhythm, the machine keeps what it promises.
// The environment says which one: MACHINE=kermit-send. tests/README.md tells how to run it.
#include "tests/fuzz/machines.h"

namespace {

using namespace stationer::fuzz;

struct Machine {
  std::string_view name;
  void (*run)(std::string_view script);
};
constexpr std::array machines = {
    Machine{"xmodem-receive", xmodem_receive},
    Machine{"xmodem-send", xmodem_send},
    Machine{"kermit-receive", kermit_receive},
    Machine{"kermit-send", kermit_send},
    Machine{"kermit-serve", kermit_serve},
    Machine{"carry", carry_between},
    Machine{"telnet", telnet},
    Machine{"dialect", dialect},
    Machine{"line-editor", line_editor},
    Machine{"station-text", station_text},
    Machine{"lpd", lpd},
    Machine{"ftp", ftp},
    Machine{"tftp", tftp_transfer},
    Machine{"jsonrpc", jsonrpc},
    Machine{"http", http},
};

const Machine& chosen() {
  const char* name = std::getenv("MACHINE");
  for (const Machine& machine : machines) {
    if (name != nullptr && machine.name == name) return machine;
  }
  std::fputs("MACHINE must be one of:", stderr);
  for (const Machine& machine : machines) std::fprintf(stderr, " %s", machine.name.data());
  std::fputs("\n", stderr);
  std::exit(2);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Machine& machine = chosen();
  machine.run({reinterpret_cast<const char*>(data), size});
  return 0;
}
