// A seal at the end of a file that is otherwise one zstd frame: the SHA-256 of every byte
// before it, in a skippable frame (RFC 8878 §3.1.2), which all tools that know zstd pass over. It
// tells about each single byte of the file, also those that would unpack to the same.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "fs/hash.h"
#include "fs/host_files.h"
#include "fs/result.h"

namespace stationer::fs {

inline constexpr std::size_t seal_size = 48;  // bytes

class Seal {
 public:
  void add(std::string_view bytes) { hasher_.add(bytes); }
  std::string finish();  // what to write behind the bytes added; once

 private:
  Hasher hasher_;
};

// Whether the file ends in something that looks like a seal, so that it was a snapshot once.
Result<bool> has_seal(HostFile& file);

// Reads the whole file. Gives the number of bytes before the seal; Code::damaged when it has none
// (it was cut off, or is no snapshot) or a byte is not what was sealed. `progress` is called with
// bytes done and in all; when it returns false, the reading ends with Code::busy.
Result<std::uint64_t> check_seal(HostFile& file,
                                 const std::function<bool(std::uint64_t, std::uint64_t)>& progress);

}  // namespace stationer::fs
