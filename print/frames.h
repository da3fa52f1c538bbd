// What the service and a printing process say to each other (print/confined_renderer.h): frames of
// a kind, a length and a body, and the values in such bodies. Pure: bytes in, frames out.
//
//   kind      1 byte
//   length    4 bytes, the lowest first; at most Frame::longest
//   body
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::print {

struct Frame {
  static constexpr std::size_t head = 5;
  static constexpr int ahead = 2;  // pieces of a job that are sent before they are asked for
  static constexpr std::size_t longest = std::size_t{1} << 20;  // of a body

  enum class Kind : std::uint8_t {
    // From the service.
    settings = 'S',  // volume.toml; once, to the process that makes the others
    child = 'C',     // a process for a job, please; the answer is the same with its number
    end = 'E',       // that process is to end; the answer is the same with how it ended
    order = 'O',     // what to print, and how
    bytes = 'B',     // a piece of the job; an empty one is its end
    // From the process of a job.
    ready = 'R',   // it is locked in and waits for its order
    more = 'M',    // which page is being drawn (0: none yet), and another piece, please; the first
                   // Frame::ahead come unasked
    pdf = 'P',     // the same page, which printout of the job, and a piece of its PDF
    done = 'D',    // the PDF is complete; the report
    failed = 'F',  // the job can't be printed; a code and a sentence
  };

  Kind kind = Kind::more;
  std::string body;
};

std::string frame_of(Frame::Kind kind, std::string_view body = {});

// Takes frames out of what has come, however it was cut.
class FrameReader {
 public:
  void feed(std::string_view bytes);
  // The next whole frame; nothing as long as there is none. Code::damaged for what is no frame,
  // and then for ever.
  fs::Result<std::optional<Frame>> next();

 private:
  std::string waiting_;
  std::size_t used_ = 0;  // of `waiting_`
};

// Values, one after the other.
class BodyWriter {
 public:
  BodyWriter& number(std::uint64_t value);
  BodyWriter& text(std::string_view value);
  const std::string& body() const { return body_; }

 private:
  std::string body_;
};

// The same values back, in the same order. What is not there reads as nothing.
class BodyReader {
 public:
  explicit BodyReader(std::string_view body) : rest_(body) {}
  std::uint64_t number();
  std::string text();
  bool good() const { return whole_; }
  // All was there, and no more than that.
  bool whole() const { return whole_ && rest_.empty(); }

 private:
  std::string_view rest_;
  bool whole_ = true;
};

}  // namespace stationer::print
