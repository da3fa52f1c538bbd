// stationer adopt
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/follow.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

struct Options {
  bool as_json = false;
  bool accept_loss = false;
};

fs::Status outcome(const json::object& report) {
  const auto vanished = number_of(report, "vanished");
  if (vanished == 0) return {};
  return fs::Error{
      fs::Code::damaged,
      fmt::format(
          "{} gone from files/ at once, so nothing was taken away in the tree: see that the "
          "disk is mounted. If it is meant to be gone, run: stationer adopt --accept-loss",
          server::counted(vanished, "thing is", "things are"))};
}

}  // namespace

void add_adopt_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "adopt",
      "Compare files/ on the host with the tree, and take over what you put in, changed, moved or "
      "removed there. The service does so by itself, soon after",
      "stationer adopt");
  command.add_flag("--accept-loss", options->accept_loss,
                   "Take away in the tree what is gone on the host, even if it is most of all; see "
                   "first that the disk is mounted");
  add_json_option(command, options->as_json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    json::object params;
    if (options->accept_loss) params["accept_loss"] = true;
    auto report =
        follow(channel, "adopt", std::move(params),
               options->accept_loss ? "Adoption is under way. Try again once it is over." : "");
    if (!report) return report.error();
    json::object& whole = report->first;
    if (options->as_json) {
      json::object shown = whole;
      shown["items"] = std::move(report->items);
      for (const char* key : {"next", "over"}) shown.erase(key);
      say_json(shown);
      return outcome(whole);
    }
    for (const auto& item : report->items) {
      const json::object& each = item.as_object();
      say(fmt::format("{}: {}. {}", text_of(each, "path"), text_of(each, "what"),
                      text_of(each, "sentence")));
    }
    say(fmt::format("{} compared: {} taken in, {} changed, {} moved, {} gone, {} left alone.",
                    server::counted(number_of(whole, "folders"), "folder"),
                    number_of(whole, "taken_in"), number_of(whole, "changed"),
                    number_of(whole, "moved"), number_of(whole, "gone"),
                    number_of(whole, "left_alone")));
    if (is_set(whole, "waiting")) {
      say("Something is still being written; it is taken in once it is whole.");
    }
    return outcome(whole);
  });
}

}  // namespace stationer::admin
