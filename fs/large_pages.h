// Memory in the host's large pages, for tables that are read at random places: where each look at
// an ordinary page also costs one at the table of pages, these cost one in 512 of that.
#pragma once

#include <cstddef>
#include <new>

namespace stationer::fs {

// Begins with a line of the processor's cache; what is 2 MiB and more lies in large pages if the
// host has them to give. Throws std::bad_alloc.
void* get_large(std::size_t bytes);
void give_back_large(void* memory);

// An allocator ([allocator.requirements] of the C++ standard).
template <class T>
struct LargePages {
  using value_type = T;

  LargePages() = default;
  template <class Other>
  LargePages(const LargePages<Other>&) {}

  T* allocate(std::size_t count) { return static_cast<T*>(get_large(count * sizeof(T))); }
  void deallocate(T* memory, std::size_t) { give_back_large(memory); }
  bool operator==(const LargePages&) const = default;
};

}  // namespace stationer::fs
