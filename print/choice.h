// Finding the entry of a table that a setting names.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::print {

// The entry whose .name is `name`; otherwise Code::bad_input with the names there are. `kind` is
// what the table holds, such as "paper".
template <class Entry>
fs::Result<Entry> choose(std::span<const Entry> entries, std::string_view name,
                         std::string_view kind) {
  std::string message = "There is no ";
  message.append(kind).append(" called \"").append(name).append("\". Choose one of: ");
  std::string_view separator;
  for (const Entry& entry : entries) {
    if (entry.name == name) return entry;
    message.append(separator).append(entry.name);
    separator = ", ";
  }
  return fs::Error{fs::Code::bad_input, message + "."};
}

}  // namespace stationer::print
