#include "server/refusals.h"

#include <algorithm>

#include "fs/text.h"

namespace stationer::server {
namespace {

constexpr std::chrono::seconds just_now{2};

void shorten(std::string& text) {
  text.resize(fs::clip(text, Refusals::longest_text).size());
}

}  // namespace

// Whoever is signed in counts wherever they are; else the station does.
std::string Refusals::key_of(fs::AccountId account, const std::string& address) {
  return account == fs::no_account ? address : '#' + std::to_string(fs::number(account));
}

void Refusals::add(Refusal refusal) {
  shorten(refusal.subject);
  shorten(refusal.error.message);
  Places& places = by_one_[key_of(refusal.account, refusal.address)];
  if (!places.empty()) {
    const auto last = places.front();
    const bool same = last->door == refusal.door && last->address == refusal.address &&
                      last->error.message == refusal.error.message &&
                      refusal.at < last->at + same_within;
    if (same) {
      refusal.times = last->times + 1;
      *last = std::move(refusal);
      all_.splice(all_.begin(), all_, last);
      return;
    }
  }
  all_.push_front(std::move(refusal));
  places.push_front(all_.begin());
  if (places.size() > most_of_one) {
    all_.erase(places.back());
    places.pop_back();
  }
  if (all_.size() > most) drop(std::prev(all_.end()));
}

const Refusal* Refusals::newest_of(fs::AccountId account, const std::string& address) const {
  const auto found = by_one_.find(key_of(account, address));
  return found == by_one_.end() ? nullptr : &*found->second.front();
}

void Refusals::drop(std::list<Refusal>::iterator refusal) {
  const auto found = by_one_.find(key_of(refusal->account, refusal->address));
  std::erase(found->second, refusal);
  if (found->second.empty()) by_one_.erase(found);
  all_.erase(refusal);
}

void Refusals::add_if_new(Refusal refusal) {
  std::size_t looked_at = 0;
  for (const Refusal& each : all_) {
    if (++looked_at > most_of_one || refusal.at >= each.at + just_now) break;
    if (each.door == refusal.door && each.address == refusal.address &&
        refusal.error.message.starts_with(each.error.message)) {
      return;
    }
  }
  add(std::move(refusal));
}

void Refusals::forget(const std::function<bool(const Refusal& each)>& tells) {
  for (auto each = all_.begin(); each != all_.end();) {
    const auto next = std::next(each);
    if (tells(*each)) drop(each);
    each = next;
  }
}

bool Refusals::is_for_journal(const std::string& address, fs::Time now) {
  const auto minute = std::chrono::floor<std::chrono::minutes>(now);
  if (minute != minute_) {
    minute_ = minute;
    in_minute_.clear();
    all_in_minute_ = 0;
  }
  if (all_in_minute_ >= most_a_minute_of_all) return false;
  if (in_minute_[address]++ >= most_a_minute) return false;
  ++all_in_minute_;
  return true;
}

}  // namespace stationer::server
