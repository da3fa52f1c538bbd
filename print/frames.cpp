#include "print/frames.h"

#include <algorithm>

namespace stationer::print {
namespace {

constexpr std::string_view kinds = "SCEOBRMPDF";

std::string digits(std::uint64_t value, std::size_t count) {
  std::string out(count, '\0');
  for (char& each : out) {
    each = static_cast<char>(value & 0xFF);
    value >>= 8;
  }
  return out;
}

std::uint64_t value_of(std::string_view digits) {
  std::uint64_t value = 0;
  for (auto each = digits.rbegin(); each != digits.rend(); ++each) {
    value = value << 8 | static_cast<std::uint8_t>(*each);
  }
  return value;
}

}  // namespace

std::string frame_of(Frame::Kind kind, std::string_view body) {
  std::string out(1, static_cast<char>(kind));
  out += digits(body.size(), Frame::head - 1);
  out += body;
  return out;
}

void FrameReader::feed(std::string_view bytes) {
  waiting_.erase(0, used_);
  used_ = 0;
  waiting_ += bytes;
}

fs::Result<std::optional<Frame>> FrameReader::next() {
  const std::string_view rest = std::string_view(waiting_).substr(used_);
  if (rest.empty()) return std::optional<Frame>();
  if (kinds.find(rest.front()) == std::string_view::npos) {
    return fs::Error{fs::Code::damaged, "A frame of no known kind came."};
  }
  if (rest.size() < Frame::head) return std::optional<Frame>();
  const std::uint64_t length = value_of(rest.substr(1, Frame::head - 1));
  if (length > Frame::longest) {
    return fs::Error{fs::Code::damaged, "A frame came that is longer than any may be."};
  }
  if (rest.size() < Frame::head + length) return std::optional<Frame>();
  used_ += Frame::head + length;
  return std::optional(
      Frame{static_cast<Frame::Kind>(rest.front()), std::string(rest.substr(Frame::head, length))});
}

BodyWriter& BodyWriter::number(std::uint64_t value) {
  body_ += digits(value, sizeof value);
  return *this;
}

BodyWriter& BodyWriter::text(std::string_view value) {
  number(value.size());
  body_ += value;
  return *this;
}

std::uint64_t BodyReader::number() {
  if (rest_.size() < sizeof(std::uint64_t)) {
    whole_ = false;
    rest_ = {};
    return 0;
  }
  const std::uint64_t value = value_of(rest_.substr(0, sizeof value));
  rest_.remove_prefix(sizeof value);
  return value;
}

std::string BodyReader::text() {
  const std::uint64_t length = number();
  if (length > rest_.size()) {
    whole_ = false;
    rest_ = {};
    return {};
  }
  std::string value(rest_.substr(0, length));
  rest_.remove_prefix(length);
  return value;
}

}  // namespace stationer::print
