// The packets of TFTP: RFC 1350 §5 and appendix I, with the options of RFC 2347. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace stationer::server::tftp {

// RFC 1350 appendix; 8 is RFC 2347's.
enum class ErrorCode : std::uint16_t {
  see_text = 0,
  not_found = 1,
  denied = 2,
  full = 3,
  illegal = 4,
  unknown_transfer = 5,
  exists = 6,
  no_such_user = 7,
  bad_options = 8,
};

struct Option {
  std::string_view name;
  std::string_view value;
};

// All views are into the packet that was read.
struct Request {
  bool write = false;
  std::string_view file;
  bool netascii = false;  // else octet
  std::vector<Option> options;
};
struct Data {
  std::uint16_t block = 0;
  std::string_view bytes;
};
struct Ack {
  std::uint16_t block = 0;
};
struct Error {
  std::uint16_t code = 0;
  std::string_view text;  // as it came
};
// What is no packet for a server: `why` is for the ERROR that answers it.
struct Malformed {
  std::string_view why;
};
using Packet = std::variant<Request, Data, Ack, Error, Malformed>;

inline constexpr std::size_t header = 4;             // octets before the bytes of a DATA
inline constexpr std::size_t usual_block = 512;      // RFC 1350 §2
inline constexpr std::size_t largest_block = 65464;  // RFC 2348
inline constexpr std::size_t most_request = 512;     // octets in a request: RFC 2347

Packet read(std::string_view octets);

// In any case; RFC 2347.
bool same_name(std::string_view one, std::string_view other);
// Decimal digits only, no more than `most`.
std::optional<std::uint64_t> number(std::string_view digits, std::uint64_t most);

// The four octets of a DATA or an ACK.
void put_data_header(std::uint16_t block, char* into);
std::string ack(std::uint16_t block);
// Cut to what any client has room for.
std::string error(ErrorCode code, std::string_view text);

}  // namespace stationer::server::tftp
