#include "server/terminal/job_words.h"

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {

fs::Result<std::uint32_t> job_number(std::string_view typed) {
  const auto number = fs::whole_number(typed);
  if (!number) {
    return fs::Error{fs::Code::bad_input,
                     fmt::format("\"{}\" is not the number of a job. Type jobs to see them.",
                                 fs::clip(typed, 20))};
  }
  return *number;
}

std::string state_in_words(const print::JobView& view) {
  switch (view.state) {
    case print::JobState::receiving: return "coming in";
    case print::JobState::waiting: return "waiting";
    case print::JobState::printing:
      return view.page == 0 ? "printing" : fmt::format("page {}", view.page);
    case print::JobState::held: return "held";
    case print::JobState::refused: return "refused";
    case print::JobState::printed: return "printed";
  }
  return "";
}

std::string outcome(const Session& session, const Session::HandedIn& handed_in) {
  const std::uint32_t job = handed_in.job;
  if (handed_in.state == print::JobState::refused) {
    return fmt::format("Job {} can't be printed. {}", job, handed_in.reason);
  }
  std::string text = fmt::format("Job {} is in the queue {}.", job, handed_in.queue);
  if (handed_in.state != print::JobState::held) {
    return text + (session.signed_in() ? " The printout comes to your tray."
                                       : " Whoever keeps this room has the printout.");
  }
  text += " " + handed_in.reason;
  if (!session.signed_in()) return text;
  const bool may_release = session.queues().find(handed_in.queue)->policy == print::Policy::owner;
  return text + (may_release
                     ? fmt::format("\nrelease {} prints it, cancel {} takes it back.", job, job)
                     : fmt::format("\ncancel {} takes it back.", job));
}

}  // namespace stationer::server
