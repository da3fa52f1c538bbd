// refuse: a leader won't have a print job printed, and says why.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/job_words.h"

namespace stationer::server {

Task<void> command_refuse(Call call) {
  const auto [typed, why] = first_word(call.rest);
  const auto job = job_number(typed);
  if (call.refused(job)) co_return;
  const auto refused = co_await call.session.refuse(*job, std::string(why));
  if (call.refused(refused)) co_return;
  call.terminal.say(fmt::format("Job {} is refused.", *job));
}

}  // namespace stationer::server
