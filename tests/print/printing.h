// Whole printouts for tests.
#pragma once

#include <string>
#include <string_view>

#include "print/profile.h"
#include "print/render.h"

namespace stationer::test {

// Loaded once for all tests of a program.
const print::Fonts& fonts();

print::Settings settings(std::string_view profile);

// A printout of Tidewrack Mill's.
print::Metadata metadata();

print::ByteSink to(std::string& out);

// The PDF of some bytes; a failure ends the test.
std::string pdf_of(std::string_view bytes, const print::Settings& settings,
                   const print::Metadata& about = metadata());

// The same, of pages made by hand.
std::string pdf_of(const std::vector<print::Page>& pages, std::string_view paper = "fanfold-11",
                   const print::Dress& dress = {});

// Characters of one style and ink.
std::vector<print::Cell> cells(std::u32string_view text, print::Style style = print::Style::plain,
                               print::Ink ink = print::Ink::black);

// A page with all that pages can have: styles, inks, cells of every size, marks, rules, images of
// two heads and inks.
print::Page page_with_everything();

}  // namespace stationer::test
