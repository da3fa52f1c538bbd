// What stands between a keyboard and a session: Telnet, telling it from a plain line, and typing.
#include <algorithm>
#include <chrono>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "fs/text.h"
#include "server/protocol/dialect.h"
#include "server/protocol/line_editor.h"
#include "server/protocol/telnet.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;
using namespace std::chrono_literals;

// A doubled FF, and a CR that may become CR NUL.
std::size_t most_encoded(std::string_view bytes) {
  return 2 * bytes.size();
}

// Events as one number, in which it does not matter how bytes were divided among them.
class Heard {
 public:
  void operator()(const Telnet::Data& data) {
    require(!data.bytes.empty(), "data are never empty");
    go_to(1);
    data_ += data.bytes.size();
    sum_.add(data.bytes);
    require(any_line_ends || data.bytes.find('\n') == std::string::npos, "Enter is one CR");
  }
  void operator()(const Telnet::Send& send) {
    go_to(send.urgent ? 3 : 2);
    sent_ += send.bytes.size();
    sum_.add(send.bytes);
    if (send.urgent) kind_ = 0;
  }
  void operator()(Telnet::Signal signal) {
    go_to(4);
    sum_.add(static_cast<std::uint64_t>(signal));
  }
  void operator()(const Telnet::WindowSize& size) {
    go_to(5);
    sum_.add(size.columns);
    sum_.add(size.rows);
  }
  void operator()(const Telnet::TerminalType& type) {
    require(!type.name.empty() && type.name.size() <= 40, "a type has 1 to 40 characters");
    for (const char c : type.name) {
      require(c >= ' ' && c <= '~' && !(c >= 'a' && c <= 'z'), "a type is in capitals");
    }
    go_to(6);
    sum_.add(type.name);
  }
  void operator()(const Telnet::Settled& settled) {
    go_to(7);
    sum_.add(static_cast<std::uint64_t>(settled.option) * 4 +
             (settled.side == Telnet::Side::us ? 2 : 0) + (settled.on ? 1 : 0));
    if (settled.option == Telnet::Option::binary) any_line_ends = true;
  }
  void operator()(const Dialect::Known& known) {
    go_to(8);
    known_ = true;
    sum_.add((known.telnet ? 2u : 0u) + (known.echo ? 1u : 0u));
  }

  bool any_line_ends = false;  // Binary, or data are carried
  bool known() const { return known_; }
  std::size_t data() const { return data_; }
  std::size_t sent() const { return sent_; }
  Sum& sum() { return sum_; }

 private:
  void go_to(unsigned kind) {
    if (kind != kind_ || kind > 2) sum_.add(1000 + kind);
    kind_ = kind;
  }

  Sum sum_;
  unsigned kind_ = 0;
  std::size_t data_ = 0;
  std::size_t sent_ = 0;
  bool known_ = false;
};

constexpr std::array options = {Telnet::Option::binary, Telnet::Option::echo,
                                Telnet::Option::suppress_go_ahead, Telnet::Option::terminal_type,
                                Telnet::Option::window_size};

bool can_ask(Telnet::Side side, Telnet::Option option) {
  if (option == Telnet::Option::echo) return side == Telnet::Side::us;
  return option == Telnet::Option::binary || option == Telnet::Option::suppress_go_ahead ||
         side == Telnet::Side::them;
}

std::string telnet_bytes(Script& script, unsigned detail) {
  constexpr std::array<std::string_view, 8> said = {"\xFF\xFD\x01", "\xFF\xFB\x18", "\xFF\xFB\x1F",
                                                    "\xFF\xFA\x1F", "\xFF\xF0",     "\r\n",
                                                    "\xFF\xF6",     "\xFF\xFA\x18"};
  if (detail < 8) return std::string(said[detail]);
  return std::string(script.bytes(detail - 7));
}

std::uint64_t telnet_sum(std::string_view rest, std::size_t piece) {
  Script script(rest);
  Telnet machine;
  Heard heard;
  std::size_t given = 0;
  while (!script.over()) {
    const std::uint8_t act = script.number();
    const unsigned detail = act >> 4;
    const auto side = (act & 16) != 0 ? Telnet::Side::us : Telnet::Side::them;
    const auto option = script.one_of(options, act >> 5);
    switch (act & 15) {
      case 0: heard.sum().add(machine.offer()); break;
      case 1:
      case 2:
        // Once it was asked for, the client may send Binary without that it is settled.
        if (option == Telnet::Option::binary) heard.any_line_ends = true;
        if (can_ask(side, option)) heard.sum().add(machine.request(side, option, (act & 1) != 0));
        break;
      case 3: machine.urgent(); break;
      case 4:
        machine.keep_line_ends(detail % 2 != 0);
        heard.any_line_ends = heard.any_line_ends || detail % 2 != 0;
        break;
      case 5: {
        const std::string_view out = script.bytes(detail);
        const std::string encoded = machine.encode(out);
        require(encoded.size() <= most_encoded(out), "encoding at most doubles");
        heard.sum().add(encoded);
        break;
      }
      default: {
        const std::string octets = telnet_bytes(script, detail);
        given += octets.size();
        for (std::string_view left = octets; !left.empty();) {
          for (const auto& event : machine.feed(left.substr(0, piece))) std::visit(heard, event);
          left.remove_prefix(std::min(piece, left.size()));
        }
      }
    }
  }
  require(heard.sent() <= 5 * given, "answers have five bytes for one at most");
  require(heard.data() <= given, "no more is typed than came");
  return heard.sum().value();
}

std::uint64_t dialect_sum(std::string_view rest, Dialect::Door door, std::size_t piece) {
  constexpr std::array naps = {10ms, 199ms, 200ms, 1000ms, 9000ms, 60'000ms};
  Script script(rest);
  Dialect machine(door);
  Heard heard;
  Time now(1h);
  std::size_t given = 0;
  const auto take = [&](const std::vector<Dialect::Event>& events) {
    for (const auto& event : events) {
      require(heard.known() || !std::holds_alternative<Telnet::Data>(event),
              "what the line is comes before what is typed");
      std::visit(heard, event);
    }
    require(!machine.deadline() || *machine.deadline() > now, "a deadline is to come");
  };
  take(machine.start());
  while (!script.over()) {
    const std::uint8_t act = script.number();
    const unsigned detail = act >> 4;
    switch (act & 15) {
      case 0:
        now += script.one_of(naps, detail);
        take(machine.tick(now));
        break;
      case 1:
        if (machine.deadline()) now = std::max(now, *machine.deadline());
        take(machine.tick(now));
        break;
      case 2:
        heard.sum().add(machine.carry(detail % 2 != 0));
        heard.any_line_ends = heard.any_line_ends || detail % 2 != 0;
        break;
      case 3: machine.urgent(); break;
      case 4: heard.sum().add(machine.settled() ? 1u : 0u); break;
      case 5: heard.sum().add(machine.encode(script.bytes(detail))); break;
      case 6: {  // enough to settle it
        static const std::string many(Dialect::most_held, 'x');
        if (given >= many.size()) break;
        given += many.size();
        take(machine.feed(many, now));
        break;
      }
      default: {
        const std::string octets = telnet_bytes(script, detail);
        given += octets.size();
        for (std::string_view left = octets; !left.empty();) {
          take(machine.feed(left.substr(0, piece), now));
          left.remove_prefix(std::min(piece, left.size()));
        }
      }
    }
  }
  constexpr std::size_t offers = 12;
  constexpr std::size_t question = 13;
  require(heard.sent() <= 5 * given + offers + question, "answers have a bound");
  require(heard.data() <= given, "no more is typed than came");
  return heard.sum().value();
}

// ---- typing ----

struct Typist {
  Screen screen;
  LineEditor::Keyboard keyboard;
  LineEditor::Question question;
};

void check_line(const LineEditor::Line& line, const LineEditor::Question& question) {
  require(fs::is_utf8(line.text), "a line is UTF-8");
  require(fs::characters(line.text) <= question.longest, "a line is no longer than asked for");
  const bool text = question.mode == LineEditor::Mode::text;
  require(text || !line.continues, "only texts come in parts");
  fs::each_character(line.text, [&](char32_t c) {
    const bool control = c < 0x20 || (c >= 0x7F && c < 0xA0);
    require(!control || (text && c == '\t'), "a line has no control characters");
  });
}

void check_echo(std::string_view echo, const Typist& typist, std::size_t used) {
  const auto& question = typist.question;
  // The worst key shows the prompt and the line again.
  const std::size_t again = 16 + 4 * (question.prompt.size() + question.longest);
  require(echo.size() <= used * again, "the echo has a bound");
  if (question.echo == LineEditor::Echo::none) {
    require(echo.find_first_not_of('\a') == std::string_view::npos, "nothing is shown twice");
  } else if (question.echo == LineEditor::Echo::hidden) {
    require(echo.find_first_not_of("\r\n\a^C? ") == std::string_view::npos,
            "what is hidden is not shown");
  }
}

std::uint64_t typing_sum(std::string_view typed, const Typist& typist, std::size_t piece) {
  Sum sum;
  LineEditor editor(typist.screen, typist.keyboard);
  sum.add(editor.ask(typist.question));
  while (!typed.empty()) {
    std::string_view part = typed.substr(0, piece);
    typed.remove_prefix(part.size());
    while (!part.empty()) {
      const auto step = editor.feed(part);
      require(step.used > 0 && step.used <= part.size(), "typing is taken");
      require(step.outcome || step.used == part.size(), "it is taken up to an outcome");
      check_echo(step.echo, typist, step.used);
      sum.add(step.echo);
      part.remove_prefix(step.used);
      if (!step.outcome) continue;
      sum.add(step.outcome->index());
      const auto* line = std::get_if<LineEditor::Line>(&*step.outcome);
      if (line != nullptr) {
        check_line(*line, typist.question);
        sum.add(line->text);
      }
      if (std::holds_alternative<LineEditor::TooLong>(*step.outcome)) {
        require(typist.question.mode == LineEditor::Mode::answer, "a text is never too long");
      }
      if (line == nullptr || !line->continues) sum.add(editor.ask(typist.question));
    }
  }
  return sum.value();
}

}  // namespace

void telnet(std::string_view input) {
  Script script(input);
  const std::size_t piece = 1u + script.number() % 4;
  const std::string_view rest = input.substr(std::min<std::size_t>(1, input.size()));
  require(telnet_sum(rest, std::string_view::npos) == telnet_sum(rest, piece),
          "pieces make no difference");
}

void dialect(std::string_view input) {
  Script script(input);
  const unsigned how = script.number();
  const auto door = (how & 3) == 1   ? Dialect::Door::always
                    : (how & 3) == 2 ? Dialect::Door::never
                                     : Dialect::Door::automatic;
  const std::size_t piece = 1u + (how >> 2) % 4;
  const std::string_view rest = input.substr(std::min<std::size_t>(1, input.size()));
  require(dialect_sum(rest, door, std::string_view::npos) == dialect_sum(rest, door, piece),
          "pieces make no difference");
}

void line_editor(std::string_view input) {
  Script script(input);
  const auto sets = print::charsets();
  Typist typist;
  typist.screen.charset = sets[script.number() % sets.size()].charset;
  const unsigned how = script.number();
  const unsigned more = script.number();
  typist.screen.capitals = (how & 1) != 0;
  typist.screen.columns = (how & 2) != 0 ? 20 : 80;
  typist.screen.ending = static_cast<LineEnding>(more % 3);
  typist.keyboard = {(how & 4) != 0, (how & 8) != 0};
  typist.question.prompt = "? ";
  typist.question.echo = static_cast<LineEditor::Echo>(how >> 4 & 3);
  typist.question.mode = (how & 64) != 0 ? LineEditor::Mode::text : LineEditor::Mode::answer;
  typist.question.longest = (how & 128) != 0 ? 3 : 40;
  const std::string_view typed = input.substr(std::min<std::size_t>(3, input.size()));
  require(typing_sum(typed, typist, std::string_view::npos) ==
              typing_sum(typed, typist, 1 + more / 3 % 4),
          "pieces make no difference");
}

}  // namespace stationer::fuzz
