#include <utility>

#include "server/net/tftp_transfer.h"
#include "server/protocol/netascii.h"
#include "server/protocol/tftp_receive.h"

namespace stationer::server {
namespace {

// What came and is not stored yet. Beyond that, blocks are not heard, and come again.
constexpr std::size_t most_waiting = std::size_t{512} * 1024;

// A file on its way from a station.
class TftpReceiving final : public TftpTransfer {
 public:
  TftpReceiving(std::unique_ptr<Session> session, Session::UploadPtr upload,
                const tftp::Request& request, TftpTerms terms, const TftpLine& line, Time now,
                TftpWake wake)
      : TftpTransfer(line, std::string(request.file)),
        session_(std::move(session)),
        upload_(std::move(upload)),
        machine_(terms, now),
        block_size_(terms.block),
        oack_(std::move(terms.oack)),
        netascii_(request.netascii),
        wake_(std::move(wake)) {}

  void tick(Time now) override {
    if (storing_) return;  // the disk is slow, not the station
    machine_.tick(now);
    if (machine_.state() == TftpReceive::State::given_up) silence_failed();
    if (machine_.state() == TftpReceive::State::over) finish();
  }
  Time deadline() const override { return machine_.deadline(); }
  bool writes() const override { return true; }

  bool say(std::size_t, Time now) override {
    if (refused_ && state() == State::going) {
      fail(tftp_code(*refused_), refused_->message, refused_->message);
    }
    const auto block = machine_.due();
    if (state() != State::going || !block || storing_) return false;
    if (*block == 0 && !oack_.empty()) {
      line().say(oack_);
    } else {
      line().say(tftp::ack(machine_.shown(*block)));
    }
    machine_.answered(now);
    return false;
  }

 private:
  void got(const tftp::Data& data, Time now) override {
    if (waiting_.size() >= most_waiting || refused_) return;
    if (data.bytes.size() > block_size_) {
      return fail(tftp::ErrorCode::illegal, "That block is longer than was agreed on.",
                  "The station sent a block that is longer than was agreed on.");
    }
    const bool last = data.bytes.size() < block_size_;
    if (!machine_.take(data.block, last, now)) return;
    waiting_ += netascii_ ? text_.feed(data.bytes) : std::string(data.bytes);
    if (last) {
      if (netascii_) waiting_ += text_.finish();
      complete_ = true;
    }
    if (storing_ || (waiting_.empty() && !complete_)) return;
    storing_ = true;
    work_ = store();
    work_.start();
  }
  void got(const tftp::Ack&, Time) override {
    fail(tftp::ErrorCode::illegal, "This transfer goes the other way.",
         "The station acknowledged what it had to send.");
  }

  // Runs as long as there is something to store, and at the end until the file is safe.
  Task<void> store() {
    while (!waiting_.empty() && !refused_) {
      std::string bytes = std::exchange(waiting_, std::string());
      auto stored = co_await session_->write(upload_, std::move(bytes));
      if (!stored) refused_ = stored.error();
    }
    if (complete_ && !refused_) {
      auto safe = co_await session_->finish(upload_);
      if (!safe) refused_ = safe.error();
    }
    storing_ = false;
    session_->room().loop.post(wake_);
  }

  std::unique_ptr<Session> session_;
  Session::UploadPtr upload_;
  TftpReceive machine_;
  std::uint16_t block_size_;
  std::string oack_;
  bool netascii_;
  FromNetascii text_;
  std::string waiting_;
  bool complete_ = false;  // all of the file has come
  bool storing_ = false;
  std::optional<fs::Error> refused_;
  TftpWake wake_;
  Task<void> work_;
};

}  // namespace

std::unique_ptr<TftpTransfer> receive_by_tftp(std::unique_ptr<Session> session,
                                              Session::UploadPtr upload,
                                              const tftp::Request& request,
                                              const TftpLimits& limits, const TftpLine& line,
                                              Time now, TftpWake wake) {
  auto terms = agree(request, limits, std::nullopt);
  return std::make_unique<TftpReceiving>(std::move(session), std::move(upload), request,
                                         std::move(terms), line, now, std::move(wake));
}

}  // namespace stationer::server
