// The rules of hand-in folders: when one may hand in, and what the copies are called. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

// What one person may have lying in one hand-in folder. It counts in nobody's quota, so that work
// can be handed in when the quota is full; these are its bounds instead.
inline constexpr std::size_t most_hand_ins = 100;
inline constexpr std::uint64_t most_hand_in_bytes = std::uint64_t{64} << 20;
// Receipts kept for one account whose hand-ins are gone for good.
inline constexpr std::size_t most_old_receipts = 200;

struct HandInTimes {
  std::optional<Time> opens;   // nothing: always been open
  std::optional<Time> closes;  // nothing: never closes
  bool late_allowed = false;   // after closing: taken, and marked late

  bool operator==(const HandInTimes&) const = default;
};

// Read when a folder opens or closes (fs/local_time.h). A day without a time of it counts whole:
// from its first minute, or to its last.
Result<Time> parse_opening(std::string_view text);
Result<Time> parse_closing(std::string_view text);

// Code::bad_input when it would close before it opens.
Status check_times(const HandInTimes& times);

enum class HandInTiming : std::uint8_t { in_time, late, too_early, too_late };

// Both moments themselves are in time.
HandInTiming hand_in_timing(const HandInTimes& times, Time now);

// What the nth hand-in of `name` is filed as: "essay.txt", "essay-2.txt". Never longer than a name
// may be.
std::string version_name(std::string_view name, std::uint32_t version);

// A file to be laid beside those of others.
struct OwnedName {
  std::string account;
  std::string name;
};

// Beside the copies: whose each of them is.
inline constexpr std::string_view collected_list = "list.txt";

// Names for copies of `files` in one folder: each a DOS 8.3 name in lower case, unlike all others
// and collected_list, beginning as the account's name does, with the file's extension if that fits.
// A person's first file is called by what is theirs alone whatever others handed in: "robin.txt",
// "robin2.txt". `people` are all whose names must not be mixed up, sorted; accounts not in it are
// added.
std::vector<std::string> collected_names(const std::vector<std::string>& people,
                                         const std::vector<OwnedName>& files);

}  // namespace stationer::fs
