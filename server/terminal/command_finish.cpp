// finish: ends a print job that is still coming in, with what has come.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/job_words.h"

namespace stationer::server {

Task<void> command_finish(Call call) {
  std::uint32_t job = 0;
  if (!call.words.empty()) {
    const auto typed = job_number(call.words[0]);
    if (call.refused(typed)) co_return;
    job = *typed;
  }
  const auto ended = call.session.end_job(job);
  if (call.refused(ended)) co_return;
  call.terminal.say(fmt::format("Job {} ends here.", *ended));
}

}  // namespace stationer::server
