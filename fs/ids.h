// The numbers that name things, one type each so that they can't be mixed up; and time.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>

namespace stationer::fs {

enum class NodeId : std::uint32_t {};
enum class AccountId : std::uint32_t {};
enum class ClassId : std::uint32_t {};

// One saved content of one file; never used twice in the life of a volume.
enum class ContentId : std::uint64_t {};

inline constexpr NodeId no_node{0};
inline constexpr NodeId files_root{1};  // what stations see as /
inline constexpr NodeId bin_root{2};  // above what was removed; no path from a station leads there

// Owns the starting tree; as the account of a caller it is the guest, or the keeper at the box.
inline constexpr AccountId no_account{0};
inline constexpr ClassId no_class{0};

template <class Id>
constexpr auto number(Id id) {
  return static_cast<std::underlying_type_t<Id>>(id);
}

// UTC, to the millisecond.
using Time = std::chrono::sys_time<std::chrono::milliseconds>;
using Clock = std::function<Time()>;

}  // namespace stationer::fs
