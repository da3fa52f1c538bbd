// jobs: print jobs that are not printouts yet, and why not.
#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"
#include "server/terminal/job_words.h"
#include "server/terminal/table.h"

namespace stationer::server {

Task<void> command_jobs(Call call) {
  const bool all = !call.words.empty();
  if (all && fs::ascii_lower(call.words[0]) != "all") {
    call.terminal.say("jobs shows yours, jobs all everybody's.");
    co_return;
  }
  const auto jobs = call.session.jobs(all);
  if (jobs.empty()) {
    call.terminal.say("No print jobs are waiting.");
    co_return;
  }
  const std::string own = call.session.name();
  Table table({{"job", 0, true}, {"state", 0}, {"queue", 2}, {"owner", 1}, {"title"}});
  for (const auto& view : jobs) {
    const print::Job& job = view.job;
    table.add({fmt::format("{}", job.number), state_in_words(view), job.queue,
               job.owner_name == own ? "" : job.owner_name, job.title});
    if (!job.reason.empty()) table.note(job.reason);
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
