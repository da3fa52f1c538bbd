// stationer file versions, revert, bin and restore: what was before.
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "admin/report.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

constexpr const char* its_path = "Its path in the volume";

void add_versions(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "versions", "List what a file was before it was replaced",
                                  "stationer file versions /members/robin/letter.txt");
  add_argument(command, "PATH", options->path, its_path);
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    return say_listing(channel, "file.versions", {{"path", options->path}}, options->json,
                       {number_column("Number", "number"), time_column("Saved", "saved"),
                        time_column("Replaced", "replaced"), text_column("By", "replaced_by"),
                        text_column("Kind", "kind"), size_column("Size", "size")},
                       "It has never been replaced, or it was too long ago.");
  });
}

void add_revert(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    std::uint64_t version = 0;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "revert",
                                  "Make a file again what it was; what it is now becomes a version",
                                  "stationer file revert /members/robin/letter.txt 57");
  add_argument(command, "PATH", options->path, its_path);
  add_argument(command, "NUMBER", options->version, "A number that stationer file versions shows");
  run(command, program, [options](Channel& channel) {
    return status_of(
        channel.call("file.revert", {{"path", options->path}, {"version", options->version}}));
  });
}

fs::Status empty_bin(const Program& program, bool yes) {
  if (!yes) {
    if (!is_terminal(Standard::input)) {
      throw WrongUsage("Emptying the bin can't be taken back. Add --yes to say that it is meant.");
    }
    auto answer = ask("Take everything in the bin away for good? Type yes: ");
    if (!answer) return answer.error();
    if (*answer != "yes") return fs::Error{fs::Code::denied, "The bin was left as it is."};
  }
  auto channel = open_channel(program);
  if (!channel) return channel.error();
  auto emptied = (*channel)->call("bin.empty");
  if (!emptied) return emptied.error();
  if (const auto left = number_of(*emptied, "left"); left > 0) {
    say(fmt::format(
        "What has the keep bit stays in the bin, {}: restore it, and clear the bit first.",
        server::counted(left, "thing")));
  }
  return {};
}

void add_bin(CLI::App& group, Program& program) {
  struct Options {
    bool empty = false;
    bool yes = false;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "bin", "List what was removed, or take it away for good",
                                  "stationer file bin\n  stationer file bin --empty");
  auto* empty =
      command.add_flag("--empty", options->empty,
                       "Take everything in it away for good, but for what has the keep bit");
  command.add_flag("--yes", options->yes, "Do not ask whether that is meant")->needs(empty);
  add_json_option(command, options->json);
  add_volume_option(command, program);
  run(command, program, [options, &program]() -> fs::Status {
    if (options->empty) return empty_bin(program, options->yes);
    auto channel = open_channel(program);
    if (!channel) return channel.error();
    return say_listing(**channel, "bin.list", {}, options->json,
                       {number_column("Number", "number"), time_column("Removed", "removed"),
                        text_column("Owner", "owner"), text_column("Kind", "kind"),
                        size_column("Size", "size"), text_column("It was", "path")},
                       "The bin is empty.");
  });
}

}  // namespace

void add_history_commands(CLI::App& file, Program& program) {
  add_versions(file, program);
  add_revert(file, program);
  add_bin(file, program);
  add_for_each<std::uint32_t>(
      file, program,
      {"restore", "Put what was removed back where it was, by its number in the bin",
       "stationer file restore 57", "NUMBER", "The numbers that stationer file bin shows",
       "bin.restore", "number"});
}

}  // namespace stationer::admin
