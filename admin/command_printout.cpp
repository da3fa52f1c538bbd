// stationer printout …
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
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

// The options that say which printouts are meant.
struct Meant {
  std::string owner, klass, queue, since, until;

  void add_to(CLI::App& command) {
    const auto add = [&](const char* name, std::string& value, const char* what, const char* type) {
      return command.add_option(name, value, what)->type_name(type);
    };
    add("--owner", owner, "Only those of this account", "NAME");
    add("--class", klass, "Only those of this class's members", "NAME");
    add("--queue", queue, "Only those of this queue", "NAME");
    add("--since", since, "Only those printed from this day or time on", "DATE");
    add("--until", until,
        "Only those printed up to this day, which counts whole, or before this time", "DATE");
  }

  json::object params() const {
    json::object out;
    for (const auto& [key, value] :
         {std::pair("owner", &owner), std::pair("class", &klass), std::pair("queue", &queue),
          std::pair("since", &since), std::pair("until", &until)}) {
      if (!value->empty()) out[key] = *value;
    }
    return out;
  }
};

void add_find(CLI::App& group, Program& program) {
  struct Options {
    std::vector<std::string> words;
    Meant meant;
    std::uint32_t count = 100;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "find", "Find printouts by the words on their pages, newest first",
                  "stationer printout find tide table\n"
                  "  stationer printout find '\"high water\" tab*' --since 2026-11-01");
  add_argument(command, "WORDS", options->words,
               "What one page or its title has: words, \"words side by side\", begin*. Without "
               "words, all that the options name")
      ->required(false);
  options->meant.add_to(command);
  command.add_option("--count", options->count, "How many at most")
      ->capture_default_str()
      ->check(whole_number(1, 10'000))
      ->type_name("NUMBER");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    json::object params = options->meant.params();
    params["words"] = fmt::format("{}", fmt::join(options->words, " "));
    params["most"] = options->count;
    std::vector<Column> columns = {number_column("Number", "job"),
                                   {"Page",
                                    [](const json::object& each) {
                                      const auto page = number_of(each, "page");
                                      return page == 0 ? "" : fmt::format("{}", page);
                                    },
                                    true},
                                   time_column("Printed", "printed"),
                                   text_column("Owner", "owner"),
                                   text_column("Queue", "queue"),
                                   text_column("Title", "title")};
    Note note;
    if (is_terminal(Standard::output)) {
      note = [](const json::object& each) { return text_of(each, "line"); };
    } else {
      columns.push_back(text_column("Line", "line"));
    }
    auto listing = channel.list("printout.find", std::move(params));
    if (!listing) return listing.error();
    if (options->json) {
      say_json(listing->items);
    } else if (listing->items.empty()) {
      say("No printout has that.");
    } else {
      say_table(columns, listing->items, note);
    }
    if (is_set(listing->first, "more")) complain("There are more. --count shows more of them.");
    if (const auto unread = number_of(listing->first, "unread"); unread != 0) {
      complain(fmt::format("The words of {} are not read yet: try again in a while.",
                           server::counted(unread, "printout")));
    }
    return {};
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

void add_picture(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t number = 0;
    std::string local;
    std::uint32_t page = 1;
    std::uint32_t width = 300;
    bool replace = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "picture", "Make a small picture of a page, as a PNG file",
                                  "stationer printout picture 42 tides.png --page 2 --width 600");
  add_argument(command, "NUMBER", options->number, "The printout's number");
  add_argument(command, "FILE", options->local,
               "Where it goes: a file name, a folder, or - for standard output. Without it, a "
               "file of its own name here")
      ->required(false);
  command.add_option("--page", options->page, "Which page")
      ->capture_default_str()
      ->check(whole_number(1, 1'000'000))
      ->type_name("NUMBER");
  command.add_option("--width", options->width, "How many dots across")
      ->capture_default_str()
      ->check(whole_number(16, 2000))
      ->type_name("NUMBER");
  command.add_flag("--replace", options->replace, "Replace a local file that is there");
  run(command, program, [options](Channel& channel) {
    return fetch(channel, "printout.picture",
                 {{"job", options->number}, {"page", options->page}, {"width", options->width}},
                 options->local, options->replace);
  });
}

void add_export(CLI::App& group, Program& program) {
  struct Options {
    Meant meant;
    std::string local;
    bool replace = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "export",
      "Put printouts together into one PDF, person by person, with contents and bookmarks",
      "stationer printout export --class evening --since 2026-11-25 evening.pdf");
  add_argument(command, "FILE", options->local,
               "Where it goes: a file name, a folder, or - for standard output");
  options->meant.add_to(command);
  command.add_flag("--replace", options->replace, "Replace a local file that is there");
  run(command, program, [options](Channel& channel) {
    return fetch(channel, "printout.collect", options->meant.params(), options->local,
                 options->replace);
  });
}

void add_forward(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t number = 0;
    std::string printer;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "forward", "Hand a printout to a printer of the host's print system",
                  "stationer printout forward 42 laser");
  add_argument(command, "NUMBER", options->number, "The printout's number");
  add_argument(command, "PRINTER", options->printer,
               "The printer's name there. Without it, the one its queue names")
      ->required(false);
  run(command, program, [options](Channel& channel) {
    return status_of(channel.call("printout.forward",
                                  {{"job", options->number}, {"printer", options->printer}}));
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
  add_find(group, program);
  add_show(group, program);
  add_get(group, program);
  add_picture(group, program);
  add_export(group, program);
  add_forward(group, program);
  add_give(group, program);
  add_for_each<std::uint32_t>(
      group, program,
      {"discard", "Take printouts away for good", "stationer printout discard 42 43", "NUMBER",
       "The printouts' numbers", "printout.discard", "job"});
}

}  // namespace stationer::admin
