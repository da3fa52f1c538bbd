// stationer printout …
#include <memory>

#include "admin/command.h"
#include "admin/report.h"
#include "admin/transfer.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

void add_list(CLI::App& group, Program& program) {
  struct Options {
    std::string owner;
    bool unclaimed = false;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "list",
      "List printouts, newest first. Those that nobody has claimed have a code: tell it to whoever "
      "stands at the machine, who types claim and the code at any terminal",
      "stationer printout list --owner robin");
  auto* owner = command.add_option("--owner", options->owner, "Only those of this account")
                    ->type_name("NAME");
  command.add_flag("--unclaimed", options->unclaimed, "Only those that belong to nobody yet")
      ->excludes(owner);
  add_json_option(command, options->json);
  run(command, program, [options, owner](Channel& channel) {
    json::object params;
    if (owner->count() > 0 || options->unclaimed) params["owner"] = options->owner;
    return say_listing(channel, "printout.list", std::move(params), options->json,
                       {number_column("Number", "job"),
                        time_column("Printed", "printed"),
                        {"Owner",
                         [](const json::object& each) {
                           const std::string name = text_of(each, "owner");
                           return name.empty() ? "(unclaimed)" : name;
                         }},
                        text_column("Queue", "queue"),
                        text_column("Code", "code"),
                        number_column("Pages", "pages"),
                        size_column("Size", "bytes"),
                        text_column("Title", "title")},
                       "There are no printouts.");
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t number = 0;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "show", "Show all about one printout", "stationer printout show 42");
  add_argument(command, "NUMBER", options->number, "The printout's number");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    auto printout = channel.call("printout.show", {{"job", options->number}});
    if (!printout) return printout.error();
    if (options->json) {
      say_json(*printout);
      return {};
    }
    const std::string owner = text_of(*printout, "owner");
    say_facts({{"number", text_of(*printout, "job")},
               {"title", text_of(*printout, "title")},
               {"owner", owner.empty() ? "nobody yet" : owner},
               {"code", text_of(*printout, "code")},
               {"told its owner", is_set(*printout, "seen") ? "yes" : "not yet"},
               {"pages", text_of(*printout, "pages")},
               {"size", server::exact_size(number_of(*printout, "bytes"))},
               {"queue", text_of(*printout, "queue")},
               {"came from", text_of(*printout, "source")},
               {"printed", time_of(*printout, "printed")},
               {"lies at", text_of(*printout, "path")}});
    return {};
  });
}

void add_get(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t number = 0;
    std::string local;
    bool replace = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "get", "Fetch a printout as a PDF file", "stationer printout get 42");
  add_argument(command, "NUMBER", options->number, "The printout's number");
  add_argument(command, "FILE", options->local,
               "Where it goes: a file name, a folder, or - for standard output. Without it, a "
               "file of its own name here")
      ->required(false);
  command.add_flag("--replace", options->replace, "Replace a local file that is there");
  run(command, program, [options](Channel& channel) {
    return fetch(channel, "printout.open", {{"job", options->number}}, options->local,
                 options->replace);
  });
}

void add_give(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t number = 0;
    std::string account;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "give", "Give a printout to an account's tray",
                                  "stationer printout give 42 robin");
  add_argument(command, "NUMBER", options->number, "The printout's number");
  add_argument(command, "NAME", options->account, "The account");
  run(command, program, [options](Channel& channel) {
    return status_of(
        channel.call("printout.give", {{"job", options->number}, {"account", options->account}}));
  });
}

}  // namespace

void add_printout_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "printout", "The PDFs that came of print jobs");
  add_list(group, program);
  add_show(group, program);
  add_get(group, program);
  add_give(group, program);
  add_for_each<std::uint32_t>(
      group, program,
      {"discard", "Take printouts away for good", "stationer printout discard 42 43", "NUMBER",
       "The printouts' numbers", "printout.discard", "job"});
}

}  // namespace stationer::admin
