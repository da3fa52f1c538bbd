// A job's bytes to PDFs: the one call for whoever has a job to print.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/report.h"
#include "print/settings.h"

namespace stationer::print {

// Where one job becomes several printouts, each with the printer as it was switched on.
struct Splitting {
  std::uint64_t pages = 0;  // after so many pages; 0: never. The printer goes on as it stands
  std::string marker;       // at lines that say this and nothing else; empty: never
};

struct RenderJob {
  Settings settings;
  Metadata metadata;
  Splitting split;
  // Where another job begins that was joined to the one before: on a new page, with the printer as
  // it was switched on.
  std::vector<std::uint64_t> starts;
  bool banner = false;  // a page in front that says whose it is, which is counted nowhere
};

// A piece of one of the printouts, which are numbered from 0. One is complete when the next begins.
using PartSink = std::function<fs::Status(std::size_t part, std::string_view bytes)>;

// Told of each page that is going to be drawn: its number in the whole job, banners not counted.
// It has to be cheap.
using PageTold = std::function<void(std::uint64_t page)>;

// Reads `source` to its end and writes whole PDFs to `sink`, in memory that doesn't depend on the
// job's length. On failure (the source's, the sink's, Code::bad_input for settings that don't fit
// the sheet, Code::over_quota for too many pages) what the sink has is to be thrown away.
//
// Equal bytes, settings and metadata give equal PDFs (invariant 7).
fs::Result<JobReport> render(const ByteSource& source, const RenderJob& job, const Fonts& fonts,
                             const PartSink& sink, const PageTold& on_page = {});

// The same without any of that: one PDF.
fs::Result<JobReport> render(const ByteSource& source, const Settings& settings,
                             const Metadata& metadata, const Fonts& fonts, const ByteSink& sink);

}  // namespace stationer::print
