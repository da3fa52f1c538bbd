// stationer report
#include <memory>

#include "admin/command.h"
#include "admin/evening_sheet.h"
#include "admin/host.h"
#include "admin/report.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

struct Options {
  std::string file;
  std::string since;
  std::string until;
  std::string paper = "a4";
  bool json = false;
  bool replace = false;
};

fs::Status make_sheet(const Options& options, const json::object& evening,
                      const json::object& status) {
  auto paper = print::find_paper(options.paper);
  if (!paper) return paper.error();
  auto fonts = print::Fonts::load();
  if (!fonts) return fonts.error();
  auto output = Output::create(options.file, options.replace, Output::For::user);
  if (!output) return output.error();
  auto made = make_evening_sheet(evening, status, *paper, *fonts,
                                 [&](std::string_view bytes) { return output->write(bytes); });
  if (!made) return made;
  return output->finish();
}

}  // namespace

void add_report_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "report",
      "An evening on one page, as a PDF: who was here, what was saved, printed and handed in, who "
      "was turned away, and what the box lacks",
      "stationer report evening.pdf --since \"2026-11-25 18:00\"");
  add_argument(command, "FILE", options->file, "The PDF, or - for standard output")
      ->required(false);
  command.add_option("--since", options->since, "From when on; without it, the beginning of today")
      ->type_name("TIME");
  command.add_option("--until", options->until, "Until when; without it, now")->type_name("TIME");
  command.add_option("--paper", options->paper, "The paper")
      ->check(one_of({"a4", "letter"}))
      ->capture_default_str()
      ->type_name("a4|letter");
  command.add_flag("--replace", options->replace, "Replace a local file that is there");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    if (options->file.empty() != options->json) {
      throw WrongUsage("Say where it goes: a file, or --json.");
    }
    json::object params;
    if (!options->since.empty()) params["since"] = options->since;
    if (!options->until.empty()) params["until"] = options->until;
    auto evening = channel.call("report.evening", std::move(params));
    if (!evening) return evening.error();
    if (options->json) {
      say_json(*evening);
      return {};
    }
    auto status = channel.call("status");
    if (!status) return status.error();
    return make_sheet(*options, *evening, *status);
  });
}

}  // namespace stationer::admin
