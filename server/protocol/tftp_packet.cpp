#include "server/protocol/tftp_packet.h"

#include <algorithm>
#include <charconv>

namespace stationer::server::tftp {
namespace {

enum Opcode : std::uint16_t { rrq = 1, wrq = 2, data = 3, acknowledge = 4, err = 5 };

std::uint16_t word(std::string_view octets, std::size_t at) {
  return static_cast<std::uint16_t>(static_cast<std::uint8_t>(octets[at]) << 8 |
                                    static_cast<std::uint8_t>(octets[at + 1]));
}

void put_word(std::uint16_t value, char* into) {
  into[0] = static_cast<char>(value >> 8);
  into[1] = static_cast<char>(value & 0xFF);
}

// Takes a text that ends with NUL off the front; nothing when there is no NUL.
std::optional<std::string_view> take_text(std::string_view& rest) {
  const std::size_t end = rest.find('\0');
  if (end == std::string_view::npos) return std::nullopt;
  const std::string_view text = rest.substr(0, end);
  rest.remove_prefix(end + 1);
  return text;
}

Packet read_request(std::string_view rest, bool write) {
  Request request;
  request.write = write;
  const auto file = take_text(rest);
  if (!file) return Malformed{"The file's name has no end."};
  if (file->empty()) return Malformed{"There is no file's name in the request."};
  request.file = *file;
  const auto mode = take_text(rest);
  if (!mode) return Malformed{"There is no mode in the request."};
  if (same_name(*mode, "netascii")) {
    request.netascii = true;
  } else if (!same_name(*mode, "octet")) {
    // `mail` is not to be implemented: RFC 1350 §1, RFC 1123 §4.2.2.1.
    return Malformed{"The modes here are octet and netascii."};
  }
  while (!rest.empty()) {
    const auto name = take_text(rest);
    const auto value = name ? take_text(rest) : std::nullopt;
    // Some clients fill up their requests; what is no option is nothing.
    if (!value) break;
    request.options.push_back({*name, *value});
  }
  return request;
}

}  // namespace

Packet read(std::string_view octets) {
  if (octets.size() < 2) return Malformed{"The packet is too short."};
  const std::uint16_t opcode = word(octets, 0);
  if (opcode == rrq || opcode == wrq) return read_request(octets.substr(2), opcode == wrq);
  if (opcode != data && opcode != acknowledge && opcode != err) {
    return Malformed{"There is no such kind of packet."};
  }
  if (octets.size() < header) return Malformed{"The packet is too short."};
  const std::uint16_t number = word(octets, 2);
  const std::string_view rest = octets.substr(header);
  if (opcode == data) return Data{number, rest};
  if (opcode == acknowledge) return Ack{number};
  return Error{number, rest.substr(0, rest.find('\0'))};
}

bool same_name(std::string_view one, std::string_view other) {
  const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c | 0x20) : c; };
  return std::equal(one.begin(), one.end(), other.begin(), other.end(),
                    [lower](char a, char b) { return lower(a) == lower(b); });
}

std::optional<std::uint64_t> number(std::string_view digits, std::uint64_t most) {
  std::uint64_t value = 0;
  const char* const end = digits.data() + digits.size();
  const auto read = std::from_chars(digits.data(), end, value);
  if (read.ec != std::errc() || read.ptr != end || value > most) return std::nullopt;
  return value;
}

void put_data_header(std::uint16_t block, char* into) {
  put_word(data, into);
  put_word(block, into + 2);
}

std::string ack(std::uint16_t block) {
  std::string out(header, '\0');
  put_word(acknowledge, out.data());
  put_word(block, out.data() + 2);
  return out;
}

std::string error(ErrorCode code, std::string_view text) {
  std::string out(header, '\0');
  put_word(err, out.data());
  put_word(static_cast<std::uint16_t>(code), out.data() + 2);
  out += text.substr(0, usual_block - 1);
  out += '\0';
  return out;
}

}  // namespace stationer::server::tftp
