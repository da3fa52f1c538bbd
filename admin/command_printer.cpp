// stationer printer …
#include <memory>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "admin/printers.h"
#include "admin/report.h"
#include "print/render.h"
#include "print/sheet.h"
#include "server/control/views.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

void add_list(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command = add_command(group, "list", "List the printers that queues can imitate",
                                  "stationer printer list");
  add_volume_option(command, program);
  add_json_option(command, *as_json);
  run(command, program, [as_json, &program]() -> fs::Status {
    const auto printers = all_printers(program);
    if (!printers) return printers.error();
    json::array items;
    for (const auto& printer : *printers) items.push_back(server::show(printer));
    if (*as_json) {
      say_json(items);
      return {};
    }
    say_table({text_column("Printer", "name"), text_column("Language", "language"),
               text_column("Characters", "charset"), text_column("Paper", "paper"),
               number_column("Columns", "columns"), number_column("Lines", "lines"),
               text_column("Title", "title")},
              items);
    return {};
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "show", "Show all about one printer, as it would stand in volume.toml",
                  "stationer printer show nine-pin-80");
  add_argument(command, "NAME", options->name, "The printer's name");
  add_volume_option(command, program);
  add_json_option(command, options->json);
  run(command, program, [options, &program]() -> fs::Status {
    const auto printer = find_printer(program, options->name);
    if (!printer) return printer.error();
    if (options->json) {
      say_json(server::show(*printer));
    } else {
      std::string text = print::write_profile(*printer);
      text.pop_back();  // say() ends the line
      say(fmt::format("[printer.{}]\n{}", printer->name, text));
    }
    return {};
  });
}

fs::Status write_pdf(const print::PrinterProfile& printer, std::string_view sheet, Output& output) {
  auto fonts = print::Fonts::load();
  if (!fonts) return fonts.error();
  print::Metadata metadata;
  metadata.title = fmt::format("Calibration sheet of {}", printer.name);
  const print::ByteSource source = [&sheet](std::span<char> into) -> fs::Result<std::size_t> {
    const std::size_t size = sheet.copy(into.data(), into.size());
    sheet.remove_prefix(size);
    return size;
  };
  const auto report =
      print::render(source, printer.settings, metadata, *fonts,
                    [&output](std::string_view bytes) { return output.write(bytes); });
  return status_of(report);
}

void add_sheet(CLI::App& group, Program& program) {
  struct Options {
    std::string name;
    std::string output;
    bool pdf = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "sheet",
      "Make a calibration sheet: bytes to send to the real printer or to a door, with rulers, "
      "margins, styles and all characters. What Stationer should make of them shows --pdf",
      "stationer printer sheet nine-pin-80 sheet.prn\n"
      "  stationer printer sheet nine-pin-80 sheet.pdf --pdf");
  add_argument(command, "NAME", options->name, "The printer's name");
  add_argument(command, "OUTPUT", options->output, "A file, or - for standard output");
  command.add_flag("--pdf", options->pdf, "Write the PDF that the sheet must become");
  add_volume_option(command, program);
  run(command, program, [options, &program]() -> fs::Status {
    const auto printer = find_printer(program, options->name);
    if (!printer) return printer.error();
    auto output = Output::create(options->output, true);
    if (!output) return output.error();
    const std::string sheet = print::calibration_sheet(*printer);
    const fs::Status written =
        options->pdf ? write_pdf(*printer, sheet, *output) : output->write(sheet);
    if (!written) return written;
    return output->finish();
  });
}

}  // namespace

void add_printer_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "printer",
                              "The kinds of printers that queues can imitate; with a volume, its "
                              "own as well");
  add_list(group, program);
  add_show(group, program);
  add_sheet(group, program);
}

}  // namespace stationer::admin
