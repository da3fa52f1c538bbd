#include "tests/support/efficiency.h"

#include <algorithm>
#include <array>
#include <random>
#include <stdexcept>
#include <utility>

#include "server/protocol/kermit.h"
#include "server/protocol/kermit_coding.h"
#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/support/transfer_line.h"

namespace stationer::tests {
namespace {

using namespace server;
using namespace std::chrono_literals;

// The line by which the permitted time is reckoned.
struct Line {
  double bits_a_second;
  std::chrono::duration<double> delay;

  double octets(double count) const { return count * 10 / bits_a_second; }
  // Something said and its answer.
  double turn(double forth, double back) const { return octets(forth + back) + 2 * delay.count(); }
};

double pieces(std::size_t size, std::size_t of) {
  return static_cast<double>((size + of - 1) / of);
}

// X/YMODEM Protocol Reference, sections 4, 5 and 6: a block is its data and five octets (three, its
// number twice among them, and a CRC), and is answered by one.
double blocks(std::size_t size, std::size_t data, const Line& line) {
  return pieces(size, data) * line.turn(static_cast<double>(data) + 5, 1);
}

// Full blocks as long as there are, then short ones for what is left.
double long_blocks(std::size_t size, const Line& line) {
  const std::size_t full = size / xmodem::long_block;
  return blocks(full * xmodem::long_block, xmodem::long_block, line) +
         blocks(size % xmodem::long_block, xmodem::short_block, line);
}

// The receiver's C, the blocks, and EOT with its ACK.
double xmodem_time(const std::vector<CarriedFile>& files, bool is_long, const Line& line) {
  const std::size_t size = files[0].bytes.size();
  return line.octets(1) + line.delay.count() +
         (is_long ? long_blocks(size, line) : blocks(size, xmodem::short_block, line)) +
         line.turn(1, 1);
}

// For each file a C, its header, ACK and C, the blocks, EOT and ACK; at the end a header without a
// name.
double ymodem_time(const std::vector<CarriedFile>& files, const Line& line) {
  double time = line.octets(1) + line.delay.count();
  for (const CarriedFile& file : files) {
    time += line.turn(133, 2) + long_blocks(file.bytes.size(), line) + line.turn(1, 2);
  }
  return time + line.turn(133, 1);
}

// The same without answers to blocks.
double streaming_time(const std::vector<CarriedFile>& files, const Line& line) {
  double time = line.octets(1) + line.delay.count();
  for (const CarriedFile& file : files) {
    const double full = static_cast<double>(file.bytes.size() / xmodem::long_block);
    const double rest = pieces(file.bytes.size() % xmodem::long_block, xmodem::short_block);
    time += line.turn(133, 1) + line.octets(full * 1029 + rest * 133) + line.turn(1, 2);
  }
  return time + line.turn(133, 1);
}

// Kermit Protocol Manual, chapters 4 and 7: S, F, A, Z and B wait for their answers, data flow as
// long as the window has room. A packet is its data and eight octets with a CRC and a CR, a long
// one eleven.
double kermit_time(const std::vector<CarriedFile>& files, const Kermit::Options& options,
                   const Line& line) {
  constexpr double around = 8;
  constexpr double offer = 6 + 13;
  constexpr double attributes = 45;
  // The length counts what follows it: in a short packet two fields and the check, in a long one
  // three more fields.
  const bool is_long = options.longest > kermit::longest_short;
  const double data = static_cast<double>(options.longest) - (is_long ? 8 : 5);
  const double around_data = is_long ? 11 : 8;
  kermit::Terms terms;
  terms.repeat = '~';
  double time = line.turn(offer, offer);
  for (const CarriedFile& file : files) {
    const auto coded = static_cast<double>(kermit::encode_all(file.bytes, terms).size());
    const double packets = std::max(1.0, coded / data);
    const double flowing = line.octets(coded + packets * around_data) + line.turn(0, around);
    // A whole window, and the wait for the first answer to it.
    const double a_window = line.turn(data + around_data, around);
    const double waiting = packets / options.window * a_window;
    time += line.turn(around + static_cast<double>(file.facts.name.size()), around) +
            line.turn(around + attributes, around) + line.turn(around, around) +
            (coded == 0 ? 0 : std::max(flowing, waiting));
  }
  return time + line.turn(around, around);
}

std::vector<CarriedFile> files_of(std::size_t count, std::size_t size) {
  std::mt19937 random(3);
  std::vector<CarriedFile> files(count);
  for (std::size_t i = 0; i < count; ++i) {
    files[i].facts.name = "file" + std::to_string(i) + ".dat";
    files[i].facts.size = size;
    files[i].facts.text = false;
    files[i].facts.modified = std::chrono::sys_seconds(1'000'000'000s);
    files[i].bytes = random_bytes(random, size);
    if (size > 0) files[i].bytes.back() = 'x';
  }
  return files;
}

double time_of(const std::string& what, Transfer& sender, Transfer& receiver,
               const std::vector<CarriedFile>& files, const LineKind& line) {
  const Carried carried = carry({sender, receiver}, files, line);
  const bool same =
      std::equal(carried.files.begin(), carried.files.end(), files.begin(), files.end(),
                 [](const auto& a, const auto& b) { return a.bytes == b.bytes; });
  if (!carried.sender.done || !carried.receiver.done || !same) {
    throw std::logic_error(what + " went wrong: " + carried.sender.why + " / " +
                           carried.receiver.why);
  }
  return carried.time.count();
}

class Measuring {
 public:
  Measuring(double bits_a_second, std::chrono::milliseconds delay)
      : kind_{bits_a_second, delay, {}, {}}, line_{bits_a_second, delay} {}

  std::vector<Efficiency> all() {
    const auto one = files_of(1, std::size_t{64} * 1024);
    const auto many = files_of(20, 1500);
    for (const bool is_long : {false, true}) {
      XmodemSend sender({.long_blocks = is_long});
      XmodemReceive receiver({});
      add(is_long ? "xmodem, long blocks" : "xmodem", sender, receiver, one,
          xmodem_time(one, is_long, line_));
    }
    for (const bool small : {false, true}) {
      const auto& files = small ? many : one;
      const std::string what = small ? ", 20 small files" : "";
      XmodemSend sender({.batch = true});
      XmodemReceive receiver({.batch = true});
      add("ymodem" + what, sender, receiver, files, ymodem_time(files, line_));
      XmodemSend streamer({.batch = true});
      XmodemReceive drain({.batch = true, .streaming = true});
      add("ymodem-g" + what, streamer, drain, files, streaming_time(files, line_));
      kermit("kermit" + what, files, {});
    }
    kermit("kermit, plain packets", one, {.longest = 94, .window = 1});
    return std::move(out_);
  }

 private:
  void kermit(const std::string& what, const std::vector<CarriedFile>& files,
              Kermit::Options options) {
    options.role = Kermit::Role::send;
    Kermit sender(options);
    options.role = Kermit::Role::receive;
    Kermit receiver(options);
    add(what, sender, receiver, files, kermit_time(files, options, line_));
  }

  void add(std::string what, Transfer& sender, Transfer& receiver,
           const std::vector<CarriedFile>& files, double permitted) {
    std::size_t bytes = 0;
    for (const CarriedFile& file : files) bytes += file.bytes.size();
    const double seconds = time_of(what, sender, receiver, files, kind_);
    out_.push_back({std::move(what), kind_.bits_a_second, kind_.delay, bytes, seconds, permitted});
  }

  const LineKind kind_;
  const Line line_;
  std::vector<Efficiency> out_;
};

}  // namespace

std::vector<Efficiency> measure_efficiency() {
  std::vector<Efficiency> out;
  for (const double rate : {1200.0, 9600.0, 115'200.0}) {
    for (const auto delay : {0ms, 100ms}) {
      auto some = Measuring(rate, delay).all();
      std::move(some.begin(), some.end(), std::back_inserter(out));
    }
  }
  return out;
}

}  // namespace stationer::tests
