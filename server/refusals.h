// What did not work: who or which station tried what, where, what they were told, and the rule that
// refused it. Kept in memory for the keeper who is asked "why didn't it work?", and for the journal
// to be told of no more than it can bear. Bounded, so that a station that asks in vain all day
// fills neither; forgotten when the service stops. Pure.
//
// Filled by Session, which every door passes, and by doors that refuse before there is one. No
// subject is ever something that was typed as a password, a code, or a name that nobody has.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <functional>
#include <list>
#include <map>
#include <string>
#include <unordered_map>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::server {

struct Refusal {
  fs::Time at{};  // the last time
  fs::AccountId account = fs::no_account;
  std::string door;     // "tftp"
  std::string address;  // the station's
  std::string act;      // what was tried: "save", "sign in"
  std::string subject;  // with what: a path, a queue
  fs::Error error;      // what they were told, and why
  std::uint32_t times = 1;
};

class Refusals {
 public:
  static constexpr std::size_t most = 2'000;              // kept
  static constexpr std::size_t most_of_one = 20;          // of one account, or one address
  static constexpr std::chrono::seconds same_within{60};  // as one
  static constexpr std::size_t longest_text = 300;        // bytes
  static constexpr int most_a_minute = 20;                // for the journal, of one station
  static constexpr int most_a_minute_of_all = 200;        // and of all together

  // The same again within a minute counts as one that came several times, and as what was tried
  // last: a door may try in several ways to do one thing.
  void add(Refusal refusal);
  // Adds it unless it was just said by what decided it, who knows more about it.
  void add_if_new(Refusal refusal);
  // Whether the journal may be told of one more from there.
  bool is_for_journal(const std::string& address, fs::Time now);

  const std::list<Refusal>& all() const { return all_; }  // the newest in front
  // The newest of an account or, without one, of an address; null: there is none.
  const Refusal* newest_of(fs::AccountId account, const std::string& address) const;
  // Takes away those that it is true of.
  void forget(const std::function<bool(const Refusal& each)>& tells);

 private:
  using Places = std::deque<std::list<Refusal>::iterator>;  // the newest in front
  static std::string key_of(fs::AccountId account, const std::string& address);
  void drop(std::list<Refusal>::iterator refusal);

  std::list<Refusal> all_;
  std::unordered_map<std::string, Places> by_one_;
  std::chrono::sys_time<std::chrono::minutes> minute_{};
  std::map<std::string, int> in_minute_;  // by station; at most as many as are journalled
  int all_in_minute_ = 0;
};

}  // namespace stationer::server
