// What was done, by whom, and telling people something.
#include <array>

#include <fmt/format.h>

#include "fs/catalog.h"
#include "fs/text.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/room.h"

namespace stationer::server {
namespace {

constexpr std::uint32_t default_entries = 100;
constexpr std::uint32_t most_entries = 10'000;

Task<Answer> list(ControlClient& client, Params params) {
  fs::JournalQuery query;
  query.who = params.text_or_empty("who");
  query.where = params.text_or_empty("station");
  query.what = params.text_or_empty("what");
  query.subject = params.text_or_empty("about");
  query.words = params.words("words");
  query.from = params.optional_time("since");
  query.to = params.optional_time("until", fs::DayMeans::end);
  query.most = static_cast<std::uint32_t>(params.whole_or("most", default_entries, most_entries));
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& desk = client.volume().desk();
  const auto later = client.loop().blocking([&desk, query, from]() -> Answer {
    auto entries = desk.journal(query);
    if (!entries) return entries.error();
    return listing(*entries, from, [](const auto& each) { return show(each); });
  });
  co_return co_await later;
}

Task<Answer> verify(ControlClient& client, Params params) {
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& desk = client.volume().desk();
  const auto later = client.loop().blocking([&desk]() -> Answer {
    auto report = desk.verify_journal();
    if (!report) return report.error();
    return boost::json::object{
        {"whole", report->signs.empty()},
        {"first", report->first},
        {"last", report->last},
        {"erased", report->erased},
        {"hash", fs::hex(report->hash)},
        {"signs", boost::json::array(report->signs.begin(), report->signs.end())}};
  });
  co_return co_await later;
}

// Those who are signed in hear of it at their next prompt.
void tell(Room& room, const std::string& to) {
  const std::string words = "A notice from the keeper has come. Type notices to read it.";
  const auto tell_one = [&](const std::string& name) {
    const auto account = room.volume.people().account(std::string_view(name));
    if (account) room.tell(account->id, words);
  };
  if (to == "@all") return room.tell_all(words);
  if (!to.starts_with('@')) return tell_one(to);
  const auto klass = room.volume.people().class_of(to.substr(1));
  if (!klass) return;
  for (const auto& name : klass->members) tell_one(name);
  for (const auto& name : klass->leaders) tell_one(name);
}

Task<Answer> send(ControlClient& client, Params params) {
  const std::string to = fs::ascii_lower(params.text("to"));
  const std::string text = params.text("text");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto sent =
      co_await client.loop().durable(client.volume().desk().send_notice(client.caller(), to, text));
  if (sent && client.context().running != nullptr) tell(client.context().running->room, to);
  co_return done(sent);
}

constexpr std::array<Method, 3> methods = {
    {{"journal.list", list}, {"journal.verify", verify}, {"notice.send", send}}};

}  // namespace

std::span<const Method> journal_methods() {
  return methods;
}

}  // namespace stationer::server
