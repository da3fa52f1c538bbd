#include "print/interpreters.h"

#include <algorithm>
#include <stdexcept>

#include "print/dot_matrix.h"
#include "print/ecma48.h"
#include "print/listing.h"
#include "print/plain_text.h"

namespace stationer::print {
namespace {

void choose_sets(DotRules& rules, Charset charset) {
  const auto national = [&rules](std::uint8_t number) {
    rules.table = DotTable::italic;
    rules.national = number;
  };
  switch (charset) {
    case Charset::cp437: rules.table = DotTable::cp437; break;
    case Charset::cp850: rules.table = DotTable::cp850; break;
    case Charset::cp863: rules.table = DotTable::cp863; break;
    case Charset::cp865: rules.table = DotTable::cp865; break;
    case Charset::ascii: national(0); break;
    case Charset::iso646_fr:
    case Charset::iso646_fr1: national(1); break;
    case Charset::iso646_de: national(2); break;
    case Charset::iso646_gb: national(3); break;
    case Charset::iso646_dk: national(4); break;
    case Charset::iso646_se:
    case Charset::iso646_se2: national(5); break;
    case Charset::iso646_it: national(6); break;
    case Charset::iso646_es: national(7); break;
    case Charset::iso646_jp: national(8); break;
    case Charset::iso646_no:
    case Charset::iso646_no2: national(9); break;
    case Charset::iso646_es2: national(11); break;
    case Charset::iso646_kr: national(13); break;
    default: break;
  }
}

}  // namespace

DotRules dot_rules(const Settings& settings) {
  DotRules rules = settings.dots;
  choose_sets(rules, settings.text.charset);
  rules.most_pages = settings.text.most_pages;
  rules.return_feeds = settings.text.return_feeds;
  rules.seven_bits = settings.text.seven_bits;
  return rules;
}

std::unique_ptr<Interpreter> make_interpreter(const Settings& settings, const Layout& layout,
                                              PageSink sink) {
  const auto make_dots = [&](Pins pins) {
    DotRules rules = dot_rules(settings);
    // The first line stands where that of plain text does.
    rules.lowered = std::max(0, layout.baseline(0) - layout.top - first_baseline(pins));
    return std::make_unique<DotMatrix>(pins, rules, settings.form, layout, std::move(sink));
  };
  switch (settings.language) {
    case Language::text: return std::make_unique<PlainText>(settings.text, layout, std::move(sink));
    case Language::listing:
      return std::make_unique<Listing>(settings.text, settings.listing, layout, std::move(sink));
    case Language::ecma48: return std::make_unique<Ecma48>(settings.text, layout, std::move(sink));
    case Language::nine_pin: return make_dots(Pins::nine);
    case Language::twenty_four: return make_dots(Pins::twenty_four);
  }
  throw std::logic_error("a language without an interpreter");
}

}  // namespace stationer::print
