// Moving classes up a year.
#include <array>

#include <fmt/format.h>

#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

// "year9:year10 year10:year11", and who leaves and who stays.
fs::YearPlan take_plan(Params& params) {
  fs::YearPlan plan;
  for (const auto& word : params.words("moves")) {
    const auto colon = word.find(':');
    if (colon == std::string::npos || colon == 0 || colon + 1 == word.size()) {
      params.refuse(fmt::format("\"{}\" is no move: write it FROM:TO.", word));
      break;
    }
    plan.moves.push_back({word.substr(0, colon), word.substr(colon + 1)});
  }
  for (auto& klass : params.words("leaving")) plan.moves.push_back({std::move(klass), ""});
  plan.staying = params.words("staying");
  return plan;
}

Task<Answer> preview(ControlClient& client, Params params) {
  const fs::YearPlan plan = take_plan(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& years = client.volume().years();
  const auto later = client.loop().blocking([&years, caller = client.caller(), plan]() -> Answer {
    auto seen = years.preview(caller, plan);
    if (!seen) return seen.error();
    return json::object{{"people", seen->moves.size()},
                        {"sentences", json::array(seen->sentences.begin(), seen->sentences.end())},
                        {"obstacles", json::array(seen->obstacles.begin(), seen->obstacles.end())}};
  });
  co_return co_await later;
}

Task<Answer> apply(ControlClient& client, Params params) {
  const fs::YearPlan plan = take_plan(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().years().apply(client.caller(), plan));
}

Task<Answer> list(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& years = client.volume().years();
  const auto later = client.loop().blocking([&years, from]() -> Answer {
    return listing(years.steps(), from, [](const fs::YearStepView& step) {
      return json::object{{"step", step.step},     {"made", time_text(step.made)},
                          {"by", step.by},         {"what", step.words},
                          {"people", step.people}, {"obstacle", step.obstacle}};
    });
  });
  co_return co_await later;
}

Task<Answer> undo(ControlClient& client, Params params) {
  const std::uint32_t step = params.number("step");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().years().undo(client.caller(), step));
}

constexpr std::array<Method, 4> methods = {
    {{"year.preview", preview}, {"year.apply", apply}, {"year.list", list}, {"year.undo", undo}}};

}  // namespace

std::span<const Method> year_methods() {
  return methods;
}

}  // namespace stationer::server
