// Finding printouts by the words on their pages.
//
// An index (fs/text_index.h) beside the catalogue, filled from the PDFs themselves: one way,
// whether a printout is new, the index was lost, or a crash came between the two. So nothing has to
// be kept for it, and a snapshot has all it needs. It knows words and numbers of printouts only:
// whose they are and who may see them is asked of the store for each search, so that it need not be
// told when a printout changes hands.
//
// It is a minute's work of a thread that nobody waits for, and printing goes on whatever becomes of
// it.
#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "fs/printout_filter.h"
#include "fs/text_index.h"
#include "fs/volume.h"
#include "print/worker.h"

namespace stationer::print {

struct FoundPrintout {
  fs::PrintoutView printout;
  std::uint32_t page = 0;  // where the words are; 0 when no words were asked for
  std::string line;        // around the first of them; empty when only the title has them
};

struct Found {
  std::vector<FoundPrintout> items;  // newest first
  bool more = false;                 // there are more than was asked for
  std::size_t unread = 0;            // printouts that the search did not know yet
};

// All calls may come from any thread.
class Finder {
 public:
  // The index lies in the volume and grows to at most that many bytes. Touches nothing yet.
  Finder(fs::Volume& volume, std::uint64_t most_bytes);
  Finder(const Finder&) = delete;
  Finder& operator=(const Finder&) = delete;

  // The printouts that the caller may have, that are meant, and that have all the words on one page
  // or in their title (fs/text_index.h tells what may be typed). Without words, all that are meant.
  // Where no thread does it, the index catches up first.
  fs::Result<Found> find(const fs::Caller& caller, const fs::PrintoutFilter& filter,
                         std::string_view words, std::size_t most);

  // Takes out what is gone and reads what is new. Repairs the index if it has to.
  fs::Status catch_up();
  // Takes out what is gone, and leaves nothing of it in the file: for what was erased.
  fs::Status forget();

  // Catches up in a thread of its own, now and whenever it is nudged.
  void start();
  void nudge() { worker_.nudge(); }

  // Why searching does not find everything, for the keeper; empty when it does.
  std::string trouble() const;

 private:
  fs::Status with_index(const std::function<fs::Status(fs::TextIndex&)>& use);
  fs::Status try_with_index(const std::function<fs::Status(fs::TextIndex&)>& use);
  fs::Status take_out_gone(fs::TextIndex& index);
  fs::Status read_new();
  fs::Status read_unknown();
  fs::Status read_in(const fs::PrintoutView& printout);
  fs::Status wipe_when_due();
  void note_trouble(const fs::Status& status);

  fs::Volume& volume_;
  const std::uint64_t most_bytes_;

  std::mutex index_mutex_;  // one at a time; never taken within mutex_
  std::unique_ptr<fs::TextIndex> index_;
  bool made_anew_ = false;  // since read_new() looked
  fs::Time wiped_{};

  mutable std::mutex mutex_;
  std::string trouble_;

  Worker worker_;  // last, because it uses the others
};

// How large volume.toml lets the index become: index_mib under [print]. Code::bad_input with the
// line for what can't be right.
fs::Result<std::uint64_t> read_index_size(std::string_view settings_text);

}  // namespace stationer::print
