// Print jobs as they are typed and told.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "fs/result.h"
#include "print/spool.h"
#include "server/session.h"

namespace stationer::server {

// The number of a job as typed. Code::bad_input for what is none.
fs::Result<std::uint32_t> job_number(std::string_view typed);

// "waiting", "coming in", "page 12" of the one that is being printed …
std::string state_in_words(const print::JobView& view);

// What becomes of a job that was just handed in.
std::string outcome(const Session& session, const Session::HandedIn& handed_in);

}  // namespace stationer::server
