// Accounts for open days: whoever sits down signs on as one without a password, where a door says
// so, and what they leave behind is taken away each evening. [visitors] of volume.toml says who
// (fs/settings_words.h).
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;

struct VisitorPlan {
  std::vector<std::string> accounts;                                     // in small letters
  std::optional<std::chrono::minutes> tidy_at = std::chrono::hours(22);  // after midnight

  bool has(std::string_view account) const;
};

Result<VisitorPlan> read_visitor_plan(std::string_view settings_text);

class Visitors {
 public:
  Visitors(Engine& engine, VisitorPlan plan) : engine_(engine), plan_(std::move(plan)) {}

  const VisitorPlan& plan() const { return plan_; }

  // Signs on as one of them. Code::denied for any other account, for one that was closed or is
  // over, and for whoever leads a class or manages: nobody should come by their rights without a
  // password.
  Result<AccountId> sign_on(std::string_view name, const std::string& where);

  // When the last day of theirs ended; nothing when it never does.
  std::optional<Time> last_end(std::chrono::seconds zone) const;
  // Whether a visit that began then belongs to a day that has ended.
  bool is_over(AccountId account, Time since, std::chrono::seconds zone) const;
  // Takes away for good what each of them had by then in their folder and their bin, keep bit or
  // not, and their notices; printouts go to those that nobody has claimed. What they put elsewhere
  // stays. Does nothing when there is nothing.
  Status tidy(std::chrono::seconds zone);

 private:
  Engine& engine_;
  VisitorPlan plan_;
};

}  // namespace stationer::fs
