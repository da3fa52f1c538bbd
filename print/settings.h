// How a queue prints: the sheet and form, what the bytes mean, and the limit. Printers' profiles
// (print/profile.h) are ready-made ones.
#pragma once

#include "print/dot_settings.h"
#include "print/dress.h"
#include "print/language.h"
#include "print/layout.h"
#include "print/listing.h"
#include "print/plain_text.h"

namespace stationer::print {

struct Settings {
  Form form;
  PlainTextRules text;
  ListingRules listing;
  DotRules dots;  // of the languages nine-pin and 24-pin, besides what they share with text
  Language language = Language::text;
  Dress dress = {};
};

}  // namespace stationer::print
