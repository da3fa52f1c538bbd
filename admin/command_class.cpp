// stationer class …
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/limit_options.h"
#include "admin/report.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using Names = std::vector<std::string>;

void add_list(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command = add_command(group, "list", "List the classes", "stationer class list");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(channel, "class.list", {}, *as_json,
                       {text_column("Class", "name"),
                        number_column("Members", "members"),
                        number_column("Leaders", "leaders"),
                        {"Limit",
                         [](const json::object& each) {
                           return is_set(each, "limits")
                                      ? limit_of(each, "soft_bytes", "hard_bytes", size_of)
                                      : "";
                         }},
                        time_column("Made", "created")},
                       "There are no classes yet. Add one with: stationer class add NAME");
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "show", "List the leaders and members of a class",
                                  "stationer class show evening");
  add_argument(command, "CLASS", options->name, "The class");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    return say_listing(channel, "class.members", {{"name", options->name}}, options->json,
                       {text_column("Name", "name"),
                        {"As",
                         [](const json::object& each) -> std::string {
                           return is_set(each, "leader") ? "leader" : "member";
                         }}},
                       "Nobody is in this class yet.");
  });
}

void add_join(CLI::App& group, Program& program) {
  struct Options {
    std::string klass;
    Names accounts;
    bool leader = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "join", "Put accounts into a class",
                                  "stationer class join evening robin wren");
  add_argument(command, "CLASS", options->klass, "The class");
  add_argument(command, "NAME", options->accounts, "The accounts");
  command.add_flag("--leader", options->leader, "They lead it, rather than being members of it");
  run(command, program, [options](Channel& channel) {
    return for_each(options->accounts, [&](const std::string& account) {
      return status_of(channel.call(
          "class.join",
          {{"name", options->klass}, {"account", account}, {"leader", options->leader}}));
    });
  });
}

void add_leave(CLI::App& group, Program& program) {
  struct Options {
    std::string klass;
    Names accounts;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "leave", "Take accounts out of a class",
                                  "stationer class leave evening bram");
  add_argument(command, "CLASS", options->klass, "The class");
  add_argument(command, "NAME", options->accounts, "The accounts");
  run(command, program, [options](Channel& channel) {
    return for_each(options->accounts, [&](const std::string& account) {
      return status_of(
          channel.call("class.leave", {{"name", options->klass}, {"account", account}}));
    });
  });
}

void add_quota(CLI::App& group, Program& program) {
  struct Options {
    Names names;
    bool none = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "quota",
      "Change how much accounts may keep whose primary class it is, now and later, unless they "
      "have "
      "limits of their own. The hard limit is a quarter above unless it is said. 0 is no limit",
      "stationer class quota evening --mib 64 --files 500");
  add_argument(command, "CLASS", options->names, "The classes");
  const auto limits = LimitOptions::add(command);
  command.add_flag("--none", options->none, "The class says nothing about it");
  run(command, program, [options, limits](Channel& channel) {
    if (limits->any() == options->none) {
      throw WrongUsage("Say what the limit is: --mib, --files, or --none.");
    }
    json::object params;
    limits->put(params);
    if (options->none) params["none"] = true;
    return for_each(options->names, [&](const std::string& name) {
      params["name"] = name;
      return status_of(channel.call("class.limits", params));
    });
  });
}

void add_printed(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    std::string since;
    std::string until;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "printed", "Count what each member of a class printed, of the printouts still there",
      "stationer class printed evening --since 2026-11-25 --until 2026-11-25");
  add_argument(command, "CLASS", options->name, "The class");
  command.add_option("--since", options->since, "From that day or moment on")->type_name("TIME");
  command.add_option("--until", options->until, "Until then; a day counts whole")
      ->type_name("TIME");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    json::object params{{"name", options->name}};
    if (!options->since.empty()) params["since"] = options->since;
    if (!options->until.empty()) params["until"] = options->until;
    auto printed = channel.list("class.printed", std::move(params));
    if (!printed) return printed.error();
    if (options->json) {
      say_json(printed->items);
      return {};
    }
    std::uint64_t printouts = 0, pages = 0;
    for (const auto& item : printed->items) {
      printouts += number_of(item.as_object(), "printouts");
      pages += number_of(item.as_object(), "pages");
    }
    if (!printed->items.empty()) {
      say_table({text_column("Name", "name"), number_column("Printouts", "printouts"),
                 number_column("Pages", "pages"), text_column("Full name", "full_name")},
                printed->items);
    }
    say(fmt::format("{} printed {} on {}.", server::counted(printed->items.size(), "member"),
                    server::counted(printouts, "printout"), server::counted(pages, "page")));
    return {};
  });
}

}  // namespace

void add_class_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "class", "Who belongs together, and who leads them");
  add_for_each<std::string>(
      group, program,
      {"add", "Add classes, each with a shared folder and a hand-in folder in it",
       "stationer class add evening", "CLASS", "The classes", "class.add", "name"});
  add_list(group, program);
  add_show(group, program);
  add_join(group, program);
  add_leave(group, program);
  add_quota(group, program);
  add_printed(group, program);
  add_for_each<std::string>(
      group, program,
      {"remove", "Remove classes that nobody is in; their folders and files stay",
       "stationer class remove evening", "CLASS", "The classes", "class.remove", "name"});
}

}  // namespace stationer::admin
