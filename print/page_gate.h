// Between an interpreter and whoever takes its pages: knows where a page ends without being one,
// counts them, and stops a job that has too many.
//
// Pages that only line feeds have made are kept back until something follows them, so that blank
// lines at the end of a job make no page. A form feed as the first thing in a job makes none
// either, nor one right after a page that line feeds have filled: it only confirms that that page
// is over. One right after another makes a blank page. All of this is common practice, no source.
#pragma once

#include <cstdint>
#include <functional>

#include "fs/result.h"
#include "print/page.h"

namespace stationer::print {

using PageSink = std::function<fs::Status(const Page&)>;

// Every call that gives pages fails when the sink does, or with Code::over_quota.
class PageGate {
 public:
  PageGate(std::uint64_t most_pages, PageSink sink)
      : most_pages_(most_pages), sink_(std::move(sink)) {}

  // Something was printed or the paper moved: the head is no longer at the top of a page.
  void leave_top() { head_ = Head::below; }

  // Feeding lines has brought the head past the page's end.
  fs::Status fill(const Page& page);
  // A form feed.
  fs::Status eject(const Page& page);
  // The job is complete.
  fs::Status close(const Page& page);
  // What is a page, whatever made it one.
  fs::Status give(const Page& page);

  std::uint64_t pages() const { return given_; }

 private:
  // How the head came to be where it is: at the top of a page, or below it.
  enum class Head : std::uint8_t { job_start, filled_page, form_feed, below };

  fs::Status give_one(const Page& page);
  fs::Status too_many() const;

  const std::uint64_t most_pages_;
  const PageSink sink_;
  Head head_ = Head::job_start;
  std::uint64_t given_ = 0;
  std::uint64_t kept_back_ = 0;
};

}  // namespace stationer::print
