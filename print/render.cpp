#include "print/render.h"

#include <vector>

#include "print/pdf_writer.h"

namespace stationer::print {

fs::Result<Report> render(const ByteSource& source, const Settings& settings,
                          const Metadata& metadata, const Fonts& fonts, const ByteSink& sink) {
  const fs::Result<Layout> layout = lay_out(settings.form);
  if (!layout) return layout.error();

  PdfWriter writer(fonts, settings.form.paper, metadata, sink);
  PlainText text(settings.text, *layout, [&writer](const Page& page) { return writer.add(page); });
  std::vector<char> buffer(std::size_t{64} << 10);
  for (;;) {
    const fs::Result<std::size_t> size = source(buffer);
    if (!size) return size.error();
    if (*size == 0) break;
    if (const fs::Status fed = text.feed({buffer.data(), *size}); !fed) return fed.error();
  }
  if (const fs::Status done = text.finish(); !done) return done.error();
  if (const fs::Status done = writer.finish(); !done) return done.error();
  return Report{text.report(), writer.missing_glyphs()};
}

}  // namespace stationer::print
