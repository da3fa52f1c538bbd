#include "fs/large_pages.h"

#include <cstdint>
#include <new>

#include <sys/mman.h>

namespace stationer::fs {
namespace {

constexpr std::align_val_t line{64};
constexpr std::size_t page = 4096;
constexpr std::size_t large_page = std::size_t{2} << 20;

}  // namespace

void* get_large(std::size_t bytes) {
  void* memory = ::operator new(bytes, line);
  if (bytes < large_page) return memory;
  // What does not fill a large page, at both ends, stays ordinary; and so does all of it on a host
  // without them.
  const auto address = reinterpret_cast<std::uintptr_t>(memory);
  const std::uintptr_t first = (address + page - 1) / page * page;
  static_cast<void>(
      ::madvise(reinterpret_cast<void*>(first), address + bytes - first, MADV_HUGEPAGE));
  return memory;
}

void give_back_large(void* memory) {
  ::operator delete(memory, line);
}

}  // namespace stationer::fs
