// The stations: which machine is which, what kind of machine it is, and what it may use. Managers
// change them; everything of it is journalled (invariant 9).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/caller.h"
#include "fs/ids.h"
#include "fs/result.h"
#include "fs/ticket.h"

namespace stationer::fs {

class Engine;

struct StationView {
  struct Boot {
    std::string asked;  // empty: whatever it asks for
    std::string given;  // a path from the top
  };

  std::uint32_t segment = 0;
  std::uint32_t number = 0;
  std::string name;
  std::string profile;             // empty: the usual one
  std::string address;             // empty: it is not known by one; so for the next two
  std::string hardware;            // "02:00:5e:00:00:01"
  std::string line;                // "bench"
  std::vector<std::string> doors;  // that it may use; none: all
  std::string note;
  Time created{};
  std::vector<Boot> boot;  // its boot names

  bool may_use(std::string_view door) const;
  // The path of what it gets that asks for this, in any case and with or without / in front: the
  // boot name of its own that fits, or else the one for whatever it asks for. Null: no boot name
  // has a say.
  const std::string* given(std::string_view asked) const;
};

// What a station is to be like; what is left out stays, or is empty of a new one.
struct StationChange {
  std::optional<std::uint32_t> segment{};
  std::optional<std::uint32_t> number{};
  std::optional<std::string> name{};
  std::optional<std::string> profile{};
  std::optional<std::string> address{};
  std::optional<std::string> hardware{};
  std::optional<std::string> line{};
  std::optional<std::vector<std::string>> doors{};
  std::optional<std::string> note{};
};

// A station that is meant goes by its name or its number: "owl", "1.12".
class Stations {
 public:
  static constexpr std::size_t most_boot_names = 32;  // of one station
  static constexpr std::size_t longest_asked = 128;   // characters

  explicit Stations(Engine& engine) : engine_(engine) {}

  std::vector<StationView> all() const;  // by their numbers
  Result<StationView> station(std::string_view which) const;

  // Who it is, by what they are recognised by, in its stored form (fs/station.h). Each waits for no
  // disk and takes as long with thousands of stations as with one.
  std::optional<StationView> at(const std::string& address) const;
  std::optional<StationView> with(const std::string& hardware) const;
  std::optional<StationView> on(const std::string& line) const;
  // Whether any is known by a hardware address at all.
  bool knows_hardware() const;

  // A new one has a segment, a number and a name.
  Ticket add(const Caller& caller, const StationChange& station);
  Ticket change(const Caller& caller, std::string_view which, const StationChange& change);
  Ticket remove(const Caller& caller, std::string_view which);
  // From now on it gets `given` that asks for `asked`; with nothing given the boot name goes.
  Ticket set_boot_name(const Caller& caller, std::string_view which, std::string_view asked,
                       std::string_view given);

 private:
  Engine& engine_;
};

}  // namespace stationer::fs
