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

std::string_view state_in_words(print::JobState state) {
  switch (state) {
    case print::JobState::receiving: return "coming in";
    case print::JobState::waiting: return "waiting";
    case print::JobState::printing: return "printing";
    case print::JobState::held: return "held";
    case print::JobState::refused: return "refused";
  }
  return "";
}

}  // namespace stationer::server
