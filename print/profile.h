// Printers by name: a profile says what paper, characters and language a kind of printer has.
// Ready-made ones are the files of print/profiles; the keeper adds others in volume.toml:
// [printer.…]. print/settings_words.cpp says of each key what it is for. All of them may be left
// out, and are then as the printer that this one is like has them.
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
