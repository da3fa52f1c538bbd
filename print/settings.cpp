#include "print/settings.h"

#include <array>

#include "print/choice.h"

namespace stationer::print {
namespace {

Form form(std::string_view paper, int columns, int lines) {
  Form form;
  form.paper = find_paper(paper).value();
  form.columns = columns;
  form.lines = lines;
  return form;
}

// 132 columns on a cut sheet: 7.7 in at 17.14 to the inch.
Form small(Form form) {
  form.pitch = inches(7, 120);
  return form;
}

}  // namespace

std::span<const PrinterProfile> printer_profiles() {
  static const std::array<PrinterProfile, 7> profiles = {{
      {"plain-80", "80 columns and 66 lines on A4", {form("a4", 80, 66), {}, {}}},
      {"plain-80-letter", "80 columns and 66 lines on Letter", {form("letter", 80, 66), {}, {}}},
      {"plain-132", "132 small columns and 66 lines on A4", {small(form("a4", 132, 66)), {}, {}}},
      {"fanfold-11",
       "80 columns and 66 lines on fanfold of 11 in",
       {form("fanfold-11", 80, 66), {}, {}}},
      {"fanfold-12",
       "80 columns and 72 lines on fanfold of 12 in",
       {form("fanfold-12", 80, 72), {}, {}}},
      {"listing-132",
       "132 columns and 66 lines on wide fanfold",
       {form("fanfold-11-wide", 132, 66), {}, {}}},
      {"listing-136",
       "136 columns and 66 lines on wide fanfold",
       {form("fanfold-11-wide", 136, 66), {}, {}}},
  }};
  return profiles;
}

fs::Result<PrinterProfile> find_printer_profile(std::string_view name) {
  return choose(printer_profiles(), name, "printer profile");
}

}  // namespace stationer::print
