#include "tests/print/corpus.h"

#include <array>
#include <charconv>
#include <fstream>
#include <stdexcept>

namespace stationer::test {
namespace {

struct ControlName {
  std::string_view name;
  char code;
};
constexpr auto controls = std::to_array<ControlName>({{"NUL", '\x00'},
                                                      {"BEL", '\x07'},
                                                      {"BS", '\x08'},
                                                      {"HT", '\x09'},
                                                      {"LF", '\x0A'},
                                                      {"VT", '\x0B'},
                                                      {"FF", '\x0C'},
                                                      {"CR", '\x0D'},
                                                      {"SO", '\x0E'},
                                                      {"SI", '\x0F'},
                                                      {"DC1", '\x11'},
                                                      {"DC2", '\x12'},
                                                      {"DC3", '\x13'},
                                                      {"DC4", '\x14'},
                                                      {"CAN", '\x18'},
                                                      {"EM", '\x19'},
                                                      {"ESC", '\x1B'},
                                                      {"DEL", '\x7F'}});

[[noreturn]] void wrong(std::string_view what, std::string_view where) {
  throw std::runtime_error(std::string(what) + ": " + std::string(where));
}

int number(std::string_view text) {
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size()) wrong("not a number", text);
  return value;
}

std::string bytes_of_word(std::string_view word) {
  if (word.front() == '"') return std::string(word.substr(1, word.size() - 2));
  for (const ControlName& control : controls) {
    if (control.name == word) return {control.code};
  }
  const int value = number(word);
  if (value < 0 || value > 255) wrong("not a byte", word);
  return {static_cast<char>(value)};
}

std::string bytes_of(std::string_view text) {
  std::string out;
  while (true) {
    const std::size_t begin = text.find_first_not_of(' ');
    if (begin == std::string_view::npos) return out;
    text.remove_prefix(begin);
    int times = 1;
    const std::size_t digits = text.find_first_not_of("0123456789");
    if (digits != 0 && digits != std::string_view::npos && text[digits] == '*') {
      times = number(text.substr(0, digits));
      text.remove_prefix(digits + 1);
    }
    std::size_t size = text.front() == '"' ? text.find('"', 1) : text.find(' ');
    if (text.front() == '"') {
      if (size == std::string_view::npos) wrong("no end", text);
      ++size;
    }
    size = std::min(size, text.size());
    const std::string word = bytes_of_word(text.substr(0, size));
    for (int i = 0; i < times; ++i) out += word;
    text.remove_prefix(size);
  }
}

bool begins(std::string_view line, std::string_view with) {
  return line.substr(0, with.size()) == with;
}

}  // namespace

std::vector<CorpusCase> read_corpus(const std::string& path) {
  std::ifstream file(path);
  if (!file) wrong("can't be read", path);
  std::vector<CorpusCase> cases;
  bool in_job = false;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line.front() == '#') continue;
    if (line.front() == '[') {
      cases.emplace_back().title = line.substr(1, line.size() - 2);
      in_job = false;
      continue;
    }
    if (cases.empty()) wrong("outside a case", line);
    CorpusCase& one = cases.back();
    if (begins(line, "source: ")) {
      one.source = line.substr(8);
    } else if (begins(line, "rules: ")) {
      one.rules = line.substr(7);
    } else if (begins(line, "nine-pin: ") || begins(line, "24-pin: ") || begins(line, "both: ")) {
      const std::size_t colon = line.find(':');
      one.jobs.push_back({line.substr(0, colon), bytes_of(line.substr(colon + 1))});
      in_job = true;
    } else if (in_job && begins(line, "  ") && one.expected.empty() && !begins(line, "  style") &&
               !begins(line, "  ink") && !begins(line, "  |")) {
      one.jobs.back().bytes += bytes_of(line);
    } else {
      one.expected += line + "\n";
    }
  }
  for (const CorpusCase& one : cases) {
    if (one.source.empty() || one.jobs.empty() || one.expected.empty())
      wrong("not whole", one.title);
  }
  return cases;
}

}  // namespace stationer::test
