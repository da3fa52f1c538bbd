// The check, which takes its time: it is started, and then looked at until it is over.
#include <array>

#include "server/control/check_run.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

Task<Answer> start(ControlClient& client, Params params) {
  fs::CheckOptions options;
  options.repair = params.flag("repair");
  options.accept_loss = params.flag("accept_loss");
  options.caller = client.caller();
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto run = client.context().check;
  const bool started = run->begin();
  if (started) {
    options.progress = [run](std::uint64_t done, std::uint64_t all) {
      run->nodes_done = done;
      run->nodes = all;
    };
    client.loop().work([run, &volume = client.volume(), options = std::move(options)] {
      run->end(volume.check(options));
    });
  }
  co_return json::object{{"started", started}};
}

Task<Answer> show_one(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const CheckRun& run = *client.context().check;
  const auto outcome = run.outcome();
  if (outcome == nullptr) {
    if (!run.under_way()) {
      co_return fs::Error{fs::Code::not_found, "No check was made since the start. Start one."};
    }
    co_return json::object{
        {"over", false}, {"done", run.nodes_done.load()}, {"all", run.nodes.load()}};
  }
  if (!*outcome) co_return outcome->error();
  const fs::CheckReport& report = **outcome;
  auto out = listing(report.findings, from, [](const auto& each) { return show(each); });
  out["over"] = true;
  out["files"] = report.files;
  out["folders"] = report.folders;
  out["bytes"] = report.bytes;
  out["lost"] = report.lost;
  out["repaired"] = report.mended;
  out["findings"] = report.findings.size();
  co_return out;
}

constexpr std::array<Method, 2> methods = {{{"check.start", start}, {"check.show", show_one}}};

}  // namespace

std::span<const Method> check_methods() {
  return methods;
}

}  // namespace stationer::server
