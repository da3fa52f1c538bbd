// cancel: takes a print job back.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/job_words.h"

namespace stationer::server {

Task<void> command_cancel(Call call) {
  const auto job = job_number(call.words[0]);
  if (call.refused(job)) co_return;
  const auto cancelled = co_await call.session.cancel(*job);
  if (call.refused(cancelled)) co_return;
  call.terminal.say(fmt::format("Job {} is cancelled.", *job));
}

}  // namespace stationer::server
