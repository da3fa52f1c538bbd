// stationer init
#include <iostream>
#include <memory>

#include <fmt/format.h>

#include "admin/cards/gather.h"
#include "admin/command.h"
#include "admin/first_run.h"
#include "admin/host.h"
#include "admin/report.h"
#include "fs/account.h"
#include "fs/crypto.h"
#include "fs/host_files.h"
#include "fs/volume.h"
#include "server/control/control.h"

namespace stationer::admin {
namespace {

struct Options {
  std::string directory;
  std::string name;
  std::string manager;
  bool password_stdin = false;
  std::string machines, address, paper;
};

// All is said on the command line, or at least who the manager is: only the password is asked for,
// if somebody is there to ask. No manager's name: there is to be none.
fs::Result<FirstAnswers> answers_of(const Options& options) {
  FirstAnswers answers;
  if (options.manager.empty() && options.password_stdin) {
    throw WrongUsage("A password was given for a manager without a name. Add --manager NAME.");
  }
  if (options.manager.empty()) return answers;
  auto name = fs::account_name(options.manager);
  if (!name) return name.error();
  answers.manager = *name;
  if (!is_terminal(Standard::input) && !options.password_stdin) {
    throw WrongUsage(
        "The manager needs a password, and there is no terminal to ask for it. Add "
        "--password-stdin to give it on standard input.");
  }
  auto password = new_password({true, options.password_stdin}, answers.manager);
  if (!password) return password.error();
  answers.password = std::move(*password);
  auto fine = fs::check_new_password(answers.password, answers.manager);
  if (!fine) return fine.error();
  return answers;
}

// What was said as an option is as it was said.
fs::Status take_options(const Options& options, FirstAnswers& answers) {
  if (!options.name.empty()) answers.room = options.name;
  if (!options.machines.empty()) {
    auto machines = machine_kinds(options.machines);
    if (!machines) return machines.error();
    answers.machines = std::move(*machines);
  }
  if (!options.address.empty()) {
    auto address = door_reach(options.address);
    if (!address) return address.error();
    answers.address = std::move(*address);
  }
  if (!options.paper.empty()) {
    auto paper = printing_paper(options.paper);
    if (!paper) return paper.error();
    answers.paper = std::move(*paper);
  }
  return {};
}

fs::Status make_volume(const std::string& directory, FirstAnswers& answers) {
  auto volume = fs::Volume::create(directory, answers.room, {}, first_settings(answers));
  if (!volume) return volume.error();
  if (answers.manager.empty()) return {};
  const fs::Caller caller = server::keeper_with_uid(fs::own_user());
  auto added =
      (*volume)
          ->people()
          .add_account(caller, {answers.manager, "", fs::Role::manager, "", answers.password})
          .wait();
  fs::wipe(answers.password);
  return added;
}

// The cards of the kinds of machines there are, as the volume tells of itself.
fs::Status say_cards(const std::string& directory, const std::vector<CardKind>& kinds) {
  auto channel = Channel::open(directory);
  if (!channel) return channel.error();
  const auto facts = gather_card_facts(**channel);
  if (!facts) return facts.error();
  std::vector<Card> cards;
  for (const CardKind& each : kinds) cards.push_back(card_for(each, *facts));
  std::cout << '\n' << card_text(cards, facts->room, terminal_columns());
  return {};
}

fs::Status init(const Options& options) {
  // Before the questions, whose answers would be in vain.
  if (auto fine = work_as_owner(options.directory); !fine) return fine;
  if (auto free = fs::check_outside_folder_is_free(options.directory); !free) return free;
  FirstAnswers said;
  if (auto fine = take_options(options, said); !fine) return fine;
  const bool asks =
      is_terminal(Standard::input) && options.manager.empty() && !options.password_stdin;
  auto answers = asks ? ask_first_questions(options.name) : answers_of(options);
  if (!answers) return answers.error();
  if (auto fine = take_options(options, *answers); !fine) return fine;
  if (auto made = make_volume(options.directory, *answers); !made) return made;
  const std::string directory = in_shell(options.directory);
  if (answers->manager.empty()) {
    say(
        fmt::format("The volume is made, with no manager. Add one with: stationer account add NAME "
                    "--role manager --volume {}",
                    directory));
    return {};
  }
  const bool installed = whole_path(options.directory) == installed_volume();
  say(fmt::format(
      "The volume is made, with {} as its manager. Start it with: {}", answers->manager,
      installed ? "sudo systemctl start stationer" : "stationer serve --volume " + directory));
  if (!asks) return {};
  say(fmt::format(
      "These cards tell how machines connect. On paper: stationer cards --pdf cards.pdf "
      "--volume {}",
      directory));
  return say_cards(options.directory, answers->machines);
}

}  // namespace

void add_init_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "init",
      "Make a new volume: the directory that holds everything of one service. On a terminal five "
      "questions are asked, and cards tell how machines connect",
      "stationer init /srv/mill\n"
      "  stationer init /srv/mill --name \"Tidewrack Mill\" --manager teasel");
  add_argument(command, "VOLUME", options->directory,
               "The directory: an empty one, or one that is not "
               "there yet");
  command.add_option("--name", options->name, "What the room is called; else Stationer")
      ->type_name("TEXT");
  command
      .add_option(
          "--manager", options->manager,
          "The name that the first manager signs in with; without it, on a terminal, all that "
          "is needed is asked for")
      ->type_name("NAME");
  command.add_flag("--password-stdin", options->password_stdin,
                   "Take the manager's password from the first line of standard input, rather than "
                   "asking for it");
  command
      .add_option(
          "--machines", options->machines,
          "The kinds of machines there are, as of stationer cards, with blanks between them; "
          "doors that none of them needs stay shut")
      ->type_name("KINDS");
  command
      .add_option(
          "--address", options->address,
          "Who may connect: room, the private networks; box, this machine alone; or an address "
          "of it; room if not given")
      ->type_name("room|box|ADDRESS");
  command.add_option("--paper", options->paper, "What printouts are on; a4 if not given")
      ->check(one_of({"a4", "letter"}))
      ->type_name("a4|letter");
  run(command, program, [options] { return init(*options); });
}

}  // namespace stationer::admin
