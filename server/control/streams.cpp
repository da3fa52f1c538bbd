#include "server/control/streams.h"

#include <algorithm>

#include <fmt/format.h>

namespace stationer::server {

using fs::Code;
using fs::Error;
using fs::Status;

fs::Result<Streams::Number> Streams::open(fs::Content content) {
  return add({std::make_shared<const fs::Content>(std::move(content)), nullptr});
}

fs::Result<Streams::Number> Streams::open(fs::Upload upload) {
  return add({nullptr, std::make_shared<fs::Upload>(std::move(upload))});
}

fs::Result<Streams::Number> Streams::add(Stream stream) {
  if (streams_.size() >= most) {
    return Error{Code::busy,
                 fmt::format("{} files are open already. Close one of them first.", most)};
  }
  streams_.emplace(++last_, std::move(stream));
  return last_;
}

fs::Result<Streams::Stream*> Streams::take(Number number, bool upload) {
  const auto found = streams_.find(number);
  if (found == streams_.end()) {
    return Error{Code::not_found, fmt::format("There is no stream {}.", number)};
  }
  Stream& stream = found->second;
  if ((stream.upload != nullptr) != upload) {
    return Error{Code::bad_input,
                 fmt::format("Stream {} is for {}.", number, upload ? "reading" : "writing")};
  }
  if (stream.busy) {
    return Error{Code::busy,
                 fmt::format("Wait for the answer to the last call for stream {}.", number)};
  }
  stream.busy = true;
  return &stream;
}

Status Streams::close(Number number) {
  if (streams_.erase(number) != 0) return {};
  return Error{Code::not_found, fmt::format("There is no stream {}.", number)};
}

// Whatever waits may find the stream closed afterwards: it is looked up again.

Task<fs::Result<Streams::Piece>> Streams::read(Loop& loop, Number number, std::size_t most_bytes) {
  auto stream = take(number, false);
  if (!stream) co_return stream.error();
  const std::size_t wanted = std::clamp<std::size_t>(most_bytes, 1, piece);
  const auto later = loop.blocking(
      [content = (*stream)->content, at = (*stream)->at, wanted]() -> fs::Result<std::string> {
        std::string out(wanted, '\0');
        auto got = content->read_at(at, out);
        if (!got) return got.error();
        out.resize(*got);
        return out;
      });
  auto bytes = co_await later;
  const bool last = !bytes || bytes->size() < wanted;
  if (const auto found = streams_.find(number); found != streams_.end()) {
    if (last) {
      streams_.erase(found);
    } else {
      found->second.at += bytes->size();
      found->second.busy = false;
    }
  }
  if (!bytes) co_return bytes.error();
  co_return Piece{std::move(*bytes), last};
}

Task<Status> Streams::write(Loop& loop, Number number, std::string bytes) {
  auto stream = take(number, true);
  if (!stream) co_return stream.error();
  const auto later = loop.blocking(
      [upload = (*stream)->upload, bytes = std::move(bytes)] { return upload->write(bytes); });
  auto written = co_await later;
  if (const auto found = streams_.find(number); found != streams_.end()) {
    if (written) {
      found->second.busy = false;
    } else {
      streams_.erase(found);
    }
  }
  co_return written;
}

Task<Status> Streams::finish(Loop& loop, Number number) {
  auto stream = take(number, true);
  if (!stream) co_return stream.error();
  const auto upload = (*stream)->upload;
  streams_.erase(number);
  const auto later = loop.blocking([upload] { return upload->finish(); });
  auto ticket = co_await later;
  co_return co_await loop.durable(ticket);
}

}  // namespace stationer::server
