#include "print/renderer.h"

namespace stationer::print {
namespace {

class InPlace : public Renderer {
 public:
  InPlace(Queues queues, Fonts fonts) : queues_(std::move(queues)), fonts_(std::move(fonts)) {}

  fs::Result<JobReport> render(const Order& order, const ByteSource& source, const PartSink& sink,
                               const PageTold& on_page) override {
    return carry_out(order, queues_, fonts_, source, sink, on_page);
  }

 private:
  const Queues queues_;
  const Fonts fonts_;
};

}  // namespace

std::unique_ptr<Renderer> render_in_place(Queues queues, Fonts fonts) {
  return std::make_unique<InPlace>(std::move(queues), std::move(fonts));
}

}  // namespace stationer::print
