#include "fs/content.h"

#include <algorithm>
#include <cstring>

namespace stationer::fs {

Result<std::size_t> Content::read_at(std::uint64_t offset, std::span<char> into) const {
  if (file_) return file_->read_at(offset, into);
  if (offset >= bytes_->size()) return std::size_t{0};
  const std::size_t size =
      std::min<std::size_t>(into.size(), bytes_->size() - static_cast<std::size_t>(offset));
  std::memcpy(into.data(), bytes_->data() + offset, size);
  return size;
}

Result<std::uint64_t> Content::size() const {
  if (file_) return file_->size();
  return std::uint64_t{bytes_->size()};
}

}  // namespace stationer::fs
