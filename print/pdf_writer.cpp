#include "print/pdf_writer.h"

#include <algorithm>

#include <fmt/format.h>

#include "print/icc.h"
#include "print/pdf_ink.h"

namespace stationer::print {
namespace {

constexpr std::size_t leaves_a_branch = 200;

constexpr std::string_view paper_form_name = "/L";

std::optional<PdfDotFonts> dot_fonts(const Fonts& fonts, Look look) {
  if (look == Look::plain) return {};
  return std::optional<PdfDotFonts>(std::in_place, fonts,
                                    look == Look::dots ? PrintHead::nine : PrintHead::twenty_four);
}

std::string kids(const std::vector<int>& numbers) {
  std::string out = "/Kids[";
  for (const int number : numbers) out += reference(number) + " ";
  out.back() = ']';
  return out;
}

}  // namespace

PdfWriter::PdfWriter(const Fonts& fonts, const Paper& paper, Metadata metadata, ByteSink sink,
                     const Dress& dress)
    : file_(std::move(sink), metadata.job),
      fonts_(fonts),
      dots_(dot_fonts(fonts, dress.look)),
      images_(file_, dots_.has_value(), paper),
      content_(fonts_, dots_ ? &*dots_ : nullptr, paper),
      paper_(paper),
      metadata_(std::move(metadata)),
      plan_(plan_sheet(dress, paper)),
      drawn_paper_(draw_paper(dress, paper)),
      catalog_(file_.reserve()),
      root_(file_.reserve()),
      resources_(file_.reserve()) {
  if (drawn_paper_.empty()) return;
  paper_form_ = file_.reserve();
  if (dress.bars) need_inks();
}

void PdfWriter::need_inks() {
  if (ink_space_ != 0) return;
  ink_space_ = file_.reserve();
  ink_mixing_ = file_.reserve();
}

fs::Status PdfWriter::add(const Page& page) {
  if (branch_ == 0) branch_ = file_.reserve();
  if (on_sheet_ == 0) {
    images_.begin();
    sheet_.clear();
    sheet_inked_ = false;
    sheet_outlines_.clear();
  }
  if (!page.empty() || paper_form_ != 0) write_page(page);
  if (++on_sheet_ == plan_.places.size()) write_sheet();
  return file_.flush();
}

void PdfWriter::write_page(const Page& page) {
  const auto images = page.images();
  if (std::any_of(images.begin(), images.end(),
                  [](const Image& image) { return image.ink != Ink::black; })) {
    need_inks();
    sheet_inked_ = true;
  }
  const SheetPlan::Place& place = plan_.places[on_sheet_];
  images_.write(page, ink_space_);
  const bool many = plan_.places.size() > 1;
  if (many) {
    sheet_ +=
        fmt::format("q {0:.4f} 0 0 {0:.4f} {1:.2f} {2:.2f} cm\n", plan_.scale, place.x, place.y);
  }
  if (paper_form_ != 0) sheet_.append(paper_form_name).append(" Do\n");
  sheet_ += content_.write(page, images_.operators());
  if (many) sheet_ += "Q\n";
  sheet_outlines_.insert(content_.outlines().begin(), content_.outlines().end());
  if (content_.inked()) {
    need_inks();
    sheet_inked_ = true;
  }
}

void PdfWriter::write_sheet() {
  std::string entries = fmt::format("<</Type/Page/Parent {}/Resources ", reference(branch_));
  if (sheet_.empty()) {
    entries += reference(resources_);
  } else {
    const int content = file_.reserve();
    if (sheet_inked_) sheet_.insert(0, std::string(ink_mixing_name) + " gs\n");
    file_.stream(content, "", sheet_, Effort::quick);
    entries += (images_.none() ? reference(resources_) : own_resources()) + "/Contents " +
               reference(content);
    if (sheet_inked_) {
      entries += fmt::format("/Group<</S/Transparency/CS {}>>", reference(ink_space_));
    }
  }
  const int leaf = file_.reserve();
  file_.object(leaf, entries + ">>");
  leaves_.push_back(leaf);
  ++sheet_count_;
  on_sheet_ = 0;
  if (leaves_.size() == leaves_a_branch) close_branch();
}

// Of a page with images: they are its alone, and may be many.
std::string PdfWriter::own_resources() {
  return fmt::format("<</Font {}{}/XObject<<{}{}{}>>>>", reference(fonts_.dictionary(file_)),
                     ink_resources(), paper_form(), images_.entries(),
                     fonts_.entries(file_, sheet_outlines_));
}

std::string PdfWriter::paper_form() const {
  if (paper_form_ == 0) return {};
  return std::string(paper_form_name) + " " + reference(paper_form_);
}

std::string PdfWriter::ink_resources() const {
  if (ink_space_ == 0) return {};
  return fmt::format("/ColorSpace<<{} {}>>/ExtGState<<{} {}>>", ink_space_name,
                     reference(ink_space_), ink_mixing_name, reference(ink_mixing_));
}

void PdfWriter::close_branch() {
  file_.object(branch_, fmt::format("<</Type/Pages/Parent {}/Count {}{}>>", reference(root_),
                                    leaves_.size(), kids(leaves_)));
  branches_.push_back(branch_);
  branch_ = 0;
  leaves_.clear();
}

fs::Status PdfWriter::finish() {
  if (sheet_count_ == 0 && on_sheet_ == 0) {
    if (fs::Status status = add(Page()); !status) return status;
  }
  if (on_sheet_ != 0) write_sheet();
  if (branch_ != 0) close_branch();
  file_.object(root_, fmt::format("<</Type/Pages/MediaBox[0 0 {} {}]/Count {}{}>>",
                                  text_of(points_of_micrometres(plan_.paper.width)),
                                  text_of(points_of_micrometres(plan_.paper.height)), sheet_count_,
                                  kids(branches_)));
  const std::string dot_fonts = dots_ ? dots_->write(file_) : std::string();
  file_.object(resources_,
               "<<" + fonts_.write(file_, dot_fonts, paper_form()) + ink_resources() + ">>");
  if (paper_form_ != 0) {
    file_.stream(paper_form_,
                 fmt::format("/Type/XObject/Subtype/Form/BBox[0 0 {} {}]/Resources<<{}>>",
                             text_of(points_of_micrometres(paper_.width)),
                             text_of(points_of_micrometres(paper_.height)), ink_resources()),
                 drawn_paper_);
  }
  if (ink_space_ != 0) {
    file_.object(ink_space_, ink_space());
    file_.object(ink_mixing_, ink_mixing());
  }

  const int profile = file_.reserve();
  file_.stream(profile, "/N 1", gray_profile());
  const int packet = file_.reserve();
  file_.stream_uncompressed(packet, "/Type/Metadata/Subtype/XML", xmp_packet(metadata_));
  file_.object(catalog_,
               fmt::format("<</Type/Catalog/Pages {}/Metadata {}"
                           "/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1"
                           "/OutputConditionIdentifier(Gray, gamma 2.2)/Info(Gray, gamma 2.2)"
                           "/DestOutputProfile {}>>]/ViewerPreferences<</DisplayDocTitle true>>>>",
                           reference(root_), reference(packet), reference(profile)));
  const int info = file_.reserve();
  file_.object(info, info_dictionary(metadata_));
  return file_.finish(catalog_, info);
}

}  // namespace stationer::print
