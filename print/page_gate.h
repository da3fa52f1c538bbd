// Between an interpreter and whoever takes its pages: counts them, and stops a job that has too
// many.
//
// Pages that only line feeds have made are kept back until something follows them, so that blank
// lines at the end of a job make no page.
#pragma once

#include <cstdint>
#include <functional>

#include "fs/result.h"
#include "print/page.h"

namespace stationer::print {

using PageSink = std::function<fs::Status(const Page&)>;

class PageGate {
 public:
  PageGate(std::uint64_t most_pages, PageSink sink)
      : most_pages_(most_pages), sink_(std::move(sink)) {}

  // Gives the page, after the blank ones kept back. Fails when the sink does, or with
  // Code::over_quota.
  fs::Status give(const Page& page);
  // Keeps back a blank page.
  fs::Status skip();

  std::uint64_t pages() const { return given_; }

 private:
  fs::Status give_one(const Page& page);
  fs::Status too_many() const;

  const std::uint64_t most_pages_;
  const PageSink sink_;
  std::uint64_t given_ = 0;
  std::uint64_t kept_back_ = 0;
};

}  // namespace stationer::print
