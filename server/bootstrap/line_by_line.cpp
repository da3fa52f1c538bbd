#include "server/bootstrap/line_by_line.h"

#include <array>
#include <utility>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

constexpr std::size_t fetch_size = 1024;
constexpr std::size_t longest_heard = 80;
constexpr unsigned modulus = 9973;
constexpr char interrupt_key = 0x03;
// A slow BASIC works for seconds on a line.
constexpr std::chrono::seconds answer_wait{20};
constexpr std::chrono::milliseconds quiet_wait{500};
// After these, a machine that has every line and says nothing more has said GOT.
constexpr int most_ends = 2;

// The number behind the last `word` in a line.
std::optional<unsigned> number_behind(std::string_view word, std::string_view line) {
  const auto at = line.rfind(word);
  if (at == std::string_view::npos) return {};
  line.remove_prefix(at + word.size());
  line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
  unsigned number = 0;
  std::size_t digits = 0;
  while (digits < line.size() && digits < 5 && line[digits] >= '0' && line[digits] <= '9') {
    number = number * 10 + static_cast<unsigned>(line[digits++] - '0');
  }
  if (digits == 0 || line.find_first_not_of(' ', digits) != std::string_view::npos) return {};
  return number;
}

LineEnding other(LineEnding ending) {
  switch (ending) {
    case LineEnding::cr_lf: return LineEnding::cr;
    case LineEnding::cr: return LineEnding::lf;
    case LineEnding::lf: break;
  }
  return LineEnding::cr_lf;
}

}  // namespace

std::string LineByLine::line(unsigned number, std::string_view bytes) {
  unsigned check = number;
  std::string out;
  for (const char byte : bytes) {
    const auto value = static_cast<std::uint8_t>(byte);
    check = (check * 3 + value) % modulus;
    out += fmt::format("{:02X}", value);
  }
  return out + fmt::format("{:04X}", check);
}

void LineByLine::got_file(FileFacts facts) {
  if (facts.size.value_or(0) > most_bytes) {
    return fail("That is too much to go line by line: 128K at most.");
  }
  wait(options_.patience);
}

std::size_t LineByLine::take(std::string_view octets) {
  const char octet = static_cast<char>(octets.front() & 0x7F);
  if (octet == interrupt_key) {
    fail("You broke it off.");
  } else if (octet == '\r' || octet == '\n') {
    heard(fs::ascii_upper(std::exchange(heard_, {})));
  } else {
    if (heard_.size() == longest_heard) heard_.erase(0, 1);
    heard_ += octet;
  }
  return 1;
}

void LineByLine::heard(std::string_view line) {
  if (const auto number = number_behind("WANT", line)) return wanted(*number);
  if (at_end_ && number_behind("GOT", line)) ask(Sent{});
}

void LineByLine::wanted(unsigned number) {
  if (number == number_ + 1 && !at_end_) {
    retries_ = 0;
    refused_.reset();
    return next_line();
  }
  if (number_ == 0 && !at_end_) return;
  refused_ = number;
  wait(quiet_wait);
}

void LineByLine::next_line() {
  if (ready_.size() < bytes_in_line && !read_all_) {
    wants_line_ = true;
    return ask(Read{fetch_size});
  }
  previous_ = std::move(line_);
  if (ready_.empty()) {
    at_end_ = true;
    line_ = "Z";
  } else {
    line_ = line(++number_, std::string_view(ready_).substr(0, bytes_in_line));
    ready_.erase(0, bytes_in_line);
  }
  put(line_);
}

void LineByLine::got_bytes(std::string bytes) {
  read_all_ = bytes.size() < fetch_size;
  ready_ += bytes;
  if (std::exchange(wants_line_, false)) next_line();
}

void LineByLine::put(const std::string& line) {
  send(line + std::string(bytes_of(ending_)));
  wait(answer_wait);
}

void LineByLine::again() {
  if (++retries_ > most_retries) {
    return break_off(number_ <= 1 ? "The machine refuses the first line each time: its program "
                                    "must differ from the listing. typein check compares them."
                                  : "The line is too bad: the machine refused the same line " +
                                        std::to_string(most_retries) + " times.");
  }
  if (number_ <= 1) ending_ = other(ending_);
  const unsigned last = number_ + (at_end_ ? 1 : 0);
  put(std::exchange(refused_, std::nullopt) == last - 1 ? previous_ : line_);
}

void LineByLine::timed_out() {
  if (number_ == 0 && !at_end_) {
    return break_off("The machine did not ask for a line. Does its program run?");
  }
  if (at_end_ && !refused_ && retries_ >= most_ends) return ask(Sent{});
  again();
}

}  // namespace stationer::server
