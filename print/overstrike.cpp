#include "print/overstrike.h"

#include <algorithm>
#include <string_view>

namespace stationer::print {
namespace {

// An accent as it may be typed or sent (ASCII stand-in, spacing accent, combining mark), and the
// letters it makes, one below the other.
struct Accent {
  std::u32string_view accents;
  std::u32string_view letters;
  std::u32string_view made;
};

constexpr std::array<Accent, 10> accents = {{
    {U"'\u00B4\u0301", U"AEIOUYCLNRSZaeiouyclnrsz", U"ÁÉÍÓÚÝĆĹŃŔŚŹáéíóúýćĺńŕśź"},
    {U"`\u0300", U"AEIOUaeiou", U"ÀÈÌÒÙàèìòù"},
    {U"^\u0302", U"AEIOUCGHJSWYaeioucghjswy", U"ÂÊÎÔÛĈĜĤĴŜŴŶâêîôûĉĝĥĵŝŵŷ"},
    {U"~\u0303", U"ANOIUanoiu", U"ÃÑÕĨŨãñõĩũ"},
    {U"\"\u00A8\u0308", U"AEIOUYaeiouy", U"ÄËÏÖÜŸäëïöüÿ"},
    {U",\u00B8\u0327", U"CSTcst", U"ÇŞŢçşţ"},
    {U"\u00B0\u02DA\u030A", U"AUau", U"ÅŮåů"},
    {U"\u02C7\u030C", U"CDENRSTZcenrsz", U"ČĎĚŇŘŠŤŽčěňřšž"},
    {U"/\u0338", U"=<>", U"≠≮≯"},
    {U"/", U"Oo", U"Øø"},
}};

constexpr bool tables_match() {
  return std::all_of(accents.begin(), accents.end(),
                     [](const Accent& row) { return row.letters.size() == row.made.size(); });
}
static_assert(tables_match());

char32_t accented(char32_t letter, char32_t accent) {
  for (const Accent& row : accents) {
    if (row.accents.find(accent) == std::u32string_view::npos) continue;
    const std::size_t at = row.letters.find(letter);
    if (at != std::u32string_view::npos) return row.made[at];
  }
  return 0;
}

// What crosses a character out, or sits on it, and is not what a search should find.
bool is_stroke(char32_t character) {
  return std::u32string_view(U"/-|=\\").find(character) != std::u32string_view::npos ||
         is_combining(character);
}

}  // namespace

char32_t composed(char32_t one, char32_t other) {
  const char32_t made = accented(one, other);
  return made != 0 ? made : accented(other, one);
}

Decomposed decomposed(char32_t character) {
  for (const Accent& row : accents) {
    const std::size_t at = row.made.find(character);
    if (at != std::u32string_view::npos && is_combining(row.accents.back())) {
      return {row.letters[at], row.accents.back()};
    }
  }
  return {};
}

void Place::strike(char32_t character) {
  if (last_ == 0) {
    last_ = character;
  } else if (character == last_) {
    bold_ = true;
  } else if (character == U'_') {
    underlined_ = true;
  } else if (last_ == U'_') {
    underlined_ = true;
    last_ = character;
  } else {
    const auto end = earlier_.begin() + earlier_count_;
    auto found = std::find(earlier_.begin(), end, character);
    if (found != end) {
      bold_ = true;
    } else if (earlier_count_ == earlier_.size()) {
      found = earlier_.begin();
    } else {
      found = earlier_.begin() + earlier_count_++;
    }
    // `found` is the place to vacate: the others move up and what was last joins them.
    std::rotate(found, found + 1, earlier_.begin() + earlier_count_);
    earlier_[earlier_count_ - 1u] = last_;
    last_ = character;
  }
}

Place::Impression Place::mixed_impression() const {
  Impression out;
  if (earlier_count_ == 1) {
    out.text = composed(earlier_[0], last_);
    if (out.text != 0) return out;
  }
  std::array<char32_t, 4> all{};
  unsigned count = 0;
  for (unsigned i = 0; i < earlier_count_; ++i) all[count++] = earlier_[i];
  all[count++] = last_;
  // The last one struck that isn't a mere stroke; the last one if all are.
  unsigned text = count - 1;
  while (text > 0 && is_stroke(all[text])) --text;
  if (is_stroke(all[text])) text = count - 1;
  out.text = all[text];
  for (unsigned i = 0; i < count; ++i) {
    if (i != text) out.marks[out.mark_count++] = all[i];
  }
  return out;
}

}  // namespace stationer::print
