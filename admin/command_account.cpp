// stationer account …
#include <iostream>
#include <memory>
#include <optional>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/limit_options.h"
#include "admin/report.h"
#include "admin/slips.h"
#include "fs/crypto.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using Names = std::vector<std::string>;

CLI::Option* add_role_option(CLI::App& command, std::string& role) {
  return command.add_option("--role", role, "What the account may do")
      ->check(one_of({"member", "leader", "manager"}))
      ->type_name("member|leader|manager");
}

void put_text(json::object& params, const CLI::Option* option, const char* key,
              const std::string& value) {
  if (option->count() > 0) params[key] = value;
}

// Says a password that was made up; it is not to be had again.
void say_password(const json::object& answer) {
  const std::string password = text_of(answer, "password");
  if (!password.empty()) say(fmt::format("{}  {}", text_of(answer, "name"), password));
}

fs::Result<Slip> slip_of(Channel& channel, const json::object& answer) {
  auto account = channel.call("account.show", {{"name", text_of(answer, "name")}});
  if (!account) return account.error();
  return Slip{text_of(*account, "full_name"), text_of(*account, "class"), text_of(*account, "role"),
              text_of(*account, "name"), text_of(answer, "password")};
}

// `params` go with each of the names; a password that is given goes with the only one. It is asked
// for before the volume is opened, so that nobody else waits for the person at the keyboard.
fs::Status with_password(const Program& program, const char* method, const Names& names,
                         const PasswordOptions& from, const SlipsFile::Options& on_slips,
                         json::object params) {
  if (from.given()) {
    if (names.size() > 1) throw WrongUsage("A password can be given for one account at a time.");
    if (on_slips.asked()) throw WrongUsage("Slips are for passwords that are made up.");
    auto password = new_password(from, names.front());
    if (!password) return password.error();
    params["password"] = *password;
    fs::wipe(*password);
  }
  std::optional<SlipsFile> file;
  if (on_slips.asked()) {
    auto begun = SlipsFile::begin(on_slips);
    if (!begun) return begun.error();
    file.emplace(std::move(*begun));
  }
  auto channel = open_channel(program);
  if (!channel) return channel.error();
  if (file) {
    if (auto asked = file->ask(**channel); !asked) return asked;
  }
  std::vector<Slip> slips;
  auto all = for_each(names, [&](const std::string& name) -> fs::Status {
    params["name"] = name;
    auto answer = (*channel)->call(method, params);
    if (!answer) return answer.error();
    if (!file) {
      say_password(*answer);
      return {};
    }
    auto slip = slip_of(**channel, *answer);
    if (!slip) return slip.error();
    slips.push_back(std::move(*slip));
    return {};
  });
  if (file) {
    if (auto written = file->finish(std::move(slips)); !written) return written.error();
  }
  return all;
}

void add_add(CLI::App& group, Program& program) {
  struct Options {
    Names names;
    std::string role = "member";
    std::string klass;
    std::string full_name;
    PasswordOptions password;
    SlipsFile::Options slips;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "add",
      "Add accounts. Each gets a made-up password, which is shown once, unless one is given",
      "stationer account add robin wren --class evening");
  add_argument(command, "NAME", options->names, "The names to sign in with");
  add_role_option(command, options->role)->capture_default_str();
  command.add_option("--class", options->klass, "The class they are in")->type_name("CLASS");
  command.add_option("--full-name", options->full_name, "The name as people say it")
      ->type_name("TEXT");
  add_password_options(command, options->password);
  SlipsFile::add_options(command, options->slips);
  add_volume_option(command, program);
  run(command, program, [options, &program] {
    if (options->names.size() > 1 && !options->full_name.empty()) {
      throw WrongUsage("A full name can be given for one account at a time.");
    }
    return with_password(
        program, "account.add", options->names, options->password, options->slips,
        {{"role", options->role}, {"class", options->klass}, {"full_name", options->full_name}});
  });
}

void add_list(CLI::App& group, Program& program) {
  struct Options {
    std::string klass;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "list", "List the accounts and what they use",
                                  "stationer account list --class evening");
  command.add_option("--class", options->klass, "Only those in this class")->type_name("CLASS");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    json::object params;
    if (!options->klass.empty()) params["class"] = options->klass;
    return say_listing(
        channel, "account.list", std::move(params), options->json,
        {text_column("Name", "name"),
         {"Role",
          [](const json::object& each) {
            return text_of(each, "role") + (is_set(each, "closed") ? ", closed" : "");
          }},
         text_column("Class", "class"),
         size_column("Used", "bytes"),
         {"Limit",
          [](const json::object& each) {
            return number_of(each, "soft_bytes") == 0 ? "none" : size_of(each, "soft_bytes");
          },
          true},
         number_column("Files", "files"),
         {"Last day", [](const json::object& each) { return last_day_of(each, "ends"); }},
         {"Files until",
          [](const json::object& each) { return last_day_of(each, "leaves_after"); }},
         text_column("Full name", "full_name")},
        "There are no accounts yet. Add some with: stationer account add NAME");
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "show", "Show all about one account", "stationer account show robin");
  add_argument(command, "NAME", options->name, "The account");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    auto account = channel.call("account.show", {{"name", options->name}});
    if (!account) return account.error();
    if (options->json) {
      say_json(*account);
      return {};
    }
    say_facts({{"name", text_of(*account, "name")},
               {"full name", text_of(*account, "full_name")},
               {"role", text_of(*account, "role")},
               {"may sign in", is_set(*account, "closed")         ? "no, the account is closed"
                               : is_set(*account, "has_password") ? "yes"
                                                                  : "no, it has no password"},
               {"primary class", text_of(*account, "class")},
               {"classes", names_of(*account, "classes")},
               {"leads", names_of(*account, "leads")},
               {"used", fmt::format("{} in {}", size_of(*account, "bytes"),
                                    server::counted(number_of(*account, "files"), "file or folder",
                                                    "files and folders"))},
               {"limits", is_set(*account, "own_limits") ? "its own" : ""},
               {"bytes", limit_of(*account, "soft_bytes", "hard_bytes", size_of)},
               {"files", limit_of(*account, "soft_files", "hard_files", text_of)},
               {"over since", time_of(*account, "over_since")},
               {"made", time_of(*account, "created")},
               {"last day", last_day_of(*account, "ends")},
               {"files until", last_day_of(*account, "leaves_after")}});
    return {};
  });
}

void add_change(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    std::string role;
    std::string klass;
    std::string full_name;
    std::string ends;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "change", "Change an account's role, class, full name or end",
      "stationer account change sorrel --role leader\n  stationer account change bram --ends "
      "2027-07-31");
  add_argument(command, "NAME", options->name, "The account");
  const auto* role = add_role_option(command, options->role);
  const auto* klass =
      command.add_option("--class", options->klass, "Its primary class; \"\" for none")
          ->type_name("CLASS");
  const auto* full_name =
      command.add_option("--full-name", options->full_name, "The name as people say it")
          ->type_name("TEXT");
  const auto* ends =
      command.add_option("--ends", options->ends, "The last day one can sign in; \"\" for no end")
          ->type_name("DATE");
  run(command, program, [options, role, klass, full_name, ends](Channel& channel) {
    json::object params{{"name", options->name}};
    put_text(params, role, "role", options->role);
    put_text(params, klass, "class", options->klass);
    put_text(params, full_name, "full_name", options->full_name);
    put_text(params, ends, "ends", options->ends);
    if (params.size() == 1)
      throw WrongUsage("Say what is to change: --role, --class, --full-name, --ends.");
    return status_of(channel.call("account.change", std::move(params)));
  });
}

void add_closing(CLI::App& group, Program& program, bool closed) {
  const auto names = std::make_shared<Names>();
  CLI::App& command =
      closed
          ? add_command(group, "close",
                        "Close accounts: nobody can sign in, and everything of theirs stays",
                        "stationer account close bram")
          : add_command(group, "open", "Open closed accounts again", "stationer account open bram");
  add_argument(command, "NAME", *names, "The accounts");
  run(command, program, [names, closed](Channel& channel) {
    return for_each(*names, [&](const std::string& name) {
      return status_of(channel.call("account.change", {{"name", name}, {"closed", closed}}));
    });
  });
}

void add_password(CLI::App& group, Program& program) {
  struct Options {
    Names names;
    PasswordOptions password;
    SlipsFile::Options slips;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "password",
      "Give accounts new passwords: made-up ones, which are shown once, unless one is given",
      "stationer account password wren");
  add_argument(command, "NAME", options->names, "The accounts");
  add_password_options(command, options->password);
  SlipsFile::add_options(command, options->slips);
  add_volume_option(command, program);
  run(command, program, [options, &program] {
    return with_password(program, "account.password", options->names, options->password,
                         options->slips, {});
  });
}

void add_quota(CLI::App& group, Program& program) {
  struct Options {
    Names names;
    bool as_class = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "quota",
      "Change how much accounts may keep. They are warned at the limit, and stopped at the hard "
      "one, which is a quarter above it unless it is said. 0 is no limit",
      "stationer account quota robin wren --mib 64");
  add_argument(command, "NAME", options->names, "The accounts");
  const auto limits = LimitOptions::add(command);
  command.add_flag("--as-class", options->as_class, "What their class says, from now on");
  run(command, program, [options, limits](Channel& channel) {
    if (limits->any() == options->as_class) {
      throw WrongUsage("Say what the limit is: --mib, --files, or --as-class.");
    }
    json::object params;
    limits->put(params);
    if (options->as_class) params["own_limits"] = false;
    return for_each(options->names, [&](const std::string& name) {
      params["name"] = name;
      return status_of(channel.call("account.change", params));
    });
  });
}

}  // namespace

void add_account_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "account", "Who may sign in, as what, and keep how much");
  add_add(group, program);
  add_import_command(group, program);
  add_list(group, program);
  add_show(group, program);
  add_change(group, program);
  add_closing(group, program, true);
  add_closing(group, program, false);
  add_password(group, program);
  add_quota(group, program);
  add_leaver_commands(group, program);
  add_for_each<std::string>(
      group, program,
      {"remove", "Remove accounts that own no files any more; others can be closed",
       "stationer account remove bram", "NAME", "The accounts", "account.remove", "name"});
}

}  // namespace stationer::admin
