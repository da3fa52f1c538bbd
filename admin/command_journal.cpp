// stationer journal and stationer notice …
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"

namespace stationer::admin {

namespace json = boost::json;

namespace {

std::string where_and_more(const json::object& entry) {
  const std::string detail = text_of(entry, "detail");
  return text_of(entry, "where") + (detail.empty() ? "" : ": " + detail);
}

}  // namespace

void add_journal_command(CLI::App& app, Program& program) {
  struct Options {
    std::string who;
    std::string about;
    std::uint32_t count = 50;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "journal", "Say who did what, when and from where, newest first",
      "stationer journal --who robin\n  stationer journal --about /members/robin --count 10");
  command.add_option("--who", options->who, "Only what this account did")->type_name("NAME");
  command
      .add_option("--about", options->about,
                  "Only what was done to this: a part of the account, path or number")
      ->type_name("TEXT");
  command.add_option("--count", options->count, "How many entries at most")
      ->capture_default_str()
      ->check(whole_number(1, 10'000))
      ->type_name("NUMBER");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    std::vector<Column> columns = {time_column("When", "at"), text_column("Who", "who"),
                                   text_column("What", "what"), text_column("Of what", "subject")};
    Note note;
    if (is_terminal(Standard::output)) {
      note = where_and_more;
    } else {  // one line for each, to search in
      columns.push_back(text_column("Where", "where"));
      columns.push_back(text_column("More", "detail"));
    }
    return say_listing(channel, "journal.list",
                       {{"who", options->who}, {"about", options->about}, {"most", options->count}},
                       options->json, columns, "The journal has nothing of that kind.", note);
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
