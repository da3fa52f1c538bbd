// The hash of all that can be read from one place.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "fs/hash.h"
#include "fs/result.h"

namespace stationer::fs {

struct Hashed {
  Hash hash{};
  std::uint64_t size = 0;  // bytes
};

// Reads a HostFile or a Content from its start to its end, in pieces. May wait for the disk.
template <class Readable>
Result<Hashed> hash_content(Readable& from) {
  Hasher hasher;
  Hashed out;
  std::string buffer(std::size_t{256} * 1024, '\0');
  for (;;) {
    auto got = from.read_at(out.size, buffer);
    if (!got) return got.error();
    if (*got == 0) break;
    hasher.add(std::string_view(buffer).substr(0, *got));
    out.size += *got;
  }
  out.hash = hasher.finish();
  return out;
}

}  // namespace stationer::fs
