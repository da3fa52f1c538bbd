#include "print/job.h"

#include <array>
#include <utility>

#include <boost/json.hpp>
#include <fmt/format.h>

namespace stationer::print {
namespace json = boost::json;
namespace {

// The lists among a job's fields, which are left out when there is nothing in them.
template <class SomeJob>
auto lists_of(SomeJob& job) {
  return std::to_array({std::pair("starts", &job.starts), std::pair("joined", &job.joined),
                        std::pair("parts", &job.parts)});
}

}  // namespace

std::vector<std::uint32_t> Job::printouts() const {
  std::vector<std::uint32_t> numbers{number};
  for (const std::uint64_t part : parts) numbers.push_back(static_cast<std::uint32_t>(part));
  return numbers;
}

std::string write_job(const Job& job) {
  json::object fields = {
      {"number", job.number},
      {"queue", job.queue},
      {"title", job.title},
      {"owner", fs::number(job.owner)},
      {"owner_name", job.owner_name},
      {"source", job.source},
      {"received_ms", job.received.time_since_epoch().count()},
      {"bytes", job.bytes},
      {"reason", job.reason},
  };
  if (!job.rule.empty()) fields["rule"] = job.rule;
  for (const auto& [key, numbers] : lists_of(job)) {
    if (!numbers->empty()) fields[key] = json::array(numbers->begin(), numbers->end());
  }
  std::string text = "{";
  for (const auto& field : fields) {
    text += fmt::format("{}\n  {}: {}", text.size() == 1 ? "" : ",",
                        json::serialize(json::string(field.key())), json::serialize(field.value()));
  }
  return text + "\n}\n";
}

fs::Result<Job> read_job(std::string_view text) {
  const fs::Error unreadable{fs::Code::damaged, "The job's description can't be read."};
  boost::system::error_code failed;
  const json::value value = json::parse(text, failed);
  const json::object* fields = failed ? nullptr : value.if_object();
  if (fields == nullptr) return unreadable;
  bool complete = true;
  const auto text_of = [&](std::string_view key) {
    const json::value* found = fields->if_contains(key);
    const json::string* string = found == nullptr ? nullptr : found->if_string();
    if (string == nullptr) complete = false;
    return string == nullptr ? std::string() : std::string(*string);
  };
  const auto number_of = [&](std::string_view key) {
    const json::value* found = fields->if_contains(key);
    const std::int64_t* number = found == nullptr ? nullptr : found->if_int64();
    if (number == nullptr) complete = false;
    return number == nullptr ? 0 : *number;
  };
  Job job;
  job.number = static_cast<std::uint32_t>(number_of("number"));
  job.queue = text_of("queue");
  job.title = text_of("title");
  job.owner = fs::AccountId{static_cast<std::uint32_t>(number_of("owner"))};
  job.owner_name = text_of("owner_name");
  job.source = text_of("source");
  job.received = fs::Time(std::chrono::milliseconds(number_of("received_ms")));
  job.bytes = static_cast<std::uint64_t>(number_of("bytes"));
  job.reason = text_of("reason");
  if (fields->contains("rule")) job.rule = text_of("rule");
  for (const auto& [key, numbers] : lists_of(job)) {
    const json::value* found = fields->if_contains(key);
    const json::array* array = found == nullptr ? nullptr : found->if_array();
    if (found != nullptr && array == nullptr) complete = false;
    if (array == nullptr) continue;
    for (const json::value& each : *array) {
      if (!each.is_int64() || each.as_int64() < 0) complete = false;
      if (complete) numbers->push_back(static_cast<std::uint64_t>(each.as_int64()));
    }
  }
  if (!complete) return unreadable;
  return job;
}

}  // namespace stationer::print
