// Pages to a PDF file: version 1.7, kept to the rules of PDF/A-2u (ISO 19005-2).
//
// Pages are written as they come and the fonts at the end, so memory is one page and a few numbers
// for each. Equal pages, metadata and fonts give equal bytes (invariant 7): no clock, no chance.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "fs/result.h"
#include "print/bytes.h"
#include "print/dress.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/page.h"
#include "print/paper.h"
#include "print/pdf_content.h"
#include "print/pdf_file.h"
#include "print/pdf_font.h"
#include "print/pdf_image.h"

namespace stationer::print {

class PdfWriter {
 public:
  // `fonts` must outlive it. `paper` is that of a page, as it lies.
  PdfWriter(const Fonts& fonts, const Paper& paper, Metadata metadata, ByteSink sink,
            const Dress& dress = {});

  // The sink's failure, if it had one.
  fs::Status add(const Page& page);

  // Completes the file. A job without pages becomes one blank page: PDF needs one.
  fs::Status finish();

  // Characters shown as a box, for want of a glyph.
  std::uint64_t missing_glyphs() const { return content_.missing(); }

 private:
  void write_page(const Page& page);
  void write_sheet();
  void close_branch();
  std::string own_resources();
  std::string paper_form() const;
  std::string ink_resources() const;
  void need_inks();

  PdfFile file_;
  PdfFonts fonts_;
  std::optional<PdfDotFonts> dots_;
  PdfImages images_;
  PdfContent content_;
  const Paper paper_;
  const Metadata metadata_;
  const SheetPlan plan_;
  const std::string drawn_paper_;
  const int catalog_;
  const int root_;
  const int resources_;
  int paper_form_ = 0;  // 0: there is nothing to be drawn
  int ink_space_ = 0;   // 0: all is black so far
  int ink_mixing_ = 0;

  // The sheet being filled.
  std::size_t on_sheet_ = 0;
  std::string sheet_;
  bool sheet_inked_ = false;
  std::set<PdfFonts::Outline> sheet_outlines_;

  // The page tree has two levels; a branch is written when it is full.
  std::vector<int> branches_;
  int branch_ = 0;  // 0: none open
  std::vector<int> leaves_;
  std::uint64_t sheet_count_ = 0;
};

}  // namespace stationer::print
