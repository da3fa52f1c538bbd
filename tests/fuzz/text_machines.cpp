// Texts on their way to and from stations, and the lines of JSON-RPC.
#include <algorithm>
#include <string>

#include <boost/json/parse.hpp>

#include "fs/text.h"
#include "server/protocol/jsonrpc.h"
#include "server/terminal/station_text.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;

template <class Turned>
std::string turn(Turned machine, std::string_view text, std::size_t piece) {
  std::string out;
  while (!text.empty()) {
    out += machine.feed(text.substr(0, piece));
    text.remove_prefix(std::min(piece, text.size()));
  }
  return out + machine.finish();
}

// What came of a script's lines: the answers, each of which is one line of JSON.
std::string answers(std::string_view received, std::size_t piece) {
  Methods methods;
  methods.add("echo",
              [](const boost::json::value& params, Methods::Reply reply) { reply(params); });
  methods.add("refuse", [](const boost::json::value&, Methods::Reply reply) {
    reply(fs::Error{fs::Code::denied, "You may not do that."});
    reply(boost::json::value());  // a second answer does nothing
  });
  methods.add("forget", [](const boost::json::value&, const Methods::Reply&) {});
  std::string out;
  JsonLines lines;
  while (!received.empty()) {
    lines.feed(
        received.substr(0, piece),
        [&](std::string_view line) {
          require(!line.empty() && line.find('\n') == std::string_view::npos, "a line is one");
          int answered = 0;
          methods.call(line, [&](std::string answer) {
            require(++answered == 1, "there is one answer");
            require(answer.find('\n') == std::string::npos, "an answer is one line");
            boost::system::error_code error;
            boost::json::parse(answer, error);
            require(!error, "an answer is JSON");
            out += answer + '\n';
          });
          (void)jsonrpc_result(line, 1);
        },
        [] { require(false, "short lines are not too long"); });
    received.remove_prefix(std::min(piece, received.size()));
  }
  return out;
}

// Scripts write common words of JSON-RPC as one byte above 7F.
std::string spell_out(std::string_view input) {
  static constexpr std::array<std::string_view, 12> words = {R"({"jsonrpc":"2.0","id":)",
                                                             R"(,"method":"echo","params":)",
                                                             R"(,"method":"refuse"})",
                                                             R"("method":"forget")",
                                                             R"({"jsonrpc":"2.0")",
                                                             "[",
                                                             "]",
                                                             "}\n",
                                                             R"("id":1,)",
                                                             R"(,"result":)",
                                                             R"(,"error":{"code":-32000,)",
                                                             R"("message":"x","data":)"};
  std::string out;
  for (const char byte : input) {
    const auto value = static_cast<unsigned char>(byte);
    if (value >= 0x80 && value < 0x80 + words.size()) {
      out += words[value - 0x80];
    } else {
      out += byte;
    }
  }
  return out;
}

}  // namespace

void station_text(std::string_view input) {
  Script script(input);
  const auto sets = print::charsets();
  Screen screen;
  screen.charset = sets[script.number() % sets.size()].charset;
  const unsigned how = script.number();
  screen.capitals = (how & 1) != 0;
  const auto ending = static_cast<LineEnding>(how / 2 % 3);
  const std::size_t piece = 1 + how / 8 % 4;
  const std::string_view text = input.substr(std::min<std::size_t>(2, input.size()));

  const std::string there = turn(TextToStation(screen, ending), text, text.size() + 1);
  require(there == turn(TextToStation(screen, ending), text, piece), "pieces make no difference");
  // A byte that means nothing becomes a question mark, of three bytes at the most.
  require(there.size() <= 3 * text.size() + 3, "a station's text has a bound");
  const std::string back = turn(TextFromStation(screen.charset), there, there.size() + 1);
  require(fs::is_utf8(back), "what comes back is UTF-8");
  for (const char byte : there) {
    const bool may_be = byte == '\r' || byte == '\n' || byte == '\t' || byte == '\f';
    require(may_be || static_cast<unsigned char>(byte) >= 0x20, "no control characters go out");
  }

  const std::string here = turn(TextFromStation(screen.charset), text, text.size() + 1);
  require(here == turn(TextFromStation(screen.charset), text, piece), "pieces make no difference");
  require(fs::is_utf8(here), "a station's text becomes UTF-8");
  require(here.size() <= 3 * text.size() + 3, "a text has a bound");
  require(here.find('\r') == std::string::npos, "lines end in LF");
  require(here.find('\x1A') == std::string::npos, "SUB ends the text");
  if (text.find('\x1A') == std::string_view::npos) return;
  const std::string before(text.substr(0, text.find('\x1A')));
  require(here.starts_with(turn(TextFromStation(screen.charset), before, before.size() + 1)) ||
              !fs::is_utf8(before),
          "what stands before SUB is there");
}

void jsonrpc(std::string_view input) {
  Script script(input);
  const std::size_t piece = 1 + script.number() % 7u;
  const std::string text = spell_out(input.substr(std::min<std::size_t>(1, input.size())));
  require(answers(text, text.size() + 1) == answers(text, piece), "pieces make no difference");
}

}  // namespace stationer::fuzz
