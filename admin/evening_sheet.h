// An evening on one page: who was here, what was saved, printed and handed in, who was turned away,
// what is in the way. What does not fit is counted, not left out in silence.
#pragma once

#include <boost/json/object.hpp>

#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/paper.h"

namespace stationer::admin {

// `evening` as report.evening answers it, `status` as status does. Equal answers give equal bytes.
fs::Status make_evening_sheet(const boost::json::object& evening, const boost::json::object& status,
                              const print::Paper& paper, const print::Fonts& fonts,
                              const print::ByteSink& sink);

}  // namespace stationer::admin
