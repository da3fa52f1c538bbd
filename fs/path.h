// A path as stations write it: names separated by /, from the top folder or from where one stands.
// It has nothing to do with the host's paths (see HostPath in fs/host_files.h).
#pragma once

#include <compare>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"

namespace stationer::fs {

class Path {
 public:
  static constexpr std::size_t longest = 2048;  // bytes
  static constexpr std::size_t deepest = 32;    // names

  Path() = default;  // the top folder

  // Reads `text`, which starts at the top when it begins with / and at `base` otherwise. "." and
  // ".." are taken away here, by their text; ".." above the top is refused, as are paths that are
  // too long or too deep and parts that can't be names (check_name).
  static Result<Path> parse(std::string_view text, const Path& base = {});

  bool is_top() const { return names_.empty(); }
  const std::vector<std::string>& names() const { return names_; }
  const std::string& last() const { return names_.back(); }  // not of the top

  Path parent() const;  // of the top: the top
  Path operator/(std::string name) const;

  std::string text() const;  // "/members/robin"

  bool operator==(const Path&) const = default;

 private:
  std::vector<std::string> names_;
};

}  // namespace stationer::fs
