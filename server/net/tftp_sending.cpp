#include <algorithm>
#include <optional>
#include <vector>

#include "server/net/tftp_transfer.h"
#include "server/protocol/netascii.h"
#include "server/protocol/tftp_send.h"

namespace stationer::server {
namespace {

// A file on its way to a station. Of the file itself nothing is kept here.
class TftpSending final : public TftpTransfer {
 public:
  TftpSending(SharedContents& contents, SharedContents::OpenPtr content,
              const tftp::Request& request, TftpTerms terms, const TftpLine& line, Time now,
              TftpWake wake)
      : TftpTransfer(line, std::string(request.file)),
        contents_(contents),
        content_(std::move(content)),
        machine_(terms, now),
        block_size_(terms.block),
        oack_(std::move(terms.oack)),
        wake_(std::move(wake)) {
    if (!request.netascii) return;
    // Where each block that may go again begins, and the one after them.
    places_.resize(terms.window + 1U);
  }

  void tick(Time now) override {
    if (reads_) return;  // the disk is slow, not the station
    machine_.tick(now);
    if (machine_.state() == TftpSend::State::given_up) silence_failed();
  }
  Time deadline() const override { return machine_.deadline(); }
  bool writes() const override { return false; }
  void woken() override { reads_ = false; }

  bool say(std::size_t most, Time now) override {
    for (; state() == State::going && !reads_; --most) {
      const auto block = machine_.next();
      if (!block) return false;
      if (most == 0) return true;
      if (*block == 0) {
        line().say(oack_);
        machine_.sent(false, now);
      } else {
        say_block(*block, now);
      }
    }
    return false;
  }

 private:
  void got(const tftp::Data&, Time) override {
    fail(tftp::ErrorCode::illegal, "This transfer goes the other way.",
         "The station sent data where it had asked for some.");
  }
  void got(const tftp::Ack& ack, Time now) override {
    machine_.acked(ack.block, now);
    if (machine_.state() == TftpSend::State::done) finish();
  }

  void say_block(std::uint64_t block, Time now) {
    const auto size = places_.empty() ? say_octet(block) : say_netascii(block);
    if (size) machine_.sent(*size < block_size_, now);
  }

  // Says a block of the bytes as they are stored. Nothing when they have to be read first, or
  // can't be.
  std::optional<std::size_t> say_octet(std::uint64_t block) {
    const std::uint64_t offset = std::min((block - 1) * block_size_, content_->size);
    const std::size_t size = std::min<std::uint64_t>(block_size_, content_->size - offset);
    const auto place = line().say(tftp::header + size);
    tftp::put_data_header(machine_.shown(block), place.data());
    if (!fetch(offset, place.subspan(tftp::header))) {
      line().socket->unsay();
      return std::nullopt;
    }
    return size;
  }

  std::optional<std::size_t> say_netascii(std::uint64_t block) {
    NetasciiPlace at = places_[block % places_.size()];
    // No fewer octets come of stored bytes than there are of them.
    std::vector<char> stored(std::min<std::uint64_t>(block_size_, content_->size - at.offset));
    if (!fetch(at.offset, stored)) return std::nullopt;
    std::vector<char> packet(tftp::header + block_size_);
    tftp::put_data_header(machine_.shown(block), packet.data());
    const std::size_t size =
        to_netascii({stored.data(), stored.size()}, at, std::span(packet).subspan(tftp::header));
    line().say({packet.data(), tftp::header + size});
    places_[(block + 1) % places_.size()] = at;
    return size;
  }

  bool fetch(std::uint64_t offset, std::span<char> into) {
    switch (contents_.copy(content_, offset, into, wake_)) {
      case SharedContents::Copied::all: return true;
      case SharedContents::Copied::later: reads_ = true; return false;
      case SharedContents::Copied::failed: break;
    }
    fail(tftp::ErrorCode::see_text, "The file could not be read. Tell the keeper.",
         "The file could not be read from the disk. The check says more.");
    return false;
  }

  SharedContents& contents_;
  SharedContents::OpenPtr content_;
  TftpSend machine_;
  std::uint16_t block_size_;
  bool reads_ = false;  // what has to go next is being read
  std::string oack_;
  std::vector<NetasciiPlace> places_;
  TftpWake wake_;
};

}  // namespace

std::unique_ptr<TftpTransfer> send_by_tftp(SharedContents& contents,
                                           SharedContents::OpenPtr content,
                                           const tftp::Request& request, const TftpLimits& limits,
                                           const TftpLine& line, Time now, TftpWake wake) {
  // How long a text is in netascii is known once all of it was looked at; and there are clients
  // that take a size of nothing for a fault.
  std::optional<std::uint64_t> size;
  if (!request.netascii && content->size > 0) size = content->size;
  auto terms = agree(request, limits, size);
  return std::make_unique<TftpSending>(contents, std::move(content), request, std::move(terms),
                                       line, now, std::move(wake));
}

}  // namespace stationer::server
