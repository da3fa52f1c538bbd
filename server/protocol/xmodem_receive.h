// The receiver of XMODEM (sums, CRC, 1K) and of YMODEM, also streaming.
// Source: X/YMODEM Protocol Reference, C. Forsberg, 10-14-88; sections are named where they decide.
//
// How long a file is: YMODEM may say it, and then what comes beyond is thrown away, and a file that
// ends before is not taken. Otherwise all blocks are kept whole, but that the SUB bytes at the end
// of the last one are taken for what filled it up, and left out, unless told to keep them.
#pragma once

#include <cstdint>
#include <string>

#include "server/protocol/transfer.h"
#include "server/protocol/xmodem_block.h"

namespace stationer::server {

class XmodemReceive final : public Transfer {
 public:
  struct Options {
    bool batch = false;         // YMODEM
    bool streaming = false;     // its form without answers to blocks, for lines that lose nothing
    bool keep_filling = false;  // SUB bytes at the end are part of the file
    // How long somebody may take to start the sending program.
    std::chrono::seconds patience{120};
  };
  static constexpr int most_retries = 10;

  explicit XmodemReceive(const Options& options) : options_(options) {}

 protected:
  void started() override;
  std::size_t take(std::string_view octets) override;
  void timed_out() override;
  void accepted() override;
  void refused(const fs::Error& error) override { break_off(error.message); }
  void got_file(FileFacts) override {}
  void got_no_file() override {}
  void got_bytes(std::string) override {}
  std::string cancellation(const std::string&) const override {
    return std::string(xmodem::cancellation);
  }

 private:
  enum class State : std::uint8_t {
    between,  // until a block, the file's end, or the batch's end begins
    inside,   // a block
    spoilt,   // until the line is silent, to ask for the block again
  };
  enum class Asked : std::uint8_t { nothing, open, write, close };

  void invite();
  void begin_waiting();
  void begin_block(char octet);
  void block_complete();
  void take_block(std::uint8_t number, std::string_view data);
  void take_header(std::string_view data);
  void take_data(std::string_view data);
  void end_of_file();
  void spoil();
  void acknowledge();
  void again();

  const Options options_;
  State state_ = State::between;
  Asked asked_ = Asked::nothing;
  bool header_next_ = false;  // block 0 is expected
  bool heard_ = false;        // a block of this file, or its header, came well
  int invitations_ = 0;
  Time give_up_{};  // when nobody has begun by then
  xmodem::Check check_ = xmodem::Check::crc;
  bool cancelled_once_ = false;
  bool eot_once_ = false;
  bool mistrusts_ = false;  // signs, until the line is silent or a block begins
  int retries_ = 0;

  std::string frame_;
  std::size_t frame_size_ = 0;
  std::uint8_t expected_ = 1;

  FileFacts facts_;
  std::uint64_t received_ = 0;  // bytes handed on
  std::size_t filling_ = 0;     // SUB bytes kept back: filling, if nothing follows
};

}  // namespace stationer::server
