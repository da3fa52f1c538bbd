#include "print/pdf_writer.h"

#include <fmt/format.h>

#include "print/icc.h"

namespace stationer::print {
namespace {

constexpr std::size_t leaves_a_branch = 200;

std::string kids(const std::vector<int>& numbers) {
  std::string out = "/Kids[";
  for (const int number : numbers) out += reference(number) + " ";
  out.back() = ']';
  return out;
}

}  // namespace

PdfWriter::PdfWriter(const Fonts& fonts, const Paper& paper, Metadata metadata, ByteSink sink)
    : file_(std::move(sink), metadata.job),
      fonts_(fonts),
      content_(fonts_, paper),
      paper_(paper),
      metadata_(std::move(metadata)),
      catalog_(file_.reserve()),
      root_(file_.reserve()),
      resources_(file_.reserve()) {}

fs::Status PdfWriter::add(const Page& page) {
  if (branch_ == 0) branch_ = file_.reserve();
  std::string entries =
      fmt::format("<</Type/Page/Parent {}/Resources {}", reference(branch_), reference(resources_));
  if (!page.empty()) {
    const int content = file_.reserve();
    file_.stream(content, "", content_.write(page));
    entries += "/Contents " + reference(content);
  }
  const int leaf = file_.reserve();
  file_.object(leaf, entries + ">>");
  leaves_.push_back(leaf);
  ++page_count_;
  if (leaves_.size() == leaves_a_branch) close_branch();
  return file_.flush();
}

void PdfWriter::close_branch() {
  file_.object(branch_, fmt::format("<</Type/Pages/Parent {}/Count {}{}>>", reference(root_),
                                    leaves_.size(), kids(leaves_)));
  branches_.push_back(branch_);
  branch_ = 0;
  leaves_.clear();
}

fs::Status PdfWriter::finish() {
  if (page_count_ == 0) {
    if (fs::Status status = add(Page()); !status) return status;
  }
  if (branch_ != 0) close_branch();
  file_.object(root_, fmt::format("<</Type/Pages/MediaBox[0 0 {} {}]/Count {}{}>>",
                                  text_of(points_of_micrometres(paper_.width)),
                                  text_of(points_of_micrometres(paper_.height)), page_count_,
                                  kids(branches_)));
  file_.object(resources_, fonts_.write(file_));

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
