// Settings that keep all doors closed but some, so that services side by side have no port in
// common.
#pragma once

#include <algorithm>
#include <initializer_list>
#include <string>
#include <string_view>

namespace stationer::test {

inline std::string closed_doors(std::initializer_list<std::string_view> but) {
  std::string out;
  for (const std::string_view door :
       {"terminal", "lpd", "raw", "tftp", "ftp", "time", "daytime", "http"}) {
    if (std::find(but.begin(), but.end(), door) != but.end()) continue;
    out += "[door." + std::string(door) + "]\nopen = false\n";
  }
  return out;
}

}  // namespace stationer::test
