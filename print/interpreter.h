// What every printer language is to whoever has a job: a byte machine that gives pages.
//
// Fed a job in pieces of any size it gives the same pages, each as soon as it is done; its memory
// is bounded by one page. It knows no files, no fonts and no clock. print/interpreters.h makes one.
#pragma once

#include <string_view>

#include "fs/result.h"
#include "print/report.h"

namespace stationer::print {

class Interpreter {
 public:
  virtual ~Interpreter() = default;

  // Fails when the sink of pages does, or with Code::over_quota at one page too many. Not to be fed
  // again then.
  virtual fs::Status feed(std::string_view bytes) = 0;

  // The job is complete: gives the last page, if anything is on it.
  virtual fs::Status finish() = 0;

  virtual JobReport report() const = 0;
};

}  // namespace stationer::print
