// Two transfer machines at the ends of a line that exists only as numbers: a rate, a delay, and
// what the line does to bytes. Time is simulated, so hours at 300 bit/s take no time to test.
#pragma once

#include <chrono>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "server/protocol/transfer.h"

namespace stationer::tests {

struct CarriedFile {
  server::FileFacts facts;
  std::string bytes;
};

// What becomes of bytes on their way; some may be gone, changed or doubled.
using Spoiling = std::function<std::string(std::string_view)>;

struct LineKind {
  double bits_a_second = 9600;  // ten bits a byte
  std::chrono::milliseconds delay{0};
  Spoiling forth = {};  // from the sender to the receiver
  Spoiling back = {};
};

// Each byte, with the given chance: lost, doubled, or one bit of it turned.
Spoiling noise(unsigned seed, double chance);
// The flow control codes never arrive, as where somebody's line takes them for itself.
Spoiling eats_flow_control();
// Seven bits of each byte arrive.
Spoiling seven_bits();

struct Carried {
  std::vector<CarriedFile> files;  // as the receiver closed them
  std::size_t abandoned = 0;
  std::vector<std::string> sent;  // the refusals the sender was told, empty ones for files taken
  server::Transfer::Outcome sender;
  server::Transfer::Outcome receiver;
  std::chrono::duration<double> time{};
  std::uint64_t bytes_forth = 0;
  std::uint64_t bytes_back = 0;
};

struct Ends {
  server::Transfer& sender;
  server::Transfer& receiver;
  // The receiver refuses to open these names.
  std::vector<std::string> refused = {};
  // How late the receiver's program is started.
  std::chrono::seconds late{0};
};

// Lets both go on until both are over, or nothing happens any more.
Carried carry(const Ends& ends, std::vector<CarriedFile> files, const LineKind& line);

// A machine by itself: what it sends for what it is fed, its requests played by `files` or a store
// in memory.
class Player {
 public:
  Player(server::Transfer& machine, std::vector<CarriedFile> files = {});

  void begin();
  void hear(std::string_view octets);
  void sleep(std::chrono::milliseconds how_long);  // with the ticks that fall due
  void cancel(std::string why);

  std::string take_sent() { return std::exchange(sent_, {}); }
  const std::vector<CarriedFile>& files() const { return closed_; }
  std::size_t abandoned() const { return abandoned_; }
  const std::vector<std::string>& told() const { return told_; }
  std::vector<std::string> refused;  // names it does not open

  server::Time now() const { return now_; }
  void set_now(server::Time now) { now_ = now; }
  server::Transfer& machine() { return machine_; }

 private:
  void handle(server::Transfer::Step step, std::string_view octets);

  server::Transfer& machine_;
  std::vector<CarriedFile> to_send_;
  std::size_t next_ = 0;
  std::size_t position_ = 0;
  CarriedFile open_;
  std::vector<CarriedFile> closed_;
  std::size_t abandoned_ = 0;
  std::vector<std::string> told_;
  std::string sent_;
  server::Time now_{};
};

std::string random_bytes(std::mt19937& random, std::size_t size);

}  // namespace stationer::tests
