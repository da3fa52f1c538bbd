// What a service manager hears, over a socket as it has one (sd_notify(3)).
#include "server/net/service_manager.h"

#include <cstdlib>

#include <boost/asio/buffer.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <unistd.h>

#include "tests/support/temp_folder.h"

using namespace stationer;
using boost::asio::local::datagram_protocol;
using server::ManagerWishes;
using server::ServiceManager;

namespace {

struct Listener {
  boost::asio::io_context context;
  datagram_protocol::socket socket;

  explicit Listener(const std::string& path) : socket(context, datagram_protocol::endpoint(path)) {}

  // The next datagram; empty when none is there.
  std::string hears() {
    socket.non_blocking(true);
    std::string text(1000, '\0');
    boost::system::error_code none;
    text.resize(socket.receive(boost::asio::buffer(text), 0, none));
    return text;
  }
};

}  // namespace

TEST_CASE("a service manager hears what is said, in one datagram each") {
  const test::TempFolder folder;
  server::AsioLoop loop;
  Listener listener(folder / "notify");
  ServiceManager manager(loop, {folder / "notify", {}});
  manager.say("READY=1\nSTATUS=Here.");
  manager.status("All is\nwell.");
  manager.status(std::string(500, 'x'));
  CHECK(listener.hears() == "READY=1\nSTATUS=Here.");
  CHECK(listener.hears() == "STATUS=All is well.");
  CHECK(listener.hears() == "STATUS=" + std::string(200, 'x'));
  CHECK(listener.hears().empty());
}

TEST_CASE("a socket may have a name that is no path, and need not be there") {
  server::AsioLoop loop;
  const std::string name = "stationer-test-" + std::to_string(::getpid());
  Listener listener('\0' + name);
  ServiceManager manager(loop, {'@' + name, {}});
  manager.say("READY=1");
  CHECK(listener.hears() == "READY=1");
  for (const std::string& nobody :
       {std::string(), std::string("/not/there"), std::string(500, 'x')}) {
    ServiceManager alone(loop, {nobody, {}});
    CHECK_NOTHROW(alone.say("READY=1"));
  }
}

TEST_CASE("a manager that does not listen never holds the service up") {
  const test::TempFolder folder;
  server::AsioLoop loop;
  const Listener deaf(folder / "notify");
  ServiceManager manager(loop, {folder / "notify", {}});
  for (int i = 0; i < 10'000; ++i) manager.say("WATCHDOG=1");
}

TEST_CASE("what a manager wishes is taken out of the environment") {
  ::setenv("NOTIFY_SOCKET", "/run/systemd/notify", 1);
  ::setenv("WATCHDOG_USEC", "60000000", 1);
  ::setenv("WATCHDOG_PID", std::to_string(::getpid()).c_str(), 1);
  const auto wishes = ManagerWishes::from_environment();
  CHECK(wishes.socket == "/run/systemd/notify");
  CHECK(wishes.watchdog == std::chrono::minutes(1));
  for (const char* name : {"NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"}) {
    CHECK(std::getenv(name) == nullptr);
  }
  CHECK(ManagerWishes::from_environment().socket.empty());
  ::setenv("WATCHDOG_USEC", "60000000", 1);
  ::setenv("WATCHDOG_PID", "1", 1);  // somebody else is watched
  CHECK_FALSE(ManagerWishes::from_environment().watchdog);
  ::setenv("WATCHDOG_USEC", "often", 1);
  CHECK_FALSE(ManagerWishes::from_environment().watchdog);
}
