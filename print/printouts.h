// Pages on their way into printouts: a PDF is begun with its first page, and another where a job is
// split.
#pragma once

#include <optional>

#include "print/layout.h"
#include "print/page.h"
#include "print/page_gate.h"
#include "print/pdf_writer.h"
#include "print/render.h"

namespace stationer::print {

class Printouts {
 public:
  // All must outlive it.
  Printouts(const RenderJob& job, const Layout& layout, const Fonts& fonts, const PartSink& sink,
            const PageTold& on_page);

  // Fails when the sink does, or with Code::over_quota at one page too many of the whole job.
  fs::Status add(const Page& page) { return gate_.give(page); }
  // What comes now belongs to another printout.
  fs::Status split();
  // Completes the last one. A job without pages becomes one blank page.
  fs::Status finish();

  // Pages of each so far.
  const std::vector<std::uint64_t>& pages() const { return pages_; }
  std::uint64_t missing_glyphs() const { return missing_; }

 private:
  fs::Status put(const Page& page);
  fs::Status begin();

  const RenderJob& job_;
  const Layout& layout_;
  const Fonts& fonts_;
  const PartSink& sink_;
  const PageTold& on_page_;
  PageGate gate_;
  std::optional<PdfWriter> writer_;
  std::vector<std::uint64_t> pages_;
  std::uint64_t missing_ = 0;
};

}  // namespace stationer::print
