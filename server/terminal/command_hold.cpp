// hold: keeps a waiting print job back.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/job_words.h"

namespace stationer::server {

Task<void> command_hold(Call call) {
  const auto [typed, why] = first_word(call.rest);
  const auto job = job_number(typed);
  if (call.refused(job)) co_return;
  std::string reason =
      why.empty() ? fmt::format("{} holds it back.", call.session.name()) : std::string(why);
  const auto held = co_await call.session.hold(*job, std::move(reason));
  if (call.refused(held)) co_return;
  call.terminal.say(fmt::format("Job {} is held. release {} lets it go.", *job, *job));
}

}  // namespace stationer::server
