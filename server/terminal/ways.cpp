#include "server/terminal/ways.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/protocol/kermit.h"
#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"

namespace stationer::server {
namespace {

template <bool batch, bool long_blocks>
std::unique_ptr<Transfer> send_xmodem(bool) {
  XmodemSend::Options options;
  options.batch = batch;
  options.long_blocks = long_blocks;
  return std::make_unique<XmodemSend>(options);
}

template <bool batch, bool streaming>
std::unique_ptr<Transfer> receive_xmodem(bool) {
  XmodemReceive::Options options;
  options.batch = batch;
  options.streaming = streaming;
  return std::make_unique<XmodemReceive>(options);
}

template <Kermit::Role role>
std::unique_ptr<Transfer> kermit(bool seven_bits) {
  Kermit::Options options;
  options.seven_bits = seven_bits;
  options.role = role;
  return std::make_unique<Kermit>(options);
}

constexpr std::string_view two_cancels = "Ctrl-X twice stops it.";
constexpr std::string_view three_interrupts = "Ctrl-C three times stops it.";

constexpr std::array all = {
    Way{"xmodem", "one file; old receivers get sums, newer ones CRC", two_cancels, false, false,
        send_xmodem<false, false>, receive_xmodem<false, false>},
    Way{"xmodem1k", "the same in blocks of 1,024 bytes", two_cancels, false, false,
        send_xmodem<false, true>, receive_xmodem<false, false>},
    Way{"ymodem", "several files, with names and exact lengths", two_cancels, true, false,
        send_xmodem<true, true>, receive_xmodem<true, false>},
    Way{"ymodem-g", "the same without waiting, for lines that lose nothing", two_cancels, true,
        false, send_xmodem<true, true>, receive_xmodem<true, true>},
    Way{"kermit", "several files, over any line", three_interrupts, true, true,
        kermit<Kermit::Role::send>, kermit<Kermit::Role::receive>},
};

}  // namespace

std::span<const Way> ways() {
  return all;
}

const Way* find_way(std::string_view name) {
  const std::string wanted = fs::ascii_lower(name);
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Way& each) { return each.name == wanted; });
  return found == all.end() ? nullptr : &*found;
}

fs::Result<const Way*> way_for(const Way* named, bool many, const Terminal& terminal) {
  const bool seven_bits = terminal.seven_bits();
  const Way* way = named != nullptr ? named
                                    : find_way(seven_bits ? "kermit"
                                               : many     ? "ymodem"
                                                          : "xmodem");
  if (seven_bits && !way->any_line) {
    return fs::Error{
        fs::Code::bad_input,
        fmt::format("This line carries seven bits, and {} needs eight. kermit works.", way->name)};
  }
  if (many && !way->many) {
    return fs::Error{
        fs::Code::bad_input,
        fmt::format("{} carries one file at a time. ymodem and kermit carry several.", way->name)};
  }
  return way;
}

LineEnding line_ending_of(const Way& way, const Screen& screen) {
  return way.name == "kermit" ? LineEnding::cr_lf : screen.ending;
}

void say_outcome(Terminal& terminal, const Transfer::Outcome& outcome, const Cargo& cargo) {
  for (const std::string& line : cargo.report()) terminal.say(line);
  if (!outcome.done) terminal.say(outcome.why);
  if (outcome.done && cargo.report().empty()) terminal.say("Nothing was carried.");
}

}  // namespace stationer::server
