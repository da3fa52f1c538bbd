// stationer account export, leave, due and erase
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/report.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using Names = std::vector<std::string>;

void say_archive(const json::object& made) {
  say(fmt::format("{}: {} and {}", text_of(made, "archive"),
                  server::counted(number_of(made, "files"), "file"),
                  server::counted(number_of(made, "printouts"), "printout")));
}

// What leaving does not move.
void say_kept(const json::object& made) {
  const auto kept = number_of(made, "kept");
  if (kept == 0) return;
  say(fmt::format("  {} the keep bit, and {} where it is until that is cleared",
                  kept == 1 ? "1 of theirs has" : fmt::format("{} of theirs have", kept),
                  kept == 1 ? "stays" : "each stays"));
}

void add_export(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "export",
      "Put all there is of one person into one archive in the volume, and say where: their files, "
      "what they handed in, printouts and notices, what is known of the account, and what the "
      "journal says of them. tar "
      "and zstd unpack it",
      "stationer account export robin");
  add_argument(command, "NAME", options->name, "The account");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    auto made = channel.call("account.export", {{"name", options->name}});
    if (!made) return made.error();
    options->json ? say_json(*made) : say_archive(*made);
    return {};
  });
}

void add_leave(CLI::App& group, Program& program) {
  struct Options {
    Names names;
    std::string after;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "leave",
      "Let people leave: each one's work goes into an archive, which is read back, and the account "
      "is closed. Their files go to the bin later, but for those with the keep bit. Opening the "
      "account takes "
      "that back",
      "stationer account leave sorrel teasel --after 2027-08-31");
  add_argument(command, "NAME", options->names, "The accounts");
  command
      .add_option("--after", options->after,
                  "The last day their files stay; 30 days from now unless it is said")
      ->type_name("DATE");
  run(command, program, [options](Channel& channel) {
    return for_each(options->names, [&](const std::string& name) -> fs::Status {
      json::object params{{"name", name}};
      if (!options->after.empty()) params["after"] = options->after;
      auto made = channel.call("account.leave", std::move(params));
      if (!made) return made.error();
      say_archive(*made);
      say_kept(*made);
      return {};
    });
  });
}

void add_due(CLI::App& group, Program& program) {
  CLI::App& command = add_command(
      group, "due",
      "Put the files of those who left to the bin if their time has come, as the service does by "
      "itself every hour",
      "stationer account due");
  run(command, program, [](Channel& channel) { return status_of(channel.call("account.due")); });
}

void add_erase(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    bool yes = false;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "erase",
      "Erase a person: say what would go, or with --yes take it away for good. The account has to "
      "be closed before",
      "stationer account erase bram");
  add_argument(command, "NAME", options->name, "The account");
  command.add_flag("--yes", options->yes, "Do it; it can't be undone");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    if (options->yes) {
      auto erased = channel.call("account.erase", {{"name", options->name}, {"confirmed", true}});
      if (erased && options->json) say_json(*erased);
      return status_of(erased);
    }
    auto preview = channel.list("account.erase", {{"name", options->name}});
    if (!preview) return preview.error();
    if (options->json) {
      say_json(preview->items);
      return {};
    }
    for (const auto& item : preview->items) say(text_of(item.as_object(), "sentence"));
    say(fmt::format("Nothing was changed. To do it: stationer account erase {} --yes",
                    in_shell(options->name)));
    return {};
  });
}

}  // namespace

void add_leaver_commands(CLI::App& account, Program& program) {
  add_export(account, program);
  add_leave(account, program);
  add_due(account, program);
  add_erase(account, program);
}

}  // namespace stationer::admin
