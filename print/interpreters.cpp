#include "print/interpreters.h"

#include <stdexcept>

#include "print/ecma48.h"
#include "print/listing.h"
#include "print/plain_text.h"

namespace stationer::print {

std::unique_ptr<Interpreter> make_interpreter(const Settings& settings, const Layout& layout,
                                              PageSink sink) {
  switch (settings.language) {
    case Language::text: return std::make_unique<PlainText>(settings.text, layout, std::move(sink));
    case Language::listing:
      return std::make_unique<Listing>(settings.text, settings.listing, layout, std::move(sink));
    case Language::ecma48: return std::make_unique<Ecma48>(settings.text, layout, std::move(sink));
  }
  throw std::logic_error("a language without an interpreter");
}

}  // namespace stationer::print
