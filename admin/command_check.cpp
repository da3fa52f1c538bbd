// stationer check
#include <algorithm>
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
  bool repair = false;
  bool accept_loss = false;
};

fs::Result<Channel::Listing> follow_check(Channel& channel, const Options& options) {
  json::object params;
  if (options.repair) params["repair"] = true;
  if (options.accept_loss) params["accept_loss"] = true;
  Progress progress(options.repair ? "Repairing" : "Checking");
  return follow(channel, "check", std::move(params),
                options.repair ? "A check is under way. Repair once it is over." : "",
                [&progress](const json::object& state) {
                  progress.at(number_of(state, "done"), number_of(state, "all"));
                });
}

}  // namespace

void add_check_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "check",
      "Compare everything that is saved with what should be there, and change nothing unless asked "
      "to. The exit status is 1 if anything is wrong and was not mended",
      "stationer check --repair");
  CLI::Option* repair = command.add_flag(
      "--repair", options->repair,
      "Mend what is wrong, without ever deleting contents; each mend is in the journal");
  command
      .add_flag(
          "--accept-loss", options->accept_loss,
          "Repair even if most of the volume is missing, or some of what was saved last can't be "
          "read any more; see first that its disk is mounted")
      ->needs(repair);
  add_json_option(command, options->as_json);
  add_volume_option(command, program);
  run(command, program, [options, &program]() -> fs::Status {
    auto channel = open_channel(program, options->accept_loss);
    if (!channel) return channel.error();
    auto report = follow_check(**channel, *options);
    if (!report) return report.error();
    const std::uint64_t mended = number_of(report->first, "repaired");
    const std::uint64_t wrong =
        report->items.size() - std::min<std::uint64_t>(mended, report->items.size());
    if (options->as_json) {
      json::object whole = std::move(report->first);
      whole["findings"] = std::move(report->items);
      for (const char* key : {"items", "next", "over"}) whole.erase(key);
      say_json(whole);
      if (wrong == 0) return {};
      return fs::Error{fs::Code::damaged, "The check found something wrong."};
    }
    for (const auto& finding : report->items) {
      const json::object& each = finding.as_object();
      say(fmt::format("{}: {}", text_of(each, "path"), text_of(each, "sentence")));
      if (const std::string remedy = text_of(each, "remedy"); !remedy.empty()) {
        say(fmt::format("  {}: {}.",
                        is_set(each, "repaired")                         ? "repaired"
                        : is_set(each, "repairable") && !options->repair ? "repair would do this"
                                                                         : "repair",
                        remedy));
      }
    }
    if (const auto lost = number_of(report->first, "lost"); lost > 0) {
      say(fmt::format("{} marked as lost by an earlier repair.",
                      server::counted(lost, "file is", "files are")));
    }
    const std::string compared = fmt::format(
        "{} and {} compared, {} read", server::counted(number_of(report->first, "files"), "file"),
        server::counted(number_of(report->first, "folders"), "folder"),
        size_of(report->first, "bytes"));
    if (wrong == 0) {
      say(mended == 0 ? fmt::format("{}: nothing is wrong.", compared)
                      : fmt::format("{}: {} repaired, nothing else is wrong.", compared,
                                    server::counted(mended, "thing was", "things were")));
      return {};
    }
    return fs::Error{
        fs::Code::damaged,
        fmt::format("{}: {} wrong.", compared, server::counted(wrong, "thing is", "things are"))};
  });
}

}  // namespace stationer::admin
