// What a node may be called, when two names are the same, and the short name that DOS-like stations
// see. Pure rules.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::fs {

inline constexpr std::size_t longest_name = 255;  // bytes of UTF-8, as the host's file systems have

// Refuses, with the reason: an empty or over-long name; "." and ".."; text that is not UTF-8;
// control characters and those that reorder what is shown; / \ : * ? " < > |; a space at either
// end, a dot at the end, a dash at the start; and the DOS device names with any extension. What is
// left is a safe host name and a name that every kind of station can at least list.
Status check_name(std::string_view name);

// True when `name` is already a DOS 8.3 name (in any case): it then needs no alias.
// FAT specification 1.03, "Name Limits and Character Sets".
bool is_short_name(std::string_view name);

// The 8.3 alias for `name`, unlike every name and alias for which taken() is true. `taken` is asked
// with upper-case candidates. FAT specification 1.03, "The Basis-Name Generation Algorithm" and
// "The Numeric-Tail Generation Algorithm"; characters outside ASCII become _.
std::string short_alias(std::string_view name, const std::function<bool(std::string_view)>& taken);

}  // namespace stationer::fs
