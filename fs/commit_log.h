// The commit log: what makes a save durable with one wait for the disk, however many stations saved
// (invariant 1). Commits are appended, and acknowledged once append() has returned; settling
// (fs/settle.h) carries them to the catalogue and to files/ afterwards, and then releases them.
//
// The log is a folder of segments of fixed size (fs/log_format.h), filled with zeros once and
// written over from then on, because a flush that needs not change a file's length is more than
// twice as fast. As SQLite does, we rely on a write damaging no bytes outside its range ("powersafe
// overwrite").
//
// A write that failed may yet have reached the disk. Its segment is given up, and the next one
// starts with the same number: frames at or above the first number of the segment with the next
// serial do not count. Nor is a segment written to any more once the log was opened anew.
//
// So only one write at a time is on its way, and the power can only cut the last. A frame that does
// not check with another behind it was whole once, and promised: that is damage, and opening
// refuses. The last frame may be either, nobody can tell, and it is taken for a write that was cut.
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fs/commit.h"
#include "fs/host_files.h"

namespace stationer::fs {

// Not thread-safe, but release() may be called while append() runs in another thread if the caller
// keeps the two apart with its own lock; see Committer.
class CommitLog {
 public:
  static constexpr std::uint64_t segment_size = 8u << 20;
  // No more segments than this are kept: append() gives Code::busy until some are released.
  static constexpr std::size_t most_segments = 24;
  // Of those that hold nothing any more, this many are kept to be written over; the others go one
  // by one, whenever nothing is left to settle.
  static constexpr std::size_t most_free = 3;

  struct Opening {
    std::uint64_t settled = 0;
    // Makes serials that nobody outside can guess, so that nothing a station sends can look like a
    // frame.
    std::uint64_t salt = 0;
    bool accept_loss = false;
  };
  // Opens the log, making it if it is not there, and calls use() for every commit in it after the
  // settled ones. When commits are missing before others that are there: Code::damaged, or, with
  // accept_loss, use() gets those before the first that is missing, and loss() tells.
  static Result<std::unique_ptr<CommitLog>> open(HostFiles& files, const Opening& opening,
                                                 const std::function<void(Commit)>& use);
  ~CommitLog();

  // Writes commits, encoded one after another behind room for a frame's head (log_frame_head), and
  // returns once they are durable. The first must have the number next_number(); there are `count`
  // of them. After an error none of them is in the log, now or later.
  Status append(std::string& frame, std::uint64_t count);
  std::uint64_t next_number() const { return next_number_; }

  struct Loss {  // the numbers of what could not be read
    std::uint64_t first = 0;
    std::uint64_t last = 0;
    std::string words() const;  // "changes 7 to 9"
  };
  const std::optional<Loss>& loss() const { return loss_; }
  // Moves the segments of a damaged log to rescued/, durably, once what use() got is settled.
  // Before the first append().
  Status set_damaged_aside();

  // Everything up to `number` is settled; segments that hold nothing else can be used again.
  void release(std::uint64_t number);

 private:
  struct Segment {
    HostPath path;
    std::uint64_t serial = 0;
    std::uint64_t first = 0;  // number of its first commit
    std::uint64_t last = 0;   // number of its last; first - 1 when it has none yet
    std::uint64_t size = 0;
  };

  CommitLog(HostFiles& files, std::uint64_t next) : files_(files), next_number_(next) {}
  Status start_segment(std::uint64_t room);
  void revoke();
  Result<Segment> take_free(std::uint64_t size);
  Result<Segment> make_segment(std::uint64_t size);

  HostFiles& files_;
  std::uint64_t next_number_;
  std::uint64_t next_name_ = 1;
  std::uint64_t next_serial_ = 1;
  std::deque<Segment> segments_;  // in use, oldest first; the last is being written
  std::vector<Segment> free_;
  std::deque<Segment> damaged_;  // all there were, to be set aside
  std::optional<Loss> loss_;
  std::unique_ptr<HostFile> file_;  // of the last segment; null: start a new one
  std::uint64_t position_ = 0;
  bool must_revoke_ = false;  // a refused write may be on the disk, and nothing says it is void yet
};

}  // namespace stationer::fs
