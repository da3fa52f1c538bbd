// stationer cards
#include <iostream>
#include <memory>

#include <boost/json/array.hpp>

#include "admin/cards/card_sheets.h"
#include "admin/cards/gather.h"
#include "admin/command.h"
#include "admin/host.h"
#include "admin/report.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

struct Options {
  std::vector<std::string> kinds;
  std::string pdf;
  std::string paper;
  bool replace = false;
  bool json = false;
};

json::array as_json(const std::vector<std::string>& texts) {
  json::array out;
  for (const std::string& each : texts) out.push_back(json::string(each));
  return out;
}

json::array cards_json(const std::vector<Card>& cards) {
  json::array out;
  for (const Card& card : cards) {
    json::array settings;
    for (const CardSetting& each : card.settings) {
      settings.push_back(json::object{{"name", each.name}, {"value", each.value}});
    }
    json::array steps;
    for (const CardStep& each : card.steps) {
      steps.push_back(json::object{{"words", each.words}, {"typed", as_json(each.typed)}});
    }
    out.push_back(json::object{{"kind", card.kind},
                               {"title", card.title},
                               {"settings", std::move(settings)},
                               {"steps", std::move(steps)},
                               {"notes", as_json(card.notes)},
                               {"cautions", as_json(card.cautions)}});
  }
  return out;
}

fs::Status draw(const std::vector<Card>& cards, const std::string& room, const Options& options,
                Channel& channel) {
  const auto paper = print::find_paper(options.paper.empty() ? sheet_of(channel) : options.paper);
  if (!paper) return paper.error();
  const auto fonts = print::Fonts::load();
  if (!fonts) return fonts.error();
  auto output = Output::create(options.pdf, options.replace);
  if (!output) return output.error();
  print::Metadata about;
  about.title = "How to connect: " + room;
  auto drawn = draw_cards(cards, room, *fonts, *paper, about,
                          [&](std::string_view bytes) { return output->write(bytes); });
  return drawn ? output->finish() : drawn;
}

fs::Status cards(const Options& options, Channel& channel) {
  std::vector<CardKind> kinds;
  for (const std::string& name : options.kinds) {
    const auto kind = find_card_kind(name);
    if (!kind) return kind.error();
    kinds.push_back(*kind);
  }
  const auto facts = gather_card_facts(channel);
  if (!facts) return facts.error();
  if (options.kinds.empty()) kinds = kinds_with_a_way(*facts);
  if (kinds.empty()) {
    return fs::Error{
        fs::Code::not_found,
        "No door is open and there is no serial line, so there is no way in. Open one in "
        "volume.toml, or name the kind of machine."};
  }
  std::vector<Card> made;
  for (const CardKind& kind : kinds) made.push_back(card_for(kind, *facts));
  if (!options.pdf.empty()) return draw(made, facts->room, options, channel);
  if (options.json) {
    say_json(cards_json(made));
  } else {
    std::cout << card_text(made, facts->room, terminal_columns());
  }
  return {};
}

}  // namespace

void add_cards_command(CLI::App& app, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      app, "cards",
      "Print cards that tell how to connect each kind of machine, with what to type, as the doors "
      "are now",
      "stationer cards telnet lpd\n"
      "  stationer cards --pdf cards.pdf");
  std::string names;
  for (const CardKind& each : card_kinds()) {
    names += (names.empty() ? "" : ", ") + std::string(each.name);
  }
  add_argument(command, "KIND", options->kinds,
               "The kinds: " + names + "; without one, all for which there is a way in")
      ->required(false);
  command
      .add_option("--pdf", options->pdf,
                  "Draw them into this PDF, two on a sheet; - is standard output")
      ->type_name("FILE");
  command
      .add_option("--paper", options->paper,
                  "The paper of the PDF, if not that of the volume's queue")
      ->type_name("NAME");
  command.add_flag("--replace", options->replace, "Replace a file of that name");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) { return cards(*options, channel); });
}

}  // namespace stationer::admin
