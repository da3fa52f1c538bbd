// Those who go: an archive of all that is theirs, leaving, and erasing.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/explain.h"
#include "server/room.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

constexpr std::chrono::days files_stay{30};

json::object show(const fs::PersonArchive& made) {
  return {{"archive", made.path},
          {"files", made.files},
          {"kept", made.kept},
          {"printouts", made.printouts},
          {"bytes", made.bytes}};
}

Task<Answer> take_along(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& leavers = client.volume().leavers();
  const auto later = client.loop().blocking([&leavers, caller = client.caller(), name]() -> Answer {
    auto made = leavers.export_person(caller, name);
    if (!made) return made.error();
    return show(*made);
  });
  co_return co_await later;
}

Task<Answer> leave(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  const auto after = params.optional_time("after", fs::DayMeans::end);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const fs::Time date = after.value_or(client.volume().now() + files_stay);
  auto& leavers = client.volume().leavers();
  const auto later =
      client.loop().blocking([&leavers, caller = client.caller(), name, date]() -> Answer {
        auto made = leavers.leave(caller, name, date);
        if (!made) return made.error();
        json::object out = show(*made);
        out["after"] = time_text(date);
        return out;
      });
  co_return co_await later;
}

Task<Answer> due(ControlClient& client, Params params) {
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& volume = client.volume();
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking([&volume, &spool] {
    const auto done = volume.do_what_is_due();
    return done ? spool.do_what_is_due() : done;
  });
  const auto status = co_await later;
  client.context().finder.nudge();
  co_return done(status);
}

std::vector<std::uint32_t> jobs_of(const print::Spool& spool, const std::string& name) {
  std::vector<std::uint32_t> numbers;
  for (const auto& view : spool.jobs()) {
    if (view.job.owner_name == name) numbers.push_back(view.job.number);
  }
  return numbers;
}

// What did not work for them, and what others were told of them.
void forget(Refusals& refusals, fs::AccountId account, const std::string& name) {
  refusals.forget([&](const Refusal& each) {
    const Explanation why = explain(each.error, {});
    const std::array<std::string_view, 3> texts = {each.subject, each.error.message, why.rule};
    return each.account == account || std::any_of(texts.begin(), texts.end(), [&](auto text) {
             return text.find(name) != std::string_view::npos;
           });
  });
}

Task<Answer> erase(ControlClient& client, Params params) {
  const std::string typed = params.text("name");
  const bool confirmed = params.flag("confirmed");
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto account = client.volume().people().account(std::string_view(typed));
  if (!account) co_return account.error();
  const std::string name = account->name;
  auto& spool = client.context().spool;
  auto& leavers = client.volume().leavers();
  auto& finder = client.context().finder;
  if (!confirmed) {
    const auto later = client.loop().blocking([&leavers, &spool, caller = client.caller(), name,
                                               from]() -> Answer {
      auto sentences = leavers.erasure_preview(caller, name);
      if (!sentences) return sentences.error();
      const auto jobs = jobs_of(spool, name).size();
      if (jobs != 0) {
        sentences->push_back(fmt::format("Print jobs of theirs that are not done go: {}.", jobs));
      }
      return listing(*sentences, from, [](const std::string& sentence) {
        return json::object{{"sentence", sentence}};
      });
    });
    co_return co_await later;
  }
  // Who is signed in with an account that was closed a moment ago is not waited for.
  if (client.context().running != nullptr) client.context().running->room.send_home();
  const auto later = client.loop().blocking([&leavers, &spool, &finder, caller = client.caller(),
                                             name, closed = account->closed]() -> Answer {
    // Of an open account nothing goes: erase() says so.
    for (const auto number : closed ? jobs_of(spool, name) : std::vector<std::uint32_t>()) {
      if (auto gone = spool.cancel(caller, number); !gone) return gone.error();
    }
    if (auto gone = leavers.erase(caller, name); !gone) return gone.error();
    // What came in for their printouts goes, too.
    const auto due = spool.do_what_is_due();
    if (auto forgotten = finder.forget(); !forgotten) {
      return fs::Error{forgotten.error().code,
                       fmt::format("{} is erased, but the words of their printouts may still "
                                   "stand in the index. It is tried again; if it can't be "
                                   "done, delete printouts.index while no service runs. {}",
                                   name, forgotten.error().message)};
    }
    return done(due);
  });
  Answer erased = co_await later;
  if (erased && client.context().running != nullptr) {
    forget(client.context().running->room.refusals, account->id, name);
  }
  co_return erased;
}

constexpr std::array<Method, 4> methods = {{{"account.export", take_along},
                                            {"account.leave", leave},
                                            {"account.due", due},
                                            {"account.erase", erase}}};

}  // namespace

std::span<const Method> leaver_methods() {
  return methods;
}

}  // namespace stationer::server
