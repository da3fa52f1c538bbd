// A room of Tidewrack Mill for tests of sessions: a volume, a spool and a loop that the test turns;
// and members who sit down at its terminals.
#pragma once

#include <cstdlib>
#include <ctime>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "print/forwarder.h"
#include "server/room.h"
#include "server/session.h"
#include "server/terminal/shell.h"
#include "tests/support/hand_loop.h"
#include "tests/support/test_volume.h"

namespace stationer::test {

struct TestRoom {
  TestVolume store;
  std::unique_ptr<print::Spool> spool;
  std::optional<print::Finder> finder;
  std::optional<print::Forwarder> forwarder;
  std::vector<std::string> forwarded;  // printers, as the host would have got something
  HandLoop loop;
  std::optional<server::Room> room;

  explicit TestRoom(std::string_view settings = "") : store(settings) {
    // Dates on screens are by the host's time zone.
    ::setenv("TZ", "UTC", 1);
    ::tzset();
    auto fonts = print::Fonts::load();
    REQUIRE(fonts);
    const auto queues = print::read_queues(settings).value();
    auto opened = print::Spool::open(*store.volume, queues,
                                     print::render_in_place(queues, std::move(*fonts)));
    if (!opened) FAIL(opened.error().message);
    spool = std::move(*opened);
    finder.emplace(*store.volume, std::uint64_t{64} << 20);
    forwarder.emplace(*store.volume, print::read_forwarding(settings).value(),
                      [this](const std::string& printer, const std::string&,
                             const print::OpenContent&) -> fs::Status {
                        forwarded.push_back(printer);
                        return {};
                      });
    room.emplace(*store.volume, *spool, *finder, loop);
    room->stations.use(server::read_station_plan(settings, queues).value());
  }

  // As the service ends: the loop is still there when the volume has its last word.
  ~TestRoom() {
    room.reset();
    spool.reset();
    finder.reset();
    forwarder.reset();
    store.volume.reset();
  }

  // Prints all that waits.
  void print_all() {
    for (;;) {
      auto printed = spool->print_next();
      if (!printed) FAIL(printed.error().message);
      if (!*printed) return;
    }
  }

  // Runs a task of a session's to its end.
  template <class T>
  T result(server::Task<T> task) {
    task.start();
    REQUIRE(loop.turn_until([&] { return task.done(); }));
    return task.take();
  }
};

// One visit: a session, a terminal and a shell, and all that has appeared on the screen.
struct Visit {
  TestRoom& room;
  server::Session session;
  server::Terminal terminal;
  std::optional<server::Shell> shell;
  std::string screen;

  explicit Visit(TestRoom& at, const server::Terminal::Setup& setup = {},
                 std::string address = "10.0.0.7", bool guests = true)
      : room(at), session(*at.room, "terminal", std::move(address)), terminal(setup) {
    shell.emplace(session, terminal, guests);
    shell->start();
    take();
  }

  void take() {
    while (terminal.has_output()) screen += terminal.take_output();
  }

  // Turns the loop until the shell waits for typing again, or is done.
  void settle() {
    take();
    REQUIRE(room.loop.turn_until([&] {
      take();
      return shell->done() || terminal.waits_for_input();
    }));
  }

  // Types, and gives what appeared on the screen since.
  std::string types(std::string_view bytes) {
    const std::size_t before = screen.size();
    terminal.typed(bytes);
    settle();
    return screen.substr(before);
  }

  // A line with its Enter; the answer without the echo of the line and the prompt after it, and
  // with plain line ends.
  std::string answer(std::string_view line) {
    std::string shown = types(std::string(line) + "\r");
    std::erase(shown, '\r');
    const auto start = shown.find('\n') + 1;
    const auto end = shown.rfind('\n') + 1;
    return shown.substr(start, end - start);
  }

  // Signs in by the password that TestVolume::add() gives.
  void sign_in(const std::string& name) {
    types(name + "\r");
    types("mill-race-" + name + "\r");
    REQUIRE(session.signed_in());
  }
};

}  // namespace stationer::test
