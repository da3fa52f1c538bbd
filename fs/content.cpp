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

std::optional<std::size_t> Content::read_now(std::uint64_t offset, std::span<char> into) const {
  if (file_) return file_->read_now(offset, into);
  return *read_at(offset, into);
}

Result<std::size_t> Content::send_to(int socket, std::uint64_t offset, std::size_t count) const {
  if (file_) return file_->send_to(socket, offset, count);
  return Error{Code::denied, "What is in memory can only be read."};
}

Result<std::uint64_t> Content::size() const {
  if (file_) return file_->size();
  return std::uint64_t{bytes_->size()};
}

}  // namespace stationer::fs
