#include "print/render.h"

#include "print/interpreters.h"
#include "print/marker.h"
#include "print/printouts.h"

namespace stationer::print {
namespace {

// A job as it is read: its bytes go to an interpreter, and to a new one where something new begins.
class Reading {
 public:
  Reading(const RenderJob& job, const Layout& layout, Printouts& printouts)
      : job_(job), layout_(layout), printouts_(printouts) {
    begin(0);
  }

  fs::Status feed(std::string_view bytes) {
    while (next_start_ < job_.starts.size() && job_.starts[next_start_] < offset_ + bytes.size()) {
      const std::uint64_t start = job_.starts[next_start_++];
      if (start < offset_) continue;
      const auto size = static_cast<std::size_t>(start - offset_);
      if (fs::Status fed = take(bytes.substr(0, size)); !fed) return fed;
      bytes.remove_prefix(size);
      if (fs::Status done = end_section(); !done) return done;
      begin(start);
    }
    return take(bytes);
  }

  fs::Result<JobReport> finish() {
    if (fs::Status done = end_section(); !done) return done.error();
    return report_;
  }

 private:
  void begin(std::uint64_t offset) {
    start_section(offset);
    finder_.emplace(
        job_.split.marker, [this](std::string_view text) { return interpreter_->feed(text); },
        [this, offset](std::uint64_t place) { return begin_part(offset + place); });
  }

  void start_section(std::uint64_t offset) {
    section_ = offset;
    interpreter_ = make_interpreter(job_.settings, layout_,
                                    [this](const Page& page) { return printouts_.add(page); });
  }

  fs::Status begin_part(std::uint64_t offset) {
    if (fs::Status done = end_interpreter(); !done) return done;
    start_section(offset);
    return printouts_.split();
  }

  fs::Status take(std::string_view bytes) {
    offset_ += bytes.size();
    return finder_->feed(bytes);
  }

  fs::Status end_section() {
    if (fs::Status done = finder_->finish(); !done) return done;
    return end_interpreter();
  }

  fs::Status end_interpreter() {
    if (fs::Status done = interpreter_->finish(); !done) return done;
    report_.add_section(interpreter_->report(), section_);
    return {};
  }

  const RenderJob& job_;
  const Layout& layout_;
  Printouts& printouts_;
  std::uint64_t offset_ = 0;  // of what comes next
  std::size_t next_start_ = 0;
  std::uint64_t section_ = 0;  // where what the interpreter reads begins
  std::unique_ptr<Interpreter> interpreter_;
  std::optional<MarkerFinder> finder_;
  JobReport report_;
};

}  // namespace

fs::Result<JobReport> render(const ByteSource& source, const RenderJob& job, const Fonts& fonts,
                             const PartSink& sink, const PageTold& on_page) {
  const fs::Result<Layout> layout = lay_out(job.settings.form);
  if (!layout) return layout.error();
  const fs::Status fits = check(job.settings.dress, paper_of(job.settings.form));
  if (!fits) return fits.error();

  Printouts printouts(job, *layout, fonts, sink, on_page);
  Reading reading(job, *layout, printouts);
  std::vector<char> buffer(std::size_t{64} << 10);
  for (;;) {
    const fs::Result<std::size_t> size = source(buffer);
    if (!size) return size.error();
    if (*size == 0) break;
    if (fs::Status fed = reading.feed({buffer.data(), *size}); !fed) return fed.error();
  }
  auto report = reading.finish();
  if (!report) return report;
  if (const fs::Status done = printouts.finish(); !done) return done.error();
  report->parts = printouts.pages();
  for (const std::uint64_t pages : report->parts) report->pages += pages;
  report->missing_glyphs = printouts.missing_glyphs();
  return report;
}

fs::Result<JobReport> render(const ByteSource& source, const Settings& settings,
                             const Metadata& metadata, const Fonts& fonts, const ByteSink& sink) {
  const PartSink only = [&sink](std::size_t, std::string_view bytes) { return sink(bytes); };
  return render(source, {settings, metadata, {}, {}, false}, fonts, only);
}

}  // namespace stationer::print
