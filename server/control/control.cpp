#include "server/control/control.h"

#include <array>
#include <exception>
#include <utility>

#include <fmt/format.h>

#include "server/control/check_run.h"
#include "server/control/method.h"
#include "server/control/snapshot_run.h"

namespace stationer::server {
namespace {

using fs::Code;
using fs::Error;

// A call from its first step to its answer.
Task<> answer(ControlClient& client, const Method& method, const boost::json::value& params,
              Methods::Reply reply) {
  fs::Result<boost::json::value> result = Error{Code::io, ""};
  try {
    result = co_await method.run(client, Params(params));
  } catch (const std::exception& fault) {
    result = Error{Code::io, fmt::format("There is a fault in \"{}\": {}. Please report it.",
                                         method.name, fault.what())};
  }
  // Let go of at once, with what the request held: this frame may stay until the next call.
  std::exchange(reply, nullptr)(std::move(result));
}

}  // namespace

std::span<const std::span<const Method>> control_methods() {
  static const auto all = std::to_array<std::span<const Method>>(
      {status_methods(), account_methods(), class_methods(), station_methods(), hand_in_methods(),
       file_methods(), stream_methods(), line_methods(), queue_methods(), printout_methods(),
       report_methods(), journal_methods(), check_methods(), adopt_methods(), leaver_methods(),
       year_methods(), snapshot_methods(), door_methods(), why_methods()});
  return all;
}

Answer done(const fs::Status& status) {
  if (!status) return status.error();
  return boost::json::object();
}

Task<Answer> changed(ControlClient& client, fs::Ticket ticket) {
  co_return done(co_await client.loop().durable(ticket));
}

ControlContext::ControlContext(fs::Volume& volume_, print::Spool& spool_, print::Finder& finder_,
                               print::Forwarder& forwarder_, Loop& loop_)
    : volume(volume_),
      spool(spool_),
      finder(finder_),
      forwarder(forwarder_),
      loop(loop_),
      check(std::make_shared<CheckRun>()),
      adopt(std::make_shared<AdoptRun>()),
      snapshot(std::make_shared<SnapshotRun>(volume)) {}

ControlClient::ControlClient(ControlContext& context, fs::Caller caller)
    : context_(context), caller_(std::move(caller)), sending_(std::make_shared<bool>(true)) {
  for (const auto topic : control_methods()) {
    for (const Method& method : topic) {
      methods_.add(std::string(method.name), [this, &method](const boost::json::value& params,
                                                             const Methods::Reply& reply) {
        if (calls_.size() >= Methods::most_in_batch) {
          return reply(Error{Code::busy, "Too many calls at once: wait for the earlier answers."});
        }
        calls_.push_back(answer(*this, method, params, reply));
        calls_.back().start();
      });
    }
  }
}

ControlClient::~ControlClient() {
  *sending_ = false;
}

void ControlClient::call(std::string_view line, Methods::Send send) {
  std::erase_if(calls_, [](const Task<>& task) { return task.done(); });
  methods_.call(line, [sending = sending_, send = std::move(send)](std::string answer) {
    if (*sending) send(std::move(answer));
  });
}

}  // namespace stationer::server
