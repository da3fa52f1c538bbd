// again: prints once more what was printed or refused.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/job_words.h"

namespace stationer::server {

Task<void> command_again(Call call) {
  const auto job = job_number(call.words[0]);
  if (call.refused(job)) co_return;
  const std::string queue = call.words.size() > 1 ? call.words[1] : "";
  const auto handed_in = co_await call.session.print_again(*job, queue);
  if (call.refused(handed_in)) co_return;
  call.terminal.say(outcome(call.session, *handed_in));
}

}  // namespace stationer::server
