// A list on the screen, however long.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "admin/console/list_view.h"
#include "admin/console/source.h"

using namespace stationer;
using namespace stationer::admin;
using namespace stationer::admin::console;
namespace json = boost::json;

namespace {

json::array people(int count) {
  json::array out;
  for (int i = 1; i <= count; ++i) {
    out.push_back(json::object{{"name", fmt::format("p{:04}", i)}, {"role", "member"}});
  }
  return out;
}

struct Shown {
  int worded = 0;  // cells
  ListView list{{{{"Name",
                   [this](const Item& item) {
                     ++worded;
                     return text_of(item, "name");
                   }},
                  8,
                  0,
                  12},
                 field(),
                 {text_column("Third", "third"), 10, 2}},
                [](const Item& item) { return text_of(item, "name"); }};

  static Field field() { return {text_column("Role", "role"), 8, 1}; }

  std::string lines(int columns, int lines) {
    Grid grid(columns, lines);
    list.draw(grid, grid.area());
    std::string out;
    for (int y = 0; y < lines; ++y) out += grid.line(y) + '\n';
    return out;
  }
  void press(Key::Name name, int times = 1) {
    for (int i = 0; i < times; ++i) list.key({name});
  }
  std::string picked() { return list.picked() == nullptr ? "" : text_of(*list.picked(), "name"); }
};

}  // namespace

TEST_CASE("a list shows a part of what is there, and words no more than that") {
  Shown shown;
  shown.list.fill(people(5000));
  const std::string screen = shown.lines(24, 5);
  CHECK(screen.starts_with("Name          Role\np0001         member\np0002"));
  CHECK(screen.find("p0004") != std::string::npos);
  CHECK(screen.find("p0005") == std::string::npos);
  CHECK(shown.worded == 4);
}

TEST_CASE("keys move in a list, and what one is at always shows") {
  Shown shown;
  shown.list.fill(people(50));
  const auto at = [&](const std::string& name) {
    CHECK(shown.picked() == name);
    CHECK(shown.lines(30, 5).find(name) != std::string::npos);
  };
  at("p0001");
  shown.press(Key::Name::up);
  at("p0001");
  shown.press(Key::Name::down, 6);
  at("p0007");
  shown.press(Key::Name::page_down);
  at("p0011");
  shown.press(Key::Name::page_up, 2);
  at("p0003");
  shown.press(Key::Name::end);
  at("p0050");
  shown.press(Key::Name::down);
  at("p0050");
  shown.press(Key::Name::home);
  at("p0001");
  // On a screen with more room nothing is left empty below.
  shown.press(Key::Name::end);
  shown.lines(30, 5);
  CHECK(shown.lines(30, 60).find("p0001") != std::string::npos);
  CHECK_FALSE(shown.list.key(typed('x')));
}

TEST_CASE("the row one is at stays when the list comes anew") {
  Shown shown;
  shown.list.fill(people(20));
  shown.press(Key::Name::down, 9);
  CHECK(shown.picked() == "p0010");
  json::array others = people(20);
  others.erase(others.begin(), others.begin() + 5);
  shown.list.fill(others);
  CHECK(shown.picked() == "p0010");
  others.erase(others.begin() + 4);  // that one itself: what is there now
  shown.list.fill(others);
  CHECK(shown.picked() == "p0011");
  shown.list.fill({});
  CHECK(shown.list.picked() == nullptr);
  shown.press(Key::Name::down);
  shown.press(Key::Name::end);
  shown.lines(30, 5);
  shown.list.fill(people(3));
  CHECK(shown.picked() == "p0001");
  shown.list.pick("p0003");
  CHECK(shown.picked() == "p0003");
}

TEST_CASE("a search narrows the list down and widens it again") {
  Shown shown;
  json::array some = people(300);
  some.push_back(json::object{{"name", "Ærø"}, {"role", "leader"}});
  shown.list.fill(some);
  for (const char* words : {"p00", "p001", "p0012", "p0012 mem", "P0012 MEMBER"}) {
    shown.list.search(words);
  }
  CHECK(shown.list.found() == 1);
  CHECK(shown.picked() == "p0012");
  shown.list.search("p001");
  CHECK(shown.list.found() == 10);
  CHECK(shown.picked() == "p0012");
  shown.list.search("ærØ leader");
  CHECK(shown.list.found() == 1);
  shown.list.search("nobody");
  CHECK(shown.list.found() == 0);
  CHECK(shown.list.picked() == nullptr);
  shown.list.fill(some);  // the search goes on
  CHECK(shown.list.found() == 0);
  shown.list.search("");
  CHECK(shown.list.found() == 301);
}

TEST_CASE("columns that matter less make room on a narrow screen") {
  Shown shown;
  shown.list.fill({json::object{{"name", "robin"}, {"role", "leader"}, {"third", "more"}}});
  CHECK(shown.lines(60, 2) == "Name          Role      Third\nrobin         leader    more\n");
  CHECK(shown.lines(20, 2) == "Name        Role\nrobin       leader\n");
  CHECK(shown.lines(10, 2) == "Name\nrobin\n");
  CHECK(shown.lines(3, 2) == "Na…\nro…\n");
}

TEST_CASE("a listing comes in parts, is shown before the last of them, and then all at once") {
  Outbox outbox;
  std::vector<std::size_t> sizes;
  Source source(outbox, "account.list", {{"class", "evening"}}, Moment{1000},
                [&](json::array items) { sizes.push_back(items.size()); });
  const auto answer = [&](Moment now) {
    source.tick(now, false);
    int asked = 0;
    for (auto requests = outbox.take(); !requests.empty(); requests = outbox.take()) {
      REQUIRE(requests.size() == 1);
      ++asked;
      const auto& each = requests.front();
      CHECK(each.method == "account.list");
      CHECK(text_of(each.params, "class") == "evening");
      CHECK_FALSE(each.act);
      const std::uint64_t from = number_of(each.params, "from");
      json::object part{{"items", people(10)}};
      if (from < 20) part["next"] = static_cast<std::int64_t>(from + 10);
      outbox.reply({each.id, std::move(part)});
    }
    return asked;
  };
  CHECK(answer(Moment{10'000}) == 3);
  CHECK(sizes == std::vector<std::size_t>{10, 30});
  CHECK(answer(Moment{10'999}) == 0);
  CHECK(answer(Moment{11'000}) == 3);
  CHECK(sizes == std::vector<std::size_t>{10, 30, 30});
  source.again();
  CHECK(answer(Moment{11'001}) == 3);
  CHECK(answer(Moment{11'002}) == 0);
}

TEST_CASE("what was asked for by other words is not taken for what is wanted now") {
  Outbox outbox;
  std::string got;
  Source source(outbox, "journal.list", {}, Moment{1000},
                [&](const json::array& items) { got += std::to_string(items.size()) + ' '; });
  source.tick(Moment{5000}, false);
  const auto old = outbox.take();
  REQUIRE(old.size() == 1);
  source.set_params({{"words", "robin"}});
  source.tick(Moment{5001}, false);
  const auto fresh = outbox.take();
  REQUIRE(fresh.size() == 1);
  outbox.reply({old.front().id, json::object{{"items", people(7)}}});
  CHECK(got.empty());
  outbox.reply({fresh.front().id, json::object{{"items", people(2)}}});
  CHECK(got == "2 ");
}

TEST_CASE("a listing that does not come says why, keeps what there was, and is asked for again") {
  Outbox outbox;
  int fills = 0;
  Source source(outbox, "job.list", {}, Moment{1000}, [&](const json::array&) { ++fills; });
  source.tick(Moment{5000}, false);
  outbox.reply({outbox.take().front().id, json::object{{"items", people(1)}}});
  CHECK(fills == 1);
  source.tick(Moment{6000}, false);
  outbox.reply({outbox.take().front().id, fs::Error{fs::Code::io, "It is away."}});
  CHECK(fills == 1);
  CHECK(source.trouble() == "It is away.");
  source.tick(Moment{6500}, false);
  CHECK(outbox.take().empty());
  source.tick(Moment{7000}, false);
  outbox.reply({outbox.take().front().id, json::object{{"items", people(1)}}});
  CHECK(fills == 2);
  CHECK(source.trouble().empty());
  // Slowly: only when something has changed.
  source.tick(Moment{9000}, true);
  CHECK(outbox.take().empty());
  source.again();
  source.tick(Moment{9001}, true);
  CHECK(outbox.take().size() == 1);
  CHECK(outbox.waited() == Moment{0});
  outbox.at(Moment{9001});
}

TEST_CASE("an answer that nobody waits for is nothing") {
  Outbox outbox;
  {
    Source source(outbox, "job.list", {}, Moment{1000}, [](const json::array&) { FAIL("gone"); });
    source.tick(Moment{5000}, false);
  }
  outbox.reply({outbox.take().front().id, json::object{{"items", people(1)}}});
  outbox.reply({999, json::object{}});
  CHECK(outbox.waited() == Moment{0});
}
