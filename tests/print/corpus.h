// A corpus of small jobs as text, each with the rule it is about, that rule's source, and the pages
// that must come of it:
//
//   # A remark.
//
//   [a line feed is n/216 inch after ESC 3]
//   source: FX manual A-16
//   nine-pin: ESC "3" 54 "a" LF
//     "b"
//   run 0,210 cell 216x360 |a|
//   run 0,750 cell 216x360 |b|
//
// A job for "both" is one for either, and @N in its pages is N u below the first baseline. The
// bytes are names of control codes, "text", and numbers in decimal; 3*LF repeats. A job may go on
// in lines that begin with blanks, and stand beneath another language's that makes the same pages.
// Pages are as show() gives them, from the printer's home position (pages.h), with a line "page"
// between them; below them stands what the report says if it says anything. A job that makes no
// page has "no page".
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace stationer::test {

struct CorpusJob {
  std::string language;
  std::string bytes;
};

struct CorpusCase {
  std::string title;
  std::string source;
  std::string rules;  // what is switched otherwise than usual: words with blanks between
  std::vector<CorpusJob> jobs;
  std::string expected;
};

// Reads such a text; what can't be read ends the test.
std::vector<CorpusCase> read_corpus(const std::string& path);

}  // namespace stationer::test
