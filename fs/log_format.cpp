#include "fs/log_format.h"

#include <algorithm>

#include <libdeflate.h>

namespace stationer::fs {
namespace {

constexpr std::string_view magic = "STNRLOG2";

template <class T>
void put_number(std::string& out, T value) {
  for (std::size_t i = 0; i < sizeof value; ++i) out += static_cast<char>(value >> (8 * i) & 0xFF);
}

template <class T>
T get_number(std::string_view bytes) {
  T value = 0;
  for (std::size_t i = 0; i < sizeof value; ++i) {
    value |= static_cast<T>(static_cast<T>(static_cast<unsigned char>(bytes[i])) << (8 * i));
  }
  return value;
}

std::uint32_t crc(std::string_view bytes) {
  return libdeflate_crc32(0, bytes.data(), bytes.size());
}

std::optional<LogHeader> read_header(std::string_view bytes) {
  if (bytes.size() < log_header_size || !bytes.starts_with(magic)) return std::nullopt;
  if (get_number<std::uint32_t>(bytes.substr(24)) != crc(bytes.substr(0, 24))) return std::nullopt;
  return LogHeader{get_number<std::uint64_t>(bytes.substr(8)),
                   get_number<std::uint64_t>(bytes.substr(16))};
}

struct Found {
  std::uint64_t serial = 0;
  LogFrame frame;
};

// The frame at the front of `bytes`, if it is whole.
std::optional<Found> frame_at(std::string_view bytes) {
  if (bytes.size() < log_frame_head) return std::nullopt;
  const auto length = get_number<std::uint32_t>(bytes);
  if (length == 0 || length > bytes.size() - log_frame_head) return std::nullopt;
  if (get_number<std::uint32_t>(bytes.substr(20)) != crc(bytes.substr(0, 20))) return std::nullopt;
  const auto payload = bytes.substr(log_frame_head, length);
  if (get_number<std::uint32_t>(bytes.substr(24)) != crc(payload)) return std::nullopt;
  return Found{get_number<std::uint64_t>(bytes.substr(4)),
               {get_number<std::uint64_t>(bytes.substr(12)), payload}};
}

// Where the next frame could begin, from `at` on: most of a segment is zeros, and a frame has
// another byte among its first four.
std::size_t skip_zeros(std::string_view bytes, std::size_t at) {
  static const std::string zeros(4096, '\0');
  while (bytes.substr(at, zeros.size()) == zeros) at += zeros.size() - 3;
  return at;
}

}  // namespace

std::string write_log_header(const LogHeader& header) {
  std::string out(magic);
  put_number(out, header.serial);
  put_number(out, header.first);
  put_number(out, crc(out));
  return out;
}

void write_log_frame_head(std::string& frame, std::uint64_t serial, std::uint64_t first) {
  const auto payload = std::string_view(frame).substr(log_frame_head);
  std::string head;
  put_number(head, static_cast<std::uint32_t>(payload.size()));
  put_number(head, serial);
  put_number(head, first);
  put_number(head, crc(head));
  put_number(head, crc(payload));
  frame.replace(0, log_frame_head, head);
}

std::optional<LogSegment> read_log_segment(std::string_view bytes) {
  std::vector<Found> found;
  for (std::size_t at = log_header_size; at + log_frame_head < bytes.size();) {
    if (auto frame = frame_at(bytes.substr(at))) {
      at += log_frame_head + frame->frame.payload.size();
      found.push_back(*frame);
    } else {
      at = skip_zeros(bytes, at + 1);
    }
  }
  LogSegment segment;
  if (const auto header = read_header(bytes)) {
    segment.header = *header;
  } else if (const auto newest = std::max_element(
                 found.begin(), found.end(),
                 [](const Found& a, const Found& b) { return a.serial < b.serial; });
             newest != found.end()) {
    segment.header = {newest->serial, newest->frame.first};
  } else {
    return std::nullopt;
  }
  std::uint64_t least = segment.header.first;
  for (const Found& each : found) {
    // What a file that was saved holds may look like a frame; it is never the next one.
    if (each.serial != segment.header.serial || each.frame.first < least) continue;
    segment.frames.push_back(each.frame);
    least = each.frame.first + 1;
  }
  return segment;
}

}  // namespace stationer::fs
