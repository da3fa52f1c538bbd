// How long the console takes for a key and the screen after it, with a full room: 500 stations, as
// many sessions, 5,000 accounts and long lists of everything else. Prints the slowest key of each
// screen, in time of the processor; no key waits for anything but that.
//
//   console_bench [ACCOUNTS STATIONS]
#include <cstdlib>
#include <ctime>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/console/console.h"

using namespace stationer;
using namespace stationer::admin::console;
namespace json = boost::json;
using Name = Key::Name;

namespace {

constexpr std::size_t in_a_part = 700;  // accounts in an answer of the service, about

json::array stations(int count) {
  json::array out;
  for (int i = 0; i < count; ++i) {
    out.push_back(json::object{{"station", fmt::format("{}.{}", 1 + i / 250, 1 + i % 250)},
                               {"name", fmt::format("s{:03}", i)},
                               {"profile", "micro"},
                               {"address", fmt::format("10.1.{}.{}", i / 250, 1 + i % 250)},
                               {"doors", json::array{"terminal", "tftp"}},
                               {"note", "by the window"}});
  }
  return out;
}

json::array sessions(int count) {
  json::array out;
  for (int i = 0; i < count; ++i) {
    out.push_back(json::object{{"number", i},
                               {"door", "terminal"},
                               {"station", fmt::format("s{:03}", i)},
                               {"name", fmt::format("member{:04}", i)},
                               {"signed_in", true},
                               {"since", "2026-11-25T19:30:00.000Z"},
                               {"doing", "list"}});
  }
  return out;
}

json::array accounts(int count) {
  json::array out;
  for (int i = 0; i < count; ++i) {
    out.push_back(json::object{{"name", fmt::format("member{:04}", i)},
                               {"full_name", fmt::format("Mémber Number {}", i)},
                               {"role", "member"},
                               {"closed", i % 7 == 0},
                               {"has_password", true},
                               {"class", i % 2 == 0 ? "evening" : "morning"},
                               {"classes", json::array{"evening"}},
                               {"leads", json::array{}},
                               {"bytes", i * 1000},
                               {"files", i % 50},
                               {"soft_bytes", 64 << 20},
                               {"hard_bytes", 80 << 20},
                               {"soft_files", 0},
                               {"hard_files", 0},
                               {"own_limits", false},
                               {"created", "2026-11-25T19:30:00.000Z"},
                               {"ends", "2027-07-31T22:00:00.000Z"}});
  }
  return out;
}

json::array entries(int count) {
  json::array out;
  for (int i = 0; i < count; ++i) {
    out.push_back(json::object{{"number", count - i},
                               {"at", "2026-11-25T19:30:00.000Z"},
                               {"who", fmt::format("member{:04}", i)},
                               {"what", "signed in"},
                               {"subject", fmt::format("member{:04}", i)},
                               {"where", "terminal 10.0.0.7"},
                               {"detail", ""},
                               {"job", i},
                               {"state", "held"},
                               {"title", "tide table"},
                               {"path", fmt::format("/public/paper{}", i)},
                               {"station", fmt::format("s{:03}", i % 500)},
                               {"sentence", "You may not change what is in /programs."}});
  }
  return out;
}

struct Room {
  json::array stations, sessions, accounts, entries;

  Answer answer(const Request& request) const {
    if (request.method == "status") return json::object{{"name", "Tidewrack Mill"}};
    const json::array& all = request.method == "station.list"   ? stations
                             : request.method == "session.list" ? sessions
                             : request.method == "account.list" ? accounts
                                                                : entries;
    std::size_t at = 0;
    if (const auto* from = request.params.if_contains("from")) at = from->to_number<std::size_t>();
    json::array part;
    for (; at < all.size() && part.size() < in_a_part; ++at) part.push_back(all[at]);
    json::object out{{"items", std::move(part)}};
    if (at < all.size()) out["next"] = at;
    return out;
  }
};

// Of the processor: what else the machine does counts for nothing.
double milliseconds_since(std::clock_t start) {
  return 1000.0 * static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
}

struct Slowest {
  double key = 0;      // ms, with the screen after it
  double answers = 0;  // ms, taking one answer in
};

class Player {
 public:
  Player(const Room& room, int columns, int lines)
      : room_(room), columns_(columns), lines_(lines) {}

  Slowest slowest;
  int keys = 0;

  void press(const Key& key) {
    const auto start = std::clock();
    console_.key(key);
    const Grid grid = console_.draw(columns_, lines_);
    slowest.key = std::max(slowest.key, milliseconds_since(start));
    ++keys;
    settle();
  }
  void press(Name name) { press(Key{name}); }
  void type(std::string_view text) {
    for (const char c : text) press(typed(static_cast<char32_t>(c)));
  }
  void settle() {
    for (int i = 0; i < 6; ++i) look_for_answers();
  }

 private:
  // As often as the console does.
  void look_for_answers() {
    now_ += Moment{50};
    for (;;) {
      console_.tick(now_, "19:30", {Way::service, ""});
      const auto requests = console_.requests();
      if (requests.empty()) return;
      for (const auto& each : requests) {
        Reply reply{each.id, room_.answer(each)};
        const auto start = std::clock();
        console_.reply(std::move(reply));
        slowest.answers = std::max(slowest.answers, milliseconds_since(start));
      }
    }
  }

  const Room& room_;
  int columns_, lines_;
  Console console_;
  Moment now_{1'000'000};
};

}  // namespace

int main(int argc, char** argv) {
  const int people = argc > 1 ? std::atoi(argv[1]) : 5000;
  const int machines = argc > 2 ? std::atoi(argv[2]) : 500;
  const Room room{stations(machines), sessions(machines), accounts(people), entries(500)};
  fmt::print("{:<10} {:>8} {:>6} {:>15} {:>18}\n", "screen", "size", "keys", "slowest key, ms",
             "slowest answer, ms");
  constexpr std::string_view names[] = {"room", "paper", "people", "tree", "journal", "why"};
  for (const auto& [columns, lines] : {std::pair{80, 24}, std::pair{120, 40}}) {
    for (char digit = '1'; digit <= '6'; ++digit) {
      Player player(room, columns, lines);
      player.settle();
      player.type(std::string(1, digit));
      for (const Name name : {Name::end, Name::page_up, Name::up, Name::home, Name::down,
                              Name::page_down, Name::tab, Name::back_tab}) {
        for (int i = 0; i < 20; ++i) player.press(name);
      }
      player.type("/member number 42");
      for (int i = 0; i < 16; ++i) player.press(Name::backspace);
      player.press(Name::escape);
      player.press(Name::enter);
      player.press(Name::escape);
      fmt::print("{:<10} {:>8} {:>6} {:>15.2f} {:>18.2f}\n",
                 names[static_cast<std::size_t>(digit - '1')], fmt::format("{}x{}", columns, lines),
                 player.keys, player.slowest.key, player.slowest.answers);
    }
  }
  return 0;
}
