// The console with a room that answers as it is told: keys in, the screen as lines of text out.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <fmt/format.h>

#include "admin/console/console.h"
#include "tests/support/catch.h"

namespace stationer::test {

namespace console = admin::console;

class Play {
 public:
  using Object = boost::json::object;
  using Method = std::function<console::Answer(const Object& params)>;

  console::Console console;
  console::Moment now{1'000'000};
  console::Link link{console::Way::service, ""};
  int columns = 80;
  int lines = 24;
  std::map<std::string, Method, std::less<>> methods;
  std::vector<std::pair<std::string, Object>> acts;  // that were done
  bool answers = true;                               // whether requests are answered at all

  Play() {
    methods["status"] = [this](const Object&) { return console::Answer(status); };
    for (const auto& [name, items] : listings) give(name, items);
  }

  // What a listing gives, in parts of so many items.
  void give(const std::string& method, boost::json::array items, std::size_t part = 1000) {
    methods[method] = [items = std::move(items), part](const Object& params) {
      std::size_t at = 0;
      if (const auto* from = params.if_contains("from")) at = from->to_number<std::size_t>();
      boost::json::array some;
      for (; at < items.size() && some.size() < part; ++at) some.push_back(items[at]);
      Object out{{"items", std::move(some)}};
      if (at < items.size()) out["next"] = at;
      return console::Answer(std::move(out));
    };
  }

  // Until nothing is asked for any more.
  void settle() {
    for (int round = 0; round < 100; ++round) {
      console.tick(now, "19:30", link);
      const auto requests = console.requests();
      if (requests.empty() || !answers) return;
      for (const auto& each : requests) console.reply({each.id, answer(each)});
    }
    FAIL("the console asks for ever");
  }
  void after(console::Moment time) {
    now += time;
    settle();
  }

  void press(const console::Key& key) {
    console.key(key);
    settle();
  }
  void press(console::Key::Name name) { press(console::Key{name}); }
  // Each character as a key.
  void type(std::string_view text) {
    for (const char c : text) press(console::typed(static_cast<char32_t>(c)));
  }

  std::string screen() {
    const console::Grid grid = console.draw(columns, lines);
    std::string out;
    for (int y = 0; y < grid.lines(); ++y) out += grid.line(y) + '\n';
    return out;
  }
  bool shows(std::string_view text) { return screen().find(text) != std::string::npos; }

 private:
  console::Answer answer(const console::Request& request) {
    if (request.act) acts.emplace_back(request.method, request.params);
    const auto found = methods.find(request.method);
    if (found != methods.end()) return found->second(request.params);
    if (request.act) return Object();
    return Object{{"items", boost::json::array()}};
  }

  const Object status{
      {"name", "Tidewrack Mill"},
      {"serving", true},
      {"sessions", 2},
      {"jobs", Object{{"waiting", 1}, {"printing", 0}, {"held", 1}, {"refused", 0}}},
      {"troubles", boost::json::array()}};
  const std::map<std::string, boost::json::array> listings{
      {"station.list",
       {Object{{"station", "1.12"},
               {"name", "owl"},
               {"profile", "micro"},
               {"address", "10.0.0.7"},
               {"doors", boost::json::array()},
               {"note", "by the window"}},
        Object{{"station", "1.13"}, {"name", "dipper"}, {"address", "10.0.0.8"}}}},
      {"session.list",
       {Object{{"number", 1},
               {"name", "robin"},
               {"signed_in", true},
               {"station", "owl"},
               {"door", "terminal"},
               {"doing", "list"}},
        Object{{"number", 2}, {"name", "guest"}, {"station", ""}, {"door", "tftp"}}}},
      {"station.unknown",
       {Object{{"address", "10.0.0.9"},
               {"hardware", "02:00:00:00:00:09"},
               {"doors", {"tftp"}},
               {"count", 3},
               {"first", "2026-11-25T19:30:00.000Z"},
               {"last", "2026-11-25T19:31:00.000Z"}}}},
      {"job.list",
       {Object{{"job", 12},
               {"state", "waiting"},
               {"queue", "paper"},
               {"title", "tides"},
               {"owner", "robin"},
               {"bytes", 420},
               {"received", "2026-11-25T19:30:00.000Z"},
               {"reason", ""}},
        Object{{"job", 13},
               {"state", "held"},
               {"queue", "listing"},
               {"title", "wheel"},
               {"owner", "wren"},
               {"bytes", 84},
               {"reason", "It waits for a leader."}}}},
      {"queue.list",
       {Object{{"name", "paper"}, {"policy", "straight"}, {"jobs", 1}, {"default", true}},
        Object{{"name", "listing"}, {"policy", "leader"}, {"jobs", 1}, {"default", false}}}},
      {"account.list",
       {Object{{"name", "robin"},
               {"full_name", "Robin of the Mill"},
               {"role", "member"},
               {"closed", false},
               {"has_password", true},
               {"class", "evening"},
               {"bytes", 4096},
               {"files", 3}},
        Object{{"name", "wren"}, {"role", "member"}, {"closed", true}, {"has_password", true}}}},
      {"class.list", {Object{{"name", "evening"}, {"members", 2}, {"leaders", 1}}}},
      {"handin.list",
       {Object{{"path", "/classes/evening/hand-in"},
               {"class", "evening"},
               {"opens", nullptr},
               {"closes", "2026-12-01T15:30:00.000Z"},
               {"late_allowed", true},
               {"members", 3},
               {"handed_in", 2}}}},
      {"journal.list",
       {Object{{"number", 2},
               {"at", "2026-11-25T19:31:00.000Z"},
               {"who", "robin"},
               {"what", "signed in"},
               {"subject", "robin"},
               {"where", "terminal 10.0.0.7"},
               {"detail", ""}},
        Object{{"number", 1},
               {"at", "2026-11-25T19:30:00.000Z"},
               {"who", ""},
               {"what", "account added"},
               {"subject", "robin"},
               {"where", "the box"},
               {"detail", ""}}}},
      {"bin.list",
       {Object{{"number", 7},
               {"path", "/public/old"},
               {"kind", "file"},
               {"size", 12},
               {"owner", "robin"},
               {"removed", "2026-11-25T19:30:00.000Z"}}}}};
};

}  // namespace stationer::test
