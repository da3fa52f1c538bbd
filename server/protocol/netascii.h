// netascii: text as Telnet's NVT has it but with eight bits, CR LF for a new line and CR NUL for a
// CR alone. Source: RFC 1350 §1, RFC 764 "NVT printer and keyboard". Pure; what has to be kept
// between two pieces is one bit, so a place in a text can be held and come back to.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace stationer::server {

// A place in a stored text on its way out.
struct NetasciiPlace {
  std::uint64_t offset = 0;  // of the next stored byte
  bool half = false;         // the first octet of its two has gone
  bool operator==(const NetasciiPlace&) const = default;
};

// Writes what `stored` becomes into `into`, until either is at its end, and moves `place` on by
// what was taken. Gives the number of octets written. `stored` begins at place.offset.
std::size_t to_netascii(std::string_view stored, NetasciiPlace& place, std::span<char> into);

// The way back, in pieces of any size. A CR before anything else but LF and NUL stays a CR.
class FromNetascii {
 public:
  std::string feed(std::string_view piece);
  std::string finish();

 private:
  bool after_cr_ = false;
};

}  // namespace stationer::server
