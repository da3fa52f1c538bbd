#include "print/render.h"

#include <vector>

#include "print/listing.h"
#include "print/pdf_writer.h"

namespace stationer::print {
namespace {

// Reads to the end of `source`, giving `interpreter` what there is.
template <class Interpreter>
fs::Status interpret(const ByteSource& source, Interpreter& interpreter) {
  std::vector<char> buffer(std::size_t{64} << 10);
  for (;;) {
    const fs::Result<std::size_t> size = source(buffer);
    if (!size) return size.error();
    if (*size == 0) return interpreter.finish();
    if (fs::Status fed = interpreter.feed({buffer.data(), *size}); !fed) return fed;
  }
}

fs::Result<PlainTextReport> interpret(const ByteSource& source, const Settings& settings,
                                      const Layout& layout, const PageSink& pages) {
  PlainTextRules rules = settings.text;
  if (settings.language == Language::listing) {
    // The first column alone moves the paper.
    rules.feed_returns = true;
    rules.return_feeds = false;
    PlainText text(rules, layout, pages);
    Listing listing(text);
    if (fs::Status done = interpret(source, listing); !done) return done.error();
    PlainTextReport report = text.report();
    report.unknown_controls += listing.unknown_controls();
    return report;
  }
  PlainText text(rules, layout, pages);
  if (fs::Status done = interpret(source, text); !done) return done.error();
  return text.report();
}

}  // namespace

fs::Result<Report> render(const ByteSource& source, const Settings& settings,
                          const Metadata& metadata, const Fonts& fonts, const ByteSink& sink) {
  const fs::Result<Layout> layout = lay_out(settings.form);
  if (!layout) return layout.error();

  PdfWriter writer(fonts, settings.form.paper, metadata, sink);
  const auto text = interpret(source, settings, *layout,
                              [&writer](const Page& page) { return writer.add(page); });
  if (!text) return text.error();
  if (const fs::Status done = writer.finish(); !done) return done.error();
  return Report{*text, writer.missing_glyphs()};
}

}  // namespace stationer::print
