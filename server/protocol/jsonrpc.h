// JSON-RPC 2.0 over lines: one request, or one batch, in a line of JSON; one line back, or none.
// Both ends, because the numbers of our errors must be read as they are written. No I/O.
//
// Errors: -32700, -32600, -32601 and -32603 as in section 5.1 of the specification. Our own are
// -32000 less the index of fs::Code, with {"code": "not_found"} as data; only bad_input goes by the
// number it has there already, -32602. The message is the sentence of the fs::Error.
//
// Bounds: a line 1 MiB, nesting 32 deep, a batch 64 requests.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <utility>

#include <boost/json/value.hpp>

#include "fs/result.h"

namespace stationer::server {

// Cuts received bytes into lines, at LF; CR before it is dropped, and so are empty lines.
class JsonLines {
 public:
  static constexpr std::size_t longest = std::size_t{1024} * 1024;

  // Calls line(std::string_view) for each line, and too_long() once for each that is over the limit
  // and therefore skipped.
  template <class Line, class TooLong>
  void feed(std::string_view received, Line line, TooLong too_long) {
    while (!received.empty()) {
      const auto end = received.find('\n');
      const std::string_view part = received.substr(0, end);
      if (!skipping_ && kept_.size() + part.size() > longest) {
        skipping_ = true;
        kept_ = {};
        too_long();
      }
      if (!skipping_) kept_ += part;
      if (end == std::string_view::npos) return;
      received.remove_prefix(end + 1);
      std::string whole;
      whole.swap(kept_);
      if (std::exchange(skipping_, false)) continue;
      if (!whole.empty() && whole.back() == '\r') whole.pop_back();
      if (!whole.empty()) line(std::string_view(whole));
    }
  }

 private:
  std::string kept_;
  bool skipping_ = false;
};

// The methods a service has, and how a line becomes calls and their answer.
class Methods {
 public:
  static constexpr std::size_t deepest = 32;
  static constexpr std::size_t most_in_batch = 64;

  // Called once, now or later, on any copy and on the thread that called the handler; calls after
  // the first do nothing. If every copy is gone without one, the answer is an internal error: a
  // client never waits for what was forgotten.
  using Reply = std::function<void(fs::Result<boost::json::value>)>;

  // `params` is an object, an array, or null when the request has none; it lives as long as
  // `reply`.
  using Handler = std::function<void(const boost::json::value& params, Reply reply)>;

  // Takes the answer: one line without its LF.
  using Send = std::function<void(std::string)>;

  // Adding a name twice, or one that begins with "rpc.", is a bug and throws.
  void add(std::string name, Handler handler);

  // Handles one line. `send` is called at most once, when the last reply has come, and not at all
  // for notifications. A handler that throws has a bug: the answer is an internal error.
  void call(std::string_view line, Send send) const;

  // The answer to a line over the limit.
  static std::string too_long();

 private:
  std::map<std::string, Handler, std::less<>> handlers_;
};

// The client's end: a request as a line without its LF.
std::string jsonrpc_request(std::uint64_t id, std::string_view method, boost::json::value params);

// The result in an answer to the request `id`, or its error as the server meant it. An error that
// none of our handlers gives, or an answer that is none, is Code::io.
fs::Result<boost::json::value> jsonrpc_result(std::string_view line, std::uint64_t id);

}  // namespace stationer::server
