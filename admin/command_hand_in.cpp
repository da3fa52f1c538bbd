// stationer hand-in …
#include <memory>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "admin/report.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

// The newest of somebody's receipts; they come newest first.
const json::object* newest(const json::object& entry) {
  const auto* receipts = entry.if_contains("receipts");
  if (receipts == nullptr || !receipts->is_array() || receipts->as_array().empty()) return nullptr;
  return receipts->as_array().front().if_object();
}

void add_list(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command =
      add_command(group, "list", "List the hand-in folders", "stationer hand-in list");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(
        channel, "handin.list", {}, *as_json,
        {text_column("Folder", "path"),
         text_column("Class", "class"),
         time_column("Opens", "opens"),
         time_column("Closes", "closes"),
         {"Handed in",
          [](const json::object& each) {
            return fmt::format("{} of {}", number_of(each, "handed_in"),
                               number_of(each, "members"));
          }},
         {"Late",
          [](const json::object& each) -> std::string {
            return is_set(each, "late_allowed") ? "allowed" : "";
          }}},
        "There are no hand-in folders. Each class gets one: stationer class add NAME");
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "show", "List who has handed in, and who hasn't",
                                  "stationer hand-in show /classes/evening/hand-in");
  add_argument(command, "FOLDER", options->path, "The hand-in folder");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    const auto files = [](const json::object& each) -> std::string {
      const auto* receipts = each.if_contains("receipts");
      const bool some = receipts != nullptr && receipts->is_array() && newest(each) != nullptr;
      return some ? fmt::format("{}", receipts->as_array().size()) : "not yet";
    };
    const auto last = [](const json::object& each) {
      const auto* receipt = newest(each);
      return receipt == nullptr ? std::string() : time_of(*receipt, "at");
    };
    const auto late = [](const json::object& each) -> std::string {
      const auto* receipt = newest(each);
      return receipt != nullptr && is_set(*receipt, "late") ? "late" : "";
    };
    return say_listing(channel, "handin.roll", {{"path", options->path}}, options->json,
                       {text_column("Name", "name"),
                        {"Files", files, true},
                        {"Last", last},
                        {"", late},
                        text_column("Full name", "full_name")},
                       "Nobody is in this class yet.");
  });
}

void add_set(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    std::string opens;
    std::string closes;
    std::string late;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "set",
      "Set when a folder takes work; an empty folder of a class becomes a hand-in folder",
      "stationer hand-in set /classes/evening/hand-in --late yes");
  add_argument(command, "FOLDER", options->path, "The folder");
  auto* opens = command
                    .add_option("--opens", options->opens,
                                "From when, as in '2026-12-01 09:00'; never: it is open already")
                    ->type_name("TIME");
  auto* closes =
      command.add_option("--closes", options->closes, "Until when; never: it does not close")
          ->type_name("TIME");
  auto* late =
      command
          .add_option("--late", options->late, "Whether to take work after closing, marked late")
          ->check(one_of({"yes", "no"}))
          ->type_name("yes|no");
  run(command, program, [options, opens, closes, late](Channel& channel) {
    const auto moment = [](const std::string& text) { return text == "never" ? "" : text; };
    json::object params{{"path", options->path}};
    if (opens->count() > 0) params["opens"] = moment(options->opens);
    if (closes->count() > 0) params["closes"] = moment(options->closes);
    if (late->count() > 0) params["late"] = options->late == "yes";
    return status_of(channel.call("handin.set", std::move(params)));
  });
}

void add_ordinary(CLI::App& group, Program& program) {
  const auto path = std::make_shared<std::string>();
  CLI::App& command = add_command(
      group, "ordinary",
      "Make a hand-in folder an ordinary one that its class looks into. What was handed in stays "
      "there, for leaders only, and receipts stay; with set it takes work again",
      "stationer hand-in ordinary /classes/evening/week2");
  add_argument(command, "FOLDER", *path, "The hand-in folder");
  run(command, program, [path](Channel& channel) {
    return status_of(channel.call("handin.ordinary", {{"path", *path}}));
  });
}

// What was copied where, and what was not.
fs::Status say_carried(Channel& channel, std::string_view method, json::object params,
                       bool as_json) {
  auto carried = channel.call(method, std::move(params));
  if (!carried) return carried.error();
  const auto* found = carried->if_contains("items");
  const json::array items =
      found != nullptr && found->is_array() ? found->as_array() : json::array();
  if (as_json) {
    say_json(items);
  } else {
    say_table(
        {text_column("From", "account"), text_column("File", "name"), text_column("Copy", "to")},
        items, [](const json::object& each) { return text_of(each, "problem"); });
  }
  std::size_t failed = 0;
  for (const auto& item : items) {
    const auto* each = item.if_object();
    if (each != nullptr && !text_of(*each, "problem").empty()) ++failed;
  }
  if (failed == 0) return {};
  return fs::Error{fs::Code::over_quota,
                   fmt::format("{} of {} could not be copied; all are still where they were.",
                               failed, items.size())};
}

void add_collect(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    std::string to;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "collect", "Copy everybody's last hand-ins to one folder",
                  "stationer hand-in collect /classes/evening/hand-in /classes/evening/essays");
  add_argument(command, "FOLDER", options->path, "The hand-in folder");
  add_argument(command, "TO", options->to, "A new or an empty folder of the volume");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    return say_carried(channel, "handin.collect", {{"path", options->path}, {"to", options->to}},
                       options->json);
  });
}

void add_back(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    std::string account;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "back", "Copy what was handed in, as it is now, to its people's own folders",
      "stationer hand-in back /classes/evening/hand-in --account robin");
  add_argument(command, "FOLDER", options->path, "The hand-in folder");
  command.add_option("--account", options->account, "Only this person's; without it, everybody's")
      ->check(not_empty())
      ->type_name("NAME");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    return say_carried(channel, "handin.back",
                       {{"path", options->path}, {"account", options->account}}, options->json);
  });
}

}  // namespace

void add_hand_in_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "hand-in", "What classes hand in, and when");
  add_list(group, program);
  add_show(group, program);
  add_set(group, program);
  add_ordinary(group, program);
  add_collect(group, program);
  add_back(group, program);
}

}  // namespace stationer::admin
