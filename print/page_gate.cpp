#include "print/page_gate.h"

#include <fmt/format.h>

namespace stationer::print {

fs::Status PageGate::give(const Page& page) {
  const Page blank;
  for (; kept_back_ > 0; --kept_back_) {
    if (fs::Status status = give_one(blank); !status) return status;
  }
  return give_one(page);
}

fs::Status PageGate::skip() {
  ++kept_back_;
  return given_ + kept_back_ > most_pages_ ? too_many() : fs::Status{};
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
