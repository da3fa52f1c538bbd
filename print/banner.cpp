#include "print/banner.h"

#include <fmt/format.h>

#include "print/plain_text.h"

namespace stationer::print {
namespace {

constexpr int lines_above = 6;

// One line of it, with nothing in it that would move the paper.
void add_line(std::string& text, std::string_view what, std::string_view value) {
  if (value.empty()) return;
  text += fmt::format("    {:<8}  ", what);
  for (const char c : value) text += static_cast<unsigned char>(c) < ' ' ? ' ' : c;
  text += "\n\n";
}

}  // namespace

fs::Status print_banner(const Metadata& about, const Layout& layout, PageSink sink) {
  std::string text(lines_above, '\n');
  add_line(text, "for", about.owner.empty() ? "whoever claims it" : about.owner);
  add_line(text, "title", about.title);
  add_line(text, "job", about.job);
  add_line(text, "from", about.origin);
  add_line(text, "came in", moment_text(about.created));
  PlainTextRules rules;
  rules.most_pages = 1;
  PlainText printer(rules, layout, std::move(sink));
  if (fs::Status fed = printer.feed(text); !fed) return fed;
  return printer.finish();
}

std::string part_title(std::string_view title, std::size_t part) {
  return fmt::format("{} (part {})", title, part + 1);
}

}  // namespace stationer::print
