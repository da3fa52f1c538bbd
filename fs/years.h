// Moving classes up a year: a plan is looked at first, made as one change, and can be undone for as
// long as nothing it touched has changed since.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fs/caller.h"
#include "fs/ids.h"
#include "fs/records.h"
#include "fs/result.h"
#include "fs/ticket.h"

namespace stationer::fs {

class Engine;

struct YearPlan {
  struct Move {
    std::string from;
    std::string to;  // empty: they leave
  };
  std::vector<Move> moves;
  std::vector<std::string> staying;  // accounts that are left as they are
};

// What a plan would do, in sentences; and what is in the way, so that it can't be done.
struct YearPreview {
  std::vector<std::string> sentences;
  std::vector<std::string> obstacles;
  std::vector<YearMove> moves;
};

struct YearStepView {
  std::uint32_t step = 0;
  Time made{};
  std::string by;
  std::string words;  // "year9 to year10, year10 left"
  std::size_t people = 0;
  std::string obstacle;  // why it can't be undone any more; empty: it can
};

// Members move from class to class, all at once; leaders stay with their class. Whose primary class
// a leaving class is has their account closed, unless they are more than a member. Managers only.
class Years {
 public:
  static constexpr std::size_t most_steps = 10;  // that can be undone; older ones are forgotten

  explicit Years(Engine& engine) : engine_(engine) {}

  Result<YearPreview> preview(const Caller& caller, const YearPlan& plan) const;
  // Code::bad_input with the first obstacle, and then nothing was changed.
  Ticket apply(const Caller& caller, const YearPlan& plan);

  std::vector<YearStepView> steps() const;  // newest first
  Ticket undo(const Caller& caller, std::uint32_t step);

 private:
  Engine& engine_;
};

}  // namespace stationer::fs
