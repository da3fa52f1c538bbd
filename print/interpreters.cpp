#include "print/interpreters.h"

#include <algorithm>
#include <stdexcept>

#include "print/dot_matrix.h"
#include "print/ecma48.h"
#include "print/listing.h"
#include "print/plain_text.h"

namespace stationer::print {
namespace {

std::unique_ptr<Interpreter> make_dots(Pins pins, const Settings& settings, const Layout& layout,
                                       PageSink sink) {
  DotRules rules = settings.dots;
  rules.table = dot_table_of(settings.text.charset).value_or(rules.table);
  rules.most_pages = settings.text.most_pages;
  rules.return_feeds = settings.text.return_feeds;
  rules.seven_bits = settings.text.seven_bits;
  // The first line stands where that of plain text does.
  rules.lowered = std::max(0, layout.baseline(0) - layout.top - first_baseline(pins));
  return std::make_unique<DotMatrix>(pins, rules, settings.form, layout, std::move(sink));
}

}  // namespace

std::unique_ptr<Interpreter> make_interpreter(const Settings& settings, const Layout& layout,
                                              PageSink sink) {
  switch (settings.language) {
    case Language::text: return std::make_unique<PlainText>(settings.text, layout, std::move(sink));
    case Language::listing:
      return std::make_unique<Listing>(settings.text, settings.listing, layout, std::move(sink));
    case Language::nine_pin: return make_dots(Pins::nine, settings, layout, std::move(sink));
    case Language::twenty_four:
      return make_dots(Pins::twenty_four, settings, layout, std::move(sink));
    case Language::ecma48: return std::make_unique<Ecma48>(settings.text, layout, std::move(sink));
  }
  throw std::logic_error("a language without an interpreter");
}

}  // namespace stationer::print
