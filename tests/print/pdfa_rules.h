// The rules of PDF/A-2u (ISO 19005-2, level U) that a file of ours can break, each with its clause,
// read with tests/print/pdf_reader.h. Clauses are known from published validation profiles and
// ISO 32000-1; no validator is packaged for Debian.
#pragma once

#include <string>
#include <vector>

#include "tests/print/pdf_reader.h"

namespace stationer::test {

// What the file breaks, in words; empty when it keeps to all of them.
std::vector<std::string> broken_rules(const std::string& pdf);
std::vector<std::string> broken_rules(PdfReader reader);

}  // namespace stationer::test
