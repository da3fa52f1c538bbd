// stationer snapshot
#include <chrono>
#include <memory>
#include <thread>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "fs/snapshot_restore.h"
#include "fs/snapshots.h"
#include "server/control/views.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using server::counted;

constexpr std::chrono::milliseconds first_pause{10};
constexpr std::chrono::milliseconds longest_pause{500};

fs::Result<json::object> follow(Channel& channel, std::string what) {
  Progress progress(std::move(what));
  for (auto pause = first_pause;; pause = std::min(2 * pause, longest_pause)) {
    auto state = channel.call("snapshot.progress");
    if (!state || is_set(*state, "over")) return state;
    progress.at(number_of(*state, "done"), number_of(*state, "all"));
    std::this_thread::sleep_for(pause);
  }
}

void complain_of_each(const json::object& answer, std::string_view key) {
  const json::value* all = answer.if_contains(key);
  if (all == nullptr || !all->is_array()) return;
  for (const auto& each : all->as_array()) {
    if (const json::string* sentence = each.if_string()) complain(printable(*sentence));
  }
}

void add_take(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    bool as_json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "take",
      "Put the whole volume into one file, as it is at one moment, while everybody works on",
      "stationer snapshot take\n  stationer snapshot take /mnt/second/before-the-summer.tar.zst");
  command
      .add_option("FILE", options->file,
                  "The file, which must not be there yet, or a folder; without it, where the "
                  "settings say, under a name of its own")
      ->type_name("");
  add_json_option(command, options->as_json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    json::object params;
    if (!options->file.empty()) params["file"] = whole_path(options->file);
    auto started = channel.call("snapshot.take", std::move(params));
    if (!started) return started.error();
    auto taken = follow(channel, "Taking a snapshot");
    if (!taken) return taken.error();
    if (options->as_json) {
      taken->erase("over");
      say_json(*taken);
    } else {
      complain_of_each(*taken, "losses");
      say(fmt::format("{}: {}, {} in {}", text_of(*taken, "file"),
                      counted(number_of(*taken, "files"), "file"), size_of(*taken, "bytes"),
                      size_of(*taken, "size")));
    }
    const std::uint64_t lost = number_of(*taken, "lost");
    if (lost == 0) return {};
    return fs::Error{fs::Code::damaged,
                     fmt::format("The snapshot is there, but {} not in it as saved, because the "
                                 "host has lost or changed {}. Run: stationer check",
                                 counted(lost, "file is", "files are"), lost == 1 ? "it" : "them")};
  });
}

void add_list(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command = add_command(
      group, "list", "List the snapshots in the folder that the settings name, newest first",
      "stationer snapshot list");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(
        channel, "snapshot.list", {}, *as_json,
        {time_column("Taken", "taken"), size_column("Size", "size"), text_column("File", "file")},
        "There are no snapshots yet.");
  });
}

fs::Result<std::unique_ptr<fs::HostFile>> open_snapshot(const std::string& path) {
  auto place = fs::split_outside_path(path);
  if (!place) return place.error();
  auto folder = fs::open_host_folder(place->folder);
  if (!folder) return folder.error();
  auto file = (*folder)->open(place->name);
  if (!file && file.error().code == fs::Code::not_found) {
    return fs::Error{fs::Code::not_found,
                     fmt::format("There is no snapshot \"{}\". Those of the volume, with the "
                                 "folders they are in, are told by: stationer snapshot list",
                                 path)};
  }
  return file;
}

fs::SnapshotProgress showing(Progress& progress) {
  return [&progress](std::uint64_t done, std::uint64_t all) {
    progress.at(done, all);
    return true;
  };
}

json::object as_json_object(const fs::SnapshotInfo& info) {
  return {{"volume", info.volume},
          {"taken", server::time_text(info.taken)},
          {"commit", info.commit},
          {"files", static_cast<std::int64_t>(info.files)},
          {"bytes", static_cast<std::int64_t>(info.bytes)},
          {"format", info.format}};
}

std::string in_words(const fs::SnapshotInfo& info) {
  const json::object shown = as_json_object(info);
  return fmt::format("{}, of {}: {}, {}", printable(info.volume), time_of(shown, "taken"),
                     counted(info.files, "file"), size_of(shown, "bytes"));
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    bool as_json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "show", "Say what a snapshot is of, and read it through whether it is whole",
      "stationer snapshot show tidewrack-mill-2026-11-25-020000.tar.zst");
  add_argument(command, "FILE", options->file, "The snapshot");
  add_json_option(command, options->as_json);
  run(command, program, std::function<fs::Status()>([options]() -> fs::Status {
        auto file = open_snapshot(options->file);
        if (!file) return file.error();
        auto info = fs::describe_snapshot(**file);
        if (!info) return info.error();
        {
          Progress progress("Reading");
          const fs::SnapshotUse ignore = [](const fs::ArchiveEntry&, fs::ArchiveReader&) {
            return fs::Status();
          };
          auto whole = fs::read_snapshot(**file, ignore, showing(progress));
          if (!whole) return whole.error();
        }
        if (options->as_json) {
          say_json(as_json_object(*info));
        } else {
          say(in_words(*info) + ". It is whole.");
        }
        return {};
      }));
}

void add_rehearse(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    std::string folder;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "rehearse",
      "Try whether a snapshot makes a volume again: restore it aside, compare everything, and take "
      "that away again",
      "stationer snapshot rehearse tidewrack-mill-2026-11-25-020000.tar.zst");
  add_argument(command, "FILE", options->file, "The snapshot");
  command
      .add_option("--in", options->folder,
                  "An empty folder to do it in, or one that is not there yet; without it, one "
                  "beside the snapshot")
      ->check(not_empty())
      ->type_name("FOLDER");
  run(command, program, std::function<fs::Status()>([options]() -> fs::Status {
        auto file = open_snapshot(options->file);
        if (!file) return file.error();
        const std::string folder =
            options->folder.empty() ? options->file + ".rehearsal" : options->folder;
        fs::Result<fs::Rehearsal> rehearsed = fs::Error{fs::Code::io, ""};
        {
          Progress progress("Rehearsing");
          rehearsed = fs::rehearse_snapshot(**file, folder, showing(progress));
        }
        if (!rehearsed) return rehearsed.error();
        const auto& findings = rehearsed->report.findings;
        for (const auto& finding : findings) {
          complain(printable(fmt::format("{}: {}", finding.path, finding.sentence)));
        }
        if (!findings.empty()) {
          return fs::Error{fs::Code::damaged,
                           fmt::format("It makes a volume, in which {} wrong.",
                                       counted(findings.size(), "thing is", "things are"))};
        }
        say(fmt::format("{}. It makes a volume in which nothing is wrong: {} compared.",
                        in_words(rehearsed->info), counted(rehearsed->report.files, "file")));
        return {};
      }));
}

void add_restore(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    std::string folder;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "restore",
                  "Make a volume of a snapshot. Run by root it makes it as the user that VOLUME "
                  "belongs to, or the folder above when VOLUME is not there yet",
                  "stationer snapshot restore tidewrack-mill-2026-11-25-020000.tar.zst /srv/mill");
  add_argument(command, "FILE", options->file, "The snapshot");
  add_argument(command, "VOLUME", options->folder,
               "The folder of the new volume: an empty one, or one that is not there yet");
  run(command, program, std::function<fs::Status()>([options]() -> fs::Status {
        auto file = open_snapshot(options->file);
        if (!file) return file.error();
        // The snapshot is open already: it may be one that only root can read.
        if (auto fine = work_as_owner(options->folder); !fine) return fine;
        fs::Result<fs::SnapshotInfo> restored = fs::Error{fs::Code::io, ""};
        {
          Progress progress("Restoring");
          restored = fs::restore_snapshot(**file, options->folder, showing(progress));
        }
        if (!restored) return restored.error();
        say(fmt::format("{}. Start it with: stationer serve --volume {}", in_words(*restored),
                        in_shell(options->folder)));
        return {};
      }));
}

// A line for each path in a list of the answer.
void say_each(const json::object& answer, std::string_view list, std::string_view what) {
  for (const auto& each : answer.at(list).as_array()) {
    if (const json::string* path = each.if_string()) say(std::string(what) + printable(*path));
  }
}

void add_return(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    std::string path;
    std::string account;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "return",
      "Bring work back out of a snapshot into the volume. Nothing is lost: what a file has by now "
      "is kept as a version of it, and where the place is another's by now, the old file goes "
      "beside it",
      "stationer snapshot return mill.tar.zst /members/robin/letter\n  stationer snapshot return "
      "mill.tar.zst --account robin");
  add_argument(command, "FILE", options->file, "The snapshot");
  command
      .add_option("PATH", options->path, "A file, or a folder with all that is in it, as it was")
      ->type_name("");
  command.add_option("--account", options->account, "Everything that this account owned")
      ->check(not_empty())
      ->type_name("NAME");
  run(command, program, [options](Channel& channel) -> fs::Status {
    if (options->path.empty() == options->account.empty()) {
      throw WrongUsage("Say what is to be brought back: a path, or --account.");
    }
    json::object params{{"file", whole_path(options->file)}};
    if (!options->path.empty()) params["path"] = options->path;
    if (!options->account.empty()) params["account"] = options->account;
    auto started = channel.call("snapshot.return", std::move(params));
    if (!started) return started.error();
    auto returned = follow(channel, "Bringing back");
    if (!returned) return returned.error();
    complain_of_each(*returned, "failures");
    say(fmt::format("{} brought back, {} there as before",
                    counted(number_of(*returned, "files"), "file"),
                    counted(number_of(*returned, "same"), "file is", "files are")));
    say_each(*returned, "replaced", "what was there is kept as a version: ");
    say_each(*returned, "beside", "beside another: ");
    const std::uint64_t failed = number_of(*returned, "failed");
    if (failed == 0) return {};
    return fs::Error{fs::Code::bad_input,
                     counted(failed, "file", "files") + " could not be brought back; see above."};
  });
}

}  // namespace

void add_snapshot_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "snapshot", "The whole volume in one file, and the way back");
  add_take(group, program);
  add_list(group, program);
  add_show(group, program);
  add_rehearse(group, program);
  add_restore(group, program);
  add_return(group, program);
}

}  // namespace stationer::admin
