#include "print/marker.h"

#include <utility>

namespace stationer::print {

// What was kept back is no marker.
fs::Status MarkerFinder::let_go() {
  const std::size_t kept = std::exchange(matched_, 0);
  return kept == 0 ? fs::Status() : text_(std::string_view(marker_).substr(0, kept));
}

fs::Status MarkerFinder::feed(std::string_view bytes) {
  if (marker_.empty()) return text_(bytes);
  std::size_t told = 0;  // bytes of this piece that are dealt with
  const auto tell_up_to = [&](std::size_t end) -> fs::Status {
    const auto part = bytes.substr(told, end - told);
    told = end;
    return part.empty() ? fs::Status() : text_(part);
  };
  for (std::size_t i = 0; i < bytes.size(); ++i, ++offset_) {
    const char byte = bytes[i];
    const bool ends_line = byte == '\r' || byte == '\n';
    if (std::exchange(after_cr_, false)) {
      if (auto marked = mark_(offset_ + (byte == '\n' ? 1 : 0)); !marked) return marked;
      if (byte == '\n') {
        told = i + 1;
        continue;
      }
    }
    if (matched_ == marker_.size() && ends_line) {
      matched_ = 0;
      line_start_ = true;
      told = i + 1;
      if (byte == '\r') {
        after_cr_ = true;
      } else if (auto marked = mark_(offset_ + 1); !marked) {
        return marked;
      }
      continue;
    }
    if ((matched_ > 0 || line_start_) && matched_ < marker_.size() && byte == marker_[matched_]) {
      if (matched_ == 0) {
        if (auto done = tell_up_to(i); !done) return done;
      }
      ++matched_;
      told = i + 1;
      line_start_ = false;
      continue;
    }
    if (auto done = let_go(); !done) return done;
    line_start_ = ends_line || byte == '\f';
  }
  return tell_up_to(bytes.size());
}

fs::Status MarkerFinder::finish() {
  if (after_cr_) return mark_(offset_);
  if (!marker_.empty() && matched_ == marker_.size()) return mark_(offset_);
  return let_go();
}

}  // namespace stationer::print
