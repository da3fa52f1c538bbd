#include "fs/hand_in.h"

#include <set>

#include "fs/local_time.h"
#include "fs/node_name.h"
#include "tests/support/catch.h"

using namespace stationer::fs;
using std::chrono::milliseconds;

namespace {

const Time nine{std::chrono::hours(9)};
const Time ten{std::chrono::hours(10)};
constexpr milliseconds tick{1};

}  // namespace

TEST_CASE("both ends of the time are in time, and a millisecond beyond is not") {
  const HandInTimes times{nine, ten, false};
  CHECK(hand_in_timing(times, nine - tick) == HandInTiming::too_early);
  CHECK(hand_in_timing(times, nine) == HandInTiming::in_time);
  CHECK(hand_in_timing(times, ten) == HandInTiming::in_time);
  CHECK(hand_in_timing(times, ten + tick) == HandInTiming::too_late);
}

TEST_CASE("a folder that closes on a day is open for the whole of it") {
  const Time noon = *parse_time("2026-12-01 12:00");
  CHECK(*parse_opening("2026-12-01 12:00") == noon);
  CHECK(*parse_closing("2026-12-01 12:00") == noon);
  CHECK(*parse_opening("2026-12-01") == noon - std::chrono::hours(12));
  CHECK(local_time_text(*parse_closing("2026-12-01")) == "2026-12-01 23:59");
  CHECK(*parse_closing("2026-12-01") + milliseconds(1) == *parse_time("2026-12-02"));
  CHECK(parse_closing("soon").error().code == Code::bad_input);
}

TEST_CASE("late is late only after closing, and only where it is allowed") {
  const HandInTimes times{nine, ten, true};
  CHECK(hand_in_timing(times, nine - tick) == HandInTiming::too_early);
  CHECK(hand_in_timing(times, ten) == HandInTiming::in_time);
  CHECK(hand_in_timing(times, ten + tick) == HandInTiming::late);
}

TEST_CASE("without times a folder is always open") {
  CHECK(hand_in_timing({}, Time::min()) == HandInTiming::in_time);
  CHECK(hand_in_timing({}, Time::max()) == HandInTiming::in_time);
  CHECK(hand_in_timing({nine, {}, false}, Time::max()) == HandInTiming::in_time);
  CHECK(hand_in_timing({{}, ten, false}, Time::min()) == HandInTiming::in_time);
}

TEST_CASE("a folder can't close before it opens, but may be open for one moment") {
  CHECK(check_times({nine, ten, false}));
  CHECK(check_times({nine, nine, false}));
  CHECK(check_times({{}, {}, true}));
  const auto wrong = check_times({ten, nine, true});
  REQUIRE_FALSE(wrong);
  CHECK(wrong.error().code == Code::bad_input);
}

TEST_CASE("later versions are numbered before the extension") {
  CHECK(version_name("essay.txt", 1) == "essay.txt");
  CHECK(version_name("essay.txt", 2) == "essay-2.txt");
  CHECK(version_name("essay", 12) == "essay-12");
  CHECK(version_name("a.b.txt", 3) == "a.b-3.txt");
  CHECK(version_name(".profile", 2) == ".profile-2");
}

TEST_CASE("a version's name is a name however long the first one is") {
  for (const std::string& name :
       {std::string(255, 'a'), std::string(251, 'a') + ".txt", "a." + std::string(253, 'x'),
        std::string(127, 'b') + "\xC3\xA9" + std::string(126, 'c')}) {
    for (const std::uint32_t version : {2u, 100u, 4'000'000'000u}) {
      const std::string filed = version_name(name, version);
      CHECK(check_name(filed));
      CHECK(filed != name);
    }
  }
}

TEST_CASE("copies are called after their person, and each person's stays theirs") {
  const std::vector<std::string> people = {"bram", "robin", "robin2", "wren"};
  CHECK(collected_names(people, {{"robin", "essay.txt"},
                                 {"robin", "map.dat"},
                                 {"robin2", "essay.txt"},
                                 {"wren", "Essay.Text"}}) ==
        std::vector<std::string>{"robin.txt", "robin3.dat", "robin2.txt", "wren.tex"});
}

TEST_CASE("copies fit stations with 8.3 names, whatever accounts and files are called") {
  std::vector<std::string> people = {"con",
                                     "com1",
                                     "list",
                                     "aux.1",
                                     "_",
                                     "sorrel-the-first",
                                     "sorrel-the-second",
                                     "sorrel-the-third",
                                     "a.b-c_d"};
  std::vector<OwnedName> files;
  for (const auto& account : people) {
    for (int i = 0; i < 12; ++i) files.push_back({account, "r\xC3\xA9sum\xC3\xA9.t\xC3\xA9xt"});
    files.push_back({account, "noextension"});
    files.push_back({account, "list.txt"});
  }
  const auto names = collected_names(people, files);
  REQUIRE(names.size() == files.size());
  std::set<std::string> different;
  for (const auto& name : names) {
    INFO(name);
    CHECK(is_short_name(name));
    CHECK(check_name(name));
    CHECK(name != collected_list);
    different.insert(name);
  }
  CHECK(different.size() == names.size());
}
