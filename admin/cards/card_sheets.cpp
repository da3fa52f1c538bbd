#include "admin/cards/card_sheets.h"

#include <algorithm>

#include <fmt/format.h>

#include "print/leaflet.h"

namespace stationer::admin {
namespace {

using print::columns_in;
using print::inches;
using print::Leaflet;
using print::line_of;
using print::Style;
using print::Type;
using print::Units;

constexpr Units margin = inches(1, 2);
constexpr Units tab = inches(1, 3);  // what is to be typed stands so far in

// Halves of sheets, one after the other.
class Halves {
 public:
  Halves(Leaflet& leaflet, std::string_view room) : leaflet_(leaflet), room_(room) {}

  void begin(const std::string& title) {
    title_ = title;
    next();
  }
  void line(Units indent, Type type, std::string_view text, Style style = Style::plain) {
    if (y_ + line_of(type) > bottom()) {
      next();
      leaflet_.text(margin, y_, Type::small, "goes on:");
    }
    leaflet_.text(margin + indent, y_ + line_of(type) * 3 / 4, type, text, style);
    y_ += line_of(type);
  }
  void wrapped(Units indent, Units hang, Type type, std::string_view text,
               Style style = Style::plain) {
    const Units width = leaflet_.width() - 2 * margin - indent - hang;
    Units in = 0;
    for (const std::string& each : print::wrapped(text, columns_in(width, type))) {
      line(indent + in, type, each, style);
      in = hang;
    }
  }
  // What stands left of the text of the line that comes next.
  void beside(Units indent, Type type, std::string_view text, Style style = Style::plain) {
    if (y_ + line_of(type) > bottom()) next();
    leaflet_.text(margin + indent, y_ + line_of(type) * 3 / 4, type, text, style);
  }
  void space(Units height) { y_ += height; }

  fs::Status finish() {
    auto finished = leaflet_.finish();
    return failed_ ? finished : failed_;
  }

 private:
  Units half() const { return leaflet_.height() / 2; }
  Units bottom() const { return (lower_ ? leaflet_.height() : half()) - margin * 2 / 3; }

  void next() {
    if (lower_) {
      if (const auto added = leaflet_.next_page(); failed_ && !added) failed_ = added;
    }
    lower_ = begun_ && !lower_;
    begun_ = true;
    if (!lower_) leaflet_.cut_across(half(), 0, leaflet_.width());
    y_ = (lower_ ? half() : 0) + margin;
    leaflet_.text(margin, y_ + line_of(Type::title) / 2, Type::title, title_);
    const std::string room = print::wrapped(room_, 40).front();
    leaflet_.text(leaflet_.width() - margin -
                      static_cast<Units>(columns(room)) * print::pitch_of(Type::small),
                  y_, Type::small, room);
    y_ += line_of(Type::title) * 2 / 3;
    leaflet_.rule(margin, y_, leaflet_.width() - 2 * margin, Leaflet::hairline);
    y_ += line_of(Type::small);
  }

  // How many characters a text of UTF-8 has.
  static std::size_t columns(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
      return (static_cast<unsigned char>(c) & 0xC0U) != 0x80;
    }));
  }

  Leaflet& leaflet_;
  std::string room_;
  std::string title_;
  bool begun_ = false;
  bool lower_ = false;
  Units y_ = 0;
  fs::Status failed_;
};

void draw(const Card& card, Halves& halves) {
  halves.begin(card.title);
  std::size_t names = 0;
  for (const CardSetting& each : card.settings) names = std::max(names, each.name.size());
  const Units value_at = static_cast<Units>(names + 2) * print::pitch_of(Type::body);
  for (const CardSetting& each : card.settings) {
    halves.beside(0, Type::body, each.name);
    halves.wrapped(value_at, 0, Type::body, each.value, Style::bold);
  }
  if (!card.settings.empty()) halves.space(line_of(Type::body) / 2);
  for (std::size_t i = 0; i < card.steps.size(); ++i) {
    const std::string number = fmt::format("{}. ", i + 1);
    halves.wrapped(0, 3 * print::pitch_of(Type::body), Type::body, number + card.steps[i].words);
    for (const std::string& each : card.steps[i].typed) {
      halves.wrapped(tab, tab, Type::body, each, Style::bold);
    }
  }
  halves.space(line_of(Type::small) / 2);
  for (const std::string& each : card.notes) {
    halves.wrapped(0, 2 * print::pitch_of(Type::small), Type::small, "- " + each);
  }
  for (const std::string& each : card.cautions) {
    halves.wrapped(0, 2 * print::pitch_of(Type::small), Type::small, "! " + each, Style::bold);
  }
}

}  // namespace

fs::Status draw_cards(const std::vector<Card>& cards, std::string_view room,
                      const print::Fonts& fonts, const print::Paper& paper,
                      const print::Metadata& about, print::ByteSink sink) {
  Leaflet leaflet(fonts, paper, about, std::move(sink));
  Halves halves(leaflet, room);
  for (const Card& card : cards) draw(card, halves);
  return halves.finish();
}

}  // namespace stationer::admin
