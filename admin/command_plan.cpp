// stationer plan …
#include <algorithm>
#include <iostream>
#include <memory>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "admin/plan/comparison.h"
#include "admin/plan/drawing.h"
#include "admin/plan/plan.h"
#include "admin/plan/plan_file.h"
#include "admin/report.h"
#include "fs/station.h"
#include "print/paper.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

constexpr std::size_t largest_file = std::size_t{16} << 20;
constexpr std::size_t piece = 65'536;

// The whole of a keeper's own file.
fs::Result<std::string> read_whole(const std::string& path) {
  auto input = Input::open(path);
  if (!input) return input.error();
  std::string text;
  for (;;) {
    const std::size_t before = text.size();
    text.resize(before + piece);
    auto got = input->read(std::span(text).subspan(before));
    if (!got) return got.error();
    text.resize(before + *got);
    if (*got == 0) return text;
    if (text.size() > largest_file) {
      return fs::Error{fs::Code::bad_input,
                       fmt::format("\"{}\" is larger than any plan: is it one?", path)};
    }
  }
}

fs::Result<Plan> read_plan_file(const std::string& path,
                                const std::function<void(RoomPlan&)>& change = nullptr) {
  auto text = read_whole(path);
  if (!text) return text.error();
  auto room = read_plan(*text, path == "-" ? "standard input" : last_part(path));
  if (!room) return room.error();
  if (change) change(*room);
  return Plan(std::move(*room));
}

void add_file(CLI::App& command, std::string& file) {
  add_argument(command, "FILE", file,
               "The plan: a file of the form that plan example shows, or - for standard input");
}

// What a program is to be, and the line, if it is not as the plan says.
struct LineOptions {
  std::uint64_t program = 0;
  std::uint64_t rate = 0;

  static void add(CLI::App& command, LineOptions& options) {
    command
        .add_option("--program", options.program,
                    "How long the program is of which the time to load is told, in bytes; else as "
                    "the plan says")
        ->check(whole_number(1, std::uint64_t{1} << 30))
        ->type_name("BYTES");
    command
        .add_option("--rate", options.rate, "How fast the bus is, in bit/s; else as the plan says")
        ->check(whole_number(1, 1'000'000'000))
        ->type_name("NUMBER");
  }
  void apply(LineRule& line) const {
    if (program > 0) line.program_bytes = program;
    if (rate > 0) line.rate = rate;
  }
};

fs::Status judge(const Plan& plan) {
  if (plan.broken() == 0) return {};
  return fs::Error{
      fs::Code::bad_input,
      fmt::format("The room can't be built as it is planned, for {}; see above.",
                  plan.broken() == 1 ? "1 reason" : fmt::format("{} reasons", plan.broken()))};
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    LineOptions line;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "show",
      "Tell what a planned room takes: parts, cables and mains, the limits and what breaks them, "
      "and how long every machine waits for a program",
      "stationer plan show mill.toml\n"
      "  stationer plan show mill.toml --program 32768 --rate 9600");
  add_file(command, options->file);
  LineOptions::add(command, options->line);
  add_json_option(command, options->json);
  run(command, program, [options]() -> fs::Status {
    const auto plan =
        read_plan_file(options->file, [&](RoomPlan& room) { options->line.apply(room.line); });
    if (!plan) return plan.error();
    if (options->json) {
      say_json(plan_json(*plan));
    } else {
      std::cout << plan_text(*plan, terminal_columns());
    }
    return judge(*plan);
  });
}

void add_draw(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    std::string output;
    std::string paper = "a4";
    bool replace = false;
    LineOptions line;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "draw", "Draw a planned room as a PDF, with its parts, limits and cautions",
      "stationer plan draw mill.toml mill.pdf");
  add_file(command, options->file);
  add_argument(command, "OUTPUT", options->output, "The PDF: a file, or - for standard output");
  command.add_option("--paper", options->paper, "The paper, which lies on its long edge")
      ->capture_default_str()
      ->type_name("NAME");
  command.add_flag("--replace", options->replace, "Replace a file of that name");
  LineOptions::add(command, options->line);
  run(command, program, [options]() -> fs::Status {
    const auto plan =
        read_plan_file(options->file, [&](RoomPlan& room) { options->line.apply(room.line); });
    if (!plan) return plan.error();
    const auto paper = print::find_paper(options->paper);
    if (!paper) return paper.error();
    const auto fonts = print::Fonts::load();
    if (!fonts) return fonts.error();
    auto output = Output::create(options->output, options->replace);
    if (!output) return output.error();
    print::Metadata about;
    about.title = plan->room.name.empty() ? "Room plan" : "Room plan of " + plan->room.name;
    auto drawn = draw_plan(*plan, *fonts, *paper, about,
                           [&](std::string_view bytes) { return output->write(bytes); });
    if (!drawn) return drawn;
    if (auto finished = output->finish(); !finished) return finished;
    return judge(*plan);
  });
}

fs::Result<std::vector<RegisteredStation>> registered_stations(Channel& channel) {
  const auto listing = channel.list("station.list");
  if (!listing) return listing.error();
  std::vector<RegisteredStation> out;
  for (const auto& item : listing->items) {
    const auto& each = item.as_object();
    out.push_back({static_cast<std::uint32_t>(number_of(each, "segment")),
                   static_cast<std::uint32_t>(number_of(each, "number")), text_of(each, "name"),
                   text_of(each, "profile"), text_of(each, "address"), text_of(each, "hardware"),
                   text_of(each, "line")});
  }
  return out;
}

void add_compare(CLI::App& group, Program& program) {
  struct Options {
    std::string file;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "compare", "Say how the stations that are registered differ from a plan",
                  "stationer plan compare mill.toml");
  add_file(command, options->file);
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    const auto plan = read_plan_file(options->file);
    if (!plan) return plan.error();
    const auto registered = registered_stations(channel);
    if (!registered) return registered.error();
    json::array items;
    for (const Difference& each : compare(plan->room, *registered)) {
      items.push_back(json::object{{"what", kind_name(each.kind)},
                                   {"station", fs::station_number(each.segment, each.number)},
                                   {"name", each.name},
                                   {"sentence", each.sentence}});
    }
    if (options->json) {
      say_json(items);
    } else if (items.empty()) {
      say("The stations that are registered are as they are planned.");
    } else {
      say_table({text_column("Station", "station"), text_column("Name", "name"),
                 text_column("Is", "what"), text_column("How", "sentence")},
                items);
    }
    return {};
  });
}

void add_register(CLI::App& group, Program& program) {
  const auto file = std::make_shared<std::string>();
  CLI::App& command = add_command(
      group, "register",
      "Register the stations of a plan that have a name and are not registered yet. Those that are "
      "stay as they are",
      "stationer plan register mill.toml");
  add_file(command, *file);
  run(command, program, [file](Channel& channel) -> fs::Status {
    const auto plan = read_plan_file(*file);
    if (!plan) return plan.error();
    const auto registered = registered_stations(channel);
    if (!registered) return registered.error();
    std::size_t done = 0;
    std::size_t failed = 0;
    for (const Difference& each : compare(plan->room, *registered)) {
      if (each.kind != Difference::Kind::missing) continue;
      const auto segment =
          std::find_if(plan->room.segments.begin(), plan->room.segments.end(),
                       [&](const auto& planned) { return planned.number == each.segment; });
      const PlannedStation& station = segment->stations[each.station];
      json::object params{
          {"segment", each.segment}, {"number", station.number}, {"name", station.name}};
      for (const auto& [key, value] : {std::pair("profile", &station.profile),
                                       {"address", &station.address},
                                       {"hardware", &station.hardware},
                                       {"line", &station.line},
                                       {"note", &station.note}}) {
        if (!value->empty()) params[key] = *value;
      }
      const auto added = channel.call("station.add", std::move(params));
      ++(added ? done : failed);
      if (!added) complain(about(station.name, added.error().message));
    }
    say(done == 0 ? "No station was registered."
                  : fmt::format("{} registered.", server::counted(done, "station")));
    if (failed == 0) return {};
    return fs::Error{fs::Code::bad_input, fmt::format("{} could not be registered; see above.",
                                                      server::counted(failed, "station"))};
  });
}

void add_example(CLI::App& group, Program& program) {
  CLI::App& command =
      add_command(group, "example", "Show a plan's file, with a remark beside each setting",
                  "stationer plan example > mill.toml");
  run(command, program, []() -> fs::Status {
    std::cout << example_plan();
    return {};
  });
}

}  // namespace

void add_plan_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "plan", "The room before it is built: what it takes");
  add_show(group, program);
  add_draw(group, program);
  add_compare(group, program);
  add_register(group, program);
  add_example(group, program);
}

}  // namespace stationer::admin
