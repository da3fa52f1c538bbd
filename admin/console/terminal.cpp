#include "admin/console/terminal.h"

#include <clocale>
#include <cstdlib>
#include <cwchar>
#include <string_view>

#include <langinfo.h>
#define NCURSES_NOMACROS
#include <ncurses.h>

#include "admin/host.h"
#include "print/charset.h"
#include "server/protocol/substitute.h"

namespace stationer::admin::console {
namespace {

using fs::Code;
using fs::Error;

constexpr int wait_for_more = 50;  // ms, after which an escape is the key of that name
constexpr int most_idle = 100;
constexpr int ctrl_c = 3;
constexpr int ctrl_l = 12;
constexpr int ctrl_u = 21;

// Pairs of colours, by their numbers.
enum Pair : short { on_bar = 1, on_key, on_picked, on_good, on_warning, on_trouble, on_field };

bool wants_colour() {
  const char* no = std::getenv("NO_COLOR");
  return ::has_colors() && (no == nullptr || *no == '\0');
}

void make_pairs() {
  ::start_color();
  ::use_default_colors();
  ::init_pair(on_bar, COLOR_WHITE, COLOR_BLUE);
  ::init_pair(on_key, COLOR_CYAN, -1);
  ::init_pair(on_picked, COLOR_BLACK, COLOR_CYAN);
  ::init_pair(on_good, COLOR_GREEN, -1);
  ::init_pair(on_warning, COLOR_YELLOW, -1);
  ::init_pair(on_trouble, COLOR_RED, -1);
  ::init_pair(on_field, COLOR_BLACK, COLOR_WHITE);
}

struct Shown {
  attr_t weight = A_NORMAL;
  short pair = 0;
};

Shown shown(Look look, bool colour) {
  switch (look) {
    case Look::plain: break;
    case Look::strong: return {A_BOLD};
    case Look::faint: return colour ? Shown{A_DIM} : Shown{A_UNDERLINE};
    case Look::bar: return colour ? Shown{A_NORMAL, on_bar} : Shown{A_REVERSE};
    case Look::chosen: return colour ? Shown{A_REVERSE | A_BOLD, on_bar} : Shown{A_BOLD};
    case Look::key: return colour ? Shown{A_BOLD, on_key} : Shown{A_BOLD};
    case Look::picked: return colour ? Shown{A_NORMAL, on_picked} : Shown{A_REVERSE};
    case Look::good: return colour ? Shown{A_NORMAL, on_good} : Shown{};
    case Look::warning: return colour ? Shown{A_NORMAL, on_warning} : Shown{A_BOLD};
    case Look::trouble: return colour ? Shown{A_BOLD, on_trouble} : Shown{A_BOLD};
    case Look::field: return colour ? Shown{A_NORMAL, on_field} : Shown{A_UNDERLINE};
  }
  return {};
}

Key::Name named(int code) {
  using Name = Key::Name;
  switch (code) {
    case KEY_ENTER: return Name::enter;
    case KEY_BACKSPACE: return Name::backspace;
    case KEY_DC: return Name::remove;
    case KEY_LEFT: return Name::left;
    case KEY_RIGHT: return Name::right;
    case KEY_UP: return Name::up;
    case KEY_DOWN: return Name::down;
    case KEY_PPAGE: return Name::page_up;
    case KEY_NPAGE: return Name::page_down;
    case KEY_HOME: return Name::home;
    case KEY_END: return Name::end;
    case KEY_BTAB: return Name::back_tab;
    default: return Name::other;
  }
}

Key of_character(wint_t c) {
  using Name = Key::Name;
  switch (c) {
    case '\r':
    case '\n': return {Name::enter};
    case '\t': return {Name::tab};
    case '\b':
    case 0x7F: return {Name::backspace};
    case 0x1B: return {Name::escape};
    case ctrl_c: return {Name::leave};
    case ctrl_u: return {Name::clear};
    default: return c < 0x20 ? Key{} : typed(static_cast<char32_t>(c));
  }
}

}  // namespace

struct Terminal::Inside {
  SCREEN* screen = nullptr;
  bool colour = false;
  bool unicode = false;
  int idle = 0;  // waits in a row that ended at once without a key

  // What the terminal's character set has for it.
  wchar_t in_set(char32_t c) const {
    while (!unicode && c >= 0x7F) {
      const char32_t simpler = server::substitute(c);
      if (simpler == 0) return L'?';
      c = simpler;
    }
    return static_cast<wchar_t>(c);
  }
};

Terminal::Terminal(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}

fs::Result<std::unique_ptr<Terminal>> Terminal::open() {
  if (!is_terminal(Standard::input) || !is_terminal(Standard::output)) {
    return Error{Code::denied, "The console needs a terminal, for its keys and its screen."};
  }
  std::setlocale(LC_CTYPE, "");
  auto inside = std::make_unique<Inside>();
  inside->unicode = std::string_view(::nl_langinfo(CODESET)) == "UTF-8";
  inside->screen = ::newterm(nullptr, stdout, stdin);
  if (inside->screen == nullptr) {
    return Error{Code::bad_input,
                 "Nothing is known of this kind of terminal. Set TERM to what it is, such as vt100 "
                 "or xterm, and try again."};
  }
  inside->colour = wants_colour();
  if (inside->colour) make_pairs();
  ::raw();
  ::noecho();
  ::nonl();
  ::keypad(stdscr, true);
  ::set_escdelay(wait_for_more);
  return std::unique_ptr<Terminal>(new Terminal(std::move(inside)));
}

Terminal::~Terminal() {
  ::endwin();
  ::delscreen(inside_->screen);
}

std::pair<int, int> Terminal::size() const {
  return {::getmaxx(stdscr), ::getmaxy(stdscr)};
}

void Terminal::show(const Grid& grid) {
  ::erase();
  for (int y = 0; y < grid.lines(); ++y) {
    for (int x = 0; x < grid.columns(); ++x) {
      const Cell& cell = grid.at(x, y);
      if (cell.character == 0) continue;
      const Shown look = shown(cell.look, inside_->colour);
      const wchar_t text[] = {
          inside_->in_set(cell.character),
          cell.mark == 0 || !inside_->unicode ? L'\0' : static_cast<wchar_t>(cell.mark), L'\0'};
      cchar_t out{};
      if (::setcchar(&out, text, look.weight, look.pair, nullptr) != OK) continue;
      ::mvadd_wch(y, x, &out);
    }
  }
  ::curs_set(grid.cursor ? 1 : 0);
  if (grid.cursor) ::move(grid.cursor->y, grid.cursor->x);
  ::refresh();
}

std::optional<Key> Terminal::key(std::chrono::milliseconds most) {
  const auto began = std::chrono::steady_clock::now();
  ::wtimeout(stdscr, static_cast<int>(most.count()));
  wint_t got = 0;
  switch (::get_wch(&got)) {
    case OK:
      inside_->idle = 0;
      if (got == ctrl_l) ::clearok(curscr, true);
      return of_character(got);
    case KEY_CODE_YES: inside_->idle = 0; return Key{named(static_cast<int>(got))};
    default: break;
  }
  // A terminal that is gone answers at once, and for ever.
  const bool waited = most.count() == 0 || std::chrono::steady_clock::now() - began >= most / 2;
  inside_->idle = waited ? 0 : inside_->idle + 1;
  if (inside_->idle > most_idle) return Key{Key::Name::leave};
  return std::nullopt;
}

}  // namespace stationer::admin::console
