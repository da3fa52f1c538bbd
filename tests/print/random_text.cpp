#include "tests/print/random_text.h"

#include <algorithm>

#include "print/layout.h"

namespace stationer::test {

using namespace print;

RandomText random_listing(std::mt19937& random, int pages, int lines, int columns,
                          const std::string& characters) {
  const auto below = [&random](int limit) {
    return static_cast<int>(random() % static_cast<unsigned>(limit));
  };
  RandomText out;
  for (int page = 0; page < pages; ++page) {
    out.pages.emplace_back();
    for (int line = 0; line < lines; ++line) {
      std::string text;
      if (below(8) != 0) text.assign(static_cast<std::size_t>(below(columns / 2)), ' ');
      while (static_cast<int>(text.size()) < columns) {
        for (int i = below(12); i >= 0; --i) {
          text += characters[static_cast<std::size_t>(below(static_cast<int>(characters.size())))];
        }
        text.append(static_cast<std::size_t>(below(6) == 0 ? below(30) : 1), ' ');
        if (below(10) == 0) break;
      }
      text.resize(std::min(text.size(), static_cast<std::size_t>(columns)));
      text.erase(text.find_last_not_of(' ') + 1);
      out.bytes += text + "\r\n";
      if (!text.empty()) out.pages.back().push_back(text);
    }
    out.bytes += '\f';
  }
  return out;
}

std::string printing_ascii() {
  std::string out;
  for (char character = '!'; character <= '~'; ++character) out += character;
  return out;
}

std::vector<Lines> indented(std::vector<Lines> pages, const Settings& settings) {
  const Layout layout = lay_out(settings.form).value();
  const std::string margin(static_cast<std::size_t>(layout.left / layout.cell.pitch), ' ');
  for (Lines& lines : pages) {
    for (std::string& line : lines) line.insert(0, margin);
  }
  return pages;
}

std::string difference(const std::vector<Lines>& expected, const std::vector<Lines>& found) {
  if (expected.size() != found.size()) {
    return std::to_string(found.size()) + " pages, not " + std::to_string(expected.size());
  }
  for (std::size_t page = 0; page < expected.size(); ++page) {
    for (std::size_t line = 0; line < std::max(expected[page].size(), found[page].size()); ++line) {
      const std::string here = line < expected[page].size() ? expected[page][line] : "nothing";
      const std::string there = line < found[page].size() ? found[page][line] : "nothing";
      if (here != there) {
        return "page " + std::to_string(page + 1) + " line " + std::to_string(line + 1) + ": |" +
               there + "| instead of |" + here + "|";
      }
    }
  }
  return {};
}

std::string cell_width(const Settings& settings) {
  // 17.14 to the inch is 4.2 points, and so on: a whole number of tenths for all pitches.
  const int tenths = settings.form.pitch / 3;
  return std::to_string(tenths / 10) + "." + std::to_string(tenths % 10);
}

}  // namespace stationer::test
