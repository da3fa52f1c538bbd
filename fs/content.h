// What a file holds, open for reading.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <utility>

#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

// Contents up to this size travel in the commit log; larger ones are streamed to incoming/ first.
inline constexpr std::size_t small_content = 128 * 1024;

// An open content: bytes in memory, or a file on the host.
class Content {
 public:
  explicit Content(std::shared_ptr<const std::string> bytes, ContentId id = {})
      : id_(id), bytes_(std::move(bytes)) {}
  explicit Content(std::unique_ptr<HostFile> file, ContentId id = {})
      : id_(id), file_(std::move(file)) {}

  // 0 for what is no file of the tree.
  ContentId id() const { return id_; }

  // Reads up to into.size() bytes; fewer only at the end. May wait for the disk.
  Result<std::size_t> read_at(std::uint64_t offset, std::span<char> into) const;
  // The same without waiting; nothing when it would have to.
  std::optional<std::size_t> read_now(std::uint64_t offset, std::span<char> into) const;
  // To a socket, by the host alone, where it has a file of it; as HostFile::send_to().
  Result<std::size_t> send_to(int socket, std::uint64_t offset, std::size_t count) const;
  Result<std::uint64_t> size() const;

 private:
  ContentId id_;
  std::shared_ptr<const std::string> bytes_;
  std::shared_ptr<HostFile> file_;
};

}  // namespace stationer::fs
