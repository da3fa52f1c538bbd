// The form of the commit log's segments (fs/commit_log.h), and what is whole in one. Pure.
//
//   header  "STNRLOG2", serial number of this use of a segment (u64), number of the first commit
//           (u64), CRC-32 of the 24 bytes before (u32)
//   frames  length of the payload (u32), the header's serial (u64), number of its first commit
//           (u64), CRC-32 of the 20 bytes before (u32), CRC-32 of the payload (u32), payload:
//           encoded commits (fs/commit.h), one after another
// All integers little-endian. What a segment held in an earlier use has an earlier serial.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stationer::fs {

inline constexpr std::size_t log_header_size = 8 + 8 + 8 + 4;
inline constexpr std::size_t log_frame_head = 4 + 8 + 8 + 4 + 4;

struct LogHeader {
  std::uint64_t serial = 0;
  std::uint64_t first = 0;
};

std::string write_log_header(const LogHeader& header);
// Fills the head of a frame in: its first log_frame_head bytes. The payload follows already.
void write_log_frame_head(std::string& frame, std::uint64_t serial, std::uint64_t first);

struct LogFrame {
  std::uint64_t first = 0;
  std::string_view payload;
};

struct LogSegment {
  LogHeader header;
  std::vector<LogFrame> frames;  // every one that is whole, in order; into the bytes read
};

// Looks for frames behind damage, too. When the header does not check, its frames tell what it
// said; nothing when there are none of those either.
std::optional<LogSegment> read_log_segment(std::string_view bytes);

}  // namespace stationer::fs
