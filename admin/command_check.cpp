// stationer check
#include <chrono>
#include <memory>
#include <thread>

#include <fmt/format.h>

#include "admin/command.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

constexpr std::chrono::milliseconds first_pause{10};
constexpr std::chrono::milliseconds longest_pause{500};

// Follows the check until it is over.
fs::Result<Channel::Listing> follow(Channel& channel) {
  if (auto started = channel.call("check.start"); !started) return started.error();
  Progress progress("Checking");
  for (auto pause = first_pause;; pause = std::min(2 * pause, longest_pause)) {
    auto state = channel.call("check.show");
    if (!state) return state.error();
    if (is_set(*state, "over")) return channel.list("check.show");
    progress.at(number_of(*state, "done"), number_of(*state, "all"));
    std::this_thread::sleep_for(pause);
  }
}

}  // namespace

void add_check_command(CLI::App& app, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command = add_command(
      app, "check",
      "Compare everything that is saved with what should be there, and change nothing. The exit "
      "status is 1 if anything is wrong",
      "stationer check");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) -> fs::Status {
    auto report = follow(channel);
    if (!report) return report.error();
    if (*as_json) {
      json::object whole = std::move(report->first);
      const std::size_t found = report->items.size();
      whole["findings"] = std::move(report->items);
      for (const char* key : {"items", "next", "over"}) whole.erase(key);
      say_json(whole);
      if (found == 0) return {};
      return fs::Error{fs::Code::damaged, "The check found something wrong."};
    }
    for (const auto& finding : report->items) {
      const json::object& each = finding.as_object();
      say(fmt::format("{}: {}", text_of(each, "path"), text_of(each, "sentence")));
    }
    const std::string compared = fmt::format(
        "{} and {} compared, {} read", server::counted(number_of(report->first, "files"), "file"),
        server::counted(number_of(report->first, "folders"), "folder"),
        size_of(report->first, "bytes"));
    if (report->items.empty()) {
      say(fmt::format("{}: nothing is wrong.", compared));
      return {};
    }
    return fs::Error{fs::Code::damaged,
                     fmt::format("{}: {} wrong.", compared,
                                 server::counted(report->items.size(), "thing is", "things are"))};
  });
}

}  // namespace stationer::admin
