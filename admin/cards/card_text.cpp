// Cards on a screen.
#include <algorithm>

#include <fmt/format.h>

#include "admin/cards/card.h"
#include "print/leaflet.h"

namespace stationer::admin {
namespace {

constexpr std::size_t narrowest = 40;
constexpr std::size_t widest = 78;

// Wrapped, the first line after `first`, the others as far in.
void append(std::string_view text, std::string_view first, std::size_t width, std::string& out) {
  std::string_view before = first;
  const std::string indent(first.size(), ' ');
  for (const std::string& line : print::wrapped(text, width - first.size())) {
    out += fmt::format("{}{}\n", before, line);
    before = indent;
  }
}

void append_card(const Card& card, std::string_view room, std::size_t width, std::string& out) {
  const std::string title = room.empty() ? card.title : fmt::format("{}: {}", room, card.title);
  out += title + '\n' + std::string(std::min(title.size(), width), '-') + '\n';
  std::size_t names = 0;
  for (const CardSetting& each : card.settings) names = std::max(names, each.name.size());
  for (const CardSetting& each : card.settings) {
    append(each.value, fmt::format("  {:<{}}  ", each.name, names), width, out);
  }
  if (!card.settings.empty()) out += '\n';
  for (std::size_t i = 0; i < card.steps.size(); ++i) {
    append(card.steps[i].words, fmt::format("{}. ", i + 1), width, out);
    for (const std::string& each : card.steps[i].typed) out += fmt::format("      {}\n", each);
  }
  for (const std::string& each : card.notes) append(each, "- ", width, out);
  for (const std::string& each : card.cautions) append(each, "! ", width, out);
}

}  // namespace

std::string card_text(const std::vector<Card>& cards, std::string_view room, int columns) {
  const auto width = std::clamp(static_cast<std::size_t>(std::max(columns, 1)), narrowest, widest);
  std::string out;
  for (const Card& card : cards) {
    if (!out.empty()) out += '\n';
    append_card(card, room, width, out);
  }
  return out;
}

}  // namespace stationer::admin
