// stationer file …
#include <charconv>
#include <iostream>
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

constexpr const char* its_path = "Its path in the volume";
constexpr const char* their_paths = "Their paths in the volume";

// Kind and addresses, for those commands that say them.
struct Details {
  CLI::Option* kind = nullptr;
  CLI::Option* load_address = nullptr;
  CLI::Option* entry_point = nullptr;
  std::string kind_text;
  std::string load_text;
  std::string entry_text;

  void add_options(CLI::App& command) {
    kind = command.add_option("--kind", kind_text, "What it is")
               ->check(one_of({"data", "text", "program"}))
               ->type_name("data|text|program");
    load_address =
        command.add_option("--load", load_text, "Where a program is loaded, in hexadecimal")
            ->type_name("ADDRESS");
    entry_point =
        command.add_option("--entry", entry_text, "Where a program is started, in hexadecimal")
            ->type_name("ADDRESS");
  }

  void put(json::object& params) const {
    if (kind->count() > 0) params["kind"] = kind_text;
    if (load_address->count() > 0) params["load_address"] = address(load_text);
    if (entry_point->count() > 0) params["entry_point"] = address(entry_text);
  }

  static std::uint32_t address(std::string_view text) {
    if (text.starts_with("0x") || text.starts_with("0X")) text.remove_prefix(2);
    std::uint32_t value = 0;
    const char* end = text.data() + text.size();
    const auto read = std::from_chars(text.data(), end, value, 16);
    if (read.ec != std::errc() || read.ptr != end) {
      throw WrongUsage(fmt::format(
          "\"{}\" is not an address: write up to eight hexadecimal digits, as in 1900.", text));
    }
    return value;
  }
};

void add_list(CLI::App& group, Program& program) {
  struct Options {
    std::string path = "/";
    std::string as;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "list", "List what is in a folder",
                                  "stationer file list /members/robin\n  stationer file list "
                                  "/programs --as robin");
  add_argument(command, "PATH", options->path, "The folder; the top one if none is named")
      ->required(false);
  auto* as = command
                 .add_option("--as", options->as,
                             "What this account would see, and what it may do; guest for who has "
                             "not signed in")
                 ->check(not_empty())
                 ->type_name("NAME");
  add_json_option(command, options->json);
  run(command, program, [options, as](Channel& channel) {
    json::object params{{"path", options->path}};
    std::vector<Column> columns{text_column("Access", "access"),
                                text_column("Owner", "owner"),
                                text_column("Class", "class"),
                                text_column("Kind", "kind"),
                                {"Size",
                                 [](const json::object& each) {
                                   return text_of(each, "kind") == "folder" ? ""
                                                                            : size_of(each, "size");
                                 },
                                 true},
                                time_column("Changed", "modified"),
                                text_column("Name", "name")};
    std::string none = "This folder is empty.";
    if (as->count() > 0) {
      const bool guest = options->as == "guest";
      params["as"] = guest ? "" : options->as;
      columns.insert(columns.end() - 2, text_column(guest ? "A guest" : "They", "may"));
      none = fmt::format("There is nothing in this folder that {} could see.",
                         guest ? "a guest" : options->as);
    }
    return say_listing(channel, "file.list", std::move(params), options->json, columns, none);
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "show", "Show all about one file or folder",
                                  "stationer file show /programs/maze.bas");
  add_argument(command, "PATH", options->path, its_path);
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    auto file = channel.call("file.show", {{"path", options->path}});
    if (!file) return file.error();
    if (options->json) {
      say_json(*file);
      return {};
    }
    const bool folder = text_of(*file, "kind") == "folder";
    say_facts({{"path", text_of(*file, "path")},
               {"short name", text_of(*file, "alias")},
               {"kind", text_of(*file, "kind")},
               {"size", folder ? "" : server::exact_size(number_of(*file, "size"))},
               {"owner", text_of(*file, "owner")},
               {"class", text_of(*file, "class")},
               {"access", text_of(*file, "access")},
               {"loads at", address_of(*file, "load_address")},
               {"starts at", address_of(*file, "entry_point")},
               {"made", time_of(*file, "created")},
               {"changed", time_of(*file, "modified")}});
    return {};
  });
}

void add_get(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    std::string local;
    std::uint64_t version = 0;
    bool replace = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "get", "Fetch a file out of the volume",
                                  "stationer file get /members/robin/letter.txt letter.txt");
  add_argument(command, "PATH", options->path, its_path);
  add_argument(command, "FILE", options->local,
               "Where it goes: a file name, a folder, or - for standard output. Without it, a "
               "file of its own name here")
      ->required(false);
  command.add_flag("--replace", options->replace, "Replace a local file that is there");
  auto* version = command
                      .add_option("--version", options->version,
                                  "What it was before, by a number of stationer file versions")
                      ->type_name("NUMBER");
  run(command, program, [options, version](Channel& channel) {
    json::object params{{"path", options->path}};
    if (version->count() > 0) params["version"] = options->version;
    return fetch(channel, "file.open", std::move(params), options->local, options->replace);
  });
}

void add_put(CLI::App& group, Program& program) {
  struct Options {
    std::string local;
    std::string path;
    bool replace = false;
    Details details;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "put", "Save a file into the volume",
                                  "stationer file put maze.bas /programs/maze.bas --kind program");
  add_argument(command, "FILE", options->local, "The file to save, or - for standard input");
  add_argument(command, "PATH", options->path,
               "Its path in the volume, or a folder where it keeps its name");
  command.add_flag("--replace", options->replace,
                   "Replace a file that is there; it keeps its owner and its access");
  options->details.add_options(command);
  run(command, program, [options](Channel& channel) {
    json::object params{{"path", options->path}, {"replace", options->replace}};
    if (options->local != "-") params["name"] = last_part(options->local);
    options->details.put(params);
    return send(channel, options->local, std::move(params));
  });
}

// Moving and copying.
void add_from_to(CLI::App& group, Program& program, const char* name, const char* what,
                 const char* method, const char* example) {
  struct Options {
    std::string from;
    std::string to;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, name, what, example);
  add_argument(command, "FROM", options->from, "Where it is");
  add_argument(command, "TO", options->to, "The new path, or a folder where it keeps its name");
  run(command, program, [options, method](Channel& channel) {
    return status_of(channel.call(method, {{"from", options->from}, {"to", options->to}}));
  });
}

void add_access(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    std::string changes;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, "access",
                                  "Change who may read and write. The owner (o), the class (c) and "
                                  "everyone (e) each have r and "
                                  "w; k is the keep bit, which protects from changes and removal",
                                  "stationer file access /programs/maze.bas ce+r,a+k");
  add_argument(command, "PATH", options->path, its_path);
  add_argument(command, "CHANGES", options->changes,
               "What changes: letters out of oce, or a for all of them, then +, - or =, then "
               "letters out of rwk; several with commas between");
  run(command, program, [options](Channel& channel) -> fs::Status {
    auto set =
        channel.call("file.access", {{"path", options->path}, {"changes", options->changes}});
    if (!set) return set.error();
    say(text_of(*set, "access"));
    return {};
  });
}

void add_details(CLI::App& group, Program& program) {
  struct Options {
    std::string path;
    bool no_addresses = false;
    Details details;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "details", "Change a file's kind and addresses",
                  "stationer file details /programs/maze --kind program --load 1900");
  add_argument(command, "PATH", options->path, its_path);
  options->details.add_options(command);
  auto* none = command.add_flag("--no-addresses", options->no_addresses,
                                "Take away where it is loaded and started");
  none->excludes(options->details.load_address)->excludes(options->details.entry_point);
  run(command, program, [options](Channel& channel) {
    json::object params{{"path", options->path}, {"no_addresses", options->no_addresses}};
    options->details.put(params);
    if (params.size() == 2 && !options->no_addresses) {
      throw WrongUsage("Say what is to change: --kind, --load, --entry, --no-addresses.");
    }
    return status_of(channel.call("file.details", std::move(params)));
  });
}

// Giving a file to an account or a class.
void add_giving(CLI::App& group, Program& program, const char* name, const char* what,
                const char* to_what, const char* type, const char* example) {
  struct Options {
    std::string path;
    std::string to;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, name, what, example);
  add_argument(command, "PATH", options->path, its_path);
  add_argument(command, type, options->to, to_what);
  const std::string method = fmt::format("file.{}", name);
  const std::string key = command.get_name() == "owner" ? "account" : "class";
  run(command, program, [options, method, key](Channel& channel) {
    return status_of(channel.call(method, {{"path", options->path}, {key, options->to}}));
  });
}

}  // namespace

void add_file_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "file", "The files and folders that the stations see");
  add_list(group, program);
  add_show(group, program);
  add_get(group, program);
  add_put(group, program);
  add_for_each<std::string>(group, program,
                            {"folder", "Make folders", "stationer file folder /programs/games",
                             "PATH", their_paths, "file.folder", "path"});
  add_from_to(group, program, "move", "Rename or move a file or folder", "file.move",
              "stationer file move /public/maze.bas /programs");
  add_from_to(group, program, "copy", "Copy a file", "file.copy",
              "stationer file copy /programs/maze.bas /members/robin/maze.bas");
  add_for_each<std::string>(
      group, program,
      {"remove", "Remove files and folders; they go to the bin, with all that is in them",
       "stationer file remove /public/old", "PATH", their_paths, "file.remove", "path"});
  add_access(group, program);
  add_details(group, program);
  add_giving(group, program, "owner", "Give a file or folder to another account",
             "The account; \"\" for nobody", "NAME",
             "stationer file owner /programs/maze.bas robin");
  add_giving(group, program, "class", "Give a file or folder to a class",
             "The class; \"\" for none", "CLASS", "stationer file class /programs/games evening");
  add_history_commands(group, program);
}

}  // namespace stationer::admin
