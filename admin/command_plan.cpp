// stationer plan …
#include <iostream>
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "admin/plan/plan.h"
#include "admin/plan/plan_file.h"
#include "admin/report.h"

namespace stationer::admin {
namespace {

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
  add_example(group, program);
}

}  // namespace stationer::admin
