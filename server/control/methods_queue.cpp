// Print queues, the printers they imitate, and the jobs in them that are not printouts yet.
#include <array>
#include <map>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/text.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"

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
                        {"default", queue.name == queues.otherwise},
                        {"jobs", jobs[queue.name]}};
  });
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
  co_return listing(spool.jobs(queue == nullptr ? "" : queue->name), from,
                    [](const auto& each) { return show(each); });
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

constexpr std::array<Method, 8> methods = {{{"queue.list", list},
                                            {"printer.list", list_printers},
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
