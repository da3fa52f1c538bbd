// stationer journal and stationer notice …
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "server/terminal/wording.h"

namespace stationer::admin {

namespace json = boost::json;

namespace {

std::string where_and_more(const json::object& entry) {
  const std::string detail = text_of(entry, "detail");
  return text_of(entry, "where") + (detail.empty() ? "" : ": " + detail);
}

fs::Status verify(Channel& channel, bool as_json) {
  auto report = channel.call("journal.verify");
  if (!report) return report.error();
  const fs::Error changed{fs::Code::damaged,
                          "The journal is not as it was written. Restore it from a copy, and find "
                          "out who can write to the volume's folder."};
  const bool whole = is_set(*report, "whole");
  if (as_json) {
    say_json(*report);
    return whole ? fs::Status() : changed;
  }
  if (const auto* signs = report->if_contains("signs"); signs != nullptr && signs->is_array()) {
    for (const auto& sign : signs->as_array()) {
      if (sign.is_string()) say(printable(sign.as_string()));
    }
  }
  if (!whole) return changed;
  if (number_of(*report, "last") == 0) {
    say("The journal is empty.");
    return {};
  }
  say(fmt::format("The journal is as it was written, from entry {} to entry {}.",
                  number_of(*report, "first"), number_of(*report, "last")));
  if (const auto erased = number_of(*report, "erased"); erased != 0) {
    say(fmt::format("{} had somebody's name erased, which the journal itself says.",
                    server::counted(erased, "entry", "entries")));
  }
  say(fmt::format("The hash of entry {}: {}", number_of(*report, "last"),
                  text_of(*report, "hash")));
  return {};
}

}  // namespace

void add_journal_command(CLI::App& app, Program& program) {
  struct Options {
    std::string who, station, what, about, words, since, until;
    std::uint32_t count = 50;
    bool verify = false;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "journal",
      "Say who did what, when and from where, newest first. All that is asked for has to fit",
      "stationer journal --who robin\n  stationer journal --about /members/robin --count 10\n  "
      "stationer journal --words \"password set\" --since 2026-11-01\n  stationer journal "
      "--verify");
  const auto add = [&](const char* name, std::string& value, const char* what, const char* type) {
    command.add_option(name, value, what)->type_name(type);
  };
  add("--who", options->who, "Only what this account did", "NAME");
  add("--station", options->station, "Only from there: a part of the door or the address", "TEXT");
  add("--what", options->what, "Only what was done so: a part of its words", "TEXT");
  add("--about", options->about,
      "Only what was done to this: a part of the account, path or number", "TEXT");
  add("--words", options->words, "Only what has each of these words, anywhere in it", "TEXT");
  add("--since", options->since, "Only from this day or time on", "DATE");
  add("--until", options->until, "Only up to this day, which counts whole, or before this time",
      "DATE");
  command.add_option("--count", options->count, "How many entries at most")
      ->capture_default_str()
      ->check(whole_number(1, 10'000))
      ->type_name("NUMBER");
  command.add_flag("--verify", options->verify,
                   "Say whether the journal is as it was written. The exit status is 1 if not. "
                   "Keep the hash it tells elsewhere to prove more later");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    if (options->verify) return verify(channel, options->json);
    std::vector<Column> columns = {time_column("When", "at"), text_column("Who", "who"),
                                   text_column("What", "what"), text_column("Of what", "subject")};
    Note note;
    if (is_terminal(Standard::output)) {
      note = where_and_more;
    } else {  // one line for each, to search in
      columns.push_back(text_column("Where", "where"));
      columns.push_back(text_column("More", "detail"));
    }
    json::object params{{"who", options->who},     {"station", options->station},
                        {"what", options->what},   {"about", options->about},
                        {"words", options->words}, {"most", options->count}};
    if (!options->since.empty()) params["since"] = options->since;
    if (!options->until.empty()) params["until"] = options->until;
    return say_listing(channel, "journal.list", std::move(params), options->json, columns,
                       "The journal has nothing of that kind.", note);
  });
}

void add_notice_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "notice", "Short messages that people find when they sign in");
  struct Options {
    std::string to;
    std::vector<std::string> words;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "send", "Send a notice to an account, a class (@CLASS) or everybody (@all)",
      "stationer notice send @evening We close at nine tonight.");
  add_argument(command, "TO", options->to, "Who gets it: NAME, @CLASS or @all");
  add_argument(command, "TEXT", options->words, "What it says");
  run(command, program, [options](Channel& channel) {
    return status_of(channel.call(
        "notice.send",
        {{"to", options->to}, {"text", fmt::format("{}", fmt::join(options->words, " "))}}));
  });
}

}  // namespace stationer::admin
