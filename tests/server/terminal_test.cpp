#include "server/terminal/terminal.h"

#include <algorithm>
#include <functional>
#include <utility>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"
#include "tests/support/hand_loop.h"

using namespace stationer::server;
using namespace std::string_literals;
using stationer::tests::every_cut;

namespace {

// A terminal with one conversation on it.
struct Sitting {
  Terminal terminal;
  std::string screen;
  std::function<Task<void>(Terminal&)> conversation;  // holds what its coroutine captures
  Task<void> task;

  explicit Sitting(const Terminal::Setup& setup = {}) : terminal(setup) {}

  Sitting& talk(std::function<Task<void>(Terminal&)> talk) {
    conversation = std::move(talk);
    task = conversation(terminal);
    task.start();
    take();
    return *this;
  }
  Sitting& types(std::string_view bytes) {
    terminal.typed(bytes);
    take();
    return *this;
  }
  void take() {
    while (terminal.has_output()) screen += terminal.take_output();
  }
  std::string shown() {
    take();
    return std::exchange(screen, {});
  }
};

Terminal::Setup screen_of(int columns, int rows = 24) {
  Terminal::Setup setup;
  setup.screen.columns = columns;
  setup.rows = rows;
  return setup;
}

std::string numbered(int count) {
  std::string text;
  for (int i = 1; i <= count; ++i) text += "line " + std::to_string(i) + "\n";
  return text;
}

// Says back what it is told, until "end".
Task<void> echo_lines(Terminal& terminal) {
  for (;;) {
    const auto line = co_await terminal.ask("> ");
    if (!line) {
      terminal.say("interrupted");
    } else if (*line == "end") {
      co_return;
    } else {
      terminal.say("[" + *line + "]");
    }
  }
}

Task<void> show_forty(Terminal& terminal) {
  const bool to_the_end = co_await terminal.show(numbered(40));
  terminal.say(to_the_end ? "all" : "stopped");
}

}  // namespace

TEST_CASE("terminal: who shows what is typed can change in the middle of a question") {
  Sitting at;
  at.talk(echo_lines).types("wr");
  CHECK(at.shown() == "> wr");
  at.terminal.set_echo(false);
  CHECK(at.types("e").shown().empty());
  at.terminal.set_echo(true);
  CHECK(at.types("n\r").shown() == "n\r\n[wren]\r\n> ");

  Sitting secret;
  secret.talk([](Terminal& terminal) -> Task<void> {
    static_cast<void>(co_await terminal.ask_password("Password: "));
  });
  secret.terminal.set_echo(false);
  secret.terminal.set_echo(true);
  CHECK(secret.types("quiet").shown() == "Password: ");
}

TEST_CASE("terminal: asks, hears, answers") {
  Sitting at;
  at.talk(echo_lines);
  CHECK(at.shown() == "> ");
  CHECK(at.terminal.waits_for_input());
  at.types("wren\r");
  CHECK(at.shown() == "wren\r\n[wren]\r\n> ");
  at.types("end\r");
  CHECK(at.task.done());
  CHECK_FALSE(at.terminal.waits_for_input());
}

TEST_CASE("terminal: what is typed gives the same screen however it is cut") {
  const std::string typing = "robin\rtide\x7F\x7Fs\rend of\r\rend\r";
  Sitting whole;
  whole.talk(echo_lines).types(typing);
  CHECK(whole.screen ==
        "> robin\r\n[robin]\r\n> tide\b \b\b \bs\r\n[tis]\r\n> end of\r\n[end of]\r\n> "
        "\r\n[]\r\n> end\r\n");
  every_cut(typing, [&](auto first, auto second) {
    Sitting cut;
    cut.talk(echo_lines).types(first).types(second);
    CHECK(cut.screen == whole.screen);
    CHECK(cut.task.done());
  });
}

TEST_CASE("terminal: 100,000 lines typed ahead are answered without a deep stack") {
  Sitting at;
  at.talk(echo_lines);
  for (int i = 0; i < 1000; ++i) {
    at.types(std::string(100, '\r'));
    at.screen.clear();
  }
  at.types("end\r");
  CHECK(at.task.done());
}

TEST_CASE("terminal: typed ahead, a line is echoed after its own prompt") {
  stationer::test::HandLoop loop;
  loop.holds_work = true;
  Sitting at;
  at.talk([&](Terminal& terminal) -> Task<void> {
    static_cast<void>(co_await terminal.ask("Name: "));
    const auto later = loop.blocking([] { return 1; });
    co_await later;
    static_cast<void>(co_await terminal.ask_password("Password: "));
    static_cast<void>(co_await terminal.ask("> "));
  });
  at.types("robin\rmill-race\rlist\r");
  CHECK(at.shown() == "Name: robin\r\n");
  loop.do_work();
  loop.turn_all();
  CHECK(at.shown() == "Password: \r\n> list\r\n");
  CHECK(at.task.done());
}

TEST_CASE("invariant 8: a password is not shown, even typed before it is asked for") {
  every_cut("robin\rsecret-tide\rlist\r", [&](auto first, auto second) {
    Sitting at;
    at.talk([](Terminal& terminal) -> Task<void> {
      static_cast<void>(co_await terminal.ask("Name: "));
      const auto password = co_await terminal.ask_password("Password: ");
      terminal.say(password == "secret-tide" ? "right" : "wrong");
      static_cast<void>(co_await terminal.ask("> "));
    });
    at.types(first).types(second);
    CHECK(at.screen == "Name: robin\r\nPassword: \r\nright\r\n> list\r\n");
  });
}

TEST_CASE(
    "terminal: a line that shows its own typing is not echoed to, and passwords are warned of") {
  Terminal::Setup setup;
  setup.echo = false;
  Sitting at(setup);
  at.talk([](Terminal& terminal) -> Task<void> {
    static_cast<void>(co_await terminal.ask("Name: "));
    static_cast<void>(co_await terminal.ask_password("Password: "));
    static_cast<void>(co_await terminal.ask_password("Again: "));
    static_cast<void>(co_await terminal.ask("> "));
    terminal.say("done");
  });
  at.types("robin\rone\rtwo\r\x03");
  CHECK(at.shown() ==
        "Name: Mind: what you type next can be seen.\r\nPassword: Again: > \r\ndone\r\n");
}

TEST_CASE("terminal: the interrupt key ends a question, by key or by signal, on a fresh line") {
  for (const bool by_key : {true, false}) {
    Sitting at;
    at.talk(echo_lines).types("half a li");
    if (by_key) {
      at.types("\x03");
      CHECK(at.shown() == "> half a li^C\r\ninterrupted\r\n> ");
    } else {
      at.terminal.interrupt();
      CHECK(at.shown() == "> half a li\r\ninterrupted\r\n> ");
    }
    at.types("end\r");
    CHECK(at.task.done());
  }
}

TEST_CASE("terminal: while nothing is asked, the interrupt key voids what was typed before it") {
  for (const std::string& typing : {"one\rtwo\x03three\r"s, "one\r\x03three\r"s, "\x03three\r"s}) {
    stationer::test::HandLoop loop;
    loop.holds_work = true;
    every_cut(typing, [&](auto first, auto second) {
      Sitting at;
      at.talk([&](Terminal& terminal) -> Task<void> {
        const auto later = loop.blocking([] { return 1; });
        co_await later;
        terminal.say(terminal.take_interrupt() ? "interrupted" : "not");
        CHECK_FALSE(terminal.take_interrupt());
        const auto line = co_await terminal.ask("> ");
        terminal.say("[" + line.value_or("") + "]");
      });
      at.types(first).types(second);
      loop.do_work();
      loop.turn_all();
      CHECK(at.shown() == "interrupted\r\n> three\r\n[three]\r\n");
    });
  }
}

TEST_CASE("terminal: the interrupt key is known with parity on it") {
  Terminal::Setup setup;
  setup.keyboard.seven_bits = true;
  Sitting at(setup);
  at.types("\x83");
  CHECK(at.terminal.take_interrupt());
  Sitting eight_bits;
  eight_bits.types("\x83");
  CHECK_FALSE(eight_bits.terminal.take_interrupt());
}

TEST_CASE("terminal: an interrupt in one piece with the command stops what the command shows") {
  every_cut("show\r\x03", [&](auto first, auto second) {
    stationer::test::HandLoop loop;
    loop.holds_work = true;
    Sitting at(screen_of(80, 0));
    at.talk([&](Terminal& terminal) -> Task<void> {
      static_cast<void>(co_await terminal.ask("> "));
      const auto later = loop.blocking([] { return 1; });
      co_await later;
      const bool all = co_await terminal.show(numbered(3));
      terminal.say(all ? "all" : "stopped");
    });
    at.types(first).types(second);
    loop.do_work();
    loop.turn_all();
    at.take();
    CHECK(at.screen.ends_with("\r\nstopped\r\n"));
    CHECK(at.screen.find("line") == std::string::npos);
  });
}

TEST_CASE("terminal: show stops at each full screen and goes on at Enter") {
  Sitting at(screen_of(80, 24));
  at.talk(show_forty);
  const std::string first = at.shown();
  CHECK(std::count(first.begin(), first.end(), '\n') == 23);
  CHECK(first.find("line 23\r\nMore? Enter goes on, n stops: ") != std::string::npos);
  at.types("\r");
  CHECK(at.shown().ends_with("line 40\r\nall\r\n"));
  CHECK(at.task.done());
}

TEST_CASE("terminal: show ends at n, at q and at the interrupt key") {
  for (const auto* key : {"n\r", "N\r", "no\r", "q\r", "\x03"}) {
    Sitting at;
    at.talk(show_forty).types(key);
    CHECK(at.screen.ends_with("stopped\r\n"));
    CHECK(at.screen.find("line 24\r\n") == std::string::npos);
  }
}

TEST_CASE("terminal: without rows, as on paper, show never stops") {
  Sitting at(screen_of(80, 0));
  at.talk(show_forty);
  CHECK(at.task.done());
  CHECK(at.shown().find("More") == std::string::npos);
}

TEST_CASE("terminal: a narrow screen is asked in few words, and long questions are wrapped") {
  Sitting at(screen_of(20, 10));
  at.talk(show_forty);
  CHECK(at.shown().ends_with("line 9\r\nMore? (y/n) "));
  Sitting question(screen_of(20, 10));
  question.talk([](Terminal& terminal) -> Task<void> {
    const bool yes = co_await terminal.confirm("letter.txt is there already. Replace it?");
    terminal.say(yes ? "yes" : "no");
  });
  CHECK(question.shown() == "letter.txt is there\r\nalready. Replace\r\nit?\r\n(y/n) ");
  question.types("Y\r");
  CHECK(question.shown() == "Y\r\nyes\r\n");
}

TEST_CASE("terminal: confirm takes y and yes, and nothing else") {
  for (const auto& [typed, expected] : std::vector<std::pair<std::string, bool>>{{"y\r", true},
                                                                                 {"YES\r", true},
                                                                                 {"n\r", false},
                                                                                 {"\r", false},
                                                                                 {"yy\r", false},
                                                                                 {"\x03", false}}) {
    Sitting at;
    bool answer = !expected;
    at.talk([&](Terminal& terminal) -> Task<void> { answer = co_await terminal.confirm("Sure?"); });
    at.types(typed);
    CHECK(answer == expected);
  }
}

TEST_CASE("terminal: a line that is too long is refused and asked for again") {
  Sitting at;
  at.talk(echo_lines).types(std::string(300, 'x') + "\r");
  CHECK(at.shown().ends_with("\r\nThat line is too long: at most 255 characters.\r\n> "));
  at.types("short\r");
  CHECK(at.shown() == "short\r\n[short]\r\n> ");
}

TEST_CASE("terminal: text lines that are too long come in parts") {
  Sitting at;
  std::string heard;
  at.talk([&](Terminal& terminal) -> Task<void> {
    bool goes_on = false;
    for (int i = 0; i < 3; ++i) {
      const auto line = co_await terminal.ask_text_line(goes_on);
      goes_on = line->continues;
      heard += line->text + (line->continues ? "+" : ".");
    }
  });
  at.types(std::string(300, 'x') + "\rend\r");
  CHECK(heard == std::string(255, 'x') + "+" + std::string(45, 'x') + ".end.");
}

TEST_CASE("terminal: a capitals-only station reads capitals and types what it likes") {
  Terminal::Setup setup = screen_of(40);
  setup.screen.capitals = true;
  setup.screen.ending = LineEnding::cr;
  Sitting at(setup);
  at.talk(echo_lines).types("RoBin\r");
  CHECK(at.shown() == "> ROBIN\r[ROBIN]\r> ");
}

TEST_CASE("terminal: show waits while too much is still to be sent") {
  Sitting at(screen_of(80, 0));
  bool ended = false;
  const auto shows = [&](Terminal& terminal) -> Task<void> {
    co_await terminal.show(numbered(10'000));
    ended = true;
  };
  auto task = shows(at.terminal);
  task.start();
  CHECK_FALSE(ended);
  std::size_t most = 0;
  std::string all;
  while (at.terminal.has_output()) {
    const std::string taken = at.terminal.take_output();
    most = std::max(most, taken.size());
    all += taken;
  }
  CHECK(ended);
  CHECK(most <= Terminal::most_waiting + 100);
  CHECK(std::count(all.begin(), all.end(), '\n') == 10'000);
}

TEST_CASE("terminal: the interrupt key drops what is still to be sent of what is shown") {
  Sitting at(screen_of(80, 0));
  std::string how;
  const auto shows = [&](Terminal& terminal) -> Task<void> {
    const bool all = co_await terminal.show(numbered(10'000));
    how = all ? "all" : "stopped";
    terminal.say(how);
  };
  auto task = shows(at.terminal);
  task.start();
  CHECK(how.empty());
  at.terminal.typed("\x03");  // nothing has been taken since
  CHECK(how == "stopped");
  CHECK(at.terminal.take_output() == "\r\nstopped\r\n");
}

TEST_CASE("invariant 6: what is typed ahead is bounded, and a whole piece is never lost below it") {
  Sitting at;
  stationer::test::HandLoop loop;
  loop.holds_work = true;
  std::size_t heard = 0;
  at.talk([&](Terminal& terminal) -> Task<void> {
    const auto later = loop.blocking([] { return 1; });
    co_await later;
    for (;;) {
      const auto line = co_await terminal.ask_text_line();
      heard += line->text.size() + 1;
    }
  });
  const std::string piece = [] {
    std::string out;
    while (out.size() < 16 * 1024) out += std::string(63, 'x') + "\r";
    return out;
  }();
  CHECK(at.terminal.takes_input());
  at.terminal.typed(piece);
  CHECK_FALSE(at.terminal.takes_input());
  for (int i = 0; i < 100; ++i) at.terminal.typed(piece);  // by somebody who does not ask
  loop.do_work();
  loop.turn_all();
  CHECK(at.terminal.takes_input());
  CHECK(heard >= piece.size());
  CHECK(heard <= Terminal::most_kept);
  heard = 0;
  at.terminal.typed(piece);
  CHECK(heard == piece.size());
}

TEST_CASE("terminal: an announcement leaves a question as it was") {
  Sitting at;
  at.talk(echo_lines).types("half");
  at.shown();
  at.terminal.announce("A notice has come.\nAnd another.");
  CHECK(at.shown() == "\r\nA notice has come.\r\nAnd another.\r\n> half");
  at.types(" a line\r");
  CHECK(at.shown() == " a line\r\n[half a line]\r\n> ");
  // Where the far end shows its own typing, its prompt at least comes again.
  Terminal::Setup setup;
  setup.echo = false;
  Sitting other(setup);
  other.talk(echo_lines);
  other.shown();
  other.terminal.announce("A notice has come.");
  CHECK(other.shown() == "\r\nA notice has come.\r\n> ");
  // And with nothing asked it is said like anything else.
  Sitting idle;
  idle.terminal.announce("Good morning.");
  CHECK(idle.shown() == "Good morning.\r\n");
}

TEST_CASE("terminal: a new size counts from the next line on") {
  Sitting at(screen_of(80, 0));
  at.terminal.say("one two three four five");
  at.terminal.resize(16, 0);
  at.terminal.say("one two three four five");
  CHECK(at.shown() == "one two three four five\r\none two three\r\nfour five\r\n");
  CHECK(at.terminal.columns() == 16);
  at.terminal.resize(0, 0);
  CHECK(at.terminal.columns() == 16);
}

TEST_CASE("terminal: nothing that is typed is bytes of any kind it can't stand") {
  for (const bool echo : {true, false}) {
    Terminal::Setup setup;
    setup.echo = echo;
    Sitting at(setup);
    at.talk(echo_lines);
    for (int byte = 0; byte < 256; ++byte) {
      at.types(std::string(3, static_cast<char>(byte)));
      at.screen.clear();
    }
    at.types("\r\rend\r");
    CHECK(at.task.done());
  }
}
