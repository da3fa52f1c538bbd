// Sends a file to the program of listing.h as lines of text, each of which that program checks and
// asks for.
//
//   WANT n                    from the machine: line n, please. Said again when what came was wrong
//   C3004F… 1A2B              to it, without the space: up to 16 bytes, and a check of them
//   Z                         to it: there are no more
//   GOT n                     from it: that is all
//
// The check is a number of 16 bits: the number of the line, then for each byte times 3 plus the
// byte, modulo 9973. So a line that comes twice, or in the wrong place, is not taken for another,
// and a machine with whole numbers up to 32,767 can work it out.
//
// Whatever else comes from the machine (an echo, a question mark, messages of its BASIC) is let go
// by. An answer to something that came before the file, such as a greeting, looks like a refusal; a
// line is therefore sent again only once the machine has been silent for a moment.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "server/protocol/text_out.h"
#include "server/protocol/transfer.h"

namespace stationer::server {

class LineByLine final : public Transfer {
 public:
  static constexpr std::size_t bytes_in_line = 16;
  static constexpr std::size_t most_bytes = std::size_t{128} * 1024;
  static constexpr int most_retries = 9;

  struct Options {
    // How lines end; while the first one is refused, the other ways are tried too.
    LineEnding ending = LineEnding::cr_lf;
    // How long somebody may take to start the program.
    std::chrono::seconds patience{600};
  };

  explicit LineByLine(const Options& options) : options_(options), ending_(options.ending) {}

  static std::string line(unsigned number, std::string_view bytes);

 protected:
  void started() override { ask(NextFile()); }
  std::size_t take(std::string_view octets) override;
  void timed_out() override;
  void accepted() override { done(); }
  void refused(const fs::Error&) override {}
  void got_file(FileFacts facts) override;
  void got_no_file() override { done(); }
  void got_bytes(std::string bytes) override;
  std::string cancellation(const std::string&) const override { return {}; }

 private:
  void heard(std::string_view line);
  void wanted(unsigned number);
  void next_line();
  void put(const std::string& line);
  void again();

  const Options options_;
  LineEnding ending_;
  std::string heard_;     // of a line that has not ended
  unsigned number_ = 0;   // of the line sent last; 0: none yet
  std::string line_;      // that line
  std::string previous_;  // and the one before, in case a WANT was not what the machine said
  bool at_end_ = false;   // it is the Z
  std::optional<unsigned> refused_;  // the machine does not go on, and wants this one
  int retries_ = 0;
  std::string ready_;  // of the file's bytes, not sent yet
  bool read_all_ = false;
  bool wants_line_ = false;  // the machine waits for bytes that are being fetched
};

}  // namespace stationer::server
