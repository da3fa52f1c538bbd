#include "print/language.h"

#include <array>

#include "print/choice.h"

namespace stationer::print {
namespace {

constexpr std::array<LanguageName, 5> names = {{
    {Language::text, "text", "Plain text"},
    {Language::listing, "listing", "Lines whose first column moves the paper and is not printed"},
    {Language::nine_pin, "nine-pin", "Escape codes of dot-matrix printers with 9 pins"},
    {Language::twenty_four, "24-pin", "Escape codes of dot-matrix printers with 24 pins"},
    {Language::ecma48, "ecma-48", "Control sequences of ECMA-48"},
}};

}  // namespace

std::span<const LanguageName> languages() {
  return names;
}

std::string_view name_of(Language language) {
  return names[static_cast<std::size_t>(language)].name;
}

fs::Result<Language> find_language(std::string_view name) {
  auto found = choose(languages(), name, "printer language");
  if (!found) return found.error();
  return found->language;
}

}  // namespace stationer::print
