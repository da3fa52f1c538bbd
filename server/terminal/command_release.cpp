// release: lets a held print job go.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/job_words.h"

namespace stationer::server {

Task<void> command_release(Call call) {
  const auto job = job_number(call.words[0]);
  if (call.refused(job)) co_return;
  const auto released = co_await call.session.release(*job);
  if (call.refused(released)) co_return;
  call.terminal.say(fmt::format("Job {} is on its way.", *job));
}

}  // namespace stationer::server
