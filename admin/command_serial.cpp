// stationer line …
#include <memory>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "admin/report.h"

namespace stationer::admin {
namespace {

void add_test(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "test",
      "Send every byte over a serial line, to a loop plug or a program that sends back what comes, "
      "and say what is wrong with it. Takes half a minute, more below 1,200 bit/s",
      "stationer line test bench");
  add_argument(command, "NAME", options->name, "The line's name: bench for [serial.bench]");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    const auto answer = channel.call("line.test", {{"name", options->name}});
    if (!answer) return answer.error();
    if (options->json) {
      say_json(*answer);
      return {};
    }
    const auto* findings = answer->if_contains("findings");
    if (findings != nullptr && findings->is_array()) {
      for (const auto& each : findings->as_array()) {
        fmt::print("{}\n", std::string_view(each.as_string()));
      }
    }
    if (is_set(*answer, "well")) return {};
    return fs::Error{fs::Code::io, "The line does not carry all that it is given."};
  });
}

}  // namespace

void add_line_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "line", "Serial lines");
  add_test(group, program);
}

}  // namespace stationer::admin
