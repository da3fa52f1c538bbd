// Pages as text that a test can compare, and the plain-text interpreter's for some bytes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "print/layout.h"
#include "print/page.h"
#include "print/plain_text.h"

namespace stationer::test {

// One line for each run, mark, rule and image, with positions in u; narrow images with their dots.
std::string show(const print::Page& page);

// The runs' text, one a line.
std::string text_of(const print::Page& page);

std::string utf_8(std::u32string_view text);

struct Printed {
  std::vector<std::string> shown;  // by page
  std::vector<std::string> text;
  print::JobReport report;
  fs::Status status;
};

// A small form on fanfold: 10 columns, 6 lines, if nothing else is wanted.
print::Form small_form(int columns = 10, int lines = 6);

// Feeds the bytes in the given pieces.
Printed print_pieces(const std::vector<std::string_view>& pieces,
                     const print::PlainTextRules& rules = {},
                     const print::Form& form = small_form());

inline Printed print_text(std::string_view bytes, const print::PlainTextRules& rules = {},
                          const print::Form& form = small_form()) {
  return print_pieces({bytes}, rules, form);
}

}  // namespace stationer::test
