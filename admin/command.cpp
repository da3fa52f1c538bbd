#include "admin/command.h"

#include <charconv>
#include <cstdlib>

#include <fmt/format.h>

#include "admin/help.h"
#include "admin/host.h"
#include "fs/account.h"
#include "fs/crypto.h"
#include "fs/text.h"

namespace stationer::admin {
namespace {

using fs::Code;
using fs::Error;

constexpr int most_tries = 3;
constexpr std::size_t longest_shown = 60;  // bytes of what was typed

std::string named_volume(const Program& program) {
  if (!program.volume.empty()) return program.volume;
  const char* named = std::getenv("STATIONER_VOLUME");
  return named == nullptr ? "" : named;
}

}  // namespace

CLI::Validator one_of(std::vector<std::string> choices) {
  const auto check = [choices = std::move(choices)](std::string& value) -> std::string {
    for (const std::string& choice : choices) {
      if (fs::ascii_lower(value) != choice) continue;
      value = choice;
      return "";
    }
    return fmt::format("has to be one of {}; \"{}\" is not.", fmt::join(choices, ", "),
                       fs::clip(value, longest_shown));
  };
  return {check, ""};
}

CLI::Validator whole_number(std::uint64_t least, std::uint64_t most) {
  const auto check = [least, most](std::string& value) -> std::string {
    std::uint64_t number = 0;
    const char* end = value.data() + value.size();
    const auto read = std::from_chars(value.data(), end, number);
    const bool fits = read.ec == std::errc() && read.ptr == end;
    if (fits && number >= least && number <= most) return "";
    return fmt::format("has to be a whole number from {} to {}; \"{}\" is not.", least, most,
                       fs::clip(value, longest_shown));
  };
  return {check, ""};
}

CLI::Validator not_empty() {
  const auto check = [](std::string& value) -> std::string {
    return value.empty() ? "can't be empty." : "";
  };
  return {check, ""};
}

CLI::App& add_group(CLI::App& parent, const std::string& name, const std::string& what) {
  CLI::App& group = *parent.add_subcommand(name, what);
  group.require_subcommand(1);
  group.footer(fmt::format("More of each:\n  {} COMMAND --help", path_of(group)));
  return group;
}

CLI::App& add_command(CLI::App& parent, const std::string& name, const std::string& what,
                      const std::string& example) {
  CLI::App& command = *parent.add_subcommand(name, what);
  command.footer("Example:\n  " + example);
  return command;
}

void add_volume_option(CLI::App& command, Program& program) {
  command
      .add_option("--volume", program.volume,
                  "The volume to work on; without it, the one that STATIONER_VOLUME names")
      ->check(not_empty())
      ->type_name("DIRECTORY");
}

void add_json_option(CLI::App& command, bool& json) {
  command.add_flag("--json", json, "Say it as JSON, in one line, for other programs");
}

bool names_volume(const Program& program) {
  return !named_volume(program).empty();
}

std::string volume_directory(const Program& program) {
  if (std::string named = named_volume(program); !named.empty()) return named;
  if (std::string installed = installed_volume(); !installed.empty()) return installed;
  throw WrongUsage(
      "No volume is named. Add --volume DIRECTORY, or set STATIONER_VOLUME to the directory.");
}

fs::Result<std::unique_ptr<Channel>> open_channel(const Program& program, bool accept_loss) {
  return Channel::open(volume_directory(program), accept_loss);
}

void run(CLI::App& command, Program& program, std::function<fs::Status()> act) {
  command.final_callback([&program, act = std::move(act)] { program.chosen = act; });
}

void run(CLI::App& command, Program& program, std::function<fs::Status(Channel&)> act) {
  add_volume_option(command, program);
  run(command, program, [&program, act = std::move(act)]() -> fs::Status {
    auto channel = open_channel(program);
    if (!channel) return channel.error();
    return act(**channel);
  });
}

std::string about(std::string_view item, const std::string& why) {
  if (why.find(item) != std::string::npos) return why;
  return fmt::format("{}: {}", fs::clip(item, longest_shown), why);
}

void add_password_options(CLI::App& command, PasswordOptions& options) {
  auto* ask = command.add_flag("--ask-password", options.ask,
                               "Ask for the password, twice, without showing it");
  command
      .add_flag("--password-stdin", options.standard_input,
                "Take the password from the first line of standard input")
      ->excludes(ask);
}

fs::Result<std::string> new_password(const PasswordOptions& options, std::string_view whose) {
  if (options.standard_input) return read_input_line(fs::longest_password);
  for (int tries = 0; tries < most_tries; ++tries) {
    auto first = ask_hidden(fmt::format("Password for {}: ", whose));
    if (!first) return first;
    if (auto fine = fs::check_new_password(*first, whose); !fine) {
      show_on_error(fine.error().message + "\n");
      continue;
    }
    auto second = ask_hidden("The same again: ");
    if (!second) return second;
    const bool same = *first == *second;
    fs::wipe(*second);
    if (same) return first;
    fs::wipe(*first);
    show_on_error("Those were not the same.\n");
  }
  return Error{Code::bad_input,
               "No password was set: three tries are enough. Nothing was changed."};
}

}  // namespace stationer::admin
