// Sizes, and limits of what may be kept, as people read them.
#pragma once

#include <cstdint>
#include <string>

namespace stationer::fs {

// At most six characters: "980", "64.0K", "999.9K", "1.2M". K is 1024 bytes, and so on.
std::string short_size(std::uint64_t bytes);

// The same in a sentence: "1 byte", "980 bytes", "64.0K".
std::string size_in_words(std::uint64_t bytes);

// "warned at 64.0M, stopped at 80.0M", of the two in words; empty is none.
std::string limits_in_words(const std::string& soft, const std::string& hard);

}  // namespace stationer::fs
