#include <deque>

#include <boost/asio/io_context.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/write.hpp>
#include <fmt/format.h>

#include "admin/channel.h"
#include "fs/host_files.h"
#include "server/protocol/jsonrpc.h"

namespace stationer::admin {
namespace {

namespace asio = boost::asio;
using asio::local::stream_protocol;
using boost::system::error_code;
using fs::Code;
using fs::Error;

class SocketChannel : public Channel {
 public:
  error_code connect(const std::string& path) {
    error_code failed;
    socket_.connect(stream_protocol::endpoint(path), failed);
    return failed;
  }

  void stop() override {
    asio::post(context_, [this] {
      error_code ignored;
      socket_.close(ignored);
    });
  }

  // It says nothing unasked, so all there is to read now would be its end.
  bool is_there() override {
    error_code failed;
    char none = 0;
    socket_.non_blocking(true, failed);
    socket_.read_some(asio::buffer(&none, 1), failed);
    const bool there = failed == asio::error::would_block;
    socket_.non_blocking(false, failed);
    return there;
  }

 private:
  fs::Result<std::string> exchange(const std::string& line) override {
    const Error ended{Code::io,
                      "The service ended before it answered, or does not let you in: only the user "
                      "that it runs as, and root, may give it commands. Look whether it runs, and "
                      "whether what you asked for was done."};
    error_code failed;
    asio::write(socket_, asio::buffer(line + '\n'), failed);
    if (failed) return ended;
    bool too_long = false;
    while (answers_.empty() && !too_long) {
      char received[65536];
      std::size_t size = 0;
      socket_.async_read_some(asio::buffer(received), [&](error_code error, std::size_t read) {
        failed = error;
        size = read;
      });
      context_.restart();
      context_.run();
      if (failed) return ended;
      lines_.feed(
          std::string_view(received, size),
          [this](std::string_view answer) { answers_.emplace_back(answer); },
          [&too_long] { too_long = true; });
    }
    if (too_long) return Error{Code::io, "The service's answer was too long to take."};
    std::string answer = std::move(answers_.front());
    answers_.pop_front();
    return answer;
  }

  asio::io_context context_;
  stream_protocol::socket socket_{context_};
  server::JsonLines lines_;
  std::deque<std::string> answers_;
};

}  // namespace

fs::Result<std::unique_ptr<Channel>> open_socket_channel(const std::string& directory) {
  auto folder = fs::OutsideFolder::open(directory);
  if (!folder) return folder.error();
  auto channel = std::make_unique<SocketChannel>();
  const error_code failed = channel->connect(folder->path_of("control"));
  if (failed == asio::error::connection_refused || failed.value() == ENOENT) {
    return Error{Code::not_found, "No service runs on this volume."};
  }
  if (failed.value() == EACCES) {
    return Error{Code::denied,
                 fmt::format("A service runs on \"{}\", but not as you. Give this command as the "
                             "user that the service runs as, or as root.",
                             directory)};
  }
  if (failed) {
    return Error{Code::io, fmt::format("The service on \"{}\" can't be reached: {}.", directory,
                                       failed.message())};
  }
  return std::unique_ptr<Channel>(std::move(channel));
}

}  // namespace stationer::admin
