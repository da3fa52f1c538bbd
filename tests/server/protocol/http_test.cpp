// The HTTP machine: what comes in, and what goes out.
#include <catch2/catch.hpp>

#include "server/protocol/http_answer.h"
#include "server/protocol/http_date.h"
#include "server/protocol/http_page.h"
#include "server/protocol/http_request.h"

using namespace stationer;
using namespace stationer::server;
using namespace stationer::server::http;
using namespace std::string_view_literals;

namespace {

// RFC 9110 §5.6.7: this moment is 784111777 (computed from the calendar).
const fs::Time that_sunday{std::chrono::seconds(784'111'777)};
const fs::Time now{std::chrono::seconds(1'800'000'000)};

Reader::Outcome read(std::string_view octets, std::size_t piece = std::string_view::npos) {
  Reader reader;
  while (!octets.empty()) {
    std::string_view part = octets.substr(0, piece);
    octets.remove_prefix(part.size());
    if (auto outcome = reader.feed(part); outcome.index() != 0) return outcome;
    CHECK(part.empty());
  }
  return reader.end_of_input();
}

Request request(std::string_view octets) {
  auto outcome = read(octets);
  if (const auto* refusal = std::get_if<Refusal>(&outcome)) FAIL(refusal->why);
  REQUIRE(std::holds_alternative<Request>(outcome));
  return std::get<Request>(outcome);
}

int refused(std::string_view octets) {
  const auto outcome = read(octets);
  const auto* refusal = std::get_if<Refusal>(&outcome);
  if (refusal == nullptr) return 0;
  CHECK(refusal->why.ends_with('.'));
  return refusal->status;
}

std::string in_words(const Reader::Outcome& outcome) {
  if (const auto* refusal = std::get_if<Refusal>(&outcome)) {
    return std::to_string(refusal->status) + " " + refusal->why;
  }
  if (const auto* got = std::get_if<Request>(&outcome)) {
    return got->path + (got->form.head ? " head" : "") + (got->form.simple ? " simple" : "") +
           (got->form.newer ? " newer" : "") + (got->range ? " range" : "") + got->modified_since;
  }
  return "nothing";
}

// The answer for `range` to a file of 10,000 octets.
Answer ranged(const std::string& range, const std::string& method = "GET") {
  const auto wanted = request(method + " /a HTTP/1.0\r\nRange: " + range + "\r\n\r\n");
  return answer_file(wanted, {"text/plain", 10'000, that_sunday}, now);
}

}  // namespace

// RFC 1945 §3.1, §5.1: GET / without a version.
TEST_CASE("http: a simple request is answered by the body alone") {
  const auto simple = request("GET /\r\n");
  CHECK(simple.form.simple);
  CHECK(simple.path == "/");
  const auto answer = answer_file(simple, {"text/plain", 12, that_sunday}, now);
  CHECK(answer.head.empty());
  CHECK(answer.count == 12);
  CHECK(answer_page(simple.form, "<P>x\n", now) == "<P>x\n");
  CHECK(refused("HEAD /\r\n") == 400);  // only GET
  CHECK(refused("GET\r\n") == 400);
  CHECK(refused("GET /a") == 400);  // broken off
}

// RFC 1945 §5.2: no Host; RFC 9112 §3.2: from 1.1 on, one.
TEST_CASE("http: a host is needed from 1.1 on, and never two") {
  CHECK(request("GET / HTTP/1.0\r\n\r\n").path == "/");
  CHECK(refused("GET / HTTP/1.1\r\n\r\n") == 400);
  CHECK(request("GET / HTTP/1.1\r\nHost: mill\r\n\r\n").form.newer);
  CHECK(refused("GET / HTTP/1.1\r\nHost: a\r\nhost: b\r\n\r\n") == 400);
  CHECK(refused("GET / HTTP/1.0\r\nHost: a\r\nHost: a\r\n\r\n") == 400);
}

TEST_CASE("http: lines may end in LF, an empty one may go before, and words may stand apart") {
  // RFC 9112 §2.2, §3.
  CHECK(request("\r\n\nGET  /a\tHTTP/1.0\nAccept: x\n\n").path == "/a");
}

TEST_CASE("http: methods and versions that are not spoken here are refused") {
  CHECK(refused("POST /a HTTP/1.0\r\nContent-Length: 3\r\n\r\nabc") == 501);
  CHECK(refused("DELETE /a HTTP/1.0\r\n\r\n") == 501);
  CHECK(refused("get /a HTTP/1.0\r\n\r\n") == 501);  // RFC 1945 §5.1.1: case matters
  CHECK(refused("G(T /a HTTP/1.0\r\n\r\n") == 400);
  CHECK(refused("GET /a HTTP/2.0\r\n\r\n") == 400);
  CHECK(refused("GET /a HTTP/x\r\n\r\n") == 400);
  CHECK(refused("GET /a b HTTP/1.0\r\n\r\n") == 400);
  CHECK(refused("GET /a HTTP/1.0\r\nno colon\r\n\r\n") == 400);
  CHECK(refused("GET /a HTTP/1.0\r\nbad name: x\r\n\r\n") == 400);
  CHECK(refused("GET /a HTTP/1.0\r\n folded first\r\n\r\n") == 400);
  CHECK(request("GET /a HTTP/1.0\r\nAccept: a\r\n  b\r\n\r\n").path == "/a");
  CHECK(request("GET /a HTTP/1.7\r\nHost: x\r\n\r\n").form.newer);
  CHECK(refused("GET /a HTTP/1.0\r\nAccept: x\r\n") == 400);  // broken off
  CHECK(read("").index() == 0);
  CHECK(read("\r\n").index() == 0);
}

// RFC 9112 §3: at least 8,000 octets, and 414 beyond what is read.
TEST_CASE("http: what is too long is refused, and not kept") {
  CHECK(request("GET /" + std::string(8000, 'a') + " HTTP/1.0\r\n\r\n").path.size() == 8001);
  CHECK(refused("GET /" + std::string(8200, 'a')) == 414);
  CHECK(refused("GET / HTTP/1.0\r\nX: " + std::string(17'000, 'a')) == 400);
  std::string many = "GET / HTTP/1.0\r\n";
  for (int i = 0; i < 3000; ++i) many += "A: b\r\n";
  CHECK(refused(many) == 400);
  CHECK(refused(std::string(17'000, '\n')) == 400);
}

// RFC 1945 §5.1.2, §3.2.1; what a path may be beyond that is for the store to say (§12.5).
TEST_CASE("http: targets are decoded once") {
  CHECK(read_target("/a%20b%2fc") == "/a b/c");
  CHECK(read_target("/%2541") == "/%41");
  CHECK(read_target("/a?b=c#d") == "/a");
  CHECK(read_target("http://mill:8080/a") == "/a");
  CHECK(read_target("HTTP://mill") == "/");
  CHECK(read_target("http://mill?x") == "/");
  CHECK(read_target("/../x") == "/../x");
  for (const char* bad : {"", "a", "*", "/%", "/%4", "/%zz", "/%00", "/%0a", "/%7f", "ftp://x/"}) {
    INFO(bad);
    CHECK_FALSE(read_target(bad));
  }
  CHECK(refused("GET /%00 HTTP/1.0\r\n\r\n") == 400);
}

TEST_CASE("http: requests come the same in whatever pieces") {
  for (const auto octets :
       {"GET /a%20b HTTP/1.1\r\nHost: x\r\nRange: bytes=1-2\r\nIf-Modified-Since: y\r\n\r\nrest"sv,
        "\r\nHEAD / HTTP/1.0\r\n\r\n"sv, "GET /\r\n"sv, "PUT /a HTTP/1.0\r\n\r\n"sv,
        "GET /a HTTP/1.0\r\nbad\r\n\r\n"sv}) {
    const std::string whole = in_words(read(octets));
    for (std::size_t at = 0; at <= octets.size(); ++at) {
      Reader reader;
      std::string_view first = octets.substr(0, at);
      std::string_view second = octets.substr(at);
      auto outcome = reader.feed(first);
      if (outcome.index() == 0) outcome = reader.feed(second);
      CHECK(in_words(outcome) == whole);
    }
    CHECK(in_words(read(octets, 1)) == whole);
  }
}

// RFC 9110 §14.1.2, §14.4: the examples for a file of 10,000 octets.
TEST_CASE("http: a range of a file") {
  const auto check = [](const std::string& range, std::uint64_t first, std::uint64_t count) {
    const auto answer = ranged(range);
    INFO(range << "\n" << answer.head);
    CHECK(answer.first == first);
    CHECK(answer.count == count);
    CHECK(answer.head.starts_with("HTTP/1.0 206 "));
    CHECK(answer.head.find("Content-Range: bytes " + std::to_string(first) + "-" +
                           std::to_string(first + count - 1) + "/10000\r\n") != std::string::npos);
    CHECK(answer.head.find("Content-Length: " + std::to_string(count) + "\r\n") !=
          std::string::npos);
  };
  check("bytes=0-499", 0, 500);
  check("bytes=-500", 9500, 500);
  check("bytes=9500-", 9500, 500);
  check("bytes=9990-20000", 9990, 10);
  check("Bytes=0-0", 0, 1);
  check("bytes=-20000", 0, 10'000);
}

TEST_CASE("http: a range that is not there is told, and one that makes no sense is passed over") {
  for (const char* beyond : {"bytes=10000-", "bytes=-0", "bytes=99999999999999999-"}) {
    const auto answer = ranged(beyond);
    CHECK(answer.head.starts_with("HTTP/1.0 416 "));
    CHECK(answer.head.find("Content-Range: bytes */10000\r\n") != std::string::npos);
    CHECK(answer.count == 0);
  }
  for (const char* senseless : {"lines=1-2", "bytes=", "bytes=-", "bytes=5-4", "bytes=a-b",
                                "bytes=0-1,3-4", "bytes=99999999999999999999999-"}) {
    INFO(senseless);
    const auto answer = ranged(senseless);
    CHECK(answer.head.starts_with("HTTP/1.0 200 "));
    CHECK(answer.count == 10'000);
  }
  CHECK(ranged("bytes=0-499", "HEAD").head.starts_with("HTTP/1.0 200 "));
}

TEST_CASE("http: a range of what may have changed is given only if it has not") {
  const auto status = [](const std::string& if_range) {
    const auto wanted =
        request("GET /a HTTP/1.0\r\nRange: bytes=1-\r\nIf-Range: " + if_range + "\r\n\r\n");
    return answer_file(wanted, {"text/plain", 10, that_sunday}, now).head.substr(9, 3);
  };
  CHECK(status("Sun, 06 Nov 1994 08:49:37 GMT") == "206");
  CHECK(status("Sun, 06 Nov 1994 08:49:38 GMT") == "200");
  CHECK(status("\"a-tag\"") == "200");
}

// RFC 1945 §10.9.
TEST_CASE("http: what has not changed since is not sent again") {
  const auto answer = [](const std::string& since, const char* method = "GET") {
    return answer_file(
        request(std::string(method) + " /a HTTP/1.0\r\nIf-Modified-Since: " + since + "\r\n\r\n"),
        {"text/plain", 10, that_sunday + std::chrono::milliseconds(999)}, now);
  };
  CHECK(answer("Sun, 06 Nov 1994 08:49:37 GMT").head.starts_with("HTTP/1.0 304 Not Modified\r\n"));
  CHECK(answer("Sun, 06 Nov 1994 08:49:37 GMT").head.ends_with("\r\n\r\n"));
  CHECK(answer("Sun, 06 Nov 1994 08:49:37 GMT").count == 0);
  CHECK(answer("Sunday, 06-Nov-94 08:49:37 GMT").count == 0);
  CHECK(answer("Sun Nov  6 08:49:37 1994").count == 0);
  CHECK(answer("Sun, 06 Nov 1994 08:49:36 GMT").count == 10);
  CHECK(answer("nonsense").count == 10);
  CHECK(answer("Sun, 06 Nov 2094 08:49:37 GMT").count == 10);  // later than now: not valid
}

// RFC 9110 §5.6.7.
TEST_CASE("http: dates are written in one form and read in three") {
  CHECK(http_date(that_sunday) == "Sun, 06 Nov 1994 08:49:37 GMT");
  for (const char* form : {"Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT",
                           "Sun Nov  6 08:49:37 1994"}) {
    CHECK(read_http_date(form, now) == that_sunday);
  }
  // More than 50 years ahead is the past century: now is 2027.
  CHECK(http_date(*read_http_date("Sunday, 06-Nov-77 08:49:37 GMT", now)).substr(12, 4) == "2077");
  CHECK(http_date(*read_http_date("Sunday, 06-Nov-78 08:49:37 GMT", now)).substr(12, 4) == "1978");
  CHECK(http_date(*read_http_date("Sun, 06 Nov 0094 08:49:37 GMT", now)).substr(12, 4) == "0094");
  for (const char* bad : {"", "x", "Sun, 31 Feb 1994 08:49:37 GMT", "Sun, 06 Nov 1994 24:49:37 GMT",
                          "Sun, 06 Nov 1994 8:49:37 GMT", "Sun, 06 nov 1994 08:49:37 GMT",
                          "Sun, 06 Nov 1994 08:49:37 CET", "Sun, 6000 Nov 1994 08:49:37 GMT",
                          "Sunday, 06-Nov-1994 08:49:37 GMT"}) {
    INFO(bad);
    CHECK_FALSE(read_http_date(bad, now));
  }
}

// RFC 1945 §6, §7.
TEST_CASE("http: an answer says all that a fetcher needs") {
  const auto got = request("GET /a HTTP/1.1\r\nHost: x\r\n\r\n");
  CHECK(answer_file(got, {"image/gif", 7, that_sunday}, that_sunday).head ==
        "HTTP/1.0 200 OK\r\n"
        "Date: Sun, 06 Nov 1994 08:49:37 GMT\r\n"
        "Server: Stationer\r\n"
        "Connection: close\r\n"
        "Content-Type: image/gif\r\n"
        "Content-Length: 7\r\n"
        "Last-Modified: Sun, 06 Nov 1994 08:49:37 GMT\r\n"
        "Accept-Ranges: bytes\r\n\r\n");
  const auto head = request("HEAD /a HTTP/1.0\r\n\r\n");
  CHECK(answer_file(head, {"image/gif", 7, that_sunday}, now).count == 0);
  CHECK(answer_file(head, {"image/gif", 7, that_sunday}, now).head.find("Content-Length: 7\r\n") !=
        std::string::npos);
  CHECK(answer_page(head.form, "<P>x\n", now).ends_with("Content-Length: 5\r\n\r\n"));
  const std::string refusal = answer_refusal(got.form, 404, "There is no <b>/a&b</b>.", now);
  CHECK(refusal.starts_with("HTTP/1.0 404 Not Found\r\n"));
  CHECK(refusal.find("There is no &#60;b&#62;/a&#38;b&#60;/b&#62;.") != std::string::npos);
  const std::string moved = answer_moved(got.form, "/a%20b/", now);
  CHECK(moved.starts_with("HTTP/1.0 301 Moved Permanently\r\n"));
  CHECK(moved.find("\r\nLocation: /a%20b/\r\n") != std::string::npos);
}

TEST_CASE("http: what the store says becomes a status, and names a type") {
  CHECK(status_for(fs::Code::bad_name) == 400);
  CHECK(status_for(fs::Code::denied) == 403);
  CHECK(status_for(fs::Code::not_found) == 404);
  CHECK(status_for(fs::Code::io) == 503);
  CHECK(type_of("A.TXT", false) == "text/plain; charset=UTF-8");
  CHECK(type_of("letter", true) == "text/plain; charset=UTF-8");
  CHECK(type_of("maze.bas", false) == "application/octet-stream");
  CHECK(type_of(".html", false) == "application/octet-stream");
  CHECK(type_of("a.html", true) == "text/html; charset=UTF-8");
}

TEST_CASE("http: a listing fits 40 columns and names are harmless in it") {
  const std::string page =
      listing_page("/programs", false,
                   {{"flood.bas", false, "898", "2026-11-25"},
                    {"games", true, "", "2026-11-25"},
                    {"a & \"b\" <c>", false, "64.0K", "2026-11-25"},
                    {"caf\xC3\xA9", false, "1", "2026-11-25"},
                    {"a name that is longer than its column", false, "12", "2026-11-25"}});
  CHECK(page ==
        "<!DOCTYPE HTML PUBLIC \"-//IETF//DTD HTML 2.0//EN\">\n"
        "<HTML><HEAD><TITLE>/programs</TITLE></HEAD>\n"
        "<BODY><H1>/programs</H1>\n"
        "<PRE>\n"
        "<A HREF=\"../\">..</A>\n"
        "<A HREF=\"flood.bas\">flood.bas</A>                 898 2026-11-25\n"
        "<A HREF=\"games/\">games/</A>                        2026-11-25\n"
        "<A HREF=\"a%20%26%20%22b%22%20%3Cc%3E\">a &#38; &#34;b&#34; &#60;c&#62;</A>             "
        "64.0K 2026-11-25\n"
        "<A HREF=\"caf%C3%A9\">caf&#233;</A>                        1 2026-11-25\n"
        "<A HREF=\"a%20name%20that%20is%20longer%20than%20its%20column\">a name that is longer "
        "than its column</A>\n"
        "                           12 2026-11-25\n"
        "</PRE>\n"
        "</BODY></HTML>\n");
  CHECK(listing_page("/", true, {}).find("There is nothing here") != std::string::npos);
  CHECK(escaped("\xFF") == "?");
}
