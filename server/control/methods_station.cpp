// Stations: which machine is which, what it may use, and what it gets that asks for something.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/settings_table.h"
#include "fs/station.h"
#include "fs/text.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/room.h"

namespace stationer::server {
namespace {

// What a station is to be like. Doors are words; "all" stands for all of them.
fs::StationChange take_change(Params& params) {
  fs::StationChange change;
  const auto number = [&](std::string_view key, std::uint32_t most) {
    const auto given = params.optional_whole(key, most);
    return given ? std::optional(static_cast<std::uint32_t>(*given)) : std::nullopt;
  };
  change.segment = number("segment", fs::most_segments);
  change.number = number("number", fs::most_on_segment);
  change.name = params.optional_text("name");
  change.profile = params.optional_text("profile");
  change.address = params.optional_text("address");
  change.hardware = params.optional_text("hardware");
  change.line = params.optional_text("line");
  change.note = params.optional_text("note");
  change.doors = params.optional_words("doors");
  if (change.doors == std::vector<std::string>{"all"}) change.doors->clear();
  return change;
}

// What the store knows nothing of: whether there are such doors, such a profile and such a line.
fs::Status check_known(ControlClient& client, const fs::StationChange& change) {
  const auto wrong = [](std::string message) {
    return fs::Error{fs::Code::not_found, std::move(message)};
  };
  for (const auto& each : change.doors.value_or(std::vector<std::string>())) {
    const std::string door = fs::ascii_lower(each);
    if (std::find(station_doors.begin(), station_doors.end(), door) == station_doors.end()) {
      return wrong(fmt::format("There is no door {}. There are: {}, or all.", fs::clip(each, 40),
                               fmt::join(station_doors, ", ")));
    }
  }
  const std::string& settings = client.volume().settings_text();
  if (change.profile && !change.profile->empty()) {
    const auto plan = read_station_plan(settings, client.context().spool.queues());
    if (!plan) return plan.error();
    if (plan->profiles.count(fs::ascii_lower(*change.profile)) == 0) {
      return wrong(fmt::format(
          "There is no [profile.{}] in volume.toml, or there was none when the service started.",
          fs::clip(*change.profile, 40)));
    }
  }
  if (change.line && !change.line->empty()) {
    const auto file = fs::parse_settings(settings);
    if (!file) return file.error();
    const auto lines = fs::settings_table(*file, "serial");
    if (!lines) return lines.error();
    if (!(*lines)->contains(*change.line)) {
      return wrong(
          fmt::format("There is no [serial.{}] in volume.toml.", fs::clip(*change.line, 40)));
    }
  }
  return {};
}

Task<Answer> list(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& stations = client.volume().stations();
  const auto later = client.loop().blocking([&stations, from]() -> Answer {
    return listing(stations.all(), from, [](const auto& each) { return show(each); });
  });
  co_return co_await later;
}

Task<Answer> show_one(ControlClient& client, Params params) {
  const std::string station = params.text("station");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto found = client.volume().stations().station(station);
  if (!found) co_return found.error();
  co_return show(*found);
}

Task<Answer> add(ControlClient& client, Params params) {
  const fs::StationChange wanted = take_change(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  if (auto known = check_known(client, wanted); !known) co_return known.error();
  co_return co_await changed(client, client.volume().stations().add(client.caller(), wanted));
}

// As adding, with what is seen at an address.
Task<Answer> adopt(ControlClient& client, Params params) {
  fs::StationChange wanted = take_change(params);
  const bool by_hardware = params.flag("by_hardware");
  if (!wanted.address) params.refuse("An address is needed.");
  if (auto fine = params.check(); !fine) co_return fine.error();
  if (auto known = check_known(client, wanted); !known) co_return known.error();
  const auto address = fs::network_address(*wanted.address);
  if (!address) co_return address.error();
  if (by_hardware) {
    const Running* running = client.context().running;
    std::string hardware;
    if (running != nullptr && running->room.stations.hardware_of) {
      hardware = running->room.stations.hardware_of(*address);
    }
    if (hardware.empty()) {
      co_return fs::Error{
          fs::Code::not_found,
          fmt::format("The hardware address of {} is not seen. It is only while the service runs, "
                      "of machines on the same network that have just been heard.",
                      *address)};
    }
    wanted.hardware = std::move(hardware);
    wanted.address.reset();
  }
  co_return co_await changed(client, client.volume().stations().add(client.caller(), wanted));
}

Task<Answer> change(ControlClient& client, Params params) {
  const std::string station = params.text("station");
  const fs::StationChange wanted = take_change(params);
  if (!wanted.segment && !wanted.number && !wanted.name && !wanted.profile && !wanted.address &&
      !wanted.hardware && !wanted.line && !wanted.doors && !wanted.note) {
    params.refuse("Nothing is named that is to change.");
  }
  if (auto fine = params.check(); !fine) co_return fine.error();
  if (auto known = check_known(client, wanted); !known) co_return known.error();
  co_return co_await changed(client,
                             client.volume().stations().change(client.caller(), station, wanted));
}

Task<Answer> remove(ControlClient& client, Params params) {
  const std::string station = params.text("station");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().stations().remove(client.caller(), station));
}

Task<Answer> boot(ControlClient& client, Params params) {
  const std::string station = params.text("station");
  const std::string asked = params.text_or_empty("asked");
  const std::string given = params.text_or_empty("given");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(
      client, client.volume().stations().set_boot_name(client.caller(), station, asked, given));
}

Task<Answer> unknown(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const Running* running = client.context().running;
  const auto all =
      running == nullptr ? std::vector<Stranger>() : running->room.stations.strangers();
  co_return listing(all, from, [&](const Stranger& each) {
    auto shown = show(each);
    const auto& hardware_of = running->room.stations.hardware_of;
    shown["hardware"] = hardware_of ? hardware_of(each.address) : std::string();
    return shown;
  });
}

constexpr std::array<Method, 8> methods = {{{"station.list", list},
                                            {"station.show", show_one},
                                            {"station.add", add},
                                            {"station.adopt", adopt},
                                            {"station.change", change},
                                            {"station.remove", remove},
                                            {"station.boot", boot},
                                            {"station.unknown", unknown}}};

}  // namespace

std::span<const Method> station_methods() {
  return methods;
}

}  // namespace stationer::server
