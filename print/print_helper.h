// The process that makes the processes that print: started by a service
// (print/confined_renderer.h), it loads the fonts and then only copies itself, once for each job.
// The copies lock themselves into their cage (print/cage.h) before they hear of a job. It ends when
// the service does.
#pragma once

#include "print/order.h"

namespace stationer::print {

// What a program is started with that is to be a helper.
inline constexpr const char* helper_word = "print-helper";

// What a copy leaves with, where nothing went wrong but the cage could not be locked.
inline constexpr int cage_left_open = 3;

using CarryOut = fs::Result<JobReport> (*)(const Order& order, const Queues& queues,
                                           const Fonts& fonts, const ByteSource& source,
                                           const PartSink& sink, const PageTold& on_page);

// All that a program does that was started as a helper. The result is its exit status.
int run_print_helper(CarryOut carry_out = print::carry_out);

}  // namespace stationer::print
