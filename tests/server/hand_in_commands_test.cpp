// Handing in at the terminal, as dialogues; and how times are said and read.
#include <vector>

#include "fs/local_time.h"
#include "server/terminal/hand_in_words.h"
#include "tests/support/test_room.h"

using namespace stationer;
using namespace stationer::server;
using test::TestRoom;
using test::TestVolume;
using test::Visit;

namespace {

// The test's clock starts at 2027-01-15 08:00 UTC.
struct Evening : TestRoom {
  std::optional<Visit> visit;

  Evening() {
    TestVolume::done(store.people().add_class(store.keeper, "evening"));
    store.add("robin", fs::Role::member, "evening");
    store.add("wren", fs::Role::member, "evening");
    store.add("sorrel", fs::Role::leader, "evening");
    store.add("teasel");
    REQUIRE(store.save(store.caller("robin"), "/members/robin/essay.txt", "my feet say"));
    REQUIRE(store.save(store.caller("wren"), "/members/wren/essay.txt", "wren's"));
    sit("robin");
  }

  void sit(const std::string& name, int columns = 80) {
    Terminal::Setup setup;
    setup.screen.columns = columns;
    visit.reset();
    visit.emplace(*this, setup);
    visit->sign_in(name);
  }
  std::string answer(std::string_view line) { return visit->answer(line); }
  std::string read(const std::string& path) {
    auto bytes = store.read(store.keeper, path);
    return bytes ? *bytes : "(" + bytes.error().message + ")";
  }
};

fs::Result<fs::HandInTimes> changed(const fs::HandInTimes& times, std::vector<std::string> words) {
  return changed_times(times, words);
}

}  // namespace

TEST_CASE("times are changed by words, and what is not named stays") {
  const fs::Time nine = *fs::parse_time("2026-12-01 09:00");
  const fs::Time half_four = *fs::parse_time("2026-12-01 16:30");
  const fs::HandInTimes before{nine, {}, false};
  CHECK(*changed(before, {"Closes", "2026-12-01", "16:30"}) ==
        fs::HandInTimes{nine, half_four, false});
  CHECK(*changed(before, {"late", "YES", "opens", "never"}) == fs::HandInTimes{{}, {}, true});
  CHECK(*changed(before, {"opens", "2026-12-01", "closes", "2026-12-01", "16:30", "late", "no"}) ==
        fs::HandInTimes{*fs::parse_time("2026-12-01"), half_four, false});
  CHECK(*changed(before, {}) == before);
  for (const std::vector<std::string>& wrong :
       std::vector<std::vector<std::string>>{{"closes"},
                                             {"late"},
                                             {"late", "perhaps"},
                                             {"sometime", "2026-12-01"},
                                             {"closes", "tomorrow"},
                                             {"closes", "2026-12-01", "16:30", "16:40"},
                                             {"2026-12-01"}}) {
    const auto refused = changed(before, wrong);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == fs::Code::bad_input);
  }
}

TEST_CASE("a folder's times are said in a sentence") {
  const fs::Time nine = *fs::parse_time("2026-12-01 09:00");
  const fs::Time ten = *fs::parse_time("2026-12-01 10:00");
  const auto said = [](const fs::HandInTimes& times) {
    return times_sentence({"/x", "evening", times});
  };
  CHECK(said({}) == "/x is always open.");
  CHECK(said({{}, {}, true}) == "/x is always open.");
  CHECK(said({nine, {}, false}) == "/x is open from 2026-12-01 09:00 on.");
  CHECK(said({{}, ten, true}) ==
        "/x is open until 2026-12-01 10:00; what comes later is marked late.");
  CHECK(said({nine, ten, false}) == "/x is open from 2026-12-01 09:00 until 2026-12-01 10:00.");
}

TEST_CASE("a member hands in, gets a receipt at once, and finds it again") {
  Evening mill;
  CHECK(mill.answer("receipts") == "You have not handed anything in yet.\n");
  CHECK(mill.answer("handin") == "/classes/evening/hand-in is always open.\n");
  CHECK(mill.answer("handin ESSAY.TXT") ==
        "essay.txt is handed in to /classes/evening/hand-in.\n"
        "Receipt 1: essay.txt handed in on 2027-01-15 08:00.\n");
  CHECK(mill.answer("handin essay.txt evening") ==
        "essay.txt is handed in to /classes/evening/hand-in.\n"
        "Receipt 2: essay.txt handed in on 2027-01-15 08:00, version 2 of it.\n");
  CHECK(mill.answer("receipts") ==
        "no.  name       handed in                    where\n"
        "  2  essay.txt  2027-01-15 08:00  version 2  /classes/evening/hand-in\n"
        "  1  essay.txt  2027-01-15 08:00             /classes/evening/hand-in\n");
  CHECK(mill.read("/classes/evening/hand-in/robin/essay-2.txt") == "my feet say");
  CHECK(mill.answer("handin nothing") == "There is no /members/robin/nothing.\n");
  CHECK(
      mill.answer("handin essay.txt morning") ==
      "There is nowhere called morning to hand in to. Type handin alone to see where\nyou can.\n");
  CHECK(mill.answer("handin essay.txt /public") == "/public is not a hand-in folder.\n");
  CHECK(mill.answer("roll") ==
        "Only leaders of its class may see what was handed in to\n/classes/evening/hand-in.\n");
}

TEST_CASE("whatever saves into a hand-in folder hands in") {
  Evening mill;
  CHECK(mill.answer("copy essay.txt /classes/evening/hand-in") ==
        "essay.txt is copied to /classes/evening/hand-in/essay.txt.\n"
        "Receipt 1: essay.txt handed in on 2027-01-15 08:00.\n");
  mill.visit->types("write /classes/evening/hand-in/poem\r");
  mill.visit->types("my feet say\r");
  const std::string said = mill.visit->types(".\r");
  CHECK(said.find("Receipt 2: poem handed in on 2027-01-15 08:00.") != std::string::npos);
  CHECK(mill.read("/classes/evening/hand-in/robin/poem") == "my feet say\n");
  mill.answer("print essay.txt");
  mill.print_all();
  CHECK(mill.answer("bind /classes/evening/hand-in/all.pdf") ==
        "/classes/evening/hand-in/all.pdf has 1 printout on 2 pages.\n"
        "Receipt 3: all.pdf handed in on 2027-01-15 08:00.\n");
}

TEST_CASE("a text cut off by a broken line is not handed in unfinished") {
  Evening mill;
  mill.visit->types("write /classes/evening/hand-in/poem\r");
  mill.visit->types("half a line\r");
  mill.visit.reset();
  CHECK(mill.read("/members/robin/poem.cut1") == "half a line\n");
  CHECK(mill.store.volume->hand_ins().receipts(mill.store.caller("robin")).empty());
}

TEST_CASE("a leader makes a hand-in folder ordinary, and takes work there again") {
  Evening mill;
  mill.answer("handin essay.txt");
  CHECK(mill.answer("due ordinary") ==
        "Only leaders of its class may change /classes/evening/hand-in.\n");
  mill.sit("sorrel", 40);
  CHECK(mill.answer("due hand-in closes never ordinary") ==
        "ordinary comes alone behind the folder:\ndue week2 ordinary.\n");
  CHECK(mill.answer("due hand-in ordinary") ==
        "/classes/evening/hand-in is an ordinary\n"
        "folder now, and the class looks into\n"
        "it. What was handed in stays there, for\n"
        "leaders only, and the receipts stay.\n"
        "With due it takes work again.\n");
  CHECK(mill.answer("due") == "None of your classes has a folder to\nhand in to.\n");
  CHECK(mill.answer("due /classes/evening/hand-in ordinary") ==
        "/classes/evening/hand-in is not a\nhand-in folder.\n");
  CHECK(mill.answer("due /classes/evening/hand-in closes 2027-02-01") ==
        "/classes/evening/hand-in is open until\n2027-02-01 23:59.\n");
  CHECK(mill.answer("roll").find("robin") != std::string::npos);
}

TEST_CASE("a leader sets the time, and who comes outside of it is told") {
  Evening mill;
  CHECK(mill.answer("due closes 2027-01-16") ==
        "Only leaders of its class may change /classes/evening/hand-in.\n");
  mill.sit("sorrel");
  CHECK(mill.answer("due") == "/classes/evening/hand-in is always open.\n");
  CHECK(mill.answer("due evening opens 2027-01-15 09:00 closes 2027-01-15 10:00") ==
        "/classes/evening/hand-in is open from 2027-01-15 09:00 until 2027-01-15 10:00.\n");
  CHECK(mill.answer("due closes 2027-01-14") == "A hand-in folder can't close before it opens.\n");
  mill.sit("robin");
  CHECK(mill.answer("handin essay.txt") ==
        "It is too early to hand in here: it opens on 2027-01-15 09:00.\n");
  *mill.store.now += std::chrono::hours(3);
  CHECK(mill.answer("handin essay.txt") ==
        "It is too late to hand in here: it closed on 2027-01-15 10:00. Ask a leader\nwhether you "
        "may still hand in.\n");
  mill.sit("sorrel");
  mill.answer("due late yes");
  mill.sit("robin");
  CHECK(mill.answer("handin essay.txt") ==
        "essay.txt is handed in to /classes/evening/hand-in.\n"
        "Receipt 1: essay.txt handed in on 2027-01-15 11:00, late.\n");
}

TEST_CASE("with several folders one has to be named, by its name or its path") {
  Evening mill;
  mill.sit("sorrel");
  CHECK(mill.answer("folder /classes/evening/week2").find("is made") != std::string::npos);
  CHECK(mill.answer("due /classes/evening/week2 opens never") ==
        "/classes/evening/week2 is always open.\n");
  mill.sit("robin");
  CHECK(mill.answer("handin essay.txt") ==
        "Say which of these you mean:\n  /classes/evening/hand-in\n  /classes/evening/week2\n");
  CHECK(mill.answer("handin essay.txt week2")
            .starts_with("essay.txt is handed in to /classes/evening/week2.\n"));
  CHECK(mill.answer("handin essay.txt /classes/evening/HAND-IN")
            .starts_with("essay.txt is handed in to /classes/evening/hand-in.\n"));
}

TEST_CASE("a leader sees who has handed in, collects, and hands back") {
  Evening mill;
  Visit wren(mill, {}, "10.0.0.8");
  wren.sign_in("wren");
  mill.sit("sorrel");
  CHECK(mill.answer("collect essays") ==
        "Nothing has been handed in to /classes/evening/hand-in yet.\n");
  wren.answer("handin essay.txt");
  CHECK(mill.answer("roll") ==
        "1 of 2 members handed in to /classes/evening/hand-in.\n"
        "name   files  last\n"
        "robin                           not yet\n"
        "wren       1  2027-01-15 08:00\n");
  CHECK(mill.answer("collect essays") ==
        "wren: essay.txt is in /members/sorrel/essays/wren.txt\n"
        "list.txt is in /members/sorrel/essays/list.txt\n");
  CHECK(mill.answer("show essays/wren.txt") == "wren's\n");
  CHECK(mill.answer("collect essays") ==
        "/members/sorrel/essays is not empty. Collect into a new folder, so that nothing\nis mixed "
        "up.\n");
  CHECK(mill.answer("handback robin") ==
        "There is nothing to hand back: nothing was handed in or changed since the last\ntime.\n");
  CHECK(mill.answer("handback all") == "wren: essay.txt is in /members/wren/returned/essay.txt\n");
  const std::string told = wren.answer("receipts");
  CHECK(told.find("came back") != std::string::npos);
  CHECK(wren.screen.find("Something you handed in has come back.") != std::string::npos);
  CHECK(wren.answer("notices").find("essay.txt is back from /classes/evening/hand-in: look in") !=
        std::string::npos);
  CHECK(wren.answer("show returned/essay.txt") == "wren's\n");
}

TEST_CASE("receipts and the roll fit the narrowest screen") {
  Evening mill;
  mill.sit("robin", 20);
  mill.answer("handin essay.txt");
  std::string shown = mill.answer("receipts");
  mill.sit("sorrel", 20);
  shown += mill.answer("roll");
  for (std::size_t at = 0; at < shown.size();) {
    const auto end = shown.find('\n', at);
    INFO(shown.substr(at, end - at));
    CHECK(end - at <= 20);
    at = end + 1;
  }
}
