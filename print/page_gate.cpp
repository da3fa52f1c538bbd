#include "print/page_gate.h"

#include <fmt/format.h>

namespace stationer::print {

fs::Status PageGate::fill(const Page& page) {
  head_ = Head::filled_page;
  if (!page.empty()) return give(page);
  ++kept_back_;
  return given_ + kept_back_ > most_pages_ ? too_many() : fs::Status{};
}

fs::Status PageGate::eject(const Page& page) {
  const bool makes_page = head_ == Head::form_feed || head_ == Head::below;
  head_ = Head::form_feed;
  return makes_page ? give(page) : fs::Status{};
}

fs::Status PageGate::close(const Page& page) {
  return page.empty() ? fs::Status{} : give(page);
}

fs::Status PageGate::give(const Page& page) {
  const Page blank;
  for (; kept_back_ > 0; --kept_back_) {
    if (fs::Status status = give_one(blank); !status) return status;
  }
  return give_one(page);
}

fs::Status PageGate::give_one(const Page& page) {
  if (given_ == most_pages_) return too_many();
  ++given_;
  return sink_(page);
}

fs::Status PageGate::too_many() const {
  return fs::Error{fs::Code::over_quota,
                   fmt::format("The job has more than {} pages, which is the most that may be "
                               "printed at once. Print it in parts, or ask for a higher limit.",
                               most_pages_)};
}

}  // namespace stationer::print
