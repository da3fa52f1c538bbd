// Printers by name: a profile says what paper, characters and language a kind of printer has.
// Ready-made ones are the files of print/profiles; the keeper adds others in volume.toml:
//
//   [printer.office]
//   like = "daisy-wheel-12"     # one of the ready-made; without it, paper has to be said
//   title = "The daisy wheel in the office"
//   language = "text"           # one of languages()
//   charset = "iso646-de"       # one of charsets()
//   paper = "letter"            # one of papers()
//   pitch = 12                  # characters an inch
//   lines_an_inch = 6
//   columns = 90                # 0: as many as there is room for
//   lines = 66                  # 0: the same
//   left = 8                    # columns to the left of the first; centred when not said
//   top = 3                     # lines above the first; centred when not said
//   skip = 6                    # lines at the foot that stay free, for the perforation
//   landscape = false           # the paper is turned
//   look = "plain"              # "dots": of a print head of 9 needles; "fine-dots": of 24
//   bars = false                # shaded bars, as on listing paper
//   edges = false               # the strips of fanfold with their holes
//   pages_a_sheet = 1           # 2 or 4: made smaller
//   return_feeds = false        # a carriage return also feeds a line
//   feed_returns = true         # a line feed also returns to the left margin
//   seven_bits = false          # bit 8 of each byte is parity
//   control_z_ends = false      # control Z ends the text
//   letter_quality = true       # of dot-matrix printers: they begin with their best characters
//   drop_neighbours = false     # the same: in the densest images the second of two dots side by
//                               # side is left out, for which a real head is too slow
//   minus_lines = 3             # in listings: how many lines a minus sign feeds
//   channels = [10, 20]         # in listings: the lines of the control tape's channels 2, 3, …
//
// All of them may be left out, and are then as the printer that this one is like has them.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/settings.h"

namespace stationer::print {

struct PrinterProfile {
  std::string name;   // as settings write it, such as "plain-80"
  std::string title;  // for people
  Settings settings;
};

// The ready-made ones.
std::span<const PrinterProfile> printer_profiles();

// One of these; Code::bad_input with the names there are.
fs::Result<PrinterProfile> find_printer_profile(std::string_view name);

// The ready-made ones, and those that the text of volume.toml adds. Code::bad_input with the line
// for what can't be right.
fs::Result<std::vector<PrinterProfile>> read_printers(std::string_view settings_text);

// All there is to say about the printer as the text of a profile file, and back.
std::string write_profile(const PrinterProfile& profile);
fs::Result<PrinterProfile> read_profile(std::string_view name, std::string_view text);

}  // namespace stationer::print
