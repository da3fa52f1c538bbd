#include "print/guess.h"

#include <algorithm>
#include <array>
#include <vector>

#include <fmt/format.h>

#include "print/ecma48_parser.h"
#include "print/escape.h"
#include "print/foreign.h"

namespace stationer::print {
namespace {

// Codes that were found, by name.
class Found {
 public:
  void add(std::string name, std::uint64_t offset) {
    ++all_;
    const auto at = std::find_if(seen_.begin(), seen_.end(),
                                 [&](const Seen& each) { return each.name == name; });
    if (at == seen_.end()) {
      if (seen_.size() < most) seen_.push_back({std::move(name), offset, 1});
    } else {
      ++at->times;
    }
  }

  std::size_t all() const { return all_; }

  // The first one with its place, and others that are most frequent.
  std::string describe() const {
    constexpr std::size_t most_others = 2;
    const auto times = [](std::size_t count) {
      return count == 1 ? std::string("once") : fmt::format("{} times", count);
    };
    const Seen& first = seen_.front();
    std::string out = fmt::format("{} at byte {}", first.name, first.offset);
    if (first.times > 1) out += fmt::format(" and {} in all", times(first.times));
    std::vector<Seen> others(seen_.begin() + 1, seen_.end());
    std::stable_sort(others.begin(), others.end(),
                     [](const Seen& a, const Seen& b) { return a.times > b.times; });
    others.resize(std::min(others.size(), most_others));
    for (const Seen& other : others) out += fmt::format(", {} {}", other.name, times(other.times));
    return out;
  }

 private:
  static constexpr std::size_t most = 200;  // there are not so many

  struct Seen {
    std::string name;
    std::uint64_t offset = 0;
    std::size_t times = 0;
  };

  std::vector<Seen> seen_;
  std::size_t all_ = 0;
};

struct Signature {
  std::string_view bytes;
  std::string_view what;
};
// Beginnings of what is for no printer (common practice, no source).
constexpr std::array<Signature, 7> signatures = {{
    {"\x1F\x8B", "a packed file"},
    {"PK\x03\x04", "a packed file"},
    {"\x89PNG", "a picture"},
    {"\xFF\xD8\xFF", "a picture"},
    {"II*\x00", "a picture"},
    {"GIF8", "a picture"},
    {"\x7F"
     "ELF",
     "a program"},
}};

// ESC, a sign, a small letter, a number, and a letter at the end (from memory).
Found laser_codes(std::string_view text) {
  const auto is_one_of = [](std::string_view set, char each) {
    return set.find(each) != std::string_view::npos;
  };
  const auto is_letter = [](char each) {
    return (each >= 'a' && each <= 'z') || (each >= 'A' && each <= 'Z');
  };
  Found found;
  for (std::size_t i = 0; i + 4 < text.size(); ++i) {
    if (text[i] != '\x1B' || !is_one_of("&(*)", text[i + 1]) || !is_letter(text[i + 2])) continue;
    const std::size_t end = text.find_first_not_of("+-.0123456789", i + 3);
    if (end == i + 3 || end == std::string_view::npos || !is_letter(text[end])) continue;
    found.add(fmt::format("ESC {}{}", text[i + 1], text[i + 2]), i);
  }
  return found;
}

// Sequences of ECMA-48 in the form that all have; its escape sequences of two bytes have other
// meanings elsewhere and are left out.
Found ecma48_codes(std::string_view text) {
  Found found;
  Ecma48Parser parser(false);
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<std::uint8_t>(text[i]);
    auto step = Ecma48Parser::Step::refused;
    while (step == Ecma48Parser::Step::refused && parser.takes(byte)) {
      step = parser.put(byte);
      const ControlFunction& what = parser.function();
      if (step != Ecma48Parser::Step::function || what.kind != ControlFunction::Kind::sequence) {
        continue;
      }
      const std::string middle = what.intermediate == 0     ? ""
                                 : what.intermediate == ' ' ? "SP "
                                                            : "? ";
      found.add(fmt::format("CSI {}{:c}", middle, what.final), i + 1 - what.length);
    }
  }
  return found;
}

// Commands of dot-matrix printers (print/escape.h tells where they end). Those that terminals and
// ECMA-48 (5.3) have as well speak for them only beside others.
struct DotCodesFound {
  Found all;
  std::size_t sure = 0;
  std::string text;      // without their arguments and dots
  bool is_fine = false;  // some are of 24-pin printers alone
};

DotCodesFound dot_codes(std::string_view text) {
  constexpr std::string_view sure = "!$&*+-/0123456:<?@AFGabefgijklmpqrstwx";
  constexpr std::string_view shared = "EHJKLMNOQRSTUWXYZ\\^c";
  DotCodesFound out;
  EscapeSkipper skipper;
  bool is_dots = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (skipper.inside() && skipper.put(static_cast<std::uint8_t>(text[i]))) {
      if (!is_dots) out.text += text[i];
      continue;
    }
    out.text += text[i];
    if (text[i] != '\x1B' || i + 1 == text.size()) continue;
    skipper.begin_escape();
    const char letter = text[i + 1];
    const bool is_sure = sure.find(letter) != std::string_view::npos;
    is_dots = is_sure || shared.find(letter) != std::string_view::npos;
    if (!is_dots) continue;
    out.all.add(fmt::format("ESC {}", letter), i);
    if (is_sure) ++out.sure;
    out.is_fine |= letter == '+' || (letter == '*' && i + 2 < text.size() && text[i + 2] >= 32);
  }
  return out;
}

// Codes that no text has and that none of the languages is full of.
bool is_no_text(std::string_view text) {
  const auto odd = std::count_if(text.begin(), text.end(), [](char each) {
    constexpr std::string_view usual = "\b\t\n\v\f\r\x0E\x0F\x11\x12\x13\x14\x1A\x1B";
    const auto byte = static_cast<std::uint8_t>(each);
    return byte < 0x20 && byte != 0 && usual.find(each) == std::string_view::npos;
  });
  return odd > 0 && static_cast<std::size_t>(odd) * 10 >= text.size();
}

std::string_view name_of(LineEnd line_end) {
  switch (line_end) {
    case LineEnd::cr: return "a carriage return alone";
    case LineEnd::lf: return "a line feed alone";
    case LineEnd::cr_lf: return "a carriage return and a line feed";
    case LineEnd::none: break;
  }
  return "nothing";
}

// Whether the bytes that are letters in the one are letters in the other.
bool is_like(Charset set, Charset guessed) {
  const auto family = [](Charset each) {
    switch (each) {
      case Charset::cp437:
      case Charset::cp850:
      case Charset::cp863:
      case Charset::cp865: return Charset::cp437;
      case Charset::iso_8859_1:
      case Charset::iso_8859_15: return Charset::iso_8859_1;
      default: return each;
    }
  };
  return family(set) == family(guessed);
}

std::string advice_on_text(const TextGuess& text, const Settings& settings) {
  const PlainTextRules& rules = settings.text;
  if (text.parity && !rules.seven_bits) {
    return "Every byte has its eighth bit as parity: say that there are seven bits.";
  }
  if (text.charset && !is_like(rules.charset, *text.charset)) {
    return fmt::format("Its bytes above 7F look like the character set {}, and were read as {}.",
                       name_of(*text.charset), name_of(rules.charset));
  }
  if (text.line_end == LineEnd::cr && !rules.return_feeds) {
    return fmt::format("Its lines end with {}: say that a return also feeds.",
                       name_of(text.line_end));
  }
  if (text.line_end == LineEnd::cr_lf && rules.return_feeds) {
    return fmt::format("Its lines end with {}: say that a return does not feed.",
                       name_of(text.line_end));
  }
  if (text.line_end == LineEnd::lf && !rules.feed_returns) {
    return fmt::format("Its lines end with {}: say that a feed also returns.",
                       name_of(text.line_end));
  }
  return {};
}

// Few lines may be odd ones of a listing.
std::string advice_on_listing(std::string_view text) {
  constexpr std::size_t least_lines = 5;
  const FirstColumns columns = first_columns(text);
  if (columns.lines < least_lines || columns.odd * 2 <= columns.lines) return {};
  return fmt::format(
      "{} of its first {} lines begin with what moves no paper; but it was read as a listing. Try "
      "the language text.",
      columns.odd, columns.lines);
}

}  // namespace

Guess guess(std::string_view beginning) {
  beginning = beginning.substr(0, guessed_bytes);
  Guess out;
  out.text = guess_text(beginning);
  const auto other = [&out](std::string_view what, std::string evidence) {
    out.looks = Guess::Looks::other;
    out.what = what;
    out.evidence = std::move(evidence);
    return out;
  };
  const std::string begins = "it begins as one";
  if (const std::string_view job = foreign_job(beginning); !job.empty()) return other(job, begins);
  for (const Signature& each : signatures) {
    if (beginning.starts_with(each.bytes)) return other(each.what, begins);
  }
  const Found laser = laser_codes(beginning);
  const Found ecma48 = ecma48_codes(beginning);
  const DotCodesFound dots = dot_codes(beginning);
  if (laser.all() > 0 && laser.all() >= std::max(ecma48.all(), dots.sure)) {
    return other("the codes of laser printers", laser.describe());
  }
  if (dots.sure > 0 && dots.sure > ecma48_codes(dots.text).all()) {
    out.looks = Guess::Looks::dot_codes;
    out.what = dots.is_fine ? "dot-matrix codes of a 24-pin printer" : "dot-matrix codes";
    out.language = name_of(dots.is_fine ? Language::twenty_four : Language::nine_pin);
    out.evidence = dots.all.describe();
  } else if (ecma48.all() > 0) {
    out.looks = Guess::Looks::ecma48;
    out.what = "ECMA-48 control sequences";
    out.language = name_of(Language::ecma48);
    out.evidence = ecma48.describe();
  } else if (is_no_text(beginning)) {
    return other("a program or a picture", "a tenth of its bytes are codes that no printer has");
  } else if (is_listing(beginning)) {
    out.looks = Guess::Looks::listing;
    out.what = "a listing";
    out.language = name_of(Language::listing);
    out.evidence = "the first column of its lines moves the paper";
  } else {
    out.what = "plain text";
    out.language = name_of(Language::text);
  }
  return out;
}

std::string advice(std::string_view beginning, const Settings& settings) {
  const Guess seen = guess(beginning);
  const std::string looks = fmt::format("It looks like {}{}{}", seen.what,
                                        seen.evidence.empty() ? "" : ": ", seen.evidence);
  const std::string_view language = name_of(settings.language);
  const bool is_text = seen.looks == Guess::Looks::text;
  if (!is_text && !find_language(seen.language)) {
    return fmt::format("{}; nothing here prints that.", looks);
  }
  // The codes of nine needles are also those of more.
  const bool fits =
      seen.language == language || (seen.language == "nine-pin" && language == "24-pin");
  if (!is_text && !fits) {
    return fmt::format("{}; but it was read as {}. Try the language {}.", looks, language,
                       seen.language);
  }
  switch (settings.language) {
    case Language::text:
    case Language::ecma48: return advice_on_text(seen.text, settings);
    case Language::listing: return advice_on_listing(beginning.substr(0, guessed_bytes));
    default: return {};
  }
}

}  // namespace stationer::print
