// Contents on their way to or from one client, in pieces, so that nobody holds a large file in
// memory. A stream has a number, which methods give and take.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>

#include "fs/files.h"
#include "fs/result.h"
#include "server/loop.h"
#include "server/task.h"

namespace stationer::server {

class Streams {
 public:
  static constexpr std::size_t most = 16;                        // open at once
  static constexpr std::size_t piece = std::size_t{256} * 1024;  // bytes read at most in one call

  using Number = std::uint32_t;
  struct Piece {
    std::string bytes;
    bool last = false;  // nothing comes after it; the stream is closed
  };

  // Code::busy when too many are open.
  fs::Result<Number> open(fs::Content content);
  fs::Result<Number> open(fs::Upload upload);

  // One call at a time on one stream: Code::busy otherwise. After an error the stream is closed,
  // and an upload is as if it had never begun.
  Task<fs::Result<Piece>> read(Loop& loop, Number number, std::size_t most_bytes);
  Task<fs::Status> write(Loop& loop, Number number, std::string bytes);
  // The upload is complete; returns once it is durable.
  Task<fs::Status> finish(Loop& loop, Number number);
  // Lets go of it. Code::not_found when there is none of that number.
  fs::Status close(Number number);

 private:
  struct Stream {
    std::shared_ptr<const fs::Content> content;  // one of these two
    std::shared_ptr<fs::Upload> upload;
    std::uint64_t at = 0;  // read so far
    bool busy = false;
  };

  fs::Result<Number> add(Stream stream);
  fs::Result<Stream*> take(Number number, bool upload);

  std::map<Number, Stream> streams_;
  Number last_ = 0;
};

}  // namespace stationer::server
