// screen: what this screen can show, as its reader sees it.
#include <charconv>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"

namespace stationer::server {
namespace {

constexpr int least_columns = 20;
constexpr int most = 255;

std::optional<int> number_of(std::string_view word) {
  int number = 0;
  const char* const end = word.data() + word.size();
  const auto [stopped, failed] = std::from_chars(word.data(), end, number);
  return failed == std::errc() && stopped == end ? std::optional(number) : std::nullopt;
}

std::string in_words(const Screen& screen, int rows) {
  return fmt::format("{} columns, {}, {} in {}.", screen.columns,
                     rows == 0 ? "no stop between screens" : fmt::format("{} rows", rows),
                     screen.capitals ? "capitals" : "small letters and capitals",
                     print::name_of(screen.charset));
}

}  // namespace

Task<void> command_screen(Call call) {
  Screen screen = call.terminal.screen();
  int rows = call.terminal.rows();
  bool columns_said = false;
  for (const std::string& typed : call.words) {
    const std::string word = fs::ascii_lower(typed);
    if (const auto number = number_of(word)) {
      const int least = columns_said ? 0 : least_columns;
      if (*number < least || *number > most) {
        call.terminal.say(columns_said
                              ? fmt::format("Rows are from 0, for no stops, to {}.", most)
                              : fmt::format("Columns are from {} to {}.", least_columns, most));
        co_return;
      }
      (columns_said ? rows : screen.columns) = *number;
      columns_said = true;
    } else if (word == "capitals" || word == "small") {
      screen.capitals = word == "capitals";
    } else {
      const auto charset = print::find_charset(word);
      if (call.refused(charset)) co_return;
      screen.charset = *charset;
    }
  }
  if (!call.words.empty()) {
    const auto& style = call.session.names().style();
    call.terminal.use_screen(screen, rows);
    call.session.use_names(call.terminal.names(style));
  }
  call.terminal.say(in_words(screen, rows));
}

}  // namespace stationer::server
