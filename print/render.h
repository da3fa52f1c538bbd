// A job's bytes to a PDF: the one call for whoever has a job to print.
#pragma once

#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/report.h"
#include "print/settings.h"

namespace stationer::print {

// Reads `source` to its end and writes a whole PDF to `sink`, in memory that doesn't depend on the
// job's length. On failure (the source's, the sink's, Code::bad_input for settings that don't fit
// the sheet, Code::over_quota for too many pages) what the sink has is to be thrown away.
//
// Equal bytes, settings and metadata give an equal PDF (invariant 7).
fs::Result<JobReport> render(const ByteSource& source, const Settings& settings,
                             const Metadata& metadata, const Fonts& fonts, const ByteSink& sink);

}  // namespace stationer::print
