#include "server/stations.h"

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/station.h"

namespace stationer::server {
namespace {

constexpr std::chrono::hours between_entries{1};
constexpr std::size_t most_refused = 1000;

}  // namespace

std::optional<fs::StationView> Stations::at(const std::string& address) const {
  const fs::Stations& stations = volume_.stations();
  if (hardware_of && stations.knows_hardware()) {
    if (auto found = stations.with(hardware_of(address))) return found;
  }
  if (auto found = stations.at(address)) return found;
  return stations.on(address);
}

const Profile* Stations::profile_called(const std::string& name) const {
  const auto found = plan_.profiles.find(name);
  return found == plan_.profiles.end() ? nullptr : &found->second;
}

const Profile* Stations::own_profile_at(const std::string& address) const {
  const auto station = at(address);
  return station && !station->profile.empty() ? profile_called(station->profile) : nullptr;
}

const Profile& Stations::profile_at(const std::string& address) const {
  const Profile* own = own_profile_at(address);
  return own == nullptr ? *profile_called("usual") : *own;
}

std::string Stations::name_at(const std::string& address) const {
  const auto station = at(address);
  return station ? station->name : "";
}

fs::Status Stations::admit(const std::string& address, std::string_view door) {
  const auto station = at(address);
  std::string why;
  if (!station) {
    note_stranger(address, door);
    if (plan_.unknown) return {};
    why = fmt::format("This machine ({}) is not registered here. Ask the keeper to register it.",
                      address);
  } else if (!station->may_use(door)) {
    why = fmt::format("The station {} may not use the door {}. Ask the keeper if it should.",
                      station->name, door);
  } else {
    return {};
  }
  note_refusal(address, door, why);
  fs::DoorShut cause{"", address, std::string(door)};
  if (station) cause.station = station->name;
  if (station) cause.doors = station->doors;
  const fs::Error error = fs::because(std::move(cause), fs::Code::denied, std::move(why));
  if (on_refused) on_refused(address, door, error);
  return error;
}

void Stations::note_stranger(const std::string& address, std::string_view door) {
  const fs::Time now = volume_.now();
  const auto found = by_address_.find(address);
  if (found == by_address_.end()) {
    if (strangers_.size() >= most_strangers) {
      by_address_.erase(strangers_.back().address);
      strangers_.pop_back();
    }
    strangers_.push_front({address, {}, 0, now, now});
    by_address_[address] = strangers_.begin();
  } else {
    strangers_.splice(strangers_.begin(), strangers_, found->second);
  }
  Stranger& stranger = strangers_.front();
  if (stranger.doors.find(door) == stranger.doors.end()) stranger.doors.emplace(door);
  ++stranger.count;
  stranger.last = now;
}

// A machine that tries again and again must not fill the journal.
void Stations::note_refusal(const std::string& address, std::string_view door,
                            const std::string& why) {
  const fs::Time now = volume_.now();
  const std::string where = fmt::format("{} {}", door, address);
  const auto found = refused_.find(where);
  if (found != refused_.end() && now < found->second + between_entries) return;
  if (found == refused_.end() && refused_.size() >= most_refused) {
    std::erase_if(refused_, [&](const auto& each) { return now >= each.second + between_entries; });
    if (refused_.size() >= most_refused) return;
  }
  refused_[where] = now;
  const fs::Caller caller{fs::no_account, false, where};
  static_cast<void>(volume_.desk().note(caller, "station turned away", name_at(address), why));
}

std::vector<Stranger> Stations::strangers() const {
  std::vector<Stranger> out;
  for (const auto& each : strangers_) {
    if (!at(each.address)) out.push_back(each);
  }
  return out;
}

std::vector<std::string> Stations::troubles() const {
  std::set<std::string> missing;
  for (const auto& each : volume_.stations().all()) {
    if (!each.profile.empty() && profile_called(each.profile) == nullptr) {
      missing.insert(each.profile);
    }
  }
  std::vector<std::string> out;
  for (const auto& name : missing) {
    out.push_back(fmt::format(
        "There are stations with the profile {0}, but no [profile.{0}] in volume.toml.", name));
  }
  return out;
}

}  // namespace stationer::server
