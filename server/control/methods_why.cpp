// Why something did not work: what the service keeps in mind of it, the jobs that were refused or
// are held, and what the journal has of the time before.
#include <algorithm>
#include <array>
#include <ranges>
#include <vector>

#include <fmt/format.h>

#include "fs/station.h"
#include "fs/text.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/explain.h"
#include "server/room.h"
#include "server/shell_word.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

constexpr std::uint64_t default_items = 20;
constexpr std::uint64_t most_items = 1'000;
constexpr std::uint32_t most_entries = 1'000;  // of the journal, of each kind

struct Item {
  fs::Time at{};
  std::string who;      // empty: nobody was signed in
  std::string station;  // its name, else where it was
  std::string door;
  std::string address;
  std::string act;
  std::string subject;
  std::string sentence;
  Explanation why;
  std::uint32_t times = 1;
};

json::object show(const Item& item) {
  return {{"at", time_text(item.at)},  {"who", item.who},       {"station", item.station},
          {"door", item.door},         {"act", item.act},       {"subject", item.subject},
          {"sentence", item.sentence}, {"rule", item.why.rule}, {"remedy", item.why.remedy},
          {"address", item.address},   {"times", item.times}};
}

struct Wanted {
  std::string who;
  std::string station;  // a name, a number, an address or a line
  std::optional<std::uint32_t> job;
};

// "terminal 10.0.0.7" as the journal and jobs have it.
void put_source(const Stations* stations, const std::string& source, Item& item) {
  const auto space = source.find(' ');
  item.door = source.substr(0, space);
  if (space != std::string::npos) item.address = source.substr(space + 1);
  item.station = stations == nullptr ? "" : stations->name_at(item.address);
}

std::pair<std::uint32_t, std::uint32_t> free_number(const fs::Stations& stations) {
  std::uint32_t number = 1;
  for (const auto& each : stations.all()) {
    if (each.segment == 1 && each.number == number) ++number;
  }
  if (number > fs::most_on_segment) return {1, 0};
  return {1, number};
}

void add_refusals(ControlClient& client, std::vector<Item>& items) {
  const Room& room = client.context().running->room;
  for (const Refusal& each : room.refusals.all()) {
    Item item{each.at,
              "",
              room.stations.name_at(each.address),
              each.door,
              each.address,
              each.act,
              each.subject,
              each.error.message,
              {},
              each.times};
    Circumstances circumstances;
    if (each.account != fs::no_account) {
      const auto account = client.volume().people().account(each.account);
      if (!account) continue;
      item.who = account->name;
      circumstances.may_lead = account->role != fs::Role::member;
    }
    circumstances.who = item.who;
    circumstances.station = item.station;
    circumstances.asked = each.subject;
    circumstances.free_number = [&] { return free_number(client.volume().stations()); };
    item.why = explain(each.error, circumstances);
    items.push_back(std::move(item));
  }
}

Explanation explain_job(const print::JobView& view) {
  const print::Job& job = view.job;
  const std::string number = fmt::format("{}", job.number);
  std::string rule = job.rule.empty() ? "" : job.rule + ' ';
  rule += fmt::format("Job {} is {} in the queue {}: {} came{}.", job.number,
                      print::state_name(view.state), job.queue, exact_size(job.bytes),
                      view.state == print::JobState::refused ? ", and are kept" : "");
  if (view.state == print::JobState::held)
    return {std::move(rule), "stationer queue release " + number};
  return {std::move(rule), ""};
}

void add_jobs(ControlClient& client, const Stations* stations, std::vector<Item>& items) {
  // The newest first, as all of them are: two may have come in one moment.
  for (const auto& view : std::views::reverse(client.context().spool.jobs())) {
    if (view.state != print::JobState::refused && view.state != print::JobState::held) continue;
    Item item;
    item.at = view.job.received;
    const auto owner = client.volume().people().account(view.job.owner);
    if (owner) item.who = owner->name;
    put_source(stations, view.job.source, item);
    item.act = "print";
    item.subject = fmt::format("job {}", view.job.number);
    item.sentence = view.job.reason;
    item.why = explain_job(view);
    items.push_back(std::move(item));
  }
}

// What the journal tells of things that did not work, and as what they were tried.
struct Kind {
  const char* what;
  const char* act;
};
constexpr std::array<Kind, 5> kinds = {{{"sign-in refused", "sign in"},
                                        {"station turned away", "come in"},
                                        {"print job refused", "print"},
                                        {"loading failed", "load"},
                                        {"saving failed", "save"}}};

Item item_of(const fs::JournalEntry& entry, const Kind& kind, const Stations* stations) {
  Item item;
  item.at = entry.at;
  item.who = entry.who;
  put_source(stations, entry.where, item);
  item.act = kind.act;
  item.subject = entry.subject;
  item.sentence = entry.detail;
  if (item.act == "sign in") {
    item.who = std::exchange(item.subject, "");
    item.sentence = entry.detail.empty() ? "That name and password do not go together."
                                         : "It was refused: " + entry.detail + ".";
  }
  return item;
}

bool is_wanted(const Item& item, const Wanted& wanted, const fs::Stations& stations) {
  if (!wanted.who.empty() && item.who != wanted.who) return false;
  if (wanted.job && item.subject != fmt::format("job {}", *wanted.job)) return false;
  if (wanted.station.empty()) return true;
  if (item.address == wanted.station || item.station == wanted.station) return true;
  const auto station = stations.station(wanted.station);
  return station && !item.station.empty() && item.station == station->name;
}

Task<Answer> list(ControlClient& client, Params params) {
  Wanted wanted{fs::ascii_lower(params.text_or_empty("who")),
                fs::ascii_lower(params.text_or_empty("station")),
                {}};
  if (const auto job = params.optional_whole("job", std::numeric_limits<std::uint32_t>::max())) {
    wanted.job = static_cast<std::uint32_t>(*job);
  }
  const std::uint64_t most = params.whole_or("most", default_items, most_items);
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();

  const Running* running = client.context().running;
  const Stations* stations = running == nullptr ? nullptr : &running->room.stations;
  std::vector<Item> items;
  if (running != nullptr) add_refusals(client, items);
  add_jobs(client, stations, items);
  using Entries = std::vector<fs::JournalEntry>;
  for (const Kind& kind : kinds) {
    fs::JournalQuery query;
    query.what = kind.what;
    query.most = most_entries;
    if (running != nullptr) query.to = running->since;
    auto& desk = client.volume().desk();
    const auto later = client.loop().blocking([&desk, query] { return desk.journal(query); });
    fs::Result<Entries> entries = co_await later;
    if (!entries) co_return entries.error();
    for (const auto& each : *entries) items.push_back(item_of(each, kind, stations));
  }
  std::erase_if(items, [&](const Item& item) {
    return !is_wanted(item, wanted, client.volume().stations());
  });
  std::stable_sort(items.begin(), items.end(),
                   [](const Item& a, const Item& b) { return a.at > b.at; });
  if (items.size() > most) items.resize(most);
  co_return listing(items, from, [](const Item& each) { return show(each); });
}

constexpr std::array<Method, 1> methods = {{{"why.list", list}}};

}  // namespace

std::span<const Method> why_methods() {
  return methods;
}

}  // namespace stationer::server
