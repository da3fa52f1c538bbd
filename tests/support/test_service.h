// The doors of a temporary volume, open on free loopback ports, on a loop in a thread of its own;
// and a plain client that talks to them.
#pragma once

#include <chrono>
#include <future>
#include <memory>
#include <string>
#include <thread>

#include <boost/asio/buffer.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <catch2/catch.hpp>

#include "print/spool.h"
#include "server/net/asio_loop.h"
#include "server/net/ftp_door.h"
#include "server/net/listener.h"
#include "server/net/print_doors.h"
#include "server/net/terminal_door.h"
#include "server/room.h"
#include "tests/support/test_volume.h"

namespace stationer::test {

struct TestService {
  TestVolume room;
  std::unique_ptr<print::Spool> spool;
  std::unique_ptr<print::Finder> finder;
  server::Config config;
  std::unique_ptr<server::AsioLoop> loop = std::make_unique<server::AsioLoop>();
  std::unique_ptr<server::Room> shared;
  server::Profile profile;
  std::unique_ptr<server::FtpHall> ftp_hall;
  std::unique_ptr<server::Listener> terminal, lpd, raw, ftp;
  std::thread thread;

  explicit TestService(const std::string& settings = "") {
    auto queues = print::read_queues(settings);
    REQUIRE(queues);
    auto read = server::read_config(settings, *queues);
    REQUIRE(read);
    config = *read;
    auto fonts = print::Fonts::load();
    REQUIRE(fonts);
    auto opened = print::Spool::open(*room.volume, *queues,
                                     print::render_in_place(*queues, std::move(*fonts)));
    REQUIRE(opened);
    spool = std::move(*opened);
    finder = std::make_unique<print::Finder>(*room.volume, std::uint64_t{64} << 20);
    shared = std::make_unique<server::Room>(*room.volume, *spool, *finder, *loop);
    shared->stations.use(config.stations);
    terminal = open(
        "terminal", config.terminal,
        [this](auto stream) {
          return server::make_terminal_connection(*shared, config.terminal, std::move(stream));
        },
        server::terminal_is_full);
    lpd = open("lpd", config.lpd, [this](auto stream) {
      return server::make_lpd_connection(*shared, config.lpd, std::move(stream));
    });
    raw = open("raw", config.raw, [this](auto stream) {
      return server::make_raw_connection(*shared, config.raw, std::move(stream));
    });
    auto hall = server::FtpHall::open(*loop, config.ftp);
    if (!hall) FAIL(hall.error().message);
    ftp_hall = std::move(*hall);
    ftp = open(
        "ftp", config.ftp,
        [this](auto stream) {
          return server::make_ftp_connection(*shared, *ftp_hall, profile, std::move(stream));
        },
        server::ftp_is_full);
    spool->start();
    thread = std::thread([this] { loop->context().run(); });
  }

  ~TestService() {
    loop->post([this] { loop->context().stop(); });
    thread.join();
    terminal.reset();
    lpd.reset();
    raw.reset();
    ftp.reset();
    loop->finish_work();
    spool.reset();
    finder.reset();
    room.volume.reset();
  }

  std::unique_ptr<server::Listener> open(const std::string& name, server::DoorConfig door,
                                         server::Listener::Make make, std::string_view full = {}) {
    door.address = "127.0.0.1";
    door.port = 0;
    auto listener = server::Listener::open(*loop, name, door, std::move(make), full);
    if (!listener) FAIL(listener.error().message);
    return std::move(*listener);
  }

  // Runs on the loop's thread and waits for it.
  template <class Act>
  auto on_loop(Act act) {
    std::packaged_task<decltype(act())()> task(std::move(act));
    auto result = task.get_future();
    loop->post([&] { task(); });
    return result.get();
  }

  // Waits until `true_now`, asked now and then, says so.
  template <class Ask>
  static bool comes_true(Ask true_now, std::chrono::seconds patience = std::chrono::seconds(20)) {
    const auto until = std::chrono::steady_clock::now() + patience;
    while (!true_now()) {
      if (std::chrono::steady_clock::now() > until) return false;
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return true;
  }
};

// A client whose every wait is bounded.
class TestClient {
 public:
  explicit TestClient(std::uint16_t port, const std::string& from = "") : socket_(context_) {
    boost::asio::ip::tcp::endpoint to(boost::asio::ip::address_v4::loopback(), port);
    socket_.open(to.protocol());
    if (!from.empty()) socket_.bind({boost::asio::ip::make_address(from), 0});
    socket_.connect(to);
  }

  void send(std::string_view bytes) {
    boost::system::error_code ignored;
    boost::asio::write(socket_, boost::asio::buffer(bytes), ignored);
  }

  // Reads until `end` has come, and returns all up to and with it; fails after 20 seconds.
  std::string until(const std::string& end) {
    for (;;) {
      const auto at = received_.find(end);
      if (at != std::string::npos) {
        std::string out = received_.substr(0, at + end.size());
        received_.erase(0, at + end.size());
        return out;
      }
      if (!more()) FAIL("waited for \"" + end + "\", came: " + received_);
    }
  }

  // Reads to the end of the connection.
  std::string rest() {
    while (more()) {
    }
    CHECK(ended_);
    return std::exchange(received_, {});
  }

  // The other end may have gone already.
  void end_output() {
    boost::system::error_code ignored;
    socket_.shutdown(boost::asio::ip::tcp::socket::shutdown_send, ignored);
  }
  void break_off() {
    socket_.set_option(boost::asio::socket_base::linger(true, 0));
    socket_.close();
  }
  boost::asio::ip::tcp::socket& socket() { return socket_; }

 private:
  bool more() {
    char piece[16384];
    std::size_t got = 0;
    bool done = false;
    boost::system::error_code failed;
    socket_.async_read_some(boost::asio::buffer(piece), [&](auto code, std::size_t size) {
      failed = code;
      got = size;
      done = true;
    });
    context_.restart();
    context_.run_for(std::chrono::seconds(20));
    if (!done) {
      socket_.cancel();
      context_.restart();
      context_.run();
      return false;
    }
    ended_ = failed.failed();
    received_.append(piece, got);
    return !ended_;
  }

  boost::asio::io_context context_;
  boost::asio::ip::tcp::socket socket_;
  std::string received_;
  bool ended_ = false;
};

}  // namespace stationer::test
