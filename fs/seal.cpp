#include "fs/seal.h"

#include <algorithm>

namespace stationer::fs {
namespace {

// Magic number 0x184D2A50 and length of what follows, both little-endian, then our own mark.
constexpr std::string_view head("\x50\x2A\x4D\x18\x28\x00\x00\x00STNRSEAL", 16);
static_assert(head.size() + std::tuple_size_v<Hash> == seal_size);
constexpr std::size_t piece = 256 * 1024;

std::string sealed_with(const Hash& hash) {
  return std::string(head) + std::string(reinterpret_cast<const char*>(hash.data()), hash.size());
}

}  // namespace

std::string Seal::finish() {
  return sealed_with(hasher_.finish());
}

Result<bool> has_seal(HostFile& file) {
  auto size = file.size();
  if (!size) return size.error();
  if (*size < seal_size) return false;
  std::string seal(seal_size, '\0');
  auto got = file.read_at(*size - seal_size, seal);
  if (!got) return got.error();
  return seal.starts_with(head);
}

Result<std::uint64_t> check_seal(
    HostFile& file, const std::function<bool(std::uint64_t, std::uint64_t)>& progress) {
  const Error cut{Code::damaged,
                  "The file has no seal at its end: it was cut off, or is no snapshot."};
  auto size = file.size();
  if (!size) return size.error();
  if (*size < seal_size) return cut;
  const std::uint64_t sealed = *size - seal_size;
  Hasher hasher;
  std::string buffer(piece, '\0');
  for (std::uint64_t at = 0; at < sealed;) {
    const auto wanted = static_cast<std::size_t>(std::min<std::uint64_t>(piece, sealed - at));
    auto got = file.read_at(at, std::span(buffer).first(wanted));
    if (!got) return got.error();
    if (*got == 0) return cut;
    hasher.add(std::string_view(buffer).substr(0, *got));
    at += *got;
    if (progress && !progress(at, sealed)) return Error{Code::busy, "It was stopped."};
  }
  std::string seal(seal_size, '\0');
  auto got = file.read_at(sealed, seal);
  if (!got) return got.error();
  if (*got != seal_size || !seal.starts_with(head)) return cut;
  if (seal != sealed_with(hasher.finish())) {
    return Error{Code::damaged,
                 "The snapshot is not what was written: bytes of it have changed since. Use "
                 "another one, and look after the disk it is on."};
  }
  return sealed;
}

}  // namespace stationer::fs
