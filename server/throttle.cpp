#include "server/throttle.h"

#include <algorithm>

#include "fs/text.h"

namespace stationer::server {
namespace {

using std::chrono::seconds;

// Names as typed may be anything; accounts are compared in lower case and are short.
std::string account_key(std::string_view account) {
  return fs::ascii_lower(account.substr(0, 64));
}

std::string pair_key(std::string_view station, std::string_view account) {
  return std::string(station) + '\n' + account_key(account);
}

}  // namespace

template <class Map, class Moment>
void Throttle::make_room(Map& map, const std::string& key, Moment moment) {
  if (map.size() < most_remembered || map.count(key) != 0) return;
  map.erase(std::min_element(map.begin(), map.end(), [&](const auto& a, const auto& b) {
    return moment(a.second) < moment(b.second);
  }));
}

void Throttle::add(Counts& counts, const std::string& key, Time now) {
  make_room(counts, key, [](const Count& count) { return count.last; });
  Count& count = counts[key];
  ++count.wrong;
  count.last = now;
}

seconds Throttle::left(const Counts& counts, const std::string& key, int allowed, seconds first,
                       Time now) {
  const auto found = counts.find(key);
  if (found == counts.end() || found->second.wrong < allowed) return {};
  seconds wait = first;
  for (int n = allowed; n < found->second.wrong && wait < longest_wait; ++n) wait *= 2;
  const Time until = found->second.last + std::min(wait, longest_wait);
  return until <= now ? seconds{} : std::chrono::ceil<seconds>(until - now);
}

void Throttle::forget(Time now) {
  for (Counts* counts : {&pairs_, &stations_, &accounts_}) {
    std::erase_if(*counts, [&](const auto& each) { return each.second.last + memory <= now; });
  }
  std::erase_if(welcome_, [&](const auto& each) { return each.second + memory <= now; });
}

seconds Throttle::wait(std::string_view station, std::string_view account, Time now) {
  forget(now);
  const std::string pair = pair_key(station, account);
  seconds longest =
      std::max(left(pairs_, pair, allowed_together, first_wait, now),
               left(stations_, std::string(station), allowed_at_station, first_wait, now));
  if (welcome_.count(pair) == 0) {
    const auto found = accounts_.find(account_key(account));
    if (found != accounts_.end() && found->second.wrong >= allowed_for_account) {
      const Time until = found->second.last + account_wait;
      if (until > now) longest = std::max(longest, std::chrono::ceil<seconds>(until - now));
    }
  }
  return longest;
}

void Throttle::wrong(std::string_view station, std::string_view account, Time now) {
  add(pairs_, pair_key(station, account), now);
  add(stations_, std::string(station), now);
  add(accounts_, account_key(account), now);
}

void Throttle::right(std::string_view station, std::string_view account, Time now) {
  const std::string pair = pair_key(station, account);
  pairs_.erase(pair);
  stations_.erase(std::string(station));
  accounts_.erase(account_key(account));
  make_room(welcome_, pair, [](Time since) { return since; });
  welcome_[pair] = now;
}

}  // namespace stationer::server
