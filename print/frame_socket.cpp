#include "print/frame_socket.h"

#include <array>
#include <cerrno>
#include <cstring>

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;

const Error gone{Code::io, "The printing process is gone."};
const Error silent{Code::busy, "The printing process says nothing."};

Status wait_for(int descriptor, short what, FrameSocket::Patience patience) {
  if (!patience) return {};
  pollfd waiting{descriptor, what, 0};
  for (;;) {
    const int ready = ::poll(&waiting, 1, static_cast<int>(patience->count()));
    if (ready > 0) return {};
    if (ready == 0) return silent;
    if (errno != EINTR) return gone;
  }
}

// Bytes, with room for a descriptor beside them.
struct Message {
  Message(char* bytes, std::size_t size) : part{bytes, size} {
    all.msg_iov = &part;
    all.msg_iovlen = 1;
    all.msg_control = room.data();
    all.msg_controllen = room.size();
  }
  Message(const Message&) = delete;
  Message& operator=(const Message&) = delete;

  iovec part;
  alignas(cmsghdr) std::array<char, CMSG_SPACE(sizeof(int))> room{};
  msghdr all{};
};

}  // namespace

fs::Result<std::pair<FrameSocket, FrameSocket>> FrameSocket::pair() {
  std::array<int, 2> ends{};
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends.data()) != 0) {
    return Error{Code::io, std::string("The host could not connect two processes: ") +
                               std::strerror(errno) + "."};
  }
  return std::pair(FrameSocket(ends[0]), FrameSocket(ends[1]));
}

FrameSocket::~FrameSocket() {
  if (descriptor_ >= 0) ::close(descriptor_);
  if (passed_ >= 0) ::close(passed_);
}

Status FrameSocket::send(Frame::Kind kind, std::string_view body, Patience patience) {
  const std::string frame = frame_of(kind, body);
  for (std::size_t sent = 0; sent < frame.size();) {
    if (auto ready = wait_for(descriptor_, POLLOUT, patience); !ready) return ready;
    const ssize_t size = patience ? ::send(descriptor_, frame.data() + sent, frame.size() - sent,
                                           MSG_DONTWAIT | MSG_NOSIGNAL)
                                  : ::write(descriptor_, frame.data() + sent, frame.size() - sent);
    if (size < 0 && (errno == EINTR || errno == EAGAIN)) continue;
    if (size <= 0) return gone;
    sent += static_cast<std::size_t>(size);
  }
  return {};
}

fs::Result<Frame> FrameSocket::receive(Patience patience) {
  std::array<char, std::size_t{64} << 10> piece;
  for (;;) {
    auto frame = reader_.next();
    if (!frame) return frame.error();
    if (*frame) return std::move(**frame);
    if (auto ready = wait_for(descriptor_, POLLIN, patience); !ready) return ready.error();
    const ssize_t size = patience ? take(piece.data(), piece.size())
                                  : ::read(descriptor_, piece.data(), piece.size());
    if (size < 0 && (errno == EINTR || errno == EAGAIN)) continue;
    if (size <= 0) return gone;
    reader_.feed({piece.data(), static_cast<std::size_t>(size)});
  }
}

// unix(7), SCM_RIGHTS: what is passed goes along with the frame's first byte, and nothing read with
// that comes from beyond the frame it was sent with.
Status FrameSocket::send_with(Frame::Kind kind, std::string_view body, const FrameSocket& passed) {
  std::string frame = frame_of(kind, body);
  Message message(frame.data(), frame.size());
  cmsghdr* head = CMSG_FIRSTHDR(&message.all);
  head->cmsg_level = SOL_SOCKET;
  head->cmsg_type = SCM_RIGHTS;
  head->cmsg_len = CMSG_LEN(sizeof(int));
  std::memcpy(CMSG_DATA(head), &passed.descriptor_, sizeof(int));
  const ssize_t sent = ::sendmsg(descriptor_, &message.all, MSG_NOSIGNAL);
  return sent == static_cast<ssize_t>(frame.size()) ? Status() : Status(gone);
}

std::ptrdiff_t FrameSocket::take(char* into, std::size_t size) {
  Message message(into, size);
  const ssize_t got = ::recvmsg(descriptor_, &message.all, MSG_DONTWAIT | MSG_CMSG_CLOEXEC);
  const cmsghdr* head = got > 0 ? CMSG_FIRSTHDR(&message.all) : nullptr;
  if (head != nullptr && head->cmsg_level == SOL_SOCKET && head->cmsg_type == SCM_RIGHTS) {
    if (passed_ >= 0) ::close(passed_);
    std::memcpy(&passed_, CMSG_DATA(head), sizeof passed_);
  }
  return got;
}

fs::Result<FrameSocket> FrameSocket::take_passed() {
  if (passed_ < 0) return Error{Code::io, "The host could not hand a connection over."};
  return FrameSocket(std::exchange(passed_, -1));
}

}  // namespace stationer::print
