// stationer why
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

struct Options {
  std::string account;
  std::string station;
  std::uint32_t job = 0;
  std::uint32_t count = 10;
  bool json = false;
};

// "robin, at owl by the terminal door, tried to save /programs/letter".
std::string what_was_tried(const json::object& item) {
  const std::string who = text_of(item, "who");
  const std::string station = text_of(item, "station");
  const std::string place = station.empty() ? text_of(item, "address") : station;
  const std::string subject = text_of(item, "subject");
  std::string out = who.empty() ? "Somebody" : who;
  if (!place.empty()) out += ", at " + place;
  if (const auto door = text_of(item, "door"); !door.empty()) out += " by " + door;
  out += fmt::format("{} tried to {}", place.empty() ? "" : ",", text_of(item, "act"));
  if (!subject.empty()) out += ' ' + subject;
  const auto times = number_of(item, "times");
  if (times > 1) out += fmt::format(", {} times", times);
  return out;
}

void say_item(const json::object& item, const std::string& volume) {
  say(fmt::format("{}: {}.", time_of(item, "at"), what_was_tried(item)));
  say("  Told: " + text_of(item, "sentence"));
  if (const auto rule = text_of(item, "rule"); !rule.empty()) say("  Why: " + rule);
  if (const auto remedy = text_of(item, "remedy"); !remedy.empty()) {
    say("  What would change it: " + remedy + volume);
  }
}

}  // namespace

void add_why_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "why",
      "Say what did not work of late, newest first: who tried what, what they were told, the rule "
      "that decided, and the one command that would change it, if there should be one",
      "stationer why --account robin\n  stationer why --station owl --count 3\n  stationer why "
      "--job 42");
  command.add_option("--account", options->account, "Only what this account tried")
      ->type_name("NAME");
  command
      .add_option("--station", options->station,
                  "Only from there: a station's name or number, or an address")
      ->type_name("STATION");
  command.add_option("--job", options->job, "Only of this print job")
      ->check(whole_number(1, 4'000'000'000))
      ->type_name("NUMBER");
  command.add_option("--count", options->count, "How many at most")
      ->capture_default_str()
      ->check(whole_number(1, 1'000))
      ->type_name("NUMBER");
  add_json_option(command, options->json);
  run(command, program, [options, &program](Channel& channel) -> fs::Status {
    json::object params{
        {"who", options->account}, {"station", options->station}, {"most", options->count}};
    if (options->job != 0) params["job"] = options->job;
    auto all = channel.list("why.list", std::move(params));
    if (!all) return all.error();
    if (options->json) {
      say_json(std::move(all->items));
      return {};
    }
    if (all->items.empty()) say("Nothing of that kind was refused, as far as is known.");
    const std::string volume =
        program.volume.empty() ? "" : " --volume " + in_shell(program.volume);
    for (const auto& item : all->items) say_item(item.as_object(), volume);
    return {};
  });
}

}  // namespace stationer::admin
