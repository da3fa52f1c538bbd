// Hand-in folders: their times, who has handed in, and collecting and handing back for the keeper.
#include <array>

#include <boost/json/array.hpp>

#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

json::value time_or_null(const std::optional<fs::Time>& time) {
  return time ? json::value(time_text(*time)) : json::value();
}

struct Counted {
  fs::HandInView folder;
  std::uint64_t members = 0;
  std::uint64_t handed_in = 0;  // of the members
};

json::object show(const Counted& each) {
  const fs::HandInView& folder = each.folder;
  return {{"path", folder.path},
          {"class", folder.klass},
          {"opens", time_or_null(folder.times.opens)},
          {"closes", time_or_null(folder.times.closes)},
          {"late_allowed", folder.times.late_allowed},
          {"members", each.members},
          {"handed_in", each.handed_in}};
}

std::vector<Counted> count_hand_ins(const fs::HandIns& hand_ins, const fs::Caller& caller) {
  std::vector<Counted> out;
  for (fs::HandInView& folder : hand_ins.folders(caller)) {
    Counted counted{std::move(folder)};
    const auto path = fs::Path::parse(counted.folder.path);
    // One that goes at this moment, or that only a leader may know more of, counts nobody.
    const auto roll = path ? hand_ins.roll(caller, *path) : fs::Result<fs::Roll>(path.error());
    if (roll) {
      for (const fs::RollEntry& entry : roll->entries) {
        if (!entry.member) continue;
        ++counted.members;
        if (!entry.receipts.empty()) ++counted.handed_in;
      }
    }
    out.push_back(std::move(counted));
  }
  return out;
}

json::object show(const fs::ReceiptView& receipt) {
  return {{"receipt", receipt.number},
          {"name", receipt.name},
          {"version", receipt.version},
          {"size", receipt.size},
          {"at", time_text(receipt.at)},
          {"late", receipt.late},
          {"returned", time_or_null(receipt.returned)},
          {"there", receipt.there}};
}

json::object show(const fs::RollEntry& entry) {
  json::array receipts;
  for (const auto& each : entry.receipts) receipts.push_back(show(each));
  return {{"name", entry.account},
          {"full_name", entry.full_name},
          {"member", entry.member},
          {"receipts", std::move(receipts)}};
}

Answer answer(const fs::Result<std::vector<fs::Carried>>& carried) {
  if (!carried) return carried.error();
  json::array items;
  for (const auto& each : *carried) {
    items.push_back(json::object{{"account", each.account},
                                 {"name", each.name},
                                 {"to", each.to},
                                 {"problem", each.problem}});
  }
  return json::object{{"items", std::move(items)}};
}

Task<Answer> list(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto& hand_ins = client.volume().hand_ins();
  const auto later = client.loop().blocking(
      [&hand_ins, caller = client.caller()] { return count_hand_ins(hand_ins, caller); });
  const auto folders = co_await later;
  co_return listing(folders, from, [](const auto& each) { return show(each); });
}

// A moment, or "" for none. Keeps what was there when the parameter is not given.
void take_moment(Params& params, std::string_view key,
                 fs::Result<fs::Time> (*read)(std::string_view), std::optional<fs::Time>& moment) {
  const auto text = params.optional_text(key);
  if (!text) return;
  moment.reset();
  if (text->empty()) return;
  const auto time = read(*text);
  if (!time) return params.refuse(time.error().message);
  moment = *time;
}

Task<Answer> set(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  auto& hand_ins = client.volume().hand_ins();
  fs::HandInTimes times;
  if (const auto there = hand_ins.look(client.caller(), path)) times = there->times;
  take_moment(params, "opens", fs::parse_opening, times.opens);
  take_moment(params, "closes", fs::parse_closing, times.closes);
  times.late_allowed = params.optional_flag("late").value_or(times.late_allowed);
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, hand_ins.set_times(client.caller(), path, times));
}

Task<Answer> make_ordinary(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client,
                             client.volume().hand_ins().make_ordinary(client.caller(), path));
}

Task<Answer> roll(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto roll = client.volume().hand_ins().roll(client.caller(), path);
  if (!roll) co_return roll.error();
  co_return listing(roll->entries, from, [](const auto& each) { return show(each); });
}

Task<Answer> collect(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const fs::Path to = params.path("to");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& hand_ins = client.volume().hand_ins();
  const auto later = client.loop().blocking([&hand_ins, caller = client.caller(), path, to] {
    return hand_ins.collect(caller, path, to);
  });
  auto carried = co_await later;
  co_return answer(carried);
}

Task<Answer> back(ControlClient& client, Params params) {
  const fs::Path path = params.path("path");
  const std::string account = params.text_or_empty("account");
  if (auto fine = params.check(); !fine) co_return fine.error();
  std::vector<std::string> accounts;
  if (!account.empty()) accounts.push_back(account);
  auto& hand_ins = client.volume().hand_ins();
  const auto later = client.loop().blocking([&hand_ins, caller = client.caller(), path, accounts] {
    return hand_ins.hand_back(caller, path, accounts);
  });
  auto carried = co_await later;
  co_return answer(carried);
}

constexpr std::array<Method, 6> methods = {{{"handin.list", list},
                                            {"handin.set", set},
                                            {"handin.ordinary", make_ordinary},
                                            {"handin.roll", roll},
                                            {"handin.collect", collect},
                                            {"handin.back", back}}};

}  // namespace

std::span<const Method> hand_in_methods() {
  return methods;
}

}  // namespace stationer::server
