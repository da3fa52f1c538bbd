// What is asked of whoever prints a job, and carrying it out. Orders and reports have a form in
// bytes, because the one may be given in one process and carried out in another.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/queue.h"
#include "print/render.h"
#include "print/report.h"

namespace stationer::print {

struct Order {
  std::string queue;             // by name: its settings are known on both sides
  std::uint64_t most_pages = 0;  // of this job
  Metadata metadata;
  std::vector<std::uint64_t> starts;  // see RenderJob
};

std::string write_order(const Order& order);
std::string write_report(const JobReport& report);
// Code::damaged when it is not one.
fs::Result<Order> read_order(std::string_view body);
fs::Result<JobReport> read_report(std::string_view body);

// As render(). Code::bad_input when there is no such queue.
fs::Result<JobReport> carry_out(const Order& order, const Queues& queues, const Fonts& fonts,
                                const ByteSource& source, const PartSink& sink,
                                const PageTold& on_page);

}  // namespace stationer::print
