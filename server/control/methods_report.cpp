// What happened in a span: an evening class by class, and what a class printed.
#include <array>

#include "fs/hand_ins.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/evening.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

constexpr std::uint32_t most_signs = 200'000;

struct Span {
  fs::Time since{};
  fs::Time until{};
};

Span take_span(Params& params, fs::Time now) {
  return {params.optional_time("since").value_or(fs::local_day(now)),
          params.optional_time("until", fs::DayMeans::end).value_or(now)};
}

// ---- an evening ----

using Saved = std::vector<EveningFacts::Saved>;

void find_saved(const fs::Files& files, const fs::Caller& caller, const Span& span,
                const fs::Path& folder, Saved& saved) {
  const auto nodes = files.list(caller, folder);
  if (!nodes) return;  // it is gone by now
  for (const auto& node : *nodes) {
    if (node.folder) {
      find_saved(files, caller, span, folder / node.name, saved);
    } else if (!node.owner.empty() && node.modified >= span.since && node.modified < span.until) {
      saved.push_back({node.owner, node.size});
    }
  }
}

std::vector<EveningFacts::HandedIn> handed_in(const fs::HandIns& hand_ins, const fs::Caller& caller,
                                              const Span& span) {
  std::vector<EveningFacts::HandedIn> out;
  for (const auto& folder : hand_ins.folders(caller)) {
    const auto path = fs::Path::parse(folder.path);
    const auto roll = path ? hand_ins.roll(caller, *path) : path.error();
    if (!roll) continue;
    for (const auto& entry : roll->entries) {
      for (const auto& receipt : entry.receipts) {
        if (receipt.at < span.since || receipt.at >= span.until) continue;
        out.push_back({folder.klass, receipt.late});
      }
    }
  }
  return out;
}

fs::Result<EveningFacts> facts_of(fs::Volume& volume, const fs::Caller& caller, const Span& span) {
  EveningFacts facts;
  facts.since = span.since;
  facts.until = span.until;
  facts.accounts = volume.people().accounts();
  fs::JournalQuery query;
  query.what = "sign";
  query.from = span.since;
  query.to = span.until;
  query.most = most_signs;
  auto signs = volume.desk().journal(query);
  if (!signs) return signs.error();
  facts.signs = std::move(*signs);
  facts.printouts = volume.desk().printouts(caller, true);
  find_saved(volume.files(), caller, span, fs::Path(), facts.saved);
  facts.handed_in = handed_in(volume.hand_ins(), caller, span);
  return facts;
}

json::object shown(const EveningClass& of) {
  return {{"class", of.name},
          {"was_here", json::array(of.was_here.begin(), of.was_here.end())},
          {"visits", of.visits},
          {"files", of.files},
          {"bytes", of.bytes},
          {"printouts", of.printed.printouts},
          {"pages", of.printed.pages},
          {"handed_in", of.handed_in},
          {"late", of.late}};
}

json::object shown(const Evening& evening) {
  json::array classes, refused;
  for (const auto& each : evening.classes) classes.push_back(shown(each));
  for (const auto& [name, count] : evening.refused) {
    refused.push_back(json::object{{"name", name}, {"count", count}});
  }
  return {{"classes", std::move(classes)},
          {"all", shown(evening.all)},
          {"unclaimed_printouts", evening.unclaimed.printouts},
          {"unclaimed_pages", evening.unclaimed.pages},
          {"refused_sign_ins", std::move(refused)}};
}

json::array refused_jobs(const print::Spool& spool, const Span& span) {
  json::array out;
  for (const auto& view : spool.jobs()) {
    if (view.state != print::JobState::refused) continue;
    if (view.job.received < span.since || view.job.received >= span.until) continue;
    out.push_back(show(view));
  }
  return out;
}

Task<Answer> evening_report(ControlClient& client, Params params) {
  fs::Volume& volume = client.volume();
  const Span span = take_span(params, volume.now());
  if (auto fine = params.check(); !fine) co_return fine.error();
  json::array refused = refused_jobs(client.context().spool, span);
  const auto later = client.loop().blocking([&volume, caller = client.caller(), span]() -> Answer {
    auto facts = facts_of(volume, caller, span);
    if (!facts) return facts.error();
    return shown(evening(*facts));
  });
  auto answer = co_await later;
  if (!answer) co_return answer;
  json::object& out = answer->as_object();
  out["since"] = time_text(span.since);
  out["until"] = time_text(span.until);
  out["refused_jobs"] = std::move(refused);
  co_return answer;
}

// ---- what a class printed ----

Task<Answer> class_printed(ControlClient& client, Params params) {
  fs::Volume& volume = client.volume();
  const std::string name = params.text("name");
  const fs::Time since = params.optional_time("since").value_or(fs::Time{});
  const fs::Time until = params.optional_time("until", fs::DayMeans::end).value_or(fs::Time::max());
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto later = client.loop().blocking(
      [&volume, caller = client.caller(), name, since, until, from]() -> Answer {
        const auto klass = volume.people().class_of(name);
        if (!klass) return klass.error();
        auto printed = printed_by(volume.desk().printouts(caller, true), since, until);
        return listing(klass->members, from, [&](const std::string& member) {
          const auto account = volume.people().account(std::string_view(member));
          return json::object{{"name", member},
                              {"full_name", account ? account->full_name : ""},
                              {"printouts", printed[member].printouts},
                              {"pages", printed[member].pages}};
        });
      });
  co_return co_await later;
}

constexpr std::array<Method, 2> methods = {
    {{"report.evening", evening_report}, {"class.printed", class_printed}}};

}  // namespace

std::span<const Method> report_methods() {
  return methods;
}

}  // namespace stationer::server
