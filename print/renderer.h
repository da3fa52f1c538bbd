// Who turns the spool's jobs into PDFs: this process, or another that can do nothing else
// (print/confined_renderer.h).
#pragma once

#include <memory>

#include "fs/result.h"
#include "print/bytes.h"
#include "print/order.h"
#include "print/report.h"

namespace stationer::print {

class Renderer {
 public:
  virtual ~Renderer() = default;

  // Reads `source` to its end and gives `sink` whole PDFs, as render() does. Code::bad_input and
  // Code::over_quota are the job's own fault, all else is worth another try. One job at a time.
  // `on_page` may be told of some pages only, and is told of none beyond the order's most.
  virtual fs::Result<JobReport> render(const Order& order, const ByteSource& source,
                                       const PartSink& sink, const PageTold& on_page) = 0;
};

// In this process, for what needs no guarding: tests, and volumes that are not being served.
std::unique_ptr<Renderer> render_in_place(Queues queues, Fonts fonts);

}  // namespace stationer::print
