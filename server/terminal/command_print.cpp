// print: hands a text to a queue, and says what becomes of it.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/job_words.h"
#include "server/terminal/shown.h"
#include "server/terminal/text_file.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr std::size_t look_at = 4096;  // bytes that tell what kind of file it is

}  // namespace

Task<void> command_print(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const std::string queue = call.words.size() > 1 ? call.words[1] : "";
  if (call.session.queues().find(queue) == nullptr) {
    std::vector<std::string> names;
    for (const auto& each : call.session.queues().all) names.push_back(each.name);
    call.terminal.say(fmt::format("There is no queue {}. There is {}.", queue, listed(names)));
    co_return;
  }
  const auto content = call.session.open(*path);
  if (call.refused(content)) co_return;
  const auto start = co_await call.session.read(*content, 0, look_at);
  if (call.refused(start)) co_return;
  if (!looks_like_text(*start)) {
    const bool all_the_same = co_await call.terminal.confirm(fmt::format(
        "{} does not look like a text. Print it all the same?", shown_name(call.session, *path)));
    if (!all_the_same) co_return;
  }
  const auto handed_in = co_await call.session.print(*path, queue);
  if (call.refused(handed_in)) co_return;
  call.terminal.say(outcome(call.session, *handed_in));
}

}  // namespace stationer::server
