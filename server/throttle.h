// Slows down the guessing of passwords, for all doors together. Whoever guesses is slowed down, and
// nobody else: a station that tries names at random does not keep those names from signing in where
// they belong. Pure: the time is handed in.
//
//   wrong passwords in a row         next try after
//   same station, same account   3   5 s, then twice as long each time, up to 5 minutes
//   same station, any accounts  10   the same
//   same account, any stations  30   30 s, at stations where it has not signed in of late
//
// Less than NIST SP 800-63B §5.2.2 allows (100 in a row). Everything is forgotten after an hour.
#pragma once

#include <chrono>
#include <cstddef>
#include <map>
#include <string>
#include <string_view>

#include "server/protocol/time.h"

namespace stationer::server {

class Throttle {
 public:
  static constexpr int allowed_together = 3;
  static constexpr int allowed_at_station = 10;
  static constexpr int allowed_for_account = 30;
  static constexpr std::chrono::seconds first_wait{5};
  static constexpr std::chrono::seconds longest_wait{300};
  static constexpr std::chrono::seconds account_wait{30};
  static constexpr std::chrono::hours memory{1};
  static constexpr std::size_t most_remembered = 10'000;  // stations, accounts and pairs, each

  // How long to wait before the next try; zero to go ahead.
  std::chrono::seconds wait(std::string_view station, std::string_view account, Time now);

  void wrong(std::string_view station, std::string_view account, Time now);
  void right(std::string_view station, std::string_view account, Time now);

  // Stations, accounts and pairs held now, all together.
  std::size_t remembered() const {
    return pairs_.size() + stations_.size() + accounts_.size() + welcome_.size();
  }

 private:
  struct Count {
    int wrong = 0;
    Time last;
  };
  using Counts = std::map<std::string, Count, std::less<>>;

  // Makes room for one more when the bound is reached: the oldest goes.
  template <class Map, class Moment>
  static void make_room(Map& map, const std::string& key, Moment moment);
  static void add(Counts& counts, const std::string& key, Time now);
  static std::chrono::seconds left(const Counts& counts, const std::string& key, int allowed,
                                   std::chrono::seconds first, Time now);
  void forget(Time now);

  Counts pairs_;
  Counts stations_;
  Counts accounts_;
  std::map<std::string, Time, std::less<>> welcome_;  // pairs that have signed in
};

}  // namespace stationer::server
