#include "admin/job_words.h"

#include <fmt/format.h>

#include "admin/report.h"

namespace stationer::admin {

std::string job_state_of(const boost::json::object& job) {
  const std::uint64_t page = number_of(job, "page");
  return page == 0 ? text_of(job, "state") : fmt::format("page {}", page);
}

std::string job_read_of(const boost::json::object& job) {
  if (text_of(job, "state") != "printing") return "";
  return fmt::format("{} of {}", size_of(job, "read"), size_of(job, "bytes"));
}

}  // namespace stationer::admin
