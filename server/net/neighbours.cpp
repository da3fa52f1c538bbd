#include "server/net/neighbours.h"

#include <array>
#include <charconv>

#include "fs/host_files.h"
#include "fs/station.h"

namespace stationer::server {
namespace {

constexpr std::uint64_t longest_table = std::uint64_t{16} << 20;
constexpr std::chrono::seconds fresh{5};
constexpr std::chrono::milliseconds least_pause{20};
constexpr int part_of_time = 50;  // one in so many

constexpr unsigned ethernet = 1;  // ARPHRD_ETHER, as in RFC 826 and the kernel's if_arp.h
constexpr unsigned complete = 2;  // ATF_COM there: it has answered

// The next word of a line, which it is taken from.
std::string_view next_word(std::string_view& line) {
  const auto start = std::min(line.find_first_not_of(" \t"), line.size());
  line.remove_prefix(start);
  const auto end = std::min(line.find_first_of(" \t"), line.size());
  const auto word = line.substr(0, end);
  line.remove_prefix(end);
  return word;
}

unsigned hex(std::string_view word) {
  if (word.starts_with("0x")) word.remove_prefix(2);
  unsigned value = 0;
  const auto read = std::from_chars(word.data(), word.data() + word.size(), value, 16);
  return read.ec == std::errc() && read.ptr == word.data() + word.size() ? value : 0;
}

}  // namespace

std::unordered_map<std::string, std::string> parse_neighbours(std::string_view table) {
  std::unordered_map<std::string, std::string> out;
  while (!table.empty()) {
    const auto end = std::min(table.find('\n'), table.size());
    std::string_view line = table.substr(0, end);
    table.remove_prefix(std::min(end + 1, table.size()));
    // Address, kind, flags, hardware address, and more that is of no use here.
    const auto address = fs::network_address(next_word(line));
    const unsigned kind = hex(next_word(line));
    const unsigned flags = hex(next_word(line));
    const auto hardware = fs::hardware_address(next_word(line));
    if (address && hardware && kind == ethernet && (flags & complete) != 0) {
      out.emplace(*address, *hardware);
    }
  }
  return out;
}

Neighbours::Neighbours()
    : Neighbours([] { return fs::read_outside_file("/proc/net/arp", longest_table); },
                 [] { return std::chrono::steady_clock::now(); }) {}

std::string Neighbours::at(const std::string& address) {
  const Time now = now_();
  const auto found = table_.find(address);
  if (now < (found == table_.end() ? not_before_ : old_)) {
    return found == table_.end() ? "" : found->second;
  }
  if (const auto text = read_()) table_ = parse_neighbours(*text);
  const Time then = now_();
  not_before_ = then + std::max<Time::duration>(least_pause, (then - now) * part_of_time);
  old_ = std::max<Time>(then + fresh, not_before_);
  const auto there = table_.find(address);
  return there == table_.end() ? "" : there->second;
}

}  // namespace stationer::server
