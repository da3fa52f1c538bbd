#include "print/printouts.h"

#include <fmt/format.h>

#include "print/banner.h"

namespace stationer::print {

Printouts::Printouts(const RenderJob& job, const Layout& layout, const Fonts& fonts,
                     const PartSink& sink, const PageTold& on_page)
    : job_(job),
      layout_(layout),
      fonts_(fonts),
      sink_(sink),
      on_page_(on_page),
      gate_(job.settings.text.most_pages, [this](const Page& page) { return put(page); }) {}

fs::Status Printouts::begin() {
  const std::size_t part = pages_.size();
  Metadata metadata = job_.metadata;
  if (part > 0) {
    metadata.title = part_title(metadata.title, part);
    metadata.job += fmt::format("-{}", part + 1);
  }
  writer_.emplace(
      fonts_, paper_of(job_.settings.form), std::move(metadata),
      [this, part](std::string_view bytes) { return sink_(part, bytes); }, job_.settings.dress);
  pages_.push_back(0);
  if (!job_.banner || part > 0) return {};
  return print_banner(job_.metadata, layout_,
                      [this](const Page& page) { return writer_->add(page); });
}

fs::Status Printouts::put(const Page& page) {
  if (on_page_) on_page_(gate_.pages());
  if (writer_ && job_.split.pages != 0 && pages_.back() == job_.split.pages) {
    if (fs::Status done = split(); !done) return done;
  }
  if (!writer_) {
    if (fs::Status begun = begin(); !begun) return begun;
  }
  ++pages_.back();
  return writer_->add(page);
}

fs::Status Printouts::split() {
  if (!writer_) return {};
  fs::Status done = writer_->finish();
  missing_ += writer_->missing_glyphs();
  writer_.reset();
  return done;
}

fs::Status Printouts::finish() {
  if (pages_.empty()) {
    if (fs::Status begun = begin(); !begun) return begun;
  }
  return split();
}

}  // namespace stationer::print
