// What the parts of the check hand each other. Nobody else uses it.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "fs/check.h"

namespace stationer::fs {

struct Problem {
  Finding finding;
  std::function<Status()> mend;  // empty when no program can

  Problem(Finding::Kind kind, std::string path, std::string sentence, std::string remedy,
          std::function<Status()> mend_ = {})
      : finding{kind, std::move(path), std::move(sentence), std::move(remedy), bool(mend_), false},
        mend(std::move(mend_)) {}
};
using Problems = std::vector<Problem>;

// The catalogue against itself and against the memory.
Result<Problems> check_rows(Engine& engine, const Caller& caller);

// Contents and the host's tree against the catalogue. Counts into `report`. What was found can be
// mended while use() has it.
Status check_host(Engine& engine, const CheckOptions& options, CheckReport& report,
                  const std::function<void(Problems)>& use);

}  // namespace stationer::fs
