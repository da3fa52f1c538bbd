// What is kept after printing and for how long, how much may be printed, and whose it is that
// nobody has claimed.
#include <algorithm>

#include "fs/local_time.h"
#include "print/claim_code.h"
#include "print/spool.h"

namespace stationer::print {

using fs::Status;

// ---- the bytes of what was printed ----

Status Spool::lay_aside(const Job& job) {
  const Keeping& keeping = queues_.keeping;
  if (keeping.again_days == 0 || keeping.again_bytes == 0) return discard(job, JobState::printing);
  if (auto moved = move(job, JobState::printing, JobState::printed); !moved) return moved;
  {
    const std::lock_guard lock(mutex_);
    jobs_.erase(job.number);
    kept_[job.number] = job;
  }
  thin_bytes();
  return {};
}

void Spool::drop_old_bytes() {
  const std::lock_guard moving(moving_mutex_);
  thin_bytes();
}

// The caller holds moving_mutex_. What can't be taken away now is the next time.
void Spool::thin_bytes() {
  const Keeping& keeping = queues_.keeping;
  const fs::Time oldest = volume_.now() - std::chrono::days(keeping.again_days);
  const auto has_printout = [&](const Job& job) {
    const auto numbers = job.printouts();
    return std::any_of(numbers.begin(), numbers.end(),
                       [&](std::uint32_t number) { return volume_.desk().has_printout(number); });
  };
  std::vector<Job> all;
  {
    const std::lock_guard lock(mutex_);
    for (auto each = kept_.rbegin(); each != kept_.rend(); ++each) all.push_back(each->second);
  }
  std::uint64_t bytes = 0;
  for (const Job& job : all) {
    bytes += job.bytes;
    // What was discarded is not to be had by another way.
    if (bytes <= keeping.again_bytes && job.received >= oldest && has_printout(job)) continue;
    static_cast<void>(discard(job, JobState::printed));
  }
}

Status Spool::do_what_is_due() {
  if (const auto days = queues_.keeping.printout_days; days != 0) {
    auto retired = volume_.desk().retire_printouts(volume_.now() - std::chrono::days(days));
    if (!retired) return retired.error();
  }
  drop_old_bytes();
  return {};
}

// ---- how much ----

std::optional<Allowance> Spool::allowance(fs::AccountId account, const Queue& queue) const {
  if (queue.limits.day == 0 && queue.limits.week == 0) return std::nullopt;
  const auto member = volume_.people().account(account);
  if (!member || member->role != fs::Role::member) return std::nullopt;
  const fs::Time now = volume_.now();
  const auto since = [&](fs::Time begin) {
    return volume_.desk().pages_printed(account, queue.name, begin);
  };
  return print::allowance(queue.limits, {since(fs::local_day(now)), since(fs::local_week(now))},
                          queue.name, now);
}

// ---- whose ----

std::string Spool::code_of(std::uint32_t printout) const {
  return shown_claim_code(claim_code(claim_key_, printout));
}

std::optional<std::uint32_t> Spool::printout_of(std::string_view typed_code) const {
  const std::string code = typed_claim_code(typed_code);
  const auto unclaimed = volume_.desk().unclaimed(fs::stationer_itself());
  for (const auto& printout : *unclaimed) {
    if (claim_code(claim_key_, printout.job) == code) return printout.job;
  }
  return std::nullopt;
}

}  // namespace stationer::print
