// stationer status
#include <map>
#include <memory>
#include <utility>
#include <vector>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using server::counted;

json::object object_of(const json::object& in, std::string_view key) {
  const json::value* value = in.if_contains(key);
  return value != nullptr && value->is_object() ? value->as_object() : json::object();
}

json::array array_of(const json::object& in, std::string_view key) {
  const json::value* value = in.if_contains(key);
  return value != nullptr && value->is_array() ? value->as_array() : json::array();
}

// Address by address, in lines that a screen holds.
std::string doors_in_words(const json::object& status) {
  constexpr std::size_t room = 68;
  std::map<std::string, std::vector<std::string>> by_address;
  for (const auto& each : array_of(status, "doors")) {
    if (!each.is_object()) continue;
    const json::object& door = each.as_object();
    std::string words = text_of(door, "name");
    if (door.contains("port")) words += ' ' + text_of(door, "port");
    by_address[text_of(door, "address")].push_back(std::move(words));
  }
  std::string out;
  for (const auto& [address, doors] : by_address) {
    std::string line = fmt::format("at {}:", address);
    for (const std::string& door : doors) {
      if (line.size() + door.size() + 2 > room) {
        out += line + '\n';
        line = " ";
      }
      line += ' ' + door + (&door == &doors.back() ? "" : ",");
    }
    out += line + '\n';
  }
  if (out.empty()) return "none";
  out.pop_back();
  return out;
}

std::string jobs_in_words(const json::object& status) {
  const json::object jobs = object_of(status, "jobs");
  const std::uint64_t waiting = number_of(jobs, "waiting") + number_of(jobs, "printing");
  return fmt::format("{} to be printed, {} held, {} refused", waiting, number_of(jobs, "held"),
                     number_of(jobs, "refused"));
}

// The last few, the newest first; `status --json` and the journal have more.
void say_failed_transfers(const json::object& status) {
  constexpr std::size_t most = 5;
  std::size_t said = 0;
  for (const auto& each : array_of(status, "failed_transfers")) {
    if (!each.is_object() || said++ == most) break;
    const json::object& failed = each.as_object();
    say(fmt::format("{}: {} could not {} {}. {}", time_of(failed, "at"), text_of(failed, "address"),
                    is_set(failed, "saving") ? "save" : "load", text_of(failed, "file"),
                    text_of(failed, "reason")));
  }
}

void say_status(const json::object& status) {
  const bool serving = is_set(status, "serving");
  const std::uint64_t unclaimed = number_of(status, "unclaimed");
  std::string printouts = counted(number_of(status, "printouts"), "printout");
  if (unclaimed > 0) printouts += fmt::format(", {} of them unclaimed", unclaimed);
  say_facts(
      {{"volume", fmt::format("{}, in {}", text_of(status, "name"), text_of(status, "directory"))},
       {"service", serving ? "runs since " + time_of(status, "since") : "does not run"},
       {"doors", serving ? doors_in_words(status) : ""},
       {"stations", serving ? counted(number_of(status, "sessions"), "session") : ""},
       {"holds",
        fmt::format("{}, {}", counted(number_of(status, "accounts"), "account"),
                    counted(number_of(status, "nodes"), "file or folder", "files and folders"))},
       {"jobs", jobs_in_words(status)},
       {"printouts", printouts},
       {"disk", fmt::format("{} free of {}", size_of(status, "free_bytes"),
                            size_of(status, "total_bytes"))},
       {"snapshot", text_of(status, "last_snapshot").empty()
                        ? "none yet"
                        : "the last one is of " + time_of(status, "last_snapshot")},
       {"version", text_of(status, "version")}});
  say_failed_transfers(status);
  const json::array troubles = array_of(status, "troubles");
  for (const auto& trouble : troubles) {
    if (const json::string* sentence = trouble.if_string()) {
      say(fmt::format("Trouble: {}", printable(*sentence)));
    }
  }
  if (troubles.empty()) say("All is well.");
}

}  // namespace

void add_status_command(CLI::App& app, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command =
      add_command(app, "status", "Say how the volume and its service are", "stationer status");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) -> fs::Status {
    auto status = channel.call("status");
    if (!status) return status.error();
    if (*as_json) {
      say_json(*status);
    } else {
      say_status(*status);
    }
    return {};
  });
}

}  // namespace stationer::admin
