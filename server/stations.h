// Which station is at the other end of a door, what its profile is, and whether it may come in.
// Asked by every door; keeps in mind who came without being known, for the keeper to register.
// Lives on the loop's thread.
//
// An address is that of the network, as text, or the name of a serial line.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <list>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "fs/volume.h"
#include "server/profile.h"

namespace stationer::server {

// The doors that a station may be kept to.
inline constexpr std::array<std::string_view, 9> station_doors = {
    "terminal", "serial", "lpd", "raw", "tftp", "ftp", "http", "time", "daytime"};

// Somebody at a door whom the registry does not know.
struct Stranger {
  std::string address;
  std::set<std::string, std::less<>> doors;  // that it tried
  std::uint64_t count = 0;                   // how often
  fs::Time first{};
  fs::Time last{};
};

class Stations {
 public:
  static constexpr std::size_t most_strangers = 1000;  // the one that was here longest ago goes

  explicit Stations(fs::Volume& volume) : volume_(volume) {}
  Stations(const Stations&) = delete;
  Stations& operator=(const Stations&) = delete;

  // What the settings say; before that, and without them, everybody may come in.
  void use(StationPlan plan) { plan_ = std::move(plan); }
  // The hardware address that an address has now, empty when it can't be told; must cost next to
  // nothing. Not asked while no station is known by one.
  std::function<std::string(const std::string& address)> hardware_of;

  // Called when somebody may not come in.
  std::function<void(const std::string& address, std::string_view door, const fs::Error& why)>
      on_refused;

  // Who is there: by the hardware address before the network address.
  std::optional<fs::StationView> at(const std::string& address) const;
  // The usual one where nobody known is, or none that has one.
  const Profile& profile_at(const std::string& address) const;
  // The profile that the keeper gave to the station there; null: none.
  const Profile* own_profile_at(const std::string& address) const;
  std::string name_at(const std::string& address) const;  // empty: not known

  // Whether who is there may use the door: Code::denied, with a sentence for them, which the
  // journal gets once an hour.
  fs::Status admit(const std::string& address, std::string_view door);

  // The latest first, without those that were registered meanwhile.
  std::vector<Stranger> strangers() const;
  // What the keeper should know, in sentences.
  std::vector<std::string> troubles() const;

 private:
  void note_stranger(const std::string& address, std::string_view door);
  void note_refusal(const std::string& address, std::string_view door, const std::string& why);
  const Profile* profile_called(const std::string& name) const;

  fs::Volume& volume_;
  StationPlan plan_;
  std::list<Stranger> strangers_;  // the latest first
  std::unordered_map<std::string, std::list<Stranger>::iterator> by_address_;
  std::map<std::string, fs::Time> refused_;  // by door and address: when the journal was told
};

}  // namespace stationer::server
