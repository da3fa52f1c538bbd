#include "fs/stations.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/engine.h"
#include "fs/path.h"
#include "fs/people_part.h"
#include "fs/rights.h"
#include "fs/station.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::size_t longest_line_name = 40;
constexpr std::size_t longest_note = 120;

std::string number_of(const Station& row) {
  return station_number(row.segment, row.number);
}

Result<Station> wanted_station(const State& state, std::string_view which) {
  const auto number = read_station_number(which);
  const Station* found = number ? state.station(*number) : state.station_called(ascii_lower(which));
  if (found == nullptr) {
    return Error{Code::not_found, fmt::format("There is no station {}.", clip(which, 40))};
  }
  return *found;
}

// The boot names of a station, in the order of what is asked for.
std::vector<BootName> boot_names_of(const State& state, const Station& row) {
  std::vector<BootName> out;
  const StationNumber number{row.segment, row.number};
  for (auto at = state.boot_names.lower_bound({number, ""});
       at != state.boot_names.end() && at->first.first == number; ++at) {
    out.push_back(at->second);
  }
  return out;
}

StationView view_of(const State& state, const Station& row) {
  StationView view;
  view.segment = row.segment;
  view.number = row.number;
  view.name = row.name;
  view.profile = row.profile;
  view.address = row.address;
  view.hardware = row.hardware;
  view.line = row.line;
  for (std::string_view left = row.doors; !left.empty();) {
    const auto end = std::min(left.find(' '), left.size());
    if (end > 0) view.doors.emplace_back(left.substr(0, end));
    left.remove_prefix(std::min(end + 1, left.size()));
  }
  view.note = row.note;
  view.created = row.created;
  for (auto& each : boot_names_of(state, row)) {
    view.boot.push_back({std::move(each.asked), std::move(each.given)});
  }
  return view;
}

std::optional<StationView> view_if(const State& state, const Station* row) {
  if (row == nullptr) return std::nullopt;
  return view_of(state, *row);
}

Status check_number(std::uint32_t segment, std::uint32_t number) {
  if (segment >= 1 && segment <= most_segments && number >= 1 && number <= most_on_segment) {
    return {};
  }
  return Error{Code::bad_input,
               fmt::format("A station has a segment from 1 to {} and a number from 1 to {}.",
                           most_segments, most_on_segment)};
}

// The rule for a text that stays as it is typed.
auto plain_line(std::string_view what, std::size_t most) {
  return [what, most](std::string_view typed) -> Result<std::string> {
    if (auto fine = check_line(typed, most, what); !fine) return fine.error();
    return std::string(typed);
  };
}

// Puts what is wished into a row, each in its stored form, and says in words what is new.
class Applying {
 public:
  explicit Applying(Station& row) : row_(row) {}

  Status apply(const StationChange& wanted) {
    if (wanted.segment || wanted.number) {
      const auto segment = wanted.segment.value_or(row_.segment);
      const auto number = wanted.number.value_or(row_.number);
      if (auto fine = check_number(segment, number); !fine) return fine;
      if (segment != row_.segment || number != row_.number) {
        say("number", station_number(segment, number));
      }
      row_.segment = segment;
      row_.number = number;
    }
    if (auto put = text("name", wanted.name, row_.name, station_name, false); !put) return put;
    const auto profile_name = [](std::string_view typed) { return plain_name(typed, "a profile"); };
    if (auto put = text("profile", wanted.profile, row_.profile, profile_name); !put) return put;
    if (auto put = text("address", wanted.address, row_.address, network_address); !put) {
      return put;
    }
    auto put = text("hardware address", wanted.hardware, row_.hardware, hardware_address);
    if (!put) return put;
    put = text("line", wanted.line, row_.line, plain_line("The line's name", longest_line_name));
    if (!put) return put;
    put = text("note", wanted.note, row_.note, plain_line("The note", longest_note));
    if (!put || !wanted.doors) return put;
    auto doors = station_doors(*wanted.doors);
    if (!doors) return doors.error();
    if (*doors != row_.doors)
      say("doors", doors->empty() ? "all" : doors->substr(0, doors->size() - 1));
    row_.doors = std::move(*doors);
    return {};
  }

  const std::string& words() const { return words_; }

 private:
  void say(std::string_view what, std::string_view value) {
    words_ += fmt::format("{}{} {}", words_.empty() ? "" : ", ", what, value);
  }

  template <class Rule>
  Status text(std::string_view what, const std::optional<std::string>& wanted, std::string& field,
              const Rule& rule, bool may_be_empty = true) {
    if (!wanted) return {};
    std::string stored;
    if (!may_be_empty || !wanted->empty()) {
      auto ruled = rule(*wanted);
      if (!ruled) return ruled.error();
      stored = std::move(*ruled);
    }
    if (stored != field) say(what, stored.empty() ? "none" : stored);
    field = std::move(stored);
    return {};
  }

  Station& row_;
  std::string words_;
};

// Whether nothing of it is another's; `before` is the row that it takes the place of.
Status check_alone(const State& state, const Station& row, const Station* before) {
  const auto taken = [&](const Station* there, std::string_view what) -> Status {
    if (there == nullptr || there == before) return {};
    return Error{Code::exists, fmt::format("{} is that of the station {}, {}.", what, there->name,
                                           number_of(*there))};
  };
  auto fine =
      taken(state.station({row.segment, row.number}), fmt::format("The number {}", number_of(row)));
  if (fine) fine = taken(state.station_called(row.name), fmt::format("The name {}", row.name));
  if (fine && !row.address.empty()) {
    fine = taken(state.station_at(row.address), fmt::format("The address {}", row.address));
  }
  if (fine && !row.hardware.empty()) {
    fine = taken(state.station_with(row.hardware),
                 fmt::format("The hardware address {}", row.hardware));
  }
  if (fine && !row.line.empty()) {
    fine = taken(state.station_on(row.line), fmt::format("The line {}", row.line));
  }
  return fine;
}

// How stations ask: in any case, with or without / in front.
std::string asked_form(std::string_view asked) {
  if (asked.starts_with('/')) asked.remove_prefix(1);
  return ascii_lower(asked);
}

}  // namespace

bool StationView::may_use(std::string_view door) const {
  return doors.empty() || std::find(doors.begin(), doors.end(), door) != doors.end();
}

const std::string* StationView::given(std::string_view asked) const {
  const std::string* whatever = nullptr;
  const std::string form = asked_form(asked);
  for (const auto& each : boot) {
    if (each.asked.empty()) {
      whatever = &each.given;
    } else if (each.asked == form) {
      return &each.given;
    }
  }
  return whatever;
}

std::vector<StationView> Stations::all() const {
  return engine_.read([](const State& state) {
    std::vector<StationView> out;
    out.reserve(state.stations.size());
    for (const auto& [number, row] : state.stations) out.push_back(view_of(state, row));
    return out;
  });
}

Result<StationView> Stations::station(std::string_view which) const {
  return engine_.read([&](const State& state) -> Result<StationView> {
    auto row = wanted_station(state, which);
    if (!row) return row.error();
    return view_of(state, *row);
  });
}

std::optional<StationView> Stations::at(const std::string& address) const {
  return engine_.read(
      [&](const State& state) { return view_if(state, state.station_at(address)); });
}

std::optional<StationView> Stations::with(const std::string& hardware) const {
  return engine_.read(
      [&](const State& state) { return view_if(state, state.station_with(hardware)); });
}

std::optional<StationView> Stations::on(const std::string& line) const {
  return engine_.read([&](const State& state) { return view_if(state, state.station_on(line)); });
}

bool Stations::knows_hardware() const {
  return engine_.read([](const State& state) { return state.knows_hardware(); });
}

Ticket Stations::add(const Caller& caller, const StationChange& wanted) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    Station row;
    if (auto fine = check_number(wanted.segment.value_or(0), wanted.number.value_or(0)); !fine) {
      return fine;
    }
    if (!wanted.name) return Error{Code::bad_name, "A station needs a name."};
    Applying applying(row);
    if (auto applied = applying.apply(wanted); !applied) return applied;
    if (auto fine = check_alone(state, row, nullptr); !fine) return fine;
    row.created = change.now();
    const std::string name = row.name;
    change.put(std::move(row));
    change.journal(caller, "station added", name, applying.words());
    return {};
  });
}

Ticket Stations::change(const Caller& caller, std::string_view which, const StationChange& wanted) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto before = wanted_station(state, which);
    if (!before) return before.error();
    Station row = *before;
    Applying applying(row);
    if (auto applied = applying.apply(wanted); !applied) return applied;
    if (applying.words().empty()) return {};
    const Station* there = state.station({before->segment, before->number});
    if (auto fine = check_alone(state, row, there); !fine) return fine;
    if (row.segment != before->segment || row.number != before->number) {
      for (auto& each : boot_names_of(state, *before)) {
        change.drop(each);
        each.segment = row.segment;
        each.number = row.number;
        change.put(std::move(each));
      }
      change.drop(*before);
    }
    change.put(std::move(row));
    change.journal(caller, "station changed", before->name, applying.words());
    return {};
  });
}

Ticket Stations::remove(const Caller& caller, std::string_view which) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto row = wanted_station(state, which);
    if (!row) return row.error();
    for (auto& each : boot_names_of(state, *row)) change.drop(std::move(each));
    change.drop(*row);
    change.journal(caller, "station removed", row->name, fmt::format("number {}", number_of(*row)));
    return {};
  });
}

Ticket Stations::set_boot_name(const Caller& caller, std::string_view which, std::string_view asked,
                               std::string_view given) {
  if (auto fine = check_line(asked, longest_asked, "The boot name"); !fine) return fine.error();
  std::string path;
  if (!given.empty()) {
    auto parsed = Path::parse(given);
    if (!parsed) return parsed.error();
    if (parsed->is_top()) return Error{Code::bad_input, "A boot name gives a file, not the top."};
    path = parsed->text();
  }
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto station = wanted_station(state, which);
    if (!station) return station.error();
    BootName row{station->segment, station->number, asked_form(asked), path};
    const auto names = boot_names_of(state, *station);
    const auto there = std::find_if(names.begin(), names.end(),
                                    [&](const BootName& each) { return each.asked == row.asked; });
    const std::string shown = row.asked.empty() ? "whatever it asks for" : row.asked;
    if (path.empty()) {
      if (there == names.end()) {
        return Error{Code::not_found,
                     fmt::format("The station {} has no boot name for {}.", station->name, shown)};
      }
      change.drop(row);
      change.journal(caller, "boot name removed", station->name, shown);
      return {};
    }
    if (there == names.end() && names.size() >= most_boot_names) {
      return Error{Code::over_quota,
                   fmt::format("A station has at most {} boot names.", most_boot_names)};
    }
    change.put(row);
    change.journal(caller, "boot name set", station->name, fmt::format("{}: {}", shown, path));
    return {};
  });
}

}  // namespace stationer::fs
