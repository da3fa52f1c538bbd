#include <fmt/format.h>

#include "fs/check_part.h"
#include "fs/station.h"

namespace stationer::fs {
namespace {

using Field = std::string Station::*;
using Find = const Station* (State::*)(const std::string&) const;

// What only one station may have; all but the name may be missing.
struct Own {
  Field field;
  Find find;
  const char* sentence;
  const char* remedy;
};
constexpr Own owns[] = {
    {&Station::name, &State::station_called, "Another station has this name, too.",
     "one of them gets a number behind its name"},
    {&Station::address, &State::station_at, "Another station has this one's network address, too.",
     "this one has none"},
    {&Station::hardware, &State::station_with,
     "Another station has this one's hardware address, too.", "this one has none"},
    {&Station::line, &State::station_on, "Another station is at this one's serial line, too.",
     "this one is at none"}};

Status make_alone(Transaction& change, StationNumber number, const Own& own) {
  const State& state = change.state();
  const Station* there = state.station(number);
  if (there == nullptr) return {};
  Station now = *there;
  const std::string shared = now.*own.field;
  if (own.field == &Station::name) {
    for (int n = 2; state.station_called(now.name) != nullptr; ++n) {
      now.name = fmt::format("{}{}", shared, n);
    }
  } else {
    (now.*own.field).clear();
  }
  change.put(std::move(now));
  // Taking it from one must not take it from the other.
  for (const auto& [other, row] : state.stations) {
    if (other != number && row.*own.field == shared) {
      change.put(Station(row));
      break;
    }
  }
  return {};
}

}  // namespace

void check_station_rows(const State& state, RowProblems& problems) {
  for (const auto& [number, row] : state.stations) {
    for (const Own& own : owns) {
      if ((row.*own.field).empty()) continue;
      // The index finds one of those that share it.
      const Station* found = (state.*own.find)(row.*own.field);
      if (found == &row) continue;
      problems.add(row.name, own.sentence, own.remedy, [key = number, &own](Transaction& change) {
        return make_alone(change, key, own);
      });
    }
  }
  for (const auto& [key, row] : state.boot_names) {
    if (state.station(key.first) != nullptr) continue;
    problems.add("catalog.db",
                 fmt::format("A boot name is for the station {}, which is not there.",
                             station_number(row.segment, row.number)),
                 "the boot name goes", [row = row](Transaction& change) -> Status {
                   change.drop(row);
                   return {};
                 });
  }
}

}  // namespace stationer::fs
