// Requests of HTTP and their answers.
#include <string>
#include <variant>

#include "fs/text.h"
#include "server/protocol/http_answer.h"
#include "server/protocol/http_date.h"
#include "server/protocol/http_page.h"
#include "server/protocol/http_request.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;
using namespace server::http;

const fs::Time now{std::chrono::seconds(1'800'000'000)};

Reader::Outcome hear(std::string_view octets, std::size_t piece) {
  Reader reader;
  while (!octets.empty()) {
    std::string_view part = octets.substr(0, piece);
    octets.remove_prefix(part.size());
    const auto outcome = reader.feed(part);
    if (outcome.index() != 0) {
      std::string_view more = "GET / HTTP/1.0\r\n\r\n";
      require(reader.feed(more).index() == 0 && more.size() == 18, "what is over takes no more");
      require(reader.end_of_input().index() == 0, "what is over stays over");
      return outcome;
    }
    require(part.empty(), "who waits has taken all");
  }
  return reader.end_of_input();
}

// An answer's head is lines that end in CR LF, the last of them empty, and printing ASCII.
void check_head(const Form& form, std::string_view head, std::size_t address = 0) {
  if (form.simple) return;
  require(head.starts_with("HTTP/1.0 "), "an answer has a status line");
  const auto end = head.find("\r\n\r\n");
  require(end != std::string_view::npos, "a head ends");
  require(end < 1024 + address, "a head has a bound");
  for (const char c : head.substr(0, end)) {
    require((c >= 0x20 && c < 0x7F) || c == '\r' || c == '\n', "a head is printing ASCII");
  }
}

void check_page(std::string_view page) {
  require(fs::is_ascii(page), "pages are ASCII");
}

void check(const Request& request, Script& script, Sum& sum) {
  require(request.path.starts_with('/'), "a path begins at the top");
  require(request.path.size() <= Reader::longest_line, "a path has a bound");
  for (const char c : request.path) {
    require(static_cast<unsigned char>(c) >= 0x20 && c != 0x7F, "a path has no control characters");
  }
  require(!request.range || request.range->first || request.range->last, "a range has an end");
  const std::uint64_t size = std::uint64_t{script.number()} << (script.number() % 57);
  const Answer answer =
      answer_file(request, {"text/plain", size, now - std::chrono::hours(script.number())}, now);
  require(answer.count <= size && answer.first <= size - answer.count, "octets that are there");
  require(!request.form.head || answer.count == 0, "a head has no body");
  check_head(request.form, answer.head);
  sum.add(request.path);
  sum.add(answer.head);
  sum.add(answer.count);
  const std::string address = "/" + address_of(request.path) + "/";
  check_head(request.form, answer_moved(request.form, address, now), address.size());
  const std::string listing =
      listing_page(request.path, false, {{request.path, true, "", ""}, {"a", false, "1", ""}});
  check_page(listing);
  if (const auto date = read_http_date(request.modified_since, now)) {
    require(read_http_date(http_date(*date), now) == *date, "a date is what it was");
  }
}

void check(const Refusal& refusal, Sum& sum) {
  require(refusal.status == 400 || refusal.status == 414 || refusal.status == 501,
          "a status of those there are");
  require(refusal.why.ends_with('.'), "a refusal is a sentence");
  const std::string answer = answer_refusal(refusal.form, refusal.status, refusal.why, now);
  check_head(refusal.form, answer);
  check_page(answer);
  sum.add(answer);
}

std::string octets_of(Script& script) {
  static constexpr std::array<std::string_view, 16> said = {
      "GET ",
      "HEAD ",
      " HTTP/1.0\r\n",
      " HTTP/1.1\r\nHost: mill\r\n",
      "/programs/maze.bas",
      "http://mill",
      "%2e%2F",
      "Range: bytes=",
      "0-499\r\n",
      "-500\r\n",
      "If-Modified-Since: Sun, 06 Nov 1994 08:49:37 GMT\r\n",
      "If-Modified-Since: Sunday, 06-Nov-94 08:49:37 GMT\r\n",
      "If-Range: Sun Nov  6 08:49:37 1994\r\n",
      "\r\n",
      "\r\n\r\n",
      ": "};
  std::string out;
  while (!script.over()) {
    const std::uint8_t act = script.number();
    if ((act & 1) != 0) {
      out += said[act >> 4];
    } else if ((act & 14) == 14) {
      out += std::string(std::size_t{64} * (act >> 4), 'a');
    } else {
      out += script.bytes(1u + (act >> 4));
    }
  }
  return out;
}

std::uint64_t sum_of(const std::string& octets, std::size_t piece, std::string_view details) {
  Sum sum;
  Script script(details);
  const auto outcome = hear(octets, piece);
  if (const auto* request = std::get_if<Request>(&outcome)) check(*request, script, sum);
  if (const auto* refusal = std::get_if<Refusal>(&outcome)) check(*refusal, sum);
  return sum.value();
}

}  // namespace

void http(std::string_view input) {
  const std::string_view details = input.substr(0, 4);
  Script script(input.substr(details.size()));
  const std::size_t piece = 1u + Script(details).number() % 7;
  const std::string octets = octets_of(script);
  require(sum_of(octets, std::string_view::npos, details) == sum_of(octets, piece, details),
          "pieces make no difference");
}

}  // namespace stationer::fuzz
