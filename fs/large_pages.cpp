#include "fs/large_pages.h"

#include <cstdint>
#include <new>

#include <sys/mman.h>

namespace stationer::fs {
namespace {

constexpr std::size_t page = 4096;
constexpr std::size_t large_page = std::size_t{2} << 20;

}  // namespace

void* get_large(std::size_t bytes) {
  if (bytes < large_page) return ::operator new(bytes);
  void* memory = ::operator new(bytes);
  // What does not fill a large page, at both ends, stays ordinary; and so does all of it on a host
  // without them.
  const auto address = reinterpret_cast<std::uintptr_t>(memory);
  const std::uintptr_t first = (address + page - 1) / page * page;
  static_cast<void>(
      ::madvise(reinterpret_cast<void*>(first), address + bytes - first, MADV_HUGEPAGE));
  return memory;
}

}  // namespace stationer::fs
