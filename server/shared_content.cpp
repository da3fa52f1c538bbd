#include "server/shared_content.h"

#include <algorithm>
#include <cstring>

namespace stationer::server {

SharedContents::SharedContents(Loop& loop, std::size_t bound)
    : loop_(loop), bound_(bound), self_(std::make_shared<SharedContents*>(this)) {}

SharedContents::~SharedContents() {
  *self_ = nullptr;
}

SharedContents::OpenPtr SharedContents::find(fs::ContentId id) const {
  const auto found = open_.find(fs::number(id));
  return found == open_.end() ? nullptr : found->second.lock();
}

SharedContents::OpenPtr SharedContents::add(fs::Content content, std::uint64_t size) {
  const auto id = fs::number(content.id());
  auto open = std::make_shared<Open>(Open{std::move(content), size});
  if (open_.size() >= sweep_at_) {
    std::erase_if(open_, [](const auto& each) { return each.second.expired(); });
    sweep_at_ = std::max(least_sweep, 2 * open_.size());
  }
  open_[id] = open;
  return open;
}

SharedContents::Copied SharedContents::copy(const OpenPtr& open, std::uint64_t offset,
                                            std::span<char> into,
                                            const std::function<void()>& ready) {
  while (!into.empty()) {
    const Key key{open->content.id(), offset / piece};
    const auto [at, is_new] = pieces_.try_emplace(key);
    Piece& found = at->second;
    if (is_new) begin_reading(open, key);
    if (!found.bytes) {
      found.waiting.push_back(ready);
      return Copied::later;
    }
    const std::string& bytes = *found.bytes;
    const std::size_t from = offset % piece;
    const std::size_t size = std::min(into.size(), piece - from);
    // The host's file may have been cut short by somebody at the box.
    if (from + size > bytes.size()) return Copied::failed;
    by_use_.splice(by_use_.begin(), by_use_, found.use);
    std::memcpy(into.data(), bytes.data() + from, size);
    into = into.subspan(size);
    offset += size;
  }
  return Copied::all;
}

void SharedContents::begin_reading(const OpenPtr& open, const Key& key) {
  ++reads_;
  const std::uint64_t offset = key.second * piece;
  const std::size_t most =
      std::min<std::uint64_t>(piece, open->size - std::min(open->size, offset));
  loop_.work([&loop = loop_, self = self_, open, key, offset, most] {
    auto bytes = std::make_shared<std::string>(most, '\0');
    const auto got = open->content.read_at(offset, *bytes);
    bytes->resize(got ? *got : 0);
    loop.post([self, key, bytes, whole = bytes->size() == most] {
      if (*self != nullptr) (*self)->arrived(key, std::move(*bytes), whole);
    });
  });
}

void SharedContents::arrived(const Key& key, std::string bytes, bool whole) {
  const auto at = pieces_.find(key);
  Piece& came = at->second;
  bytes_ += bytes.size();
  came.bytes = std::move(bytes);
  by_use_.push_front(key);
  came.use = by_use_.begin();
  const auto waiting = std::move(came.waiting);
  // They copy at once, so that none of them finds it gone again.
  for (const auto& each : waiting) each();
  if (!whole) forget(at);  // the next who wants it tries again
  while (bytes_ > bound_) forget(pieces_.find(by_use_.back()));
}

void SharedContents::forget(Pieces::iterator which) {
  bytes_ -= which->second.bytes->size();
  by_use_.erase(which->second.use);
  pieces_.erase(which);
}

}  // namespace stationer::server
