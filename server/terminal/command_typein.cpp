// typein: for machines that have nothing but their BASIC or their monitor: what to type there, and
// files line by line to what was typed.
#include <array>
#include <utility>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/bootstrap/hex_lines.h"
#include "server/bootstrap/line_by_line.h"
#include "server/bootstrap/listing.h"
#include "server/terminal/carry.h"
#include "server/terminal/command.h"
#include "server/terminal/table.h"
#include "server/terminal/ways.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr auto what_there_is = std::to_array<std::pair<std::string_view, std::string_view>>({
    {"typein basic", "a short BASIC program to type in there, which takes files from this line"},
    {"typein check", "tells whether you typed it as it is"},
    {"typein send NAME", "sends a file to that program, while it runs"},
    {"typein hex NAME", "a file's bytes, to be typed in by a monitor"},
    {"typein check NAME", "tells whether you typed those as they are"},
    {"typein ihex NAME", "a file as records that some monitors load,"},
    {"typein srec NAME", "and as those that others do"},
});

constexpr int listing_width = 33;

// A file that fits into the memory of an 8-bit machine, and where it goes there.
struct Image {
  std::uint16_t address = 0;
  std::uint16_t entry_point = 0;
  std::string bytes;
};

fs::Result<std::uint32_t> read_address(std::string_view typed) {
  const bool digits = !typed.empty() && typed.size() <= 4 &&
                      typed.find_first_not_of("0123456789ABCDEFabcdef") == std::string_view::npos;
  if (!digits) {
    return fs::Error{fs::Code::bad_input,
                     fmt::format("\"{}\" is no address: up to four hex digits, such as 4000.",
                                 fs::clip(typed, 20))};
  }
  return static_cast<std::uint32_t>(std::stoul(std::string(typed), nullptr, 16));
}

// words: NAME [AT].
Task<fs::Result<Image>> read_image(Session& session, std::vector<std::string> words) {
  const auto path = session.path(words.front());
  if (!path) co_return path.error();
  const auto view = session.look(*path);
  if (!view) co_return view.error();
  const auto content = session.open(*path);
  if (!content) co_return content.error();
  std::uint32_t address = view->load_address.value_or(0);
  if (words.size() > 1) {
    const auto typed = read_address(words[1]);
    if (!typed) co_return typed.error();
    address = *typed;
  }
  if (address + view->size > whole_memory) {
    co_return fs::Error{fs::Code::bad_input,
                        fmt::format("{} with {} does not fit into 64K of memory from {}.",
                                    session.shown(*view), exact_size(view->size), hex(address))};
  }
  Image image;
  image.address = static_cast<std::uint16_t>(address);
  image.entry_point = static_cast<std::uint16_t>(view->entry_point.value_or(address));
  for (;;) {
    auto piece = co_await session.read(*content, image.bytes.size(), whole_memory);
    if (!piece) co_return piece.error();
    if (piece->empty()) break;
    image.bytes += *piece;
  }
  co_return image;
}

// Each `count` of bytes with their address.
template <class Use>
void each_line(const Image& image, std::size_t count, Use use) {
  for (std::size_t at = 0; at < image.bytes.size(); at += count) {
    use(static_cast<std::uint16_t>(image.address + at),
        std::string_view(image.bytes).substr(at, count));
  }
}

Task<void> show_what_there_is(Terminal& terminal) {
  Table table({{"", 0}, {"", 0}});
  for (const auto& [typed, about] : what_there_is) {
    table.add({std::string(typed), std::string(about)});
  }
  co_await terminal.show("For a machine that has no program to carry files yet:\n" +
                         table.text(terminal.columns()) + "help typein tells more.\n");
}

Task<void> show_listing(Terminal& terminal) {
  std::string text =
      "Type this in, but for what stands at the right: a check of each line (typein check), and a "
      "* where machines differ.\n\n";
  for (const BasicLine& line : basic_listing()) {
    text += fmt::format("{:{}} {:02X}{}\n", typed_line(line),
                        terminal.columns() >= 40 ? listing_width : 0,
                        check_of_line(typed_line(line)), line.differs ? "*" : "");
  }
  text += '\n';
  text += basic_advice();
  text +=
      "Then run it, and here: typein send NAME. Where nobody can type at this line, let the "
      "program "
      "say it: 31 PRINT, 32 PRINT \"guest\", 33 PRINT \"typein send /programs/NAME\", each to the "
      "line.\n";
  co_await terminal.show(std::move(text));
}

Task<void> show_hex(Terminal& terminal, Image image) {
  std::string text =
      "An address, its bytes, and at the right a check, which is not typed: typein check NAME "
      "works with it.\n\n";
  const auto add = [&text](std::uint16_t address, std::string_view bytes) {
    text += hex_line(address, bytes) + '\n';
  };
  each_line(image, bytes_in_hex_line(terminal.columns()), add);
  co_await terminal.show(std::move(text));
}

enum class Records { ihex, srec };

// All at once, as a machine wants them.
Task<void> put_records(Terminal& terminal, Image image, Records kind) {
  std::vector<std::string> lines;
  const auto add = [&lines, kind](std::uint16_t address, std::string_view bytes) {
    lines.push_back(kind == Records::ihex ? ihex_line(address, bytes) : srec_line(address, bytes));
  };
  each_line(image, bytes_in_record(terminal.columns()), add);
  lines.emplace_back(kind == Records::ihex ? ihex_end() : srec_end(image.entry_point));
  for (const std::string& line : lines) {
    if (terminal.take_interrupt()) co_return;
    terminal.say(line);
    co_await terminal.put_wire(std::string());
  }
}

// What a line of the listing should have been; nothing when it is well.
std::string judge_basic(std::string_view typed) {
  int number = 0;
  std::string_view rest = typed;
  rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
  if (rest.empty()) return "Nothing was typed.";
  for (; !rest.empty() && rest[0] >= '0' && rest[0] <= '9' && number < 100'000;
       rest.remove_prefix(1)) {
    number = number * 10 + (rest[0] - '0');
  }
  const BasicLine* line = find_basic_line(number);
  if (line == nullptr) return fmt::format("There is no line {} in the listing.", number);
  const std::string right = typed_line(*line);
  if (same_line(typed, right)) return fmt::format("{} is right.", number);
  if (line->differs) {
    return fmt::format("{} is well if your machine wants it so. In the listing it is:\n{}", number,
                       right);
  }
  return fmt::format("{} has the check {:02X}, not {:02X}. It should be:\n{}", number,
                     check_of_line(typed), check_of_line(right), right);
}

std::string judge_hex(const Image& image, std::string_view typed) {
  const auto line = read_hex_line(typed);
  if (!line) return "An address and bytes, please, as in 4000: C3 00.";
  for (std::size_t i = 0; i < line->bytes.size(); ++i) {
    const std::size_t address = line->address + i;
    const auto byte = static_cast<std::uint8_t>(line->bytes[i]);
    const bool is_check =
        i > 0 && i + 1 == line->bytes.size() &&
        byte == check_of_hex_line(line->address, std::string_view(line->bytes).substr(0, i));
    if (is_check) break;
    const std::size_t at = address - image.address;
    if (address < image.address || at >= image.bytes.size()) {
      return fmt::format("There is nothing of the file at {:04X}.", address);
    }
    const auto right = static_cast<std::uint8_t>(image.bytes[at]);
    if (byte != right) {
      return fmt::format("{:04X} is {:02X}, and should be {:02X}.", address, byte, right);
    }
  }
  return fmt::format("{:04X} is right.", line->address);
}

template <class Judge>
Task<void> check_lines(Terminal& terminal, Judge judge) {
  terminal.say(
      "Type a line as it is there, or have the machine list them here. A full stop alone ends it.");
  for (;;) {
    const auto line = co_await terminal.ask_text_line();
    if (!line || line->text == ".") co_return;
    terminal.say(judge(line->text));
  }
}

Task<void> send(Session& session, Terminal& terminal, std::string name) {
  const auto path = session.path(name);
  const auto content = path ? session.open(*path) : fs::Result<fs::Content>(path.error());
  if (!content) {
    terminal.say(content.error().message);
    co_return;
  }
  Cargo::Rules rules;
  rules.exact = true;
  Cargo cargo(session, rules);
  cargo.add(*path);
  terminal.say("Run the program on the machine now. Ctrl-C stops it.");
  LineByLine::Options options;
  options.ending = terminal.screen().ending;
  LineByLine transfer(options);
  const auto outcome = co_await carry(session, terminal, transfer, cargo, Wire::text);
  say_outcome(terminal, outcome, cargo);
}

}  // namespace

Task<void> command_typein(Call call) {
  std::vector<std::string> words = call.words;
  if (words.empty()) {
    co_await show_what_there_is(call.terminal);
    co_return;
  }
  const std::string what = fs::ascii_lower(words.front());
  words.erase(words.begin());
  const bool of_a_file = what == "send" || what == "hex" || what == "ihex" || what == "srec";
  if (what == "basic" && words.empty()) {
    co_await show_listing(call.terminal);
  } else if (what == "check" && words.empty()) {
    co_await check_lines(call.terminal, judge_basic);
  } else if (what == "send" && words.size() == 1) {
    co_await send(call.session, call.terminal, words.front());
  } else if (!words.empty() && (what == "check" || (of_a_file && what != "send"))) {
    auto image = co_await read_image(call.session, words);
    if (call.refused(image)) co_return;
    if (what == "hex") {
      co_await show_hex(call.terminal, std::move(*image));
    } else if (what == "check") {
      const auto judge = [&image](std::string_view typed) { return judge_hex(*image, typed); };
      co_await check_lines(call.terminal, judge);
    } else {
      co_await put_records(call.terminal, std::move(*image),
                           what == "ihex" ? Records::ihex : Records::srec);
    }
  } else {
    call.terminal.say(of_a_file && words.empty() ? fmt::format("typein {} NAME, please.", what)
                                                 : "typein alone tells what there is.");
  }
}

}  // namespace stationer::server
