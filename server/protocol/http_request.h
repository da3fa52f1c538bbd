// Reading one request of HTTP/0.9, 1.0 or 1.1 (RFC 1945 §4 and §5, RFC 9112 §2 to §3), for a door
// that only hands out: GET and HEAD. Whatever else is said in it is passed over.
//
// Bounds: longest_line octets of a request line, longest_head of all, and nothing is kept of what
// comes after.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

namespace stationer::server::http {

// Octets of a file (RFC 9110 §14.1.1): from `first` to `last`, both counted in; from `first` on; or
// with no `first` the `last` ones.
struct Range {
  std::optional<std::uint64_t> first;
  std::optional<std::uint64_t> last;
  bool operator==(const Range&) const = default;
};

// How the answer is to be written.
struct Form {
  bool simple = false;  // HTTP/0.9: the body alone
  bool head = false;    // without the body
  bool newer = false;   // 1.1: it has to be told that the connection ends
};

struct Request {
  Form form;
  std::string path;            // from the top, decoded; nothing else was checked of it
  std::optional<Range> range;  // none: all of it, also when it made no sense (RFC 9110 §14.2)
  std::string if_range;        // as it was sent; so for the next
  std::string modified_since;
};

struct Refusal {
  Form form;
  int status = 400;
  std::string why;  // in a sentence
};

class Reader {
 public:
  static constexpr std::size_t longest_line = 8192;  // RFC 9112 §3: at least 8,000
  static constexpr std::size_t longest_head = 16384;

  using Outcome = std::variant<std::monostate, Request, Refusal>;

  // Takes what is needed from the front of `octets`. Anything but monostate is the end of it.
  Outcome feed(std::string_view& octets);
  // No more will come.
  Outcome end_of_input();

 private:
  Outcome line(std::string_view line);
  Outcome request_line(std::string_view line);
  void header(std::string_view line);
  Outcome end_of_head();
  Outcome refuse(int status, std::string why);

  std::string line_;  // as far as it came
  std::size_t size_ = 0;
  bool in_headers_ = false;
  bool over_ = false;
  int hosts_ = 0;
  bool bad_ = false;  // a header can't be one
  std::string last_;  // the header before, in lower case
  Request request_;
};

// "bytes=0-499" and the like. Nothing for what is no range, more than one, or of other units.
std::optional<Range> read_range(std::string_view text);

// The path of a request's target in its decoded form. Nothing for what is none.
std::optional<std::string> read_target(std::string_view target);

}  // namespace stationer::server::http
