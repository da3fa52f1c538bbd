// stationer year …
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/report.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using Names = std::vector<std::string>;

struct Plan {
  Names moves, leaving, staying;
  bool json = false;

  json::object params() const {
    return {{"moves", fmt::format("{}", fmt::join(moves, " "))},
            {"leaving", fmt::format("{}", fmt::join(leaving, " "))},
            {"staying", fmt::format("{}", fmt::join(staying, " "))}};
  }
};

std::shared_ptr<Plan> add_plan(CLI::App& command) {
  auto plan = std::make_shared<Plan>();
  command
      .add_option("MOVE", plan->moves,
                  "From which class to which, as FROM:TO; the members move, the leaders stay")
      ->type_name("");
  command
      .add_option("--leaving", plan->leaving,
                  "A class whose members leave; those it is the primary class of have their "
                  "accounts closed")
      ->allow_extra_args(false)
      ->type_name("CLASS");
  command.add_option("--staying", plan->staying, "Somebody who stays where they are")
      ->allow_extra_args(false)
      ->type_name("NAME");
  return plan;
}

void say_all(const json::object& answer, const char* key) {
  const json::value* all = answer.if_contains(key);
  if (all == nullptr || !all->is_array()) return;
  for (const auto& each : all->as_array()) {
    if (each.is_string()) say(printable(each.as_string()));
  }
}

void add_preview(CLI::App& group, Program& program) {
  CLI::App& command =
      add_command(group, "preview",
                  "Say what moving classes up would do, and what is in the way; change nothing",
                  "stationer year preview year9:year10 year10:year11 --leaving year11");
  const auto plan = add_plan(command);
  add_json_option(command, plan->json);
  run(command, program, [plan](Channel& channel) -> fs::Status {
    auto seen = channel.call("year.preview", plan->params());
    if (!seen) return seen.error();
    const json::value* obstacles = seen->if_contains("obstacles");
    const std::size_t in_the_way =
        obstacles != nullptr && obstacles->is_array() ? obstacles->as_array().size() : 0;
    if (plan->json) {
      say_json(*seen);
    } else {
      say_all(*seen, "sentences");
      say_all(*seen, "obstacles");
    }
    if (in_the_way == 0) return {};
    return fs::Error{fs::Code::bad_input,
                     fmt::format("{} in the way of this plan.",
                                 server::counted(in_the_way, "thing is", "things are"))};
  });
}

void add_apply(CLI::App& group, Program& program) {
  CLI::App& command = add_command(
      group, "apply",
      "Move classes up, in one step that can be undone for as long as nothing it touched has "
      "changed",
      "stationer year apply year9:year10 --leaving year10 --staying bram");
  const auto plan = add_plan(command);
  run(command, program,
      [plan](Channel& channel) { return status_of(channel.call("year.apply", plan->params())); });
}

void add_list(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command = add_command(group, "list", "List the last steps, and which can be undone",
                                  "stationer year list");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(channel, "year.list", {}, *as_json,
                       {number_column("Step", "step"),
                        time_column("When", "made"),
                        text_column("Who", "by"),
                        text_column("What", "what"),
                        number_column("People", "people"),
                        {"Undo",
                         [](const json::object& each) {
                           const std::string words = text_of(each, "obstacle");
                           return words.empty() ? "can be" : words;
                         }}},
                       "No classes were moved up yet.");
  });
}

void add_undo(CLI::App& group, Program& program) {
  const auto step = std::make_shared<std::uint32_t>(0);
  CLI::App& command = add_command(group, "undo", "Take a step back; the list tells its number",
                                  "stationer year undo 1");
  add_argument(command, "STEP", *step, "The step");
  run(command, program, [step](Channel& channel) {
    return status_of(channel.call("year.undo", {{"step", *step}}));
  });
}

}  // namespace

void add_year_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "year", "Moving classes up at the end of a year");
  add_preview(group, program);
  add_apply(group, program);
  add_list(group, program);
  add_undo(group, program);
}

}  // namespace stationer::admin
