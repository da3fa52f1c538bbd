// stationer pdf
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "admin/printers.h"
#include "print/charset.h"
#include "print/font_subset.h"
#include "print/guess.h"
#include "print/language.h"
#include "print/paper.h"
#include "print/render.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

using server::counted;

struct Options {
  std::string input;
  std::string output;
  std::string printer = "plain-80";
  std::string charset;
  std::string language;
  std::string paper;
  std::string title;
  std::uint64_t most_pages = 0;  // 0: as many as the profile says
  bool return_feeds = false;
  bool seven_bits = false;
  std::string look;
  bool landscape = false;
  bool bars = false;
  bool edges = false;
  int pages_a_sheet = 0;  // 0: as the profile says
  std::string list;
};

fs::Result<print::Settings> settings_of(const Program& program, const Options& options) {
  auto profile = find_printer(program, options.printer);
  if (!profile) return profile.error();
  print::Settings settings = profile->settings;
  if (!options.charset.empty()) {
    auto charset = print::find_charset(options.charset);
    if (!charset) return charset.error();
    settings.text.charset = *charset;
  }
  if (!options.language.empty()) {
    auto language = print::find_language(options.language);
    if (!language) return language.error();
    settings.language = *language;
  }
  if (!options.paper.empty()) {
    auto paper = print::find_paper(options.paper);
    if (!paper) return paper.error();
    settings.form.paper = *paper;
  }
  if (!options.look.empty()) {
    auto look = print::find_look(options.look);
    if (!look) return look.error();
    settings.dress.look = *look;
  }
  if (options.landscape) print::turn(settings.form, true);
  if (options.bars) settings.dress.bars = true;
  if (options.edges) settings.dress.edges = true;
  if (options.pages_a_sheet > 0) settings.dress.pages_a_sheet = options.pages_a_sheet;
  if (options.most_pages > 0) settings.text.most_pages = options.most_pages;
  if (options.return_feeds) settings.text.return_feeds = true;
  if (options.seven_bits) settings.text.seven_bits = true;
  return settings;
}

// The title a file gives its PDF: its name without the folders.
std::string title_of(const Options& options) {
  if (!options.title.empty()) return options.title;
  if (options.input == "-") return "Standard input";
  return std::string(last_part(options.input));
}

void say_report(const print::JobReport& report) {
  std::string line = counted(report.pages, "page") + ", " + counted(report.characters, "character");
  const auto also = [&line](std::uint64_t count, const char* one, const char* many) {
    if (count > 0) line += ", " + counted(count, one, many);
  };
  also(report.unreadable, "byte that is none of the character set",
       "bytes that are none of the character set");
  also(report.unknown_controls, "unknown control code", "unknown control codes");
  also(report.escape_sequences, "escape sequence left out", "escape sequences left out");
  also(report.crowded_out, "character, line or pass of dots too many for its page",
       "characters, lines or passes of dots too many for their page");
  also(report.missing_glyphs, "character without a shape", "characters without a shape");
  show_on_error(line + ".\n");
  for (const print::UnknownCode& code : report.unknown) {
    std::string bytes;
    for (unsigned i = 0; i < code.size; ++i) bytes += fmt::format(" {:02X}", code.bytes[i]);
    show_on_error(fmt::format("  unknown:{} at byte {}\n", bytes, code.offset));
  }
}

// What went wrong may have gone so because the job is something else.
fs::Error with_advice(fs::Error error, const std::string& advice) {
  if (!advice.empty()) error.message += " " + advice;
  return error;
}

fs::Status make_pdf(const Program& program, const Options& options) {
  auto settings = settings_of(program, options);
  if (!settings) return settings.error();
  auto input = Input::open(options.input);
  if (!input) return input.error();
  auto fonts = print::Fonts::load();
  if (!fonts) return fonts.error();
  auto output = Output::create(options.output, true);
  if (!output) return output.error();
  print::Metadata metadata;
  metadata.title = title_of(options);
  // The same file gives the same PDF, whenever it is made.
  const auto now =
      std::chrono::time_point_cast<fs::Time::duration>(std::chrono::system_clock::now());
  metadata.created = std::chrono::floor<std::chrono::seconds>(input->changed().value_or(now));
  Progress progress(metadata.title);
  std::uint64_t done = 0;
  std::string beginning;
  auto report = print::render(
      [&](std::span<char> into) {
        auto got = input->read(into);
        if (!got) return got;
        progress.at(done += *got, input->size().value_or(0));
        const std::size_t wanted = print::guessed_bytes - beginning.size();
        beginning.append(into.data(), std::min(*got, wanted));
        return got;
      },
      *settings, metadata, *fonts, [&](std::string_view bytes) { return output->write(bytes); });
  if (!report) return with_advice(report.error(), print::advice(beginning, *settings));
  if (auto finished = output->finish(); !finished) return finished;
  progress.end();
  say_report(*report);
  if (const std::string advice = print::advice(beginning, *settings); !advice.empty()) {
    show_on_error(advice + "\n");
  }
  return {};
}

template <class Items>
void say_names(const Items& items) {
  for (const auto& item : items) say(fmt::format("{:<16}  {}", item.name, item.title));
}

fs::Status say_list(const Program& program, const std::string& what) {
  if (what == "printers") {
    const auto printers = all_printers(program);
    if (!printers) return printers.error();
    say_names(*printers);
  } else if (what == "papers") {
    say_names(print::papers());
  } else if (what == "languages") {
    say_names(print::languages());
  } else {
    for (const auto& charset : print::charsets()) say(charset.name);
  }
  return {};
}

}  // namespace

void add_pdf_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(app, "pdf",
                  "Turn what was sent to a printer into a PDF. It needs no volume, but "
                  "knows the printers of one. "
                  "What was found in it is said "
                  "on standard error",
                  "stationer pdf captured.prn listing.pdf --printer listing-132\n"
                  "  stationer pdf --list printers");
  add_argument(command, "INPUT", options->input,
               "The captured bytes: a file, or - for standard input")
      ->required(false);
  add_argument(command, "OUTPUT", options->output, "The PDF: a file, or - for standard output")
      ->required(false);
  command.add_option("--printer", options->printer, "The printer to imitate")
      ->capture_default_str()
      ->type_name("PROFILE");
  command.add_option("--charset", options->charset, "The character set, if not the printer's own")
      ->type_name("NAME");
  command.add_option("--language", options->language, "What it is written in, if not plain text")
      ->type_name("NAME");
  command.add_option("--paper", options->paper, "The paper, if not the printer's own")
      ->type_name("NAME");
  command.add_option("--look", options->look, "Letters, or the dots of a print head")
      ->type_name("plain|dots|fine-dots");
  command.add_flag("--landscape", options->landscape,
                   "Turn the paper, with as many columns and lines as fit");
  command.add_flag("--bars", options->bars, "Draw the shaded bars of listing paper");
  command.add_flag("--edges", options->edges, "Draw the strips of fanfold with their holes");
  command.add_option("--pages-a-sheet", options->pages_a_sheet, "1, 2 or 4, made smaller")
      ->check(one_of({"1", "2", "4"}))
      ->type_name("NUMBER");
  command.add_option("--title", options->title, "The PDF's title; else the name of the input")
      ->type_name("TEXT");
  command.add_option("--most-pages", options->most_pages, "How many pages at most, if not 1000")
      ->check(whole_number(1, 1'000'000))
      ->type_name("NUMBER");
  command.add_flag("--return-feeds", options->return_feeds,
                   "A carriage return also feeds a line, for lines that end in it alone");
  command.add_flag("--seven-bits", options->seven_bits, "The eighth bit is parity; leave it out");
  command
      .add_option("--list", options->list,
                  "Only list the printers, languages, papers or charsets there are")
      ->check(one_of({"printers", "languages", "papers", "charsets"}))
      ->type_name("printers|languages|papers|charsets");
  add_volume_option(command, program);
  run(command, program, [options, &program]() -> fs::Status {
    if (!options->list.empty()) return say_list(program, options->list);
    if (options->output.empty()) throw WrongUsage("Name the input and the output: INPUT OUTPUT.");
    return make_pdf(program, *options);
  });
}

}  // namespace stationer::admin
