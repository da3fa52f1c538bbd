#include "server/net/http_door.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "server/net/discard.h"
#include "server/protocol/http_answer.h"
#include "server/protocol/http_page.h"
#include "server/protocol/http_request.h"
#include "server/session.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr std::chrono::seconds for_request{30};  // from the first to the last of it
constexpr std::chrono::seconds linger{2};
constexpr std::size_t read_at_once = std::size_t{64} * 1024;
// What has to go out before who takes nothing is hung up on.
constexpr std::size_t written_at_once = std::size_t{8} * 1024;
constexpr std::string_view index_page = "index.html";

class HttpConnection : public Connection {
 public:
  HttpConnection(Room& room, const HttpDoorConfig& config, std::unique_ptr<Stream> stream)
      : room_(room),
        config_(config),
        stream_(std::move(stream)),
        session_(room, "http", stream_->address()),
        admitted_(room.stations.admit(stream_->address(), "http")) {
    session_.use_names(fs::StationNames(*room.stations.profile_at(stream_->address()).names));
  }

  Task<void> run() override {
    auto outcome = co_await hear();
    if (outcome.index() == 0) co_return;
    session_.doing("fetching");
    answer(outcome);
    sender_ = send();
    sender_.start();
    co_await until_sent();
    if (!sent_) co_return;
    stream_->end_output();
    co_await discard_input(*stream_, room_.loop.now() + linger);
  }

 private:
  using Outcome = http::Reader::Outcome;

  Task<Outcome> hear() {
    http::Reader reader;
    const Time until = room_.loop.now() + for_request;
    Outcome outcome;
    while (outcome.index() == 0) {
      const auto read = co_await stream_->read(until);
      switch (read.end) {
        case Stream::Read::End::none: {
          std::string_view octets = read.bytes;
          outcome = reader.feed(octets);
          break;
        }
        case Stream::Read::End::orderly: co_return reader.end_of_input();
        case Stream::Read::End::woken: break;
        case Stream::Read::End::broken:
        case Stream::Read::End::deadline: co_return Outcome();
      }
    }
    co_return outcome;
  }

  void answer(const Outcome& outcome) {
    if (const auto* refusal = std::get_if<http::Refusal>(&outcome)) {
      answer_.head =
          http::answer_refusal(refusal->form, refusal->status, refusal->why, room_.volume.now());
      return;
    }
    const auto& request = std::get<http::Request>(outcome);
    if (auto done = admitted_ ? find(request) : admitted_; !done) {
      session_.told(done.error());
      answer_.head = http::answer_refusal(request.form, http::status_for(done.error().code),
                                          done.error().message, room_.volume.now());
    }
  }

  fs::Status find(const http::Request& request) {
    const auto path = session_.path(request.path);
    if (!path) return path.error();
    const auto node = session_.look(*path);
    if (!node) return node.error();
    if (!node->folder) {
      // A file's address has no / at its end: what it names would lie below it.
      if (request.path.ends_with('/')) {
        return fs::Error{fs::Code::not_a_folder, "That is a file, not a folder."};
      }
      return open(request, *path, *node);
    }
    if (!request.path.ends_with('/')) {
      std::string location = "/";
      const fs::Path shown = session_.shown(*path);
      for (const auto& name : shown.names()) {
        location += http::address_of(name) + '/';
      }
      answer_.head = http::answer_moved(request.form, location, room_.volume.now());
      return {};
    }
    const fs::Path index = *path / std::string(index_page);
    if (const auto page = session_.look(index); page && !page->folder && page->may_read) {
      return open(request, index, *page);
    }
    return list(request, *path);
  }

  fs::Status open(const http::Request& request, const fs::Path& path, const fs::NodeView& node) {
    auto content = session_.open(path);
    if (!content) return content.error();
    const auto size = content->size();
    if (!size) return size.error();
    const http::File file{http::type_of(node.name, node.kind == fs::Kind::text), *size,
                          node.modified};
    answer_ = http::answer_file(request, file, room_.volume.now());
    content_ = std::move(*content);
    return {};
  }

  fs::Status list(const http::Request& request, const fs::Path& path) {
    const auto nodes = session_.list(path);
    if (!nodes) return nodes.error();
    std::vector<http::Item> items;
    for (const auto& node : *nodes) {
      items.push_back({session_.shown(node), node.folder,
                       node.folder ? std::string() : short_size(node.size),
                       short_day(node.modified)});
    }
    answer_.head = http::answer_page(
        request.form, http::listing_page(session_.shown(path).text(), path.is_top(), items),
        room_.volume.now());
    return {};
  }

  // Beside the reading, which watches over it.
  Task<void> send() {
    std::string piece = std::move(answer_.head);
    while (!piece.empty() || answer_.count > 0) {
      if (piece.empty()) {
        const auto most =
            static_cast<std::size_t>(std::min<std::uint64_t>(answer_.count, read_at_once));
        auto read = co_await session_.read(*content_, answer_.first, most);
        // The answer said how long it would be; ending early is all that can be done.
        if (!read || read->empty()) co_return give_up();
        answer_.first += read->size();
        answer_.count -= read->size();
        piece = std::move(*read);
      }
      std::string slice = piece.substr(0, written_at_once);
      piece.erase(0, slice.size());
      const bool written = co_await stream_->write(std::move(slice));
      if (!written) co_return give_up();
      last_progress_ = room_.loop.now();
    }
    sent_ = true;
    stream_->wake();
  }

  void give_up() {
    broken_ = true;
    stream_->wake();
  }

  // What comes in meanwhile is thrown away; who has said all may still read.
  Task<void> until_sent() {
    last_progress_ = room_.loop.now();
    bool listens = true;
    while (!sent_ && !broken_) {
      const Time until = last_progress_ + config_.idle;
      if (room_.loop.now() >= until) co_return;
      const auto reading = listens ? stream_->read(until) : stream_->pause(until);
      const auto read = co_await reading;
      if (read.end == Stream::Read::End::broken) co_return;
      if (read.end == Stream::Read::End::orderly) listens = false;
    }
  }

  Room& room_;
  const HttpDoorConfig& config_;
  std::unique_ptr<Stream> stream_;
  Session session_;
  const fs::Status admitted_;
  http::Answer answer_;
  std::optional<fs::Content> content_;
  Time last_progress_{};
  bool sent_ = false;
  bool broken_ = false;
  Task<void> sender_;  // the last: it goes first
};

}  // namespace

std::unique_ptr<Connection> make_http_connection(Room& room, const HttpDoorConfig& config,
                                                 std::unique_ptr<Stream> stream) {
  return std::make_unique<HttpConnection>(room, config, std::move(stream));
}

}  // namespace stationer::server
