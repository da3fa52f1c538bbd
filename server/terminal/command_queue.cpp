// queue: the print queues, and how much one may still print there; or puts a job in another.
#include "server/terminal/command.h"
#include "server/terminal/job_words.h"
#include "server/terminal/table.h"

namespace stationer::server {
namespace {

Task<void> send_to(Call& call) {
  const auto job = job_number(call.words[0]);
  if (call.refused(job)) co_return;
  const auto sent = co_await call.session.send_to(*job, call.words[1]);
  if (call.refused(sent)) co_return;
  call.terminal.say(outcome(call.session, *sent));
}

}  // namespace

Task<void> command_queue(Call call) {
  if (call.words.size() == 2) {
    co_await send_to(call);
    co_return;
  }
  if (call.words.size() == 1) {
    call.terminal.say("Say which queue the job is to go to: queue JOB NAME.");
    co_return;
  }
  const auto& queues = call.session.queues();
  Table table({{"queue", 0}, {"title"}});
  for (const auto& queue : queues.all) {
    table.add({queue.name, queue.title});
    if (const auto allowed = call.session.allowance(queue)) table.note(allowed->words);
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
