// A planned room on paper: an overview of the segments and their bridges, each segment with its
// boxes and what is plugged in, then parts, signs, limits and cautions. As many sheets as that
// takes, which is bounded by the plan.
#pragma once

#include "admin/plan/plan.h"
#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/paper.h"

namespace stationer::admin {

// `paper` is drawn on with its long edge across. Equal plans give equal bytes.
fs::Status draw_plan(const Plan& plan, const print::Fonts& fonts, const print::Paper& paper,
                     const print::Metadata& about, print::ByteSink sink);

}  // namespace stationer::admin
