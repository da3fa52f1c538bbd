// How a queue prints: the sheet and form, what the bytes mean, and the limit. Ready-made ones go by
// name.
#pragma once

#include <span>
#include <string_view>

#include "fs/result.h"
#include "print/dot_settings.h"
#include "print/dress.h"
#include "print/language.h"
#include "print/layout.h"
#include "print/plain_text.h"

namespace stationer::print {

struct Settings {
  Form form;
  PlainTextRules text;
  DotRules dots;  // of the languages nine-pin and 24-pin, besides what they share with text
  Language language = Language::text;
  Dress dress = {};
};

struct PrinterProfile {
  std::string_view name;   // as settings write it, such as "plain-80"
  std::string_view title;  // for people
  Settings settings;
};

std::span<const PrinterProfile> printer_profiles();

// Code::bad_input with the names there are.
fs::Result<PrinterProfile> find_printer_profile(std::string_view name);

}  // namespace stationer::print
