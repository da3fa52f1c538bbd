// What the parts of the check hand each other. Nobody else uses it.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fs/check.h"
#include "fs/engine.h"

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

// What is found wrong in rows: mended by a change, which the journal tells.
class RowProblems {
 public:
  using Make = std::function<Status(Transaction&)>;

  RowProblems(Engine& engine, Caller caller) : engine_(engine), caller_(std::move(caller)) {}

  // What it mends may have changed or gone since it was found: `make` looks again.
  void add(std::string path, std::string sentence, std::string remedy, Make make);

  Problems all;

 private:
  Engine& engine_;
  Caller caller_;
};

// Whether a row of the tree is there without a place in it.
bool is_lost(const State& state, NodeId id);

// The catalogue against itself and against the memory.
Result<Problems> check_rows(Engine& engine, const Caller& caller);

// Of that, the rows of people and of what is theirs beside files.
void check_people_rows(const State& state, RowProblems& problems);
// Those of stations.
void check_station_rows(const State& state, RowProblems& problems);
// And those of hand-ins, which tell of files: once all files are seen.
void check_hand_in_rows(const State& state, RowProblems& problems);

// What can't be mended because most of the volume is not there.
inline constexpr std::string_view mount_it =
    "nothing, because most of the volume is missing: see that its disk is mounted; if it is gone "
    "for good, run stationer check --repair --accept-loss";

// Contents and the host's tree against the catalogue. Counts into `report`. What was found can be
// mended while use() has it.
Status check_host(Engine& engine, const CheckOptions& options, CheckReport& report,
                  const std::function<void(Problems)>& use);
// Of that, former contents, and what else lies among them; `vanished`: so much is missing that
// nothing is to be mended.
Status check_versions(Engine& engine, const Caller& caller, bool vanished, CheckReport& report,
                      Problems& out);
// And the PDFs of printouts, and what else lies among those.
Status check_printouts(Engine& engine, const Caller& caller, Problems& out);

}  // namespace stationer::fs
