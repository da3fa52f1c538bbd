#include "server/protocol/http_request.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "fs/text.h"

namespace stationer::server::http {
namespace {

constexpr std::string_view blanks = " \t";

std::string_view trimmed(std::string_view text) {
  const auto start = text.find_first_not_of(blanks);
  if (start == std::string_view::npos) return {};
  return text.substr(start, text.find_last_not_of(blanks) - start + 1);
}

std::string_view next_word(std::string_view& line) {
  line.remove_prefix(std::min(line.find_first_not_of(blanks), line.size()));
  const auto end = std::min(line.find_first_of(blanks), line.size());
  const auto word = line.substr(0, end);
  line.remove_prefix(end);
  return word;
}

// RFC 9110 §5.6.2.
bool is_token(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
           std::string_view("!#$%&'*+-.^_`|~").find(c) != std::string_view::npos;
  });
}

std::optional<std::uint64_t> whole(std::string_view digits) {
  std::uint64_t value = 0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (digits.empty() || read.ec != std::errc() || read.ptr != digits.data() + digits.size()) {
    return std::nullopt;
  }
  return value;
}

// "HTTP/1.0" and so on: the two numbers.
std::optional<std::pair<unsigned, unsigned>> read_version(std::string_view text) {
  if (!text.starts_with("HTTP/")) return std::nullopt;
  text.remove_prefix(5);
  const auto dot = text.find('.');
  if (dot == std::string_view::npos) return std::nullopt;
  const auto major = fs::whole_number(text.substr(0, dot));
  const auto minor = fs::whole_number(text.substr(dot + 1));
  if (!major || !minor) return std::nullopt;
  return std::pair(*major, *minor);
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

}  // namespace

std::optional<Range> read_range(std::string_view text) {
  constexpr std::string_view unit = "bytes=";
  if (fs::ascii_lower(text.substr(0, unit.size())) != unit) return std::nullopt;
  const auto spec = trimmed(text.substr(unit.size()));
  const auto dash = spec.find('-');
  if (dash == std::string_view::npos) return std::nullopt;
  Range range;
  const auto first = spec.substr(0, dash);
  const auto last = spec.substr(dash + 1);
  if (!first.empty()) {
    range.first = whole(first);
    if (!range.first) return std::nullopt;
  }
  if (!last.empty()) {
    range.last = whole(last);
    if (!range.last) return std::nullopt;
  }
  if (!range.first && !range.last) return std::nullopt;
  if (range.first && range.last && *range.last < *range.first) return std::nullopt;
  return range;
}

std::optional<std::string> read_target(std::string_view target) {
  // An absolute form, as for a proxy (RFC 1945 §5.1.2): whose host it names does not matter here.
  constexpr std::string_view scheme = "http://";
  if (fs::ascii_lower(target.substr(0, scheme.size())) == scheme) {
    target.remove_prefix(scheme.size());
    target.remove_prefix(std::min(target.find_first_of("/?#"), target.size()));
    if (!target.starts_with('/')) target = "/";
  }
  if (!target.starts_with('/')) return std::nullopt;
  target = target.substr(0, target.find_first_of("?#"));
  std::string out;
  for (std::size_t at = 0; at < target.size(); ++at) {
    char c = target[at];
    if (c == '%') {
      if (target.size() - at < 3) return std::nullopt;
      const int high = hex_digit(target[at + 1]);
      const int low = hex_digit(target[at + 2]);
      if (high < 0 || low < 0) return std::nullopt;
      c = static_cast<char>(high << 4 | low);
      at += 2;
    }
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) return std::nullopt;
    out += c;
  }
  return out;
}

Reader::Outcome Reader::refuse(int status, std::string why) {
  over_ = true;
  return Refusal{request_.form, status, std::move(why)};
}

Reader::Outcome Reader::feed(std::string_view& octets) {
  while (!over_ && !octets.empty()) {
    const auto end = octets.find('\n');
    const auto piece = octets.substr(0, std::min(end, octets.size()));
    const std::size_t taken = std::min(piece.size() + 1, octets.size());
    size_ += taken;
    // What is too long is not kept.
    if (!in_headers_ && line_.size() + piece.size() > longest_line) {
      return refuse(414, "The address that was asked for is too long.");
    }
    if (size_ > longest_head) return refuse(400, "The request is too long.");
    line_ += piece;
    octets.remove_prefix(taken);
    if (end == std::string_view::npos) break;
    // RFC 9112 §2.2: a line may end in LF alone.
    if (line_.ends_with('\r')) line_.pop_back();
    const std::string whole_line = std::exchange(line_, std::string());
    if (auto outcome = line(whole_line); outcome.index() != 0) return outcome;
  }
  return {};
}

Reader::Outcome Reader::end_of_input() {
  if (over_ || (!in_headers_ && trimmed(line_).empty())) {
    over_ = true;
    return {};
  }
  return refuse(400, "The request broke off.");
}

Reader::Outcome Reader::line(std::string_view line) {
  if (!in_headers_) {
    if (line.empty()) return {};  // RFC 9112 §2.2: before a request it is passed over
    return request_line(line);
  }
  if (line.empty()) return end_of_head();
  header(line);
  return {};
}

Reader::Outcome Reader::request_line(std::string_view line) {
  const auto method = next_word(line);
  const auto target = next_word(line);
  const auto version = next_word(line);
  if (!trimmed(line).empty()) return refuse(400, "The request has a line that makes no sense.");
  if (version.empty()) {
    // RFC 1945 §5.1: a simple request, which is of one line and only gets.
    request_.form.simple = true;
    if (method != "GET" || target.empty()) {
      return refuse(400, "The request has a line that makes no sense.");
    }
  } else {
    const auto numbers = read_version(version);
    if (!numbers || numbers->first > 1) {
      return refuse(400, "The request is in a version of HTTP that is not spoken here.");
    }
    if (!is_token(method)) return refuse(400, "The request has a line that makes no sense.");
    request_.form.newer = numbers->first == 1 && numbers->second >= 1;
    if (method != "GET" && method != "HEAD") {
      return refuse(501, "Files can only be fetched here.");
    }
    request_.form.head = method == "HEAD";
  }
  auto path = read_target(target);
  if (!path) return refuse(400, "The address that was asked for makes no sense.");
  request_.path = std::move(*path);
  if (request_.form.simple) {
    over_ = true;
    return std::move(request_);
  }
  in_headers_ = true;
  return {};
}

void Reader::header(std::string_view line) {
  const bool goes_on = blanks.find(line.front()) != std::string_view::npos;
  const auto colon = line.find(':');
  if (goes_on) {
    // RFC 1945 §4.2: a folded line. None that matters here has ever been so long.
    bad_ = bad_ || last_.empty();
    return;
  }
  if (colon == std::string_view::npos || !is_token(line.substr(0, colon))) {
    bad_ = true;
    return;
  }
  last_ = fs::ascii_lower(line.substr(0, colon));
  const auto value = trimmed(line.substr(colon + 1));
  if (last_ == "host") ++hosts_;
  if (last_ == "range") request_.range = read_range(value);
  if (last_ == "if-range") request_.if_range = value;
  if (last_ == "if-modified-since") request_.modified_since = value;
}

Reader::Outcome Reader::end_of_head() {
  if (bad_) return refuse(400, "The request has a line that makes no sense.");
  // RFC 9112 §3.2; before 1.1 there was none.
  if (hosts_ > 1 || (hosts_ == 0 && request_.form.newer)) {
    return refuse(400, "The request does not say once which host it is for.");
  }
  if (request_.form.head) request_.range.reset();  // RFC 9110 §14.2
  over_ = true;
  return std::move(request_);
}

}  // namespace stationer::server::http
