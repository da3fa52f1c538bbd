// One end of a file transfer, on standard input and output, for real peers at the other end:
//
//   transfer_end send|receive|serve xmodem|sums|ymodem|ymodem-g|kermit FOLDER [NOISE SEED]
//
// It sends all files of the folder in order of their names, or puts what comes there. With NOISE,
// each byte both ways is lost, doubled or turned with that chance. Ends with 0 when all went well.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <memory>
#include <sstream>

#include <poll.h>
#include <unistd.h>

#include "server/protocol/kermit.h"
#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/support/transfer_line.h"

using namespace stationer;
using namespace stationer::server;
using namespace stationer::tests;

namespace {

std::unique_ptr<Transfer> make_machine(const std::string& role, const std::string& protocol) {
  if (protocol == "kermit") {
    Kermit::Options options;
    options.role = role == "send"      ? Kermit::Role::send
                   : role == "receive" ? Kermit::Role::receive
                                       : Kermit::Role::serve;
    return std::make_unique<Kermit>(options);
  }
  const bool batch = protocol.starts_with("ymodem");
  if (role == "send") {
    XmodemSend::Options options;
    options.batch = batch;
    options.long_blocks = protocol != "xmodem";
    return std::make_unique<XmodemSend>(options);
  }
  XmodemReceive::Options options;
  options.batch = batch;
  options.streaming = protocol == "ymodem-g";
  return std::make_unique<XmodemReceive>(options);
}

std::vector<CarriedFile> files_in(const std::filesystem::path& folder) {
  std::vector<CarriedFile> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    std::ifstream in(entry.path(), std::ios::binary);
    CarriedFile file;
    file.facts.name = entry.path().filename();
    file.bytes.assign(std::istreambuf_iterator<char>(in), {});
    file.facts.size = file.bytes.size();
    file.facts.text = false;
    files.push_back(std::move(file));
  }
  std::sort(files.begin(), files.end(),
            [](const auto& a, const auto& b) { return a.facts.name < b.facts.name; });
  return files;
}

bool send_all(std::string_view octets) {
  while (!octets.empty()) {
    const ssize_t sent = ::write(STDOUT_FILENO, octets.data(), octets.size());
    if (sent <= 0) return false;
    octets.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4 && argc != 6) return 2;
  const std::filesystem::path folder = argv[3];
  const double chance = argc == 6 ? std::stod(argv[4]) : 0;
  const auto seed = static_cast<unsigned>(argc == 6 ? std::stoul(argv[5]) : 0);
  const Spoiling in_noise = noise(seed, chance);
  const Spoiling out_noise = noise(seed + 1, chance);
  const auto machine = make_machine(argv[1], argv[2]);
  Player player(*machine,
                std::string(argv[1]) == "receive" ? std::vector<CarriedFile>() : files_in(folder));
  player.set_now(std::chrono::steady_clock::now());
  player.begin();
  bool there = true;
  while (there) {
    const std::string out = player.take_sent();
    there = send_all(chance > 0 ? out_noise(out) : out);
    if (machine->outcome() || !there) break;
    const auto now = std::chrono::steady_clock::now();
    int timeout = -1;
    if (const auto deadline = machine->deadline()) {
      const auto left = std::chrono::ceil<std::chrono::milliseconds>(*deadline - now);
      timeout = static_cast<int>(std::max<std::int64_t>(left.count(), 0));
    }
    pollfd input{STDIN_FILENO, POLLIN, 0};
    const int ready = ::poll(&input, 1, timeout);
    const auto then = std::chrono::steady_clock::now();
    player.sleep(std::chrono::duration_cast<std::chrono::milliseconds>(then - player.now()));
    player.set_now(then);
    if (ready <= 0) continue;
    char buffer[4096];
    const ssize_t got = ::read(STDIN_FILENO, buffer, sizeof buffer);
    if (got <= 0) break;
    const std::string_view octets(buffer, static_cast<std::size_t>(got));
    player.hear(chance > 0 ? in_noise(octets) : std::string(octets));
  }
  int number = 0;
  for (const CarriedFile& file : player.files()) {
    ++number;
    const std::string name =
        file.facts.name.empty() ? "file" + std::to_string(number) : file.facts.name;
    std::ofstream(folder / std::filesystem::path(name).filename(), std::ios::binary) << file.bytes;
  }
  if (!machine->outcome()) {
    std::cerr << "the other end is gone\n";
    return 1;
  }
  if (!machine->outcome()->done) std::cerr << machine->outcome()->why << "\n";
  return machine->outcome()->done ? 0 : 1;
}
