// The HTTP door over real sockets.
#include "server/net/http_door.h"

#include <catch2/catch.hpp>

#include "tests/support/test_service.h"

using namespace stationer;
using test::TestClient;
using test::TestService;
using test::TestVolume;

namespace {

struct HttpService : TestService {
  std::unique_ptr<server::Listener> http;

  explicit HttpService(const std::string& settings = "") : TestService(settings) {
    http = on_loop([&] {
      return open("http", config.http, [this](auto stream) {
        return server::make_http_connection(*shared, config.http, std::move(stream));
      });
    });
  }
  ~HttpService() {
    on_loop([&] {
      http.reset();
      return 0;
    });
  }

  std::string ask(const std::string& request, const std::string& from = "") {
    TestClient client(http->port(), from);
    client.send(request);
    return client.rest();
  }
  std::string get(const std::string& path, const std::string& more = "") {
    return ask("GET " + path + " HTTP/1.0\r\n" + more + "\r\n");
  }
};

std::string status_of(const std::string& answer) {
  return answer.substr(0, answer.find('\r'));
}
std::string body_of(const std::string& answer) {
  return answer.substr(answer.find("\r\n\r\n") + 4);
}

}  // namespace

TEST_CASE("a guest's files are fetched over HTTP, whole and in part") {
  HttpService service;
  REQUIRE(service.room.save(service.room.keeper, "/programs/maze.bas", "10 PRINT \"MAZE\"\r"));
  const std::string whole = service.get("/programs/maze.bas");
  CHECK(status_of(whole) == "HTTP/1.0 200 OK");
  CHECK(body_of(whole) == "10 PRINT \"MAZE\"\r");
  CHECK(service.ask("GET /programs/maze.bas\r\n") == "10 PRINT \"MAZE\"\r");
  CHECK(body_of(service.get("/PROGRAMS/MAZE.BAS", "Range: bytes=3-7\r\n")) == "PRINT");
  CHECK(body_of(service.ask("HEAD /programs/maze.bas HTTP/1.0\r\n\r\n")).empty());
  CHECK(status_of(service.get("/programs/maze.bas",
                              "If-Modified-Since: Fri, 15 Jan 2027 08:00:00 GMT\r\n")) ==
        "HTTP/1.0 304 Not Modified");
  CHECK(status_of(service.get("/programs/maze.bas/")) == "HTTP/1.0 404 Not Found");
  CHECK(status_of(service.ask("POST / HTTP/1.0\r\n\r\n")) == "HTTP/1.0 501 Not Implemented");
}

TEST_CASE("a folder is listed over HTTP at its address, which ends with a stroke") {
  HttpService service;
  REQUIRE(service.room.save(service.room.keeper, "/programs/a b.txt", "x"));
  const std::string moved = service.get("/programs");
  CHECK(status_of(moved) == "HTTP/1.0 301 Moved Permanently");
  CHECK(moved.find("\r\nLocation: /programs/\r\n") != std::string::npos);
  const std::string listing = service.get("/programs/");
  CHECK(status_of(listing) == "HTTP/1.0 200 OK");
  CHECK(listing.find("<A HREF=\"a%20b.txt\">a b.txt</A>") != std::string::npos);
  CHECK(body_of(service.get("/programs/a%20b.txt")) == "x");
  const std::string top = service.get("/");
  CHECK(top.find("<A HREF=\"programs/\">") != std::string::npos);
  // No address leads to another machine (a path that begins with two strokes would).
  CHECK(service.get("//programs").find("\r\nLocation: /programs/\r\n") != std::string::npos);
  REQUIRE(service.room.save(service.room.keeper, "/programs/index.html", "<P>Welcome"));
  CHECK(body_of(service.get("/programs/")) == "<P>Welcome");
}

TEST_CASE("invariant 3: over HTTP one has a guest's rights") {
  HttpService service;
  const auto robin = service.room.add("robin");
  REQUIRE(service.room.save(robin, "/members/robin/diary", "secret"));
  for (const char* path : {"/members/robin/diary", "/members/robin/", "/members/robin"}) {
    INFO(path);
    const std::string answer = service.get(path);
    CHECK(answer.find("secret") == std::string::npos);
    CHECK(answer.find("diary</A>") == std::string::npos);
    CHECK(status_of(answer) != "HTTP/1.0 200 OK");
  }
  CHECK(status_of(service.get("/members/robin/")) == "HTTP/1.0 403 Forbidden");
  CHECK(status_of(service.get("/nothing")) == "HTTP/1.0 404 Not Found");
}

TEST_CASE("invariant 2: no address leads out of the tree") {
  HttpService service;
  for (const char* path :
       {"/../volume.toml", "/%2e%2e/volume.toml", "/programs/..%2f../volume.toml",
        "/programs/%2e%2e/%2e%2e/volume.toml", "/..", "/programs/..\\..\\x"}) {
    INFO(path);
    const std::string answer = service.get(path);
    CHECK(answer.find("[volume]") == std::string::npos);
    CHECK((status_of(answer) == "HTTP/1.0 400 Bad Request" ||
           status_of(answer) == "HTTP/1.0 404 Not Found"));
  }
}

TEST_CASE("a station sees the names of its profile over HTTP, if it may use that door") {
  HttpService service("[profile.pc]\nnames = \"dos\"\n[stations]\nunknown = false\n");
  TestVolume::done(service.room.volume->stations().add(
      service.room.keeper,
      {.segment = 1, .number = 1, .name = "owl", .profile = "pc", .address = "127.0.0.21"}));
  REQUIRE(service.room.save(service.room.keeper, "/programs/a long name.text", "x"));
  const std::string listing = service.ask("GET /PROGRAMS/ HTTP/1.0\r\n\r\n", "127.0.0.21");
  CHECK(listing.find("ALONGN~1.TEX") != std::string::npos);
  CHECK(body_of(service.ask("GET /PROGRAMS/ALONGN~1.TEX HTTP/1.0\r\n\r\n", "127.0.0.21")) == "x");
  const std::string refused = service.ask("GET / HTTP/1.0\r\n\r\n", "127.0.0.22");
  CHECK(status_of(refused) == "HTTP/1.0 403 Forbidden");
  CHECK(refused.find("not registered here") != std::string::npos);
}

TEST_CASE("invariant 6: who asks and does not read is hung up on, and delays nobody") {
  HttpService service("[door.http]\nidle_seconds = 1\n");
  REQUIRE(service.room.save(service.room.keeper, "/programs/long", std::string(30'000'000, 'x')));
  TestClient stuck(service.http->port());
  stuck.send("GET /programs/long HTTP/1.0\r\n\r\n");
  TestClient silent(service.http->port());
  TestClient half(service.http->port());
  half.send("GET /programs/long HT");
  const auto start = std::chrono::steady_clock::now();
  CHECK(body_of(service.get("/programs/long", "Range: bytes=0-9\r\n")) == "xxxxxxxxxx");
  CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds(1));
  CHECK(TestService::comes_true(
      [&] { return service.on_loop([&] { return service.http->connections() <= 2; }); }));
  CHECK(body_of(service.get("/programs/long")).size() == 30'000'000);
}

TEST_CASE("who asked over HTTP and has nothing more to say gets the answer all the same") {
  HttpService service;
  REQUIRE(service.room.save(service.room.keeper, "/programs/long", std::string(3'000'000, 'x')));
  TestClient client(service.http->port());
  client.send("GET /programs/long HTTP/1.0\r\n\r\n");
  client.end_output();
  CHECK(body_of(client.rest()).size() == 3'000'000);
  TestClient none(service.http->port());
  none.end_output();
  CHECK(none.rest().empty());
}
