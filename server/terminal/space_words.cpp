#include "server/terminal/space_words.h"

#include <fmt/format.h>

#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

using Space = fs::Files::Space;

// From when on the soft limit is as good as a hard one.
std::string last_day(const Space& space) {
  return short_day(*space.over_since + space.grace);
}

std::string grace_in_words(std::chrono::hours grace) {
  const auto days = grace.count() / 24;
  return days == 7 ? "a week" : counted(static_cast<std::uint64_t>(days), "day");
}

// The limit that is met first, of those that there are.
std::uint64_t nearest(std::uint64_t soft, std::uint64_t hard) {
  return soft != 0 ? soft : hard;
}

}  // namespace

std::string space_warning(const Space& space) {
  if (space.over_since && space.grace.count() == 0) {
    return "You have more than your limit. Remove what you do not need: until then nothing more "
           "can "
           "be saved. Type space for the figures.";
  }
  if (space.over_since) {
    return fmt::format(
        "You have more than your limit. Remove what you do not need: from {} on nothing more can "
        "be saved. Type space for the figures.",
        last_day(space));
  }
  return "Your space is nearly full. Type space for the figures, and remove what you do not need.";
}

std::string space_in_words(const Space& space) {
  const fs::Quota& quota = space.quota;
  const std::uint64_t bytes = nearest(quota.soft_bytes, quota.hard_bytes);
  const std::uint64_t files = nearest(quota.soft_files, quota.hard_files);
  std::string out = fmt::format("You use {}", short_size(space.usage.bytes));
  if (bytes != 0) {
    out += fmt::format(" of {}, {} per cent", short_size(bytes), space.usage.bytes * 100 / bytes);
  }
  out += fmt::format(".\nYou have {}",
                     counted(space.usage.files, "file or folder", "files and folders"));
  if (files != 0) out += fmt::format(" of {}", files);
  out += ".\n";
  if (space.over_since) {
    out += fmt::format(
        "That is more than your limit, since {}. From {} on nothing more can be saved: remove "
        "what you do not need.\n",
        short_day(*space.over_since), last_day(space));
  } else if (bytes != 0 && quota.hard_bytes > bytes && space.grace.count() > 0) {
    out += fmt::format("For {} you may go over your limit, up to {}.\n",
                       grace_in_words(space.grace), short_size(quota.hard_bytes));
  }
  out += fmt::format("There is room for {} more.\n", short_size(space.free_bytes));
  return out;
}

}  // namespace stationer::server
