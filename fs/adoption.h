// Adoption of all that the host's owner did under files/: looks at folders, decides what became of
// what (fs/adopt.h does each), and remembers what it left alone.
//
//   - new: becomes part of the tree. Changed: what is there becomes the contents.
//   - gone here and new there with the same contents: moved. A folder is recognized by half of what
//     is directly in it.
//   - gone: see take_away(). Only what was still gone after `patience`, because programs that save
//     take a file away for a moment; and nothing at all when so much is gone that a disk may not be
//     mounted: see vanished() in the source.
//   - strange (links, devices, what can't be read, names that clash or can't be): left alone, never
//     followed, and told until it is otherwise.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "fs/caller.h"
#include "fs/host_path.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;

// What one comparison found and did.
struct Adopted {
  enum class Sort { taken_in, changed, moved, gone, left };
  struct Item {
    Sort sort = Sort::taken_in;
    std::string path;  // on the host, below the volume
    std::string sentence;
  };
  static constexpr std::size_t most_items = 10'000;

  std::vector<Item> items;    // the first of them
  std::uint64_t folders = 0;  // compared
  std::uint64_t taken_in = 0;
  std::uint64_t changed = 0;
  std::uint64_t moved = 0;
  std::uint64_t gone = 0;
  std::uint64_t left = 0;
  std::uint64_t vanished = 0;   // gone, and not believed
  std::vector<HostPath> again;  // folders to look at once more: something was on its way, or being
                                // written
  bool more = false;            // all of it should be looked at once more

  bool any() const { return taken_in + changed + moved + gone != 0; }
};

const char* adopted_name(Adopted::Sort sort);  // "taken in", …

struct AdoptOptions {
  Caller caller = stationer_itself();  // for the journal
  // What is gone is gone, however much it is.
  bool accept_loss = false;
  // How long to wait before what is gone is looked for once more.
  std::chrono::milliseconds patience{1000};
  // Asked now and then; once it says so, the look ends early and takes nothing away.
  std::function<bool()> stopping = [] { return false; };
};

// Calls may come from any thread; one comparison goes on at a time.
class Adoption {
 public:
  explicit Adoption(Engine& engine) : engine_(engine) {}

  // All of files/. Reads folders and times, and only such contents as are new or seem changed.
  Result<Adopted> look_at_all(const AdoptOptions& options = {});
  // Only these folders, without those in them. Of a path that is no folder of the tree, the nearest
  // one above.
  Result<Adopted> look_at(const std::vector<HostPath>& folders, const AdoptOptions& options = {});

  // What the keeper should know, in sentences.
  std::vector<std::string> troubles() const;

 private:
  Result<Adopted> look(const std::vector<NodeId>& folders, bool deep, const AdoptOptions& options);

  Engine& engine_;
  std::mutex looking_;
  mutable std::mutex mutex_;
  std::map<HostPath, std::string> left_;  // left alone at the last look, and why; bounded
  std::uint64_t vanished_ = 0;
};

}  // namespace stationer::fs
