// The sender of XMODEM (sums, CRC, 1K) and of YMODEM, also streaming.
// Source: X/YMODEM Protocol Reference, C. Forsberg, 10-14-88; sections are named where they decide.
//
// The receiver leads: it says which check it wants and asks for each block again that did not come
// well. A file's next bytes are fetched while the receiver looks at a block, so that nothing waits
// for the disk.
#pragma once

#include <cstdint>
#include <string>

#include "server/protocol/transfer.h"
#include "server/protocol/xmodem_block.h"

namespace stationer::server {

class XmodemSend final : public Transfer {
 public:
  struct Options {
    bool batch = false;       // YMODEM: names, lengths, several files
    bool long_blocks = true;  // of 1,024 bytes, where the receiver checks by CRC
    // How long somebody may take to start the receiving program.
    std::chrono::seconds patience{120};
  };
  static constexpr int most_retries = 10;

  explicit XmodemSend(const Options& options) : options_(options) {}

 protected:
  void started() override { ask(NextFile()); }
  std::size_t take(std::string_view octets) override;
  void timed_out() override;
  void accepted() override;
  void refused(const fs::Error&) override {}
  void got_file(FileFacts facts) override;
  void got_no_file() override;
  void got_bytes(std::string bytes) override;
  std::string cancellation(const std::string&) const override {
    return std::string(xmodem::cancellation);
  }

 private:
  enum class State : std::uint8_t {
    go,           // until the receiver asks for the header or the first block
    header_sent,  // until it has block 0
    block_sent,   // until it has the last block sent
    ended,        // until it has heard of the file's end
    closed,       // until it has heard of the batch's end
  };
  enum class Next : std::uint8_t { header, data };  // what `go` leads to

  void begin_file();
  void go(char how);
  void reply(char octet);
  void next_block();
  void stream();
  std::string cut_block();
  void send_frame(std::string frame, State state);
  void again();
  void fetch();

  const Options options_;
  State state_ = State::go;
  Next next_ = Next::header;
  xmodem::Check check_ = xmodem::Check::crc;
  bool streaming_ = false;
  std::size_t streamed_ = 0;  // octets, of the file
  char started_by_ = 0;       // what the receiver began with
  bool started_ = false;      // the receiver was heard
  bool cancelled_once_ = false;

  FileFacts facts_;
  bool last_ = false;  // there are no more files
  std::string ready_;  // of the file's bytes, not sent yet
  bool read_all_ = false;
  bool wants_block_ = false;  // the receiver waits for bytes that are still being fetched
  bool extra_sub_ = false;    // a text's last block is full, and its end is to be marked

  std::string frame_;        // what was sent last, to be sent again
  std::uint8_t number_ = 0;  // of the block sent last
  Time sent_at_{};
  int retries_ = 0;
  int troubles_ = 0;           // blocks sent again, of the file
  bool acknowledged_ = false;  // at least one block of the file
};

}  // namespace stationer::server
