#include "admin/console/run.h"

#include <chrono>

#include "admin/console/console.h"
#include "admin/console/fetcher.h"
#include "admin/console/terminal.h"
#include "server/terminal/wording.h"

namespace stationer::admin::console {
namespace {

constexpr Moment look_for_answers{50};
constexpr Moment at_least{500};  // it is drawn anew, for the time and for a new size

Moment now() {
  return std::chrono::duration_cast<Moment>(std::chrono::steady_clock::now().time_since_epoch());
}

std::string clock() {
  const std::string date = server::short_date(
      std::chrono::time_point_cast<fs::Time::duration>(std::chrono::system_clock::now()));
  return date.substr(date.find(' ') + 1);
}

}  // namespace

fs::Status run_console(const std::string& directory) {
  auto terminal = Terminal::open();
  if (!terminal) return terminal.error();
  Console console;
  Fetcher fetcher(directory);
  Moment shown{};
  bool other = true;  // than what shows
  while (!console.over()) {
    for (Reply& each : fetcher.take()) {
      console.reply(std::move(each));
      other = true;
    }
    console.tick(now(), clock(), fetcher.link());
    fetcher.send(console.requests());
    if (other || now() - shown >= at_least) {
      const auto [columns, lines] = (*terminal)->size();
      (*terminal)->show(console.draw(columns, lines));
      shown = now();
      other = false;
    }
    // Keys that came together show together.
    for (auto key = (*terminal)->key(look_for_answers); key && !console.over();
         key = (*terminal)->key(Moment{0})) {
      console.key(*key);
      other = true;
    }
  }
  return {};
}

}  // namespace stationer::admin::console
