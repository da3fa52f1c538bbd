// notices: those for the member, oldest first; once shown to the end they are gone.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_notices(Call call) {
  const auto notices = call.session.notices();
  if (notices.empty()) {
    call.terminal.say("There are no notices for you.");
    co_return;
  }
  std::string text;
  std::vector<std::uint32_t> ids;
  for (const auto& notice : notices) {
    text += fmt::format("From {}, {}:\n{}\n", notice.from, short_date(notice.sent), notice.text);
    ids.push_back(notice.id);
  }
  const bool read = co_await call.terminal.show(std::move(text));
  if (!read) co_return;
  call.refused(co_await call.session.drop_notices(std::move(ids)));
}

}  // namespace stationer::server
