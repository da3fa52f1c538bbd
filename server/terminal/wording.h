// How sizes, dates, names, addresses and rights are worded for people.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/access.h"
#include "fs/ids.h"
#include "fs/path.h"
#include "fs/size_words.h"

namespace stationer::server {

using fs::short_size;

// "12,345 bytes".
std::string exact_size(std::uint64_t bytes);

// "2026-11-25 19:30" and "2026-11-25", by the host's time zone.
std::string short_date(fs::Time time);
std::string short_day(fs::Time time);

// "1 page", "3 pages"; "1 thing" and a plural of its own: "2 copies".
std::string counted(std::uint64_t number, std::string_view one, std::string_view many = "");

// As it has to be typed: in quotes when there is a space in it.
std::string as_typed(std::string_view name);

// "robin, teasel and wren".
std::string listed(const std::vector<std::string>& names, std::string_view last = "and");

// "1900 hex".
std::string hex(std::uint32_t address);

// Where one stands, for the prompt: the whole path if it takes at most half of the screen, else its
// end after "..".
std::string place(const fs::Path& path, int columns);

// A path as short as it can be said from where one stands: without the way to there when it lies in
// or below that folder.
std::string seen_from(const fs::Path& here, const fs::Path& path);

// What a pair of bits lets one do with a file or folder: "may read it", "may look in and add to
// it", "may not read it".
std::string permission(bool read, bool write, bool folder);

}  // namespace stationer::server
