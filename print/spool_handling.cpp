// What people do with jobs. Each act holds moving_mutex_, so that a job does not change its state
// under another's hands.
#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "print/spool.h"

namespace stationer::print {

using fs::Code;
using fs::Error;
using fs::Status;

constexpr std::size_t looked_at = 16;  // bytes that tell what kind of job it is

// ---- who may ----

bool Spool::may_know(const fs::Caller& caller, const Job& job) const {
  const bool own = caller.account != fs::no_account && caller.account == job.owner;
  return own || volume_.people().looks_after(caller, job.owner);
}

std::vector<JobView> Spool::jobs_as_seen(const fs::Caller& caller, std::string_view queue) const {
  auto all = jobs(queue);
  for (JobView& view : all) {
    if (may_know(caller, view.job)) continue;
    view.job.title.clear();
    view.job.reason.clear();
  }
  return all;
}

Status Spool::may_handle(const fs::Caller& caller, const Job& job, bool owner_may) const {
  if (caller.account != fs::no_account && caller.account == job.owner && owner_may) return {};
  if (volume_.people().looks_after(caller, job.owner)) return {};
  return Error{Code::denied, fmt::format("Job {} is not yours to handle.", job.number)};
}

fs::Result<JobView> Spool::handled(const fs::Caller& caller, std::uint32_t number,
                                   bool owner_may) const {
  auto view = job(number);
  if (!view)
    return Error{Code::not_found, fmt::format("There is no job {} in the queues.", number)};
  if (auto allowed = may_handle(caller, view->job, owner_may); !allowed) return allowed.error();
  return *view;
}

Status Spool::hold(const fs::Caller& caller, std::uint32_t number, std::string reason) {
  const std::lock_guard moving(moving_mutex_);
  auto view = handled(caller, number, true);
  if (!view) return view.error();
  if (view->state != JobState::waiting) {
    return Error{Code::bad_input, fmt::format("Job {} is {}, so it can't be held.", number,
                                              state_name(view->state))};
  }
  return move_with_reason(view->job, view->state, JobState::held, std::move(reason));
}

Status Spool::release(const fs::Caller& caller, std::uint32_t number) {
  const std::lock_guard moving(moving_mutex_);
  const auto known = job(number);
  const Queue* queue = known ? queues_.find(known->job.queue) : nullptr;
  auto view = handled(caller, number, queue != nullptr && queue->policy != Policy::leader);
  if (!view) return view.error();
  if (view->state != JobState::held) {
    return Error{Code::bad_input, fmt::format("Job {} is {}, so there is nothing to release.",
                                              number, state_name(view->state))};
  }
  auto moved = move_with_reason(view->job, view->state, JobState::waiting, "");
  wake_.notify_all();
  return moved;
}

Status Spool::refuse(const fs::Caller& caller, std::uint32_t number, std::string reason) {
  const std::lock_guard moving(moving_mutex_);
  auto view = handled(caller, number, false);
  if (!view) return view.error();
  if (view->state == JobState::refused) return {};
  if (view->state == JobState::printing) {
    return Error{Code::busy, fmt::format("Job {} is being printed already.", number)};
  }
  auto moved = move_with_reason(view->job, view->state, JobState::refused, std::move(reason));
  if (moved) told(*job(number), false);
  return moved;
}

Status Spool::cancel(const fs::Caller& caller, std::uint32_t number) {
  const std::lock_guard moving(moving_mutex_);
  auto view = handled(caller, number, true);
  if (!view) return view.error();
  if (view->state == JobState::printing) {
    return Error{Code::busy, fmt::format("Job {} is being printed already.", number)};
  }
  if (auto gone = discard(view->job, view->state); !gone) return gone;
  return volume_.desk()
      .note(caller, "print job cancelled", fmt::format("{}", number), view->job.title)
      .wait();
}

Status Spool::send_to(const fs::Caller& caller, std::uint32_t number, std::string_view queue_name) {
  const Queue* queue = queue_name.empty() ? nullptr : queues_.find(queue_name);
  if (queue == nullptr) {
    return Error{Code::not_found, fmt::format("There is no print queue \"{}\".", queue_name)};
  }
  const std::lock_guard moving(moving_mutex_);
  auto view = handled(caller, number, true);
  if (!view) return view.error();
  if (view->state == JobState::printing) {
    return Error{Code::busy, fmt::format("Job {} is being printed already.", number)};
  }
  auto data = files_.open(folder(view->state, number) / "data");
  if (!data) return data.error();
  std::string start(looked_at, '\0');
  auto size = (*data)->read_at(0, start);
  if (!size) return size.error();
  Job job = std::move(view->job);
  job.queue = queue->name;
  const JobState state = admit(job, std::string_view(start).substr(0, *size));
  std::string reason = std::move(job.reason);
  auto moved = move_with_reason(std::move(job), view->state, state, std::move(reason));
  wake_.notify_all();
  return moved;
}

// ---- once more ----

fs::Result<JobView> Spool::to_print_again(const fs::Caller& caller, std::uint32_t number) const {
  std::optional<Job> kept;
  {
    const std::lock_guard lock(mutex_);
    const auto found = std::find_if(kept_.begin(), kept_.end(), [&](const auto& each) {
      const auto numbers = each.second.printouts();
      return std::find(numbers.begin(), numbers.end(), number) != numbers.end();
    });
    if (found != kept_.end()) kept = found->second;
  }
  const auto printout = volume_.desk().printout(caller, number);
  if (printout && !kept) {
    return Error{Code::not_found,
                 fmt::format("What came in for printout {} is not kept any more, so it can't be "
                             "printed again.",
                             number)};
  }
  if (printout) {
    // Whose it is now.
    const auto owner = volume_.people().account(std::string_view(printout->owner));
    if (owner) {
      kept->owner = owner->id;
      kept->owner_name = owner->name;
    }
    return JobView{std::move(*kept), JobState::printed};
  }
  auto view = handled(caller, number, true);
  if (!view) return view;
  if (view->state != JobState::refused) {
    return Error{Code::bad_input, fmt::format("Job {} is {}: it has not been printed yet.", number,
                                              state_name(view->state))};
  }
  return view;
}

fs::Result<std::uint32_t> Spool::print_again(const fs::Caller& caller, std::uint32_t number,
                                             std::string_view queue) {
  Job job;
  std::unique_ptr<fs::HostFile> data;
  {
    const std::lock_guard moving(moving_mutex_);
    auto view = to_print_again(caller, number);
    if (!view) return view.error();
    job = std::move(view->job);
    auto opened = files_.open(folder(view->state, job.number) / "data");
    if (!opened) return opened.error();
    data = std::move(*opened);
  }
  auto incoming = receive(queue.empty() ? std::string_view(job.queue) : queue, job.title, job.owner,
                          job.owner_name, job.source);
  if (!incoming) return incoming.error();
  incoming->job_.starts = job.starts;
  if (auto copied = incoming->copy(*data); !copied) return copied.error();
  return incoming->finish();
}

// ---- several into one ----

fs::Result<std::uint32_t> Spool::join(const fs::Caller& caller,
                                      const std::vector<std::uint32_t>& numbers) {
  if (std::set(numbers.begin(), numbers.end()).size() != numbers.size() || numbers.size() < 2) {
    return Error{Code::bad_input, "Name two jobs or more, each once."};
  }
  const std::lock_guard moving(moving_mutex_);
  std::vector<JobView> views;
  JobState state = JobState::waiting;
  std::string reason;
  for (const std::uint32_t number : numbers) {
    auto view = handled(caller, number, true);
    if (!view) return view.error();
    if (view->state != JobState::waiting && view->state != JobState::held) {
      return Error{Code::bad_input, fmt::format("Job {} is {}, so it can't be joined to others.",
                                                number, state_name(view->state))};
    }
    if (!views.empty() && (view->job.owner != views.front().job.owner ||
                           view->job.owner_name != views.front().job.owner_name ||
                           view->job.queue != views.front().job.queue)) {
      return Error{Code::bad_input,
                   fmt::format("Jobs {} and {} can't be joined: they belong to different people or "
                               "are in different queues.",
                               numbers.front(), number)};
    }
    if (view->state == JobState::held && state != JobState::held) {
      state = JobState::held;
      reason = view->job.reason;
    }
    views.push_back(std::move(*view));
  }
  const Job& first = views.front().job;
  auto incoming = receive(first.queue, fmt::format("{} and {} more", first.title, views.size() - 1),
                          first.owner, first.owner_name, first.source);
  if (!incoming) return incoming.error();
  Job& whole = incoming->job_;
  whole.reason = std::move(reason);
  for (const JobView& view : views) {
    if (whole.bytes != 0) whole.starts.push_back(whole.bytes);
    for (const std::uint64_t start : view.job.starts) whole.starts.push_back(whole.bytes + start);
    auto data = files_.open(folder(view.state, view.job.number) / "data");
    if (!data) return data.error();
    if (auto copied = incoming->copy(**data); !copied) return copied.error();
    whole.joined.push_back(view.job.number);
    whole.joined.insert(whole.joined.end(), view.job.joined.begin(), view.job.joined.end());
  }
  const Job job = whole;
  auto joined = incoming->finish_as(state);
  if (!joined) return joined;
  {
    const std::lock_guard lock(mutex_);
    for (const JobView& view : views) jobs_.erase(view.job.number);
  }
  // What does not go now goes before the whole is printed.
  static_cast<void>(forget_joined(job));
  return joined;
}

}  // namespace stationer::print
