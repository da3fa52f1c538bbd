// Listings with chance in them, and whether a PDF gives them back.
#pragma once

#include <random>
#include <string>
#include <vector>

#include "print/settings.h"

namespace stationer::test {

using Lines = std::vector<std::string>;

// A listing as programs print them: words, numbers, columns, indentation.
struct RandomText {
  std::string bytes;
  std::vector<Lines> pages;
};

RandomText random_listing(std::mt19937& random, int pages, int lines, int columns,
                          const std::string& characters);

std::string printing_ascii();

// The expected lines as they stand on the sheet, the left margin before them.
std::vector<Lines> indented(std::vector<Lines> pages, const print::Settings& settings);

// The first line that came back otherwise, and how; empty when none did.
std::string difference(const std::vector<Lines>& expected, const std::vector<Lines>& found);

// Of a column in points, as pdftotext -fixed takes it.
std::string cell_width(const print::Settings& settings);

}  // namespace stationer::test
