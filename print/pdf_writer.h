// Pages to a PDF file: version 1.7, kept to the rules of PDF/A-2u (ISO 19005-2).
//
// Pages are written as they come and the fonts at the end, so memory is one page and a few numbers
// for each. Equal pages, metadata and fonts give equal bytes (invariant 7): no clock, no chance.
#pragma once

#include <cstdint>
#include <vector>

#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/page.h"
#include "print/paper.h"
#include "print/pdf_content.h"
#include "print/pdf_file.h"
#include "print/pdf_font.h"

namespace stationer::print {

class PdfWriter {
 public:
  // `fonts` must outlive it.
  PdfWriter(const Fonts& fonts, const Paper& paper, Metadata metadata, ByteSink sink);

  // The sink's failure, if it had one.
  fs::Status add(const Page& page);

  // Completes the file. A job without pages becomes one blank page: PDF needs one.
  fs::Status finish();

  // Characters shown as a box, for want of a glyph.
  std::uint64_t missing_glyphs() const { return content_.missing(); }

 private:
  PdfFile file_;
  PdfFonts fonts_;
  PdfContent content_;
  const Paper paper_;
  const Metadata metadata_;
  const int catalog_;
  const int root_;
  const int resources_;

  // The page tree has two levels; a branch is written when it is full.
  void close_branch();
  std::vector<int> branches_;
  int branch_ = 0;  // 0: none open
  std::vector<int> leaves_;
  std::uint64_t page_count_ = 0;
};

}  // namespace stationer::print
