#include "admin/plan/comparison.h"

#include <algorithm>
#include <map>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "fs/station.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

using Place = std::pair<std::uint32_t, std::uint32_t>;

class Comparison {
 public:
  explicit Comparison(const std::vector<RegisteredStation>& registered)
      : registered_(registered), met_(registered.size(), false) {
    for (std::size_t i = 0; i < registered.size(); ++i) {
      by_place_[{registered[i].segment, registered[i].number}] = i;
      by_name_[registered[i].name] = i;
    }
  }

  void planned(const PlannedSegment& segment, std::size_t place) {
    const PlannedStation& station = segment.stations[place];
    const std::size_t found = find(segment.number, station);
    if (found == registered_.size()) {
      if (!station.name.empty()) {
        add({Difference::Kind::missing, segment.number, station.number, station.name,
             "It is planned, and not registered.", place});
      }
      return;
    }
    met_[found] = true;
    const std::vector<std::string> told = differences(segment.number, station, registered_[found]);
    if (told.empty()) return;
    add({Difference::Kind::different, segment.number, station.number, station.name,
         fmt::format("It is registered with {}.", server::listed(told)), place});
  }

  std::vector<Difference> finish() {
    for (std::size_t i = 0; i < registered_.size(); ++i) {
      const RegisteredStation& each = registered_[i];
      if (met_[i]) continue;
      add({Difference::Kind::extra, each.segment, each.number, each.name,
           "It is registered, and not in the plan.", 0});
    }
    return std::move(found_);
  }

 private:
  void add(Difference difference) { found_.push_back(std::move(difference)); }

  // The place of what is registered; their number when there is none.
  std::size_t find(std::uint32_t segment, const PlannedStation& station) const {
    const auto named = by_name_.find(station.name);
    if (!station.name.empty() && named != by_name_.end()) return named->second;
    const auto placed = by_place_.find({segment, station.number});
    return placed == by_place_.end() || met_[placed->second] ? registered_.size() : placed->second;
  }

  static std::vector<std::string> differences(std::uint32_t segment, const PlannedStation& planned,
                                              const RegisteredStation& registered) {
    std::vector<std::string> out;
    const auto differs = [&out](std::string_view what, const std::string& plan,
                                const std::string& real) {
      if (plan.empty() || plan == real) return;
      out.push_back(real.empty() ? fmt::format("no {} rather than {}", what, plan)
                                 : fmt::format("the {} {} rather than {}", what, real, plan));
    };
    differs("number", fs::station_number(segment, planned.number),
            fs::station_number(registered.segment, registered.number));
    differs("name", planned.name, registered.name);
    differs("profile", planned.profile, registered.profile);
    differs("address", planned.address, registered.address);
    differs("hardware address", planned.hardware, registered.hardware);
    differs("line", planned.line, registered.line);
    return out;
  }

  const std::vector<RegisteredStation>& registered_;
  std::vector<bool> met_;
  std::map<Place, std::size_t> by_place_;
  std::map<std::string, std::size_t, std::less<>> by_name_;
  std::vector<Difference> found_;
};

}  // namespace

std::vector<Difference> compare(const RoomPlan& plan,
                                const std::vector<RegisteredStation>& registered) {
  Comparison comparison(registered);
  for (const PlannedSegment& segment : plan.segments) {
    for (std::size_t i = 0; i < segment.stations.size(); ++i) comparison.planned(segment, i);
  }
  return comparison.finish();
}

const char* kind_name(Difference::Kind kind) {
  switch (kind) {
    case Difference::Kind::missing: return "missing";
    case Difference::Kind::extra: return "extra";
    case Difference::Kind::different: return "different";
  }
  return "";
}

}  // namespace stationer::admin
