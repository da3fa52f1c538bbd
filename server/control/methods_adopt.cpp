// Adoption on request: it is started, and then looked at until it is over.
#include <array>

#include "server/control/check_run.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

Task<Answer> start(ControlClient& client, Params params) {
  fs::AdoptOptions options;
  options.accept_loss = params.flag("accept_loss");
  options.caller = client.caller();
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto run = client.context().adopt;
  const bool started = run->begin();
  if (started) {
    client.loop().work([run, &volume = client.volume(), options = std::move(options)] {
      // What was acknowledged is in its place before the two are compared.
      const auto settled = volume.drain();
      run->end(settled ? volume.adoption().look_at_all(options) : settled.error());
    });
  }
  co_return json::object{{"started", started}};
}

Task<Answer> show_one(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const AdoptRun& run = *client.context().adopt;
  const auto outcome = run.outcome();
  if (outcome == nullptr) {
    if (!run.under_way()) {
      co_return fs::Error{fs::Code::not_found, "Nothing was looked at since the start. Start it."};
    }
    co_return json::object{{"over", false}};
  }
  if (!*outcome) co_return outcome->error();
  const fs::Adopted& adopted = **outcome;
  auto out = listing(adopted.items, from, [](const auto& each) { return show(each); });
  out["over"] = true;
  out["folders"] = adopted.folders;
  out["taken_in"] = adopted.taken_in;
  out["changed"] = adopted.changed;
  out["moved"] = adopted.moved;
  out["gone"] = adopted.gone;
  out["left_alone"] = adopted.left;
  out["vanished"] = adopted.vanished;
  out["waiting"] = !adopted.again.empty() || adopted.more;
  co_return out;
}

constexpr std::array<Method, 2> methods = {{{"adopt.start", start}, {"adopt.show", show_one}}};

}  // namespace

std::span<const Method> adopt_methods() {
  return methods;
}

}  // namespace stationer::server
