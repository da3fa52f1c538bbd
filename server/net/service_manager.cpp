#include "server/net/service_manager.h"

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <utility>

#include <boost/asio/buffer.hpp>
#include <unistd.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

using boost::asio::local::datagram_protocol;

constexpr std::size_t longest_status = 200;  // bytes
constexpr std::size_t longest_path = 107;    // unix(7), less the end

std::string taken(const char* name) {
  const char* value = std::getenv(name);
  std::string out = value == nullptr ? "" : value;
  ::unsetenv(name);
  return out;
}

std::optional<std::int64_t> number(const std::string& text) {
  std::int64_t value = 0;
  const char* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc() || read.ptr != end) return std::nullopt;
  return value;
}

}  // namespace

ManagerWishes ManagerWishes::from_environment() {
  ManagerWishes wishes;
  wishes.socket = taken("NOTIFY_SOCKET");
  const auto silence = number(taken("WATCHDOG_USEC"));
  const auto process = number(taken("WATCHDOG_PID"));  // none: whoever it is
  if (silence && *silence > 0 && (!process || *process == ::getpid())) {
    wishes.watchdog = std::chrono::microseconds(*silence);
  }
  return wishes;
}

ServiceManager::ServiceManager(AsioLoop& loop, ManagerWishes wishes)
    : wishes_(std::move(wishes)), socket_(loop.context()) {
  if (wishes_.socket.empty() || wishes_.socket.size() > longest_path) return;
  std::string path = wishes_.socket;
  if (path.front() == '@') path.front() = '\0';
  boost::system::error_code failed;
  socket_.open(datagram_protocol(), failed);
  if (!failed) socket_.connect(datagram_protocol::endpoint(path), failed);
  if (!failed) socket_.non_blocking(true, failed);
  if (failed) socket_.close(failed);
}

void ServiceManager::say(std::string_view state) {
  if (!socket_.is_open()) return;
  boost::system::error_code lost;
  socket_.send(boost::asio::buffer(state), 0, lost);
}

void ServiceManager::status(std::string_view sentence) {
  std::string line(fs::clip(sentence, longest_status));
  std::replace(line.begin(), line.end(), '\n', ' ');
  say("STATUS=" + line);
}

}  // namespace stationer::server
