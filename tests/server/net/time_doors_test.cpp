#include "server/net/time_doors.h"

#include <catch2/catch.hpp>

#include "tests/support/test_service.h"

using namespace stationer;
using test::TestClient;
using test::TestService;
using test::TestVolume;
namespace asio = boost::asio;

namespace {

struct TimeService : TestService {
  server::DoorConfig door;
  std::unique_ptr<server::TimeDoors> doors;

  explicit TimeService(const std::string& settings = "") : TestService(settings) {
    door.address = "127.0.0.1";
    on_loop([&] {
      doors = std::make_unique<server::TimeDoors>(*loop, *shared);
      const auto opened = doors->open("time", door, [this] { return server::say_time(*shared); });
      const auto also =
          doors->open("daytime", door, [this] { return server::say_daytime(*shared); });
      return opened && also;
    });
    REQUIRE(doors->listeners().size() == 2);
  }
  ~TimeService() {
    on_loop([&] {
      doors.reset();
      return 0;
    });
  }
  std::uint16_t time() const { return doors->listeners()[0]->port(); }
  std::uint16_t daytime() const { return doors->listeners()[1]->port(); }
};

// Asks by a datagram, and waits a moment for the answer.
std::string ask(std::uint16_t port, std::uint16_t from = 0, const std::string& say = "") {
  asio::io_context context;
  asio::ip::udp::socket socket(context);
  socket.open(asio::ip::udp::v4());
  socket.set_option(asio::socket_base::reuse_address(true));
  socket.bind({asio::ip::make_address("127.0.0.5"), from});
  socket.send_to(asio::buffer(say), {asio::ip::address_v4::loopback(), port});
  std::string out(200, '\0');
  std::size_t got = 0;
  socket.async_receive(asio::buffer(out),
                       [&](const boost::system::error_code& failed, std::size_t size) {
                         if (!failed) got = size;
                       });
  context.run_for(std::chrono::milliseconds(300));
  out.resize(got);
  return out;
}

// The test's clock: 2027-01-15 08:00 UTC, (1,800,000,000 + 2,208,988,800) mod 2^32.
constexpr std::string_view octets = "\xEE\xF4\x50\x80";

std::string expected() {
  return std::string(octets.data(), 4);
}

}  // namespace

TEST_CASE("the time doors say the time to whoever connects, and close") {
  TimeService service;
  TestClient time(service.time());
  CHECK(time.rest() == expected());
  TestClient daytime(service.daytime());
  daytime.send("what time is it?\r\n");
  const std::string line = daytime.rest();
  CHECK(line.starts_with("Friday, January 15, 2027 "));
  CHECK(line.ends_with("\r\n"));
}

TEST_CASE("the time doors answer a datagram with one") {
  TimeService service;
  CHECK(ask(service.time()) == expected());
  CHECK(ask(service.daytime(), 0, "anything").starts_with("Friday, January 15, 2027 "));
}

TEST_CASE("invariant 6: the time doors do not answer what would be answered by an answer") {
  TimeService service;
  // From our own doors' ports, at another address of this machine; and from a service's.
  CHECK(ask(service.time(), service.daytime()) == "");
  CHECK(ask(service.daytime(), service.daytime()) == "");
  CHECK(ask(service.time(), 7) == "");
  CHECK(ask(service.time()) == expected());
}

TEST_CASE("only stations that may use them hear the time") {
  TimeService service("[stations]\nunknown = false\n");
  CHECK(ask(service.time()) == "");
  TestClient refused(service.time());
  CHECK(refused.rest() == "");
  TestVolume::done(service.room.volume->stations().add(
      service.room.keeper, {.segment = 1,
                            .number = 1,
                            .name = "owl",
                            .address = "127.0.0.5",
                            .doors = std::vector<std::string>{"time"}}));
  CHECK(ask(service.time()) == expected());
  CHECK(ask(service.daytime()) == "");
}
