// What the rules tell of refusals, in words; tests/admin/why_test.cpp makes them at real doors.
#include "server/explain.h"

#include <catch2/catch.hpp>

#include "fs/cause.h"

using namespace stationer;
using fs::Access;
using fs::Counted;
using server::Circumstances;
using server::explain;
using server::explain_to_member;

namespace {

template <class Rule>
fs::Error error(Rule rule) {
  return fs::because(std::move(rule), fs::Code::denied, "No.");
}

std::string remedy(const fs::Error& error, const Circumstances& circumstances = {}) {
  return explain(error, circumstances).remedy;
}

}  // namespace

TEST_CASE("a lacking bit is told with who one counts as, and the command that sets it") {
  const fs::Error written =
      error(fs::LacksBit{"/programs", Access(0x3A), Counted::everyone, true, "", ""});
  CHECK(explain(written, {}).rule ==
        "/programs has the access rwr-r-, and belongs to the room. Who tried counts as everyone, "
        "and the write bit for that, e+w, is not set.");
  CHECK(remedy(written) == "stationer file access /programs e+w");
  CHECK(remedy(error(fs::LacksBit{"/a b", Access(0x3A), Counted::in_class, true, "", "evening"})) ==
        "stationer file access '/a b' c+w");
  CHECK(remedy(error(fs::LacksBit{"/a", Access(0x10), Counted::owner, false, "wren", ""})) ==
        "stationer file access /a o+r");
}

TEST_CASE("guests may sign in rather than change something, and private work stays private") {
  CHECK(remedy(error(fs::LacksBit{"/public", Access(0x3F), Counted::guest, true, "", ""})).empty());
  CHECK(remedy(error(fs::LacksBit{"/a", Access(0x30), Counted::guest, false, "", ""})) ==
        "stationer file access /a e+r");
  const fs::Error home =
      error(fs::LacksBit{"/members/wren", Access(0x30), Counted::everyone, false, "wren", ""});
  CHECK(remedy(home).empty());
  CHECK(explain(home, {}).rule.ends_with("wren keeps it from all others, and can open it."));
}

TEST_CASE("members are told why and whom to ask, and nothing of what they may not see") {
  const std::string told = explain_to_member(error(
      fs::LacksBit{"/members/wren/diary", Access(0x30), Counted::everyone, false, "wren", ""}));
  CHECK(told == "Only some may read it, and you are not among them. Ask whoever keeps this room.");
  CHECK(explain_to_member(error(fs::NotTheirs{"/public/x", "wren"})).find("wren") ==
        std::string::npos);
  CHECK(explain_to_member({fs::Code::not_found, "There is no /x."}) ==
        "Nothing of that name was there. Was it typed as it is called?");
}

TEST_CASE("a limit is told with its figures and whose it is") {
  const fs::Error files = error(fs::NoRoom{"robin", "evening", true, false, 2, 2, 3});
  CHECK(explain(files, {}).rule ==
        "The limit is 2 files and folders, 2 are in use, and it would have been 3 at least. The "
        "limit is that of the class evening.");
  CHECK(remedy(files) == "stationer class quota evening --files 6");
  const fs::Error bytes =
      error(fs::NoRoom{"robin", "", false, true, 1 << 20, 1 << 19, (1 << 20) + 1});
  CHECK(explain(bytes, {}).rule.starts_with(
      "The limit is 1,048,576 bytes now that the time of grace is over, 524,288 bytes are in use"));
  CHECK(remedy(bytes) == "stationer account quota robin --mib 3");
}

TEST_CASE("a station that is to be registered gets a number that is free") {
  const fs::Error unknown = error(fs::DoorShut{"", "10.0.0.9", "terminal"});
  Circumstances circumstances;
  circumstances.free_number = [] { return std::pair<std::uint32_t, std::uint32_t>(1, 13); };
  CHECK(remedy(unknown, circumstances) ==
        "stationer station adopt 10.0.0.9 --segment 1 --number 13 --name station-1-13");
  circumstances.free_number = [] { return std::pair<std::uint32_t, std::uint32_t>(1, 0); };
  CHECK(remedy(unknown, circumstances).empty());
  CHECK(remedy(error(fs::DoorShut{"owl", "10.0.0.7", "raw", {"lpd", "tftp"}})) ==
        "stationer station change owl --door lpd --door tftp --door raw");
}

TEST_CASE("what nobody should change has no command, and all has words") {
  for (const fs::Error& each :
       {error(fs::NotTheirs{"/public/x", "wren"}), error(fs::ManagersOnly{}),
        error(fs::DiskFull{1 << 20, 64 << 20}), error(fs::TooManyGuesses{std::chrono::seconds(5)}),
        error(fs::Frozen{"evening", "sorrel"}), error(fs::NoEntry{}),
        error(fs::SettingSays{"hand_in under [door.tftp]", "names no hand-in folder"}),
        error(fs::NotOfClass{"", true}), error(fs::NotForStations{"/programs", "/public/x"})}) {
    const auto why = explain(each, {});
    INFO(why.rule);
    CHECK(why.rule.ends_with('.'));
    CHECK(why.remedy.empty());
    CHECK(explain_to_member(each).ends_with('.'));
  }
}
