#include "print/render.h"

#include <vector>

#include "print/interpreters.h"
#include "print/pdf_writer.h"

namespace stationer::print {
namespace {

// Reads to the end of `source`, giving `interpreter` what there is.
fs::Status interpret(const ByteSource& source, Interpreter& interpreter) {
  std::vector<char> buffer(std::size_t{64} << 10);
  for (;;) {
    const fs::Result<std::size_t> size = source(buffer);
    if (!size) return size.error();
    if (*size == 0) return interpreter.finish();
    if (fs::Status fed = interpreter.feed({buffer.data(), *size}); !fed) return fed;
  }
}

}  // namespace

fs::Result<JobReport> render(const ByteSource& source, const Settings& settings,
                             const Metadata& metadata, const Fonts& fonts, const ByteSink& sink) {
  const fs::Result<Layout> layout = lay_out(settings.form);
  if (!layout) return layout.error();

  const Paper paper = paper_of(settings.form);
  if (const fs::Status fits = check(settings.dress, paper); !fits) return fits.error();
  PdfWriter writer(fonts, paper, metadata, sink, settings.dress);
  const auto interpreter =
      make_interpreter(settings, *layout, [&writer](const Page& page) { return writer.add(page); });
  if (const fs::Status done = interpret(source, *interpreter); !done) return done.error();
  if (const fs::Status done = writer.finish(); !done) return done.error();
  JobReport report = interpreter->report();
  report.missing_glyphs = writer.missing_glyphs();
  return report;
}

}  // namespace stationer::print
