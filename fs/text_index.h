// An index of texts: which words stand on which page of which document, in an SQLite database of
// its own (FTS5). It is derived from what is kept elsewhere, holds nothing that decides rights, and
// can be thrown away at any time; whoever uses it makes it anew.
//
// Words are compared without case and accents (FTS5's unicode61).
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/host_files.h"
#include "fs/result.h"
#include "fs/sqlite.h"

namespace stationer::fs {

// For one thread at a time. After Code::damaged: let go of it, discard(), and open it again.
class TextIndex {
 public:
  static constexpr std::uint32_t most_pages = (1u << 20) - 1;     // of a document
  static constexpr std::size_t most_text = std::size_t{1} << 18;  // bytes of a page that are kept
  static constexpr std::size_t longest_line = 160;                // bytes of a line that is shown
  static constexpr std::size_t most_words = 32;                   // that are looked for at once

  // In the volume's directory, under this name. Made when it is not there; made anew when it was
  // made by another version. Never grows beyond `most_bytes`.
  static Result<std::unique_ptr<TextIndex>> open(HostFiles& files, const std::string& directory,
                                                 std::uint64_t most_bytes);
  // Takes its files away; it must not be open.
  static Status discard(HostFiles& files);

  // Every document that is in it, with the mark it was added with.
  Result<std::map<std::uint32_t, std::uint64_t>> documents();

  // Adds a document: wholly, or not at all. One that is there already must be removed first.
  Status add(std::uint32_t document, std::uint64_t mark, std::string_view title,
             std::span<const std::string> pages);
  Status remove(std::span<const std::uint32_t> documents);

  // Whether something of what was removed may still stand in the file.
  Result<bool> has_remains();
  // Writes the index anew without what was removed, and zeroes where that stood. Takes as long as
  // the index is large.
  Status wipe_remains();

  struct Hit {
    std::uint32_t document = 0;
    std::uint32_t page = 0;  // the first that fits, from 1
    std::string line;        // where it fits; empty when only the title does
  };
  // The documents with a page that has all the words, the highest number first. `wanted` is asked
  // before a document counts as one. Words in quotes stand side by side; a star at the end stands
  // for any ending. Anything may be typed.
  Result<std::vector<Hit>> find(std::string_view words,
                                const std::function<bool(std::uint32_t)>& wanted, std::size_t most);

  // What is wrong with the file, by SQLite's quick check; empty when nothing is.
  Result<std::vector<std::string>> check();

 private:
  explicit TextIndex(SqlDatabase database) : database_(std::move(database)) {}

  SqlDatabase database_;
};

// What was typed as a query of FTS5; empty when there is no word in it.
std::string text_query(std::string_view typed);

}  // namespace stationer::fs
