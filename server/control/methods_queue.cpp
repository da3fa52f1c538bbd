// Print queues, the printers they imitate, and the jobs in them that are not printouts yet.
#include <array>
#include <list>
#include <map>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/text.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/room.h"

namespace stationer::server {
namespace {

namespace json = boost::json;
using fs::Code;
using fs::Error;

constexpr std::size_t longest_reason = 200;  // characters

const char* policy_name(print::Policy policy) {
  switch (policy) {
    case print::Policy::straight: return "straight";
    case print::Policy::owner: return "owner";
    case print::Policy::leader: return "leader";
  }
  return "unknown";
}

Task<Answer> list(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const print::Spool& spool = client.context().spool;
  std::map<std::string, std::uint64_t, std::less<>> jobs;
  for (const auto& view : spool.jobs()) ++jobs[view.job.queue];
  const print::Queues& queues = spool.queues();
  co_return listing(queues.all, from, [&](const print::Queue& queue) {
    return json::object{{"name", queue.name},
                        {"title", queue.title},
                        {"profile", queue.profile},
                        {"charset", print::name_of(queue.settings.text.charset)},
                        {"policy", policy_name(queue.policy)},
                        {"most_pages", queue.settings.text.most_pages},
                        {"pages_per_day", queue.limits.day},
                        {"pages_per_week", queue.limits.week},
                        {"split_pages", queue.split.pages},
                        {"split_marker", queue.split.marker},
                        {"banner", queue.banner},
                        {"default", queue.name == queues.otherwise},
                        {"jobs", jobs[queue.name]}};
  });
}

// What is coming in at this moment, while a service runs.
std::list<OpenJob> open_jobs(ControlClient& client) {
  const Running* running = client.context().running;
  return running == nullptr ? std::list<OpenJob>() : running->room.open_jobs.all();
}

Task<Answer> list_printers(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return listing(client.context().spool.queues().printers, from,
                    [](const print::PrinterProfile& printer) { return show(printer); });
}

Task<Answer> list_jobs(ControlClient& client, Params params) {
  const std::string name = params.text_or_empty("queue");
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const print::Spool& spool = client.context().spool;
  const print::Queue* queue = name.empty() ? nullptr : spool.queues().find(name);
  if (!name.empty() && queue == nullptr) {
    co_return Error{Code::not_found,
                    fmt::format("There is no print queue {}.", fs::clip(name, 40))};
  }
  auto jobs = spool.jobs_as_seen(client.caller(), queue == nullptr ? "" : queue->name);
  for (const auto& open : open_jobs(client)) {
    if (queue == nullptr || open.job.queue == queue->name) {
      jobs.push_back({open.job, print::JobState::receiving});
    }
  }
  co_return listing(jobs, from, [](const auto& each) { return show(each); });
}

Task<Answer> show_job(ControlClient& client, Params params) {
  const std::uint32_t number = params.number("job");
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto view = client.context().spool.job(number);
  if (!view) {
    co_return Error{Code::not_found, fmt::format("There is no job {} in the queues. What is "
                                                 "printed is among the printouts.",
                                                 number)};
  }
  co_return show(*view);
}

// Acts of the spool on one job, some of them for a reason.
using Act = fs::Status (print::Spool::*)(const fs::Caller&, std::uint32_t);
using ActForReason = fs::Status (print::Spool::*)(const fs::Caller&, std::uint32_t, std::string);

Task<Answer> do_to_job(ControlClient& client, Params params, Act act) {
  const std::uint32_t job = params.number("job");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking(
      [&spool, act, caller = client.caller(), job] { return (spool.*act)(caller, job); });
  co_return done(co_await later);
}

Task<Answer> do_to_job(ControlClient& client, Params params, ActForReason act, std::string reason) {
  const std::uint32_t job = params.number("job");
  if (auto given = params.optional_text("reason")) reason = std::move(*given);
  if (auto fine = fs::check_line(reason, longest_reason, "The reason"); !fine) {
    params.refuse(fine.error().message);
  }
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking([&spool, act, caller = client.caller(), job, reason] {
    return (spool.*act)(caller, job, reason);
  });
  co_return done(co_await later);
}

Task<Answer> hold(ControlClient& client, Params params) {
  return do_to_job(client, std::move(params), &print::Spool::hold, "The keeper holds it back.");
}

Task<Answer> release(ControlClient& client, Params params) {
  return do_to_job(client, std::move(params), &print::Spool::release);
}

Task<Answer> refuse(ControlClient& client, Params params) {
  return do_to_job(client, std::move(params), &print::Spool::refuse, "The keeper refused it.");
}

Task<Answer> cancel(ControlClient& client, Params params) {
  return do_to_job(client, std::move(params), &print::Spool::cancel);
}

Task<Answer> send_to(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  const std::string queue = params.text("queue");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking(
      [&spool, caller = client.caller(), job, queue] { return spool.send_to(caller, job, queue); });
  co_return done(co_await later);
}

Answer new_job(const fs::Result<std::uint32_t>& number) {
  if (!number) return number.error();
  return json::object{{"job", *number}};
}

Task<Answer> print_again(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  const std::string queue = params.text_or_empty("queue");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking([&spool, caller = client.caller(), job, queue] {
    return spool.print_again(caller, job, queue);
  });
  co_return new_job(co_await later);
}

Task<Answer> join(ControlClient& client, Params params) {
  std::vector<std::uint32_t> jobs;
  for (const std::string& word : params.words("jobs")) {
    const auto number = fs::whole_number(word);
    if (!number) params.refuse("jobs are numbers, parted by spaces.");
    if (number) jobs.push_back(*number);
  }
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking(
      [&spool, caller = client.caller(), jobs] { return spool.join(caller, jobs); });
  co_return new_job(co_await later);
}

// "Finish now", for a job that comes in by a stream.
Task<Answer> end(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  if (auto fine = params.check(); !fine) co_return fine.error();
  for (const auto& open : open_jobs(client)) {
    if (open.job.number != job) continue;
    open.end();
    co_return done({});
  }
  co_return Error{Code::not_found, fmt::format("No job {} is coming in.", job)};
}

constexpr std::array<Method, 12> methods = {{{"queue.list", list},
                                             {"printer.list", list_printers},
                                             {"job.move", send_to},
                                             {"job.again", print_again},
                                             {"job.join", join},
                                             {"job.end", end},
                                             {"job.list", list_jobs},
                                             {"job.show", show_job},
                                             {"job.hold", hold},
                                             {"job.release", release},
                                             {"job.refuse", refuse},
                                             {"job.cancel", cancel}}};

}  // namespace

std::span<const Method> queue_methods() {
  return methods;
}

}  // namespace stationer::server
