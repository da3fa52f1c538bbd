// One end of a connection between two processes of this machine, over which frames go. The only
// user of the host's local sockets here.
#pragma once

#include <chrono>
#include <optional>
#include <utility>

#include "fs/result.h"
#include "print/frames.h"

namespace stationer::print {

class FrameSocket {
 public:
  // How long to wait; nothing is however long, and then only read(2) and write(2) are called.
  using Patience = std::optional<std::chrono::milliseconds>;

  static fs::Result<std::pair<FrameSocket, FrameSocket>> pair();
  explicit FrameSocket(int descriptor) : descriptor_(descriptor) {}
  FrameSocket(FrameSocket&& other) noexcept
      : descriptor_(std::exchange(other.descriptor_, -1)),
        reader_(std::move(other.reader_)),
        passed_(std::exchange(other.passed_, -1)) {}
  FrameSocket& operator=(FrameSocket&& other) noexcept {
    std::swap(descriptor_, other.descriptor_);
    std::swap(reader_, other.reader_);
    std::swap(passed_, other.passed_);
    return *this;
  }
  ~FrameSocket();

  int descriptor() const { return descriptor_; }

  // Code::io when the other end is gone, Code::busy when it was silent for too long, Code::damaged
  // for what is no frame.
  fs::Status send(Frame::Kind kind, std::string_view body, Patience patience);
  fs::Result<Frame> receive(Patience patience);

  // A short frame, and with it another connection for the process at the other end.
  fs::Status send_with(Frame::Kind kind, std::string_view body, const FrameSocket& passed);
  // The connection that came with a frame received with patience.
  fs::Result<FrameSocket> take_passed();

 private:
  int descriptor_ = -1;
  FrameReader reader_;
  int passed_ = -1;

  std::ptrdiff_t take(char* into, std::size_t size);
};

}  // namespace stationer::print
