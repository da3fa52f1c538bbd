#include "print/foreign.h"

#include <fmt/format.h>

namespace stationer::print {
namespace {

std::string_view printer_of(Language language) {
  switch (language) {
    case Language::text: return "a text-only printer";
    case Language::listing: return "a line printer for listings";
    case Language::nine_pin: return "a dot-matrix printer with 9 pins";
    case Language::twenty_four: return "a dot-matrix printer with 24 pins";
    case Language::ecma48: return "a printer of ECMA-48 control sequences";
  }
  return {};
}

}  // namespace

// The formats' own: PostScript Language Reference 3rd ed. §3.3, ISO 32000-1 §7.5.2; the third is
// common practice of printer drivers, no source.
std::string_view foreign_job(std::string_view beginning) {
  if (beginning.starts_with("%!") || beginning.starts_with("\x04%!")) {
    return "a PostScript program";
  }
  if (beginning.starts_with("%PDF-")) return "a PDF document";
  if (beginning.starts_with("\x1B%-12345X")) return "a job with the codes of laser printers";
  return {};
}

std::string why_refused(std::string_view foreign_job, Language language) {
  return fmt::format(
      "The job is {}, and this queue imitates {}. Choose such a printer on the machine that sent "
      "it.",
      foreign_job, printer_of(language));
}

}  // namespace stationer::print
