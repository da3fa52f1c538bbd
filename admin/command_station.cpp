// stationer station …
#include <memory>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "admin/report.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

// What a station is to be like. An option that was not given is left out of the call.
struct StationOptions {
  std::uint64_t segment = 0;
  std::uint64_t number = 0;
  std::string name, profile, address, hardware, line, note;
  std::vector<std::string> doors;
  std::vector<std::pair<CLI::Option*, std::function<void(json::object&)>>> given;

  static std::shared_ptr<StationOptions> add(CLI::App& command, bool with_address) {
    auto options = std::make_shared<StationOptions>();
    StationOptions& own = *options;
    own.add_number(command, "--segment", "segment", own.segment, 127,
                   "The segment it is on, 1 to 127");
    own.add_number(command, "--number", "number", own.number, 254, "Its number there, 1 to 254");
    own.add_text(command, "--name", "name", own.name, "What it is called");
    own.add_text(command, "--profile", "profile", own.profile,
                 "What kind of machine it is: a [profile.NAME] of volume.toml, or \"\"");
    if (with_address) {
      own.add_text(command, "--address", "address", own.address,
                   "The network address by which it is known, or \"\"");
    }
    own.add_text(
        command, "--hardware", "hardware", own.hardware,
        "The hardware address by which it is known, whatever its network address; or \"\"");
    own.add_text(command, "--line", "line", own.line,
                 "The serial line it is at: bench for [serial.bench], or \"\"");
    own.add_text(command, "--note", "note", own.note, "What the keeper wants to remember of it");
    CLI::Option* doors = command.add_option("--door", own.doors,
                                            "A door it may use, or all; may be said several times");
    doors->type_name("DOOR")->allow_extra_args(false);
    own.given.emplace_back(doors, [&own](json::object& params) {
      params["doors"] = fmt::format("{}", fmt::join(own.doors, " "));
    });
    return options;
  }

  bool any() const {
    return std::any_of(given.begin(), given.end(),
                       [](const auto& each) { return each.first->count() > 0; });
  }
  void put(json::object& params) const {
    for (const auto& [option, add_to] : given) {
      if (option->count() > 0) add_to(params);
    }
  }

 private:
  void add_text(CLI::App& command, const char* option, const char* key, std::string& value,
                const char* what) {
    given.emplace_back(command.add_option(option, value, what)->type_name("TEXT"),
                       [key, &value](json::object& params) { params[key] = value; });
  }
  void add_number(CLI::App& command, const char* option, const char* key, std::uint64_t& value,
                  std::uint64_t most, const char* what) {
    given.emplace_back(
        command.add_option(option, value, what)->type_name("NUMBER")->check(whole_number(1, most)),
        [key, &value](json::object& params) { params[key] = value; });
  }
};

json::array boot_names_of(const json::object& station) {
  const json::value* boot = station.if_contains("boot");
  return boot != nullptr && boot->is_array() ? boot->as_array() : json::array();
}

std::string doors_of(const json::object& station) {
  const std::string doors = names_of(station, "doors");
  return doors.empty() ? "all" : doors;
}

void add_list(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command =
      add_command(group, "list", "List the stations that are registered", "stationer station list");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(channel, "station.list", {}, *as_json,
                       {text_column("Station", "station"),
                        text_column("Name", "name"),
                        text_column("Profile", "profile"),
                        text_column("Address", "address"),
                        text_column("Hardware address", "hardware"),
                        text_column("Line", "line"),
                        {"Doors", doors_of},
                        text_column("Note", "note")},
                       "No station is registered. Register one with: stationer station add");
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string station;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "show", "Show all there is to know of a station",
                                  "stationer station show owl\nstationer station show 1.12");
  add_argument(command, "STATION", options->station, "Its name or its number, as 1.12");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    const auto station = channel.call("station.show", {{"station", options->station}});
    if (!station) return station.error();
    if (options->json) {
      say_json(*station);
      return {};
    }
    std::string boot;
    for (const auto& each : boot_names_of(*station)) {
      if (!each.is_object()) continue;
      const std::string asked = text_of(each.as_object(), "asked");
      boot += fmt::format("{}{} gets {}", boot.empty() ? "" : "; ",
                          asked.empty() ? "whatever it asks for" : asked,
                          text_of(each.as_object(), "given"));
    }
    say_facts({{"station", text_of(*station, "station")},
               {"name", text_of(*station, "name")},
               {"profile", text_of(*station, "profile")},
               {"address", text_of(*station, "address")},
               {"hardware address", text_of(*station, "hardware")},
               {"line", text_of(*station, "line")},
               {"doors", doors_of(*station)},
               {"boot names", boot},
               {"note", text_of(*station, "note")},
               {"registered", time_of(*station, "created")}});
    return {};
  });
}

void add_add(CLI::App& group, Program& program) {
  CLI::App& command = add_command(
      group, "add",
      "Register a station. It is recognised by its network address, its hardware address or its "
      "serial line",
      "stationer station add --segment 1 --number 12 --name owl --address 10.0.0.7");
  const auto options = StationOptions::add(command, true);
  for (const char* each : {"--segment", "--number", "--name"}) {
    command.get_option(each)->required();
  }
  run(command, program, [options](Channel& channel) {
    json::object params;
    options->put(params);
    return status_of(channel.call("station.add", params));
  });
}

void add_adopt(CLI::App& group, Program& program) {
  struct Options {
    std::string address;
    bool by_hardware = false;
  };
  const auto own = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "adopt", "Register a machine that was at a door without being known (station unknown)",
      "stationer station adopt 10.0.0.9 --segment 1 --number 14 --name dipper");
  add_argument(command, "ADDRESS", own->address, "The network address it came from");
  const auto options = StationOptions::add(command, false);
  for (const char* each : {"--segment", "--number", "--name"}) {
    command.get_option(each)->required();
  }
  command.add_flag("--by-hardware", own->by_hardware,
                   "Know it by the hardware address that is seen there, rather than by this one");
  run(command, program, [options, own](Channel& channel) {
    json::object params{{"address", own->address}, {"by_hardware", own->by_hardware}};
    options->put(params);
    return status_of(channel.call("station.adopt", params));
  });
}

void add_change(CLI::App& group, Program& program) {
  const auto station = std::make_shared<std::string>();
  CLI::App& command =
      add_command(group, "change", "Change what is known of a station; what is not named stays",
                  "stationer station change owl --address 10.0.0.8 --door all");
  add_argument(command, "STATION", *station, "Its name or its number, as 1.12");
  const auto options = StationOptions::add(command, true);
  run(command, program, [options, station](Channel& channel) {
    if (!options->any()) throw WrongUsage("Say what is to change.");
    json::object params{{"station", *station}};
    options->put(params);
    return status_of(channel.call("station.change", params));
  });
}

void add_boot(CLI::App& group, Program& program) {
  struct Options {
    std::string station, path, asked;
    bool none = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "boot",
      "Say which file a station gets by TFTP that asks for something by a name of its own",
      "stationer station boot owl /programs/menu\n"
      "stationer station boot owl /programs/maze --asked start\n"
      "stationer station boot owl --asked start --none");
  add_argument(command, "STATION", options->station, "Its name or its number, as 1.12");
  CLI::Option* path = command.add_option("PATH", options->path, "The file it gets");
  path->type_name("");
  command
      .add_option("--asked", options->asked,
                  "What it asks for, in any case; without it, whatever it asks for")
      ->type_name("TEXT");
  command.add_flag("--none", options->none, "It gets nothing else any more for that");
  run(command, program, [options](Channel& channel) {
    if (options->none != options->path.empty()) {
      throw WrongUsage("Name the file that it gets, or say --none.");
    }
    return status_of(channel.call(
        "station.boot",
        {{"station", options->station}, {"asked", options->asked}, {"given", options->path}}));
  });
}

void add_unknown(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command = add_command(
      group, "unknown",
      "List the machines that were at a door since the service started without being known",
      "stationer station unknown");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(channel, "station.unknown", {}, *as_json,
                       {text_column("Address", "address"),
                        text_column("Hardware address", "hardware"),
                        {"Doors", [](const json::object& each) { return names_of(each, "doors"); }},
                        number_column("Times", "count"),
                        time_column("First", "first"),
                        time_column("Last", "last")},
                       "No unknown machine was here since the service started.");
  });
}

void add_connected(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command =
      add_command(group, "connected", "List who is connected now, from where and by which door",
                  "stationer station connected");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(channel, "session.list", {}, *as_json,
                       {number_column("Session", "number"), text_column("Door", "door"),
                        text_column("Address", "address"), text_column("Station", "station"),
                        text_column("Name", "name"), text_column("Role", "role"),
                        time_column("Since", "since"), text_column("Doing", "doing")},
                       "Nobody is connected.");
  });
}

}  // namespace

void add_station_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "station", "The machines, and which of them is which");
  add_list(group, program);
  add_show(group, program);
  add_add(group, program);
  add_adopt(group, program);
  add_change(group, program);
  add_boot(group, program);
  add_for_each<std::string>(group, program,
                            {"remove", "Forget stations", "stationer station remove owl", "STATION",
                             "The stations, by name or number", "station.remove", "station"});
  add_unknown(group, program);
  add_connected(group, program);
}

}  // namespace stationer::admin
