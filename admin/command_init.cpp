// stationer init
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "admin/report.h"
#include "fs/account.h"
#include "fs/crypto.h"
#include "fs/host_files.h"
#include "fs/volume.h"
#include "print/queue.h"
#include "server/config.h"
#include "server/control/control.h"

namespace stationer::admin {
namespace {

struct Options {
  std::string directory;
  std::string name = "Stationer";
  std::string manager;
  bool password_stdin = false;
};

// What is known of the first manager before anything is made; no name: there is to be none.
struct Manager {
  std::string name;
  std::string password;
};

fs::Result<std::string> ask_for_name() {
  for (;;) {
    auto typed = ask("The manager's name to sign in with: ");
    if (!typed) return typed;
    auto name = fs::account_name(*typed);
    if (name) return name;
    show_on_error(name.error().message + '\n');
  }
}

fs::Result<Manager> ask_for_manager(const Options& options) {
  Manager manager{options.manager, ""};
  const bool can_ask = is_terminal(Standard::input);
  if (manager.name.empty() && options.password_stdin) {
    throw WrongUsage("A password was given for a manager without a name. Add --manager NAME.");
  }
  if (manager.name.empty() && !can_ask) return manager;
  auto name = manager.name.empty() ? ask_for_name() : fs::account_name(manager.name);
  if (!name) return name.error();
  manager.name = *name;
  if (!can_ask && !options.password_stdin) {
    throw WrongUsage(
        "The manager needs a password, and there is no terminal to ask for it. Add "
        "--password-stdin to give it on standard input.");
  }
  auto password = new_password({true, options.password_stdin}, manager.name);
  if (!password) return password.error();
  manager.password = std::move(*password);
  auto fine = fs::check_new_password(manager.password, manager.name);
  if (!fine) return fine.error();
  return manager;
}

fs::Status init(const Options& options) {
  // Before the questions, whose answers would be in vain.
  if (auto fine = work_as_owner(options.directory); !fine) return fine;
  if (auto free = fs::check_outside_folder_is_free(options.directory); !free) return free;
  auto manager = ask_for_manager(options);
  if (!manager) return manager.error();
  const std::string settings = std::string(print::new_queue_settings()) +
                               std::string(server::new_door_settings()) +
                               std::string(fs::new_snapshot_settings());
  auto volume = fs::Volume::create(options.directory, options.name, {}, settings);
  if (!volume) return volume.error();
  if (manager->name.empty()) {
    say(
        fmt::format("The volume is made, with no manager. Add one with: stationer account add NAME "
                    "--role manager --volume {}",
                    in_shell(options.directory)));
    return {};
  }
  const fs::Caller caller = server::keeper_with_uid(fs::own_user());
  auto added =
      (*volume)
          ->people()
          .add_account(caller, {manager->name, "", fs::Role::manager, "", manager->password})
          .wait();
  fs::wipe(manager->password);
  if (!added) return added;
  say(
      fmt::format("The volume is made, with {} as its manager. Start it with: stationer serve "
                  "--volume {}",
                  manager->name, in_shell(options.directory)));
  return {};
}

}  // namespace

void add_init_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "init", "Make a new volume: the directory that holds everything of one service",
      "stationer init /srv/mill --name \"Tidewrack Mill\" --manager teasel");
  add_argument(command, "VOLUME", options->directory,
               "The directory: an empty one, or one that is not "
               "there yet");
  command.add_option("--name", options->name, "What the room is called")
      ->capture_default_str()
      ->type_name("TEXT");
  command
      .add_option("--manager", options->manager,
                  "The name that the first manager signs in with; asked for on a terminal if it is "
                  "not given")
      ->type_name("NAME");
  command.add_flag("--password-stdin", options->password_stdin,
                   "Take the manager's password from the first line of standard input, rather than "
                   "asking for it");
  run(command, program, [options] { return init(*options); });
}

}  // namespace stationer::admin
