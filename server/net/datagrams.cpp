#include "server/net/datagrams.h"

#include <array>
#include <cerrno>
#include <cstring>

#include <netinet/in.h>
#include <sys/socket.h>

#include "server/net/door_address.h"

namespace stationer::server {

namespace asio = boost::asio;
using asio::ip::udp;
using boost::system::error_code;

namespace {

// Room for one address among the control data of a datagram.
struct alignas(cmsghdr) Control {
  std::array<char, CMSG_SPACE(sizeof(in_pktinfo))> bytes;
};

const in_pktinfo* arrival(msghdr& message) {
  for (cmsghdr* each = CMSG_FIRSTHDR(&message); each != nullptr;
       each = CMSG_NXTHDR(&message, each)) {
    if (each->cmsg_level == IPPROTO_IP && each->cmsg_type == IP_PKTINFO) {
      return reinterpret_cast<const in_pktinfo*>(CMSG_DATA(each));
    }
  }
  return nullptr;
}

void put_source(msghdr& message, Control& control, asio::ip::address_v4 from) {
  message.msg_control = &control;
  message.msg_controllen = sizeof control;
  cmsghdr* const header = CMSG_FIRSTHDR(&message);
  header->cmsg_level = IPPROTO_IP;
  header->cmsg_type = IP_PKTINFO;
  header->cmsg_len = CMSG_LEN(sizeof(in_pktinfo));
  in_pktinfo info{};
  info.ipi_spec_dst.s_addr = htonl(from.to_uint());
  std::memcpy(CMSG_DATA(header), &info, sizeof info);
}

}  // namespace

struct DatagramRoom::Parts {
  std::array<mmsghdr, most> heard_headers{};
  std::array<iovec, most> heard_parts{};
  std::array<Control, most> heard_control;
  std::array<sockaddr_storage, most> heard_from;
  std::vector<char> heard_octets = std::vector<char>(most * longest_heard);
  std::vector<Datagrams::Heard> heard;

  // What waits to be said, all by one socket.
  int socket = -1;
  std::size_t saying = 0;
  std::size_t said_octets = 0;
  std::array<mmsghdr, most> said_headers{};
  std::array<iovec, most> said_parts{};
  std::array<Control, most> said_control;
  std::array<Endpoint, most> said_to;
  std::vector<char> said = std::vector<char>(most_said);

  void flush() {
    std::size_t done = 0;
    while (done < saying) {
      const int sent = ::sendmmsg(socket, &said_headers[done], static_cast<unsigned>(saying - done),
                                  MSG_DONTWAIT);
      if (sent < 0 && errno == EINTR) continue;
      if (sent < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) break;
      // One that can't be sent is no reason to keep the others.
      done += sent > 0 ? static_cast<std::size_t>(sent) : 1;
    }
    saying = 0;
    said_octets = 0;
  }
};

DatagramRoom::DatagramRoom() : parts_(std::make_unique<Parts>()) {}
DatagramRoom::~DatagramRoom() = default;

Datagrams::Datagrams(AsioLoop& loop, DatagramRoom& room) : socket_(loop.context()), room_(room) {}

Datagrams::~Datagrams() {
  close();
}

fs::Result<std::unique_ptr<Datagrams>> Datagrams::open(AsioLoop& loop, DatagramRoom& room,
                                                       const std::string& name,
                                                       const DoorConfig& config,
                                                       std::uint16_t port) {
  const auto address = door_address(name, config);
  if (!address) return address.error();
  std::unique_ptr<Datagrams> out(new Datagrams(loop, room));
  auto& socket = out->socket_;
  error_code failed;
  socket.open(address->is_v4() ? udp::v4() : udp::v6(), failed);
  if (!failed) socket.bind({*address, port}, failed);
  if (!failed) socket.non_blocking(true, failed);
  if (failed) return cannot_open(name, config, failed);
  error_code ignored;  // as much as the system allows
  socket.set_option(asio::socket_base::receive_buffer_size(4 * 1024 * 1024), ignored);
  socket.set_option(asio::socket_base::send_buffer_size(4 * 1024 * 1024), ignored);
  if (address->is_v4()) {
    const int yes = 1;
    ::setsockopt(socket.native_handle(), IPPROTO_IP, IP_PKTINFO, &yes, sizeof yes);
  }
  return out;
}

Endpoint Datagrams::local() const {
  error_code ignored;
  return socket_.local_endpoint(ignored);
}

void Datagrams::close() {
  if (room_.parts_->socket == socket_.native_handle()) flush();  // the number may be another's next
  error_code ignored;
  socket_.close(ignored);
}

void Datagrams::wait(std::function<void()> heard) {
  socket_.async_wait(udp::socket::wait_read, [heard = std::move(heard)](const error_code& failed) {
    if (!failed) heard();
  });
}

std::span<const Datagrams::Heard> Datagrams::hear() {
  auto& parts = *room_.parts_;
  parts.heard.clear();
  for (std::size_t i = 0; i < DatagramRoom::most; ++i) {
    parts.heard_parts[i] = {&parts.heard_octets[i * DatagramRoom::longest_heard],
                            DatagramRoom::longest_heard};
    msghdr& message = parts.heard_headers[i].msg_hdr;
    message = {};
    message.msg_name = &parts.heard_from[i];
    message.msg_namelen = sizeof parts.heard_from[i];
    message.msg_iov = &parts.heard_parts[i];
    message.msg_iovlen = 1;
    message.msg_control = &parts.heard_control[i];
    message.msg_controllen = sizeof parts.heard_control[i];
  }
  const int got = ::recvmmsg(socket_.native_handle(), parts.heard_headers.data(),
                             DatagramRoom::most, MSG_DONTWAIT, nullptr);
  for (int i = 0; i < got; ++i) {
    msghdr& message = parts.heard_headers[static_cast<std::size_t>(i)].msg_hdr;
    Heard heard;
    if (message.msg_namelen > heard.from.capacity()) continue;
    std::memcpy(heard.from.data(), message.msg_name, message.msg_namelen);
    heard.from.resize(message.msg_namelen);
    if (const in_pktinfo* info = arrival(message)) {
      heard.at = asio::ip::address_v4(ntohl(info->ipi_spec_dst.s_addr));
      if (info->ipi_addr.s_addr != info->ipi_spec_dst.s_addr) continue;
    }
    heard.octets = {static_cast<const char*>(message.msg_iov->iov_base),
                    parts.heard_headers[static_cast<std::size_t>(i)].msg_len};
    parts.heard.push_back(heard);
  }
  return parts.heard;
}

std::span<char> Datagrams::say(const Endpoint& to, asio::ip::address_v4 from, std::size_t size) {
  auto& parts = *room_.parts_;
  if (parts.socket != socket_.native_handle() || parts.saying == DatagramRoom::most ||
      parts.said_octets + size > DatagramRoom::most_said) {
    parts.flush();
  }
  parts.socket = socket_.native_handle();
  const std::size_t i = parts.saying++;
  parts.said_to[i] = to;
  parts.said_parts[i] = {&parts.said[parts.said_octets], size};
  parts.said_octets += size;
  msghdr& message = parts.said_headers[i].msg_hdr;
  message = {};
  message.msg_name = parts.said_to[i].data();
  message.msg_namelen = static_cast<socklen_t>(to.size());
  message.msg_iov = &parts.said_parts[i];
  message.msg_iovlen = 1;
  if (!from.is_unspecified()) put_source(message, parts.said_control[i], from);
  return {static_cast<char*>(parts.said_parts[i].iov_base), size};
}

void Datagrams::say(const Endpoint& to, asio::ip::address_v4 from, std::string_view octets) {
  const auto place = say(to, from, octets.size());
  std::memcpy(place.data(), octets.data(), octets.size());
}

void Datagrams::unsay() {
  auto& parts = *room_.parts_;
  parts.said_octets -= parts.said_parts[--parts.saying].iov_len;
}

void Datagrams::flush() {
  room_.parts_->flush();
}

}  // namespace stationer::server
