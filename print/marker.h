// Finds the lines of a job that only say that another begins. Pure: bytes in any pieces.
//
// Such a line is the marker and nothing else; it ends with CR, LF or CR LF, or with the job, and is
// not printed.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::print {

class MarkerFinder {
 public:
  using Text = std::function<fs::Status(std::string_view)>;
  // `offset` is where what follows the marker stands in the job.
  using Mark = std::function<fs::Status(std::uint64_t offset)>;

  // An empty marker is nowhere. Fails when one of the two does.
  MarkerFinder(std::string marker, Text text, Mark mark)
      : marker_(std::move(marker)), text_(std::move(text)), mark_(std::move(mark)) {}

  fs::Status feed(std::string_view bytes);
  // The job is complete.
  fs::Status finish();

 private:
  fs::Status let_go();

  const std::string marker_;
  const Text text_;
  const Mark mark_;
  std::uint64_t offset_ = 0;
  bool line_start_ = true;
  std::size_t matched_ = 0;  // of the marker, kept back
  bool after_cr_ = false;    // the last byte was a CR that ended a marker's line
};

}  // namespace stationer::print
