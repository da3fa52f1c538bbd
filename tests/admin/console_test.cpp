// The keeper's console, played without a terminal.
#include "admin/console/console.h"

#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>

#include "tests/admin/console_play.h"

using namespace stationer;
using namespace stationer::admin::console;
using test::Play;
using Name = Key::Name;
namespace json = boost::json;

namespace {

std::string last_act(const Play& play) {
  if (play.acts.empty()) return "";
  return play.acts.back().first + ' ' + json::serialize(play.acts.back().second);
}

// The keys that the screen says work, as they are pressed.
std::vector<Key> keys_shown(const std::string& screen, const std::vector<std::string>& words) {
  std::vector<Key> out;
  for (const auto& word : words) {
    INFO(screen);
    INFO(word);
    CHECK(screen.find(' ' + word) != std::string::npos);
  }
  return out;
}

}  // namespace

TEST_CASE("the room shows who is where and what they do") {
  Play play;
  play.settle();
  const std::string screen = play.screen();
  INFO(screen);
  CHECK(screen.find("Tidewrack Mill") != std::string::npos);
  CHECK(screen.find("19:30") != std::string::npos);
  CHECK(screen.find("The service runs; 2 sessions. Jobs: 1 waiting, 1 held.") != std::string::npos);
  CHECK(screen.find("1.12     owl") != std::string::npos);
  CHECK(screen.find("robin") != std::string::npos);
  CHECK(screen.find("list") != std::string::npos);
  CHECK(screen.find("note: by the window") != std::string::npos);
  play.press(Name::tab);
  CHECK(play.shows("tftp"));
  play.press(Name::tab);
  CHECK(play.shows("02:00:00:00:00:09"));
  play.press(Name::tab);
  CHECK(play.shows("dipper"));
  play.press(Name::back_tab);
  CHECK(play.shows("10.0.0.9"));
}

TEST_CASE("every screen fits every size, and a small one says what it needs") {
  for (const auto& [columns, lines] : std::vector<std::pair<int, int>>{
           {80, 24}, {81, 25}, {100, 30}, {120, 40}, {132, 43}, {200, 60}, {60, 16}}) {
    Play play;
    play.columns = columns;
    play.lines = lines;
    play.settle();
    for (char digit = '1'; digit <= '6'; ++digit) {
      play.type(std::string(1, digit));
      for (int view = 0; view < 3; ++view) {
        const std::string screen = play.screen();
        INFO(screen);
        CHECK(screen.find("q leave") != std::string::npos);
        CHECK(screen.find("search") != std::string::npos);
        CHECK(std::count(screen.begin(), screen.end(), '\n') == lines);
        play.press(Name::tab);
      }
    }
  }
  Play play;
  play.columns = 40;
  play.lines = 10;
  CHECK(play.shows("needs 60 columns"));
  for (int columns = 1; columns < 60; ++columns) {
    for (int lines = 1; lines < 16; ++lines) play.console.draw(columns, lines);
  }
  play.type("q");
  CHECK(play.console.over());
}

TEST_CASE("a new size in the middle of anything loses nothing") {
  Play play;
  play.settle();
  play.type("3a");
  play.type("teasel");
  for (int columns = 60; columns < 140; columns += 7) {
    for (int lines = 16; lines < 50; lines += 3) {
      play.columns = columns;
      play.lines = lines;
      CHECK(play.shows("teasel"));
    }
  }
}

TEST_CASE("every key that an act has is on the screen, and none twice") {
  Play play;
  play.columns = 200;
  play.settle();
  const std::map<char, std::vector<std::vector<std::string>>> keys = {
      {'1',
       {{"c change", "n notice", "v see files as them", "w why?", "x forget it", "Enter all of it"},
        {"Enter all of it"},
        {"a adopt", "Enter all of it"}}},
      {'2',
       {{"h hold", "m move", "c cancel", "w why?", "Enter all of it"},
        {"Enter its jobs", "a jobs of all queues"},
        {}}},
      {'3',
       {{"c close", "p new password", "e last day", "k class", "l limits", "a add",
         "v see files as them", "n notice", "w why?"},
        {"Enter who is in it", "e everybody", "a add", "l limits", "n notice"},
        {"Enter who has, who hasn't", "t times", "n notice to the class"},
        {}}},
      {'4', {{"g go to", "v with whose eyes", "f new folder"}, {"r restore", "e empty the bin"}}},
      {'5', {{"Enter all of it"}}},
      {'6', {{"e everything"}}}};
  for (const auto& [screen, views] : keys) {
    play.type(std::string(1, screen));
    for (const auto& words : views) {
      const std::string shown = play.screen();
      keys_shown(shown, words);
      for (const char* always : {"/ search", "Up Down PgUp PgDn Home End move", "u update"}) {
        CHECK(shown.find(always) != std::string::npos);
      }
      play.press(Name::tab);
    }
  }
}

TEST_CASE("jobs are held, released, moved and, after a question, cancelled") {
  Play play;
  play.settle();
  play.type("2");
  CHECK(play.shows("tides"));
  play.type("h");
  CHECK(last_act(play) == R"(job.hold {"job":12})");
  CHECK(play.shows("Job 12 is held. To undo it: r releases it."));
  play.type("r");  // the listing still says it waits, so that this key does nothing
  CHECK(play.acts.size() == 1);
  play.press(Name::down);
  CHECK(play.shows("It waits for a leader."));
  play.type("r");
  CHECK(last_act(play) == R"(job.release {"job":13})");
  play.type("m");
  CHECK(play.shows("Queues: paper, listing."));
  play.type("paper");
  CHECK(play.acts.size() == 2);
  play.press(Name::enter);
  CHECK(last_act(play) == R"(job.move {"job":13,"queue":"paper"})");
  CHECK(play.shows("m moves it back to listing."));
  play.type("c");
  CHECK(play.shows("Cancel it?"));
  play.type("x");
  play.type("n");
  CHECK(play.acts.size() == 3);
  play.type("cy");
  CHECK(last_act(play) == R"(job.cancel {"job":13})");
}

TEST_CASE("a job that comes in shows by itself") {
  Play play;
  play.settle();
  play.type("2");
  CHECK_FALSE(play.shows("sluice"));
  play.give("job.list",
            {json::object{{"job", 14}, {"state", "receiving"}, {"title", "sluice"}, {"bytes", 9}}});
  play.after(Moment{1000});
  CHECK(play.shows("sluice"));
  play.type("e");
  CHECK(last_act(play) == R"(job.end {"job":14})");
}

TEST_CASE("a job that is being printed says which page, as long as it is") {
  Play play;
  play.settle();
  play.type("2");
  const auto is_now = [&play](json::object job) {
    job["job"] = 14;
    job["title"] = "sluice";
    job["bytes"] = 5 << 20;
    play.give("job.list", {std::move(job)});
    play.after(Moment{1000});
  };
  is_now({{"state", "printing"}, {"page", 0}, {"read", 0}});
  CHECK(play.shows("14  printing"));
  is_now({{"state", "printing"}, {"page", 12}, {"read", 3 << 20}});
  CHECK(play.shows("14  page 12"));
  CHECK(play.shows("being drawn: page 12"));
  CHECK(play.shows("read: 3.0M of 5.0M"));
  is_now({{"state", "refused"}, {"page", 0}, {"read", 0}});
  CHECK(play.shows("14  refused"));
  CHECK_FALSE(play.shows("page 12"));
  CHECK_FALSE(play.shows("read: "));
}

TEST_CASE("what a person keeps is told beside the limits that hold, and whose those are") {
  Play play;
  const auto robin = [&play](json::object more) {
    json::object account{{"name", "robin"},
                         {"class", "evening"},
                         {"has_password", true},
                         {"bytes", 6 << 20},
                         {"files", 3},
                         {"soft_bytes", 64 << 20},
                         {"hard_bytes", 80 << 20},
                         {"soft_files", 0},
                         {"hard_files", 4},
                         {"own_limits", false},
                         {"ends", "2027-08-01T00:00:00.000Z"}};
    for (auto& each : more) account[each.key()] = each.value();
    play.give("account.list", {std::move(account)});
    play.after(Moment{20'000});
  };
  play.columns = 250;
  play.settle();
  play.type("3");
  robin({});
  CHECK(play.shows("6.0M of 64.0M (9 %), 3 files and folders of 4 (75 %)"));
  CHECK(play.shows("warned at 64.0M, stopped at 80.0M; files: stopped at 4 (their own)"));
  play.give("class.list", {json::object{{"name", "evening"}, {"members", 2}, {"limits", true}}});
  robin({});
  CHECK(play.shows("stopped at 4 (those of evening)"));
  robin({{"own_limits", true}});
  CHECK(play.shows("stopped at 4 (their own)"));
  robin({{"soft_bytes", 0}, {"hard_bytes", 0}, {"hard_files", 0}, {"bytes", 980}, {"files", 1}});
  CHECK(play.shows("keeps: 980 bytes, 1 file or folder"));
  CHECK(play.shows("no limit"));
}

TEST_CASE("limits are typed in MiB and files, say how they are undone, and are the class's again") {
  Play play;
  const json::object limits{
      {"soft_bytes", 64 << 20}, {"hard_bytes", 80 << 20}, {"soft_files", 0}, {"hard_files", 4}};
  json::object robin = limits;
  robin["name"] = "robin";
  robin["own_limits"] = true;
  json::object evening = limits;
  evening["name"] = "evening";
  evening["limits"] = true;
  play.give("account.list", {robin});
  play.give("class.list", {evening});
  play.settle();
  const auto line = [&play](std::string_view text) {
    play.press(Name::clear);
    play.type(text);
    play.press(Name::enter);
  };
  play.type("3l");
  CHECK(play.shows("How much robin may keep"));
  line("0.5");
  line("1");
  line("");
  line("4");  // as it was
  CHECK(
      last_act(play) ==
      R"(account.change {"soft_bytes":524288,"hard_bytes":1048576,"soft_files":0,"name":"robin"})");
  CHECK(play.shows("robin has other limits. To undo it: l and 64, 80, 0, 4."));
  play.type("l");
  for (int i = 0; i < 4; ++i) line("");
  CHECK(last_act(play) == R"(account.change {"own_limits":false,"name":"robin"})");
  // What is no number the method refuses in words, and the form stays.
  play.methods["account.change"] = [](const json::object&) {
    return Answer(fs::Error{fs::Code::bad_input, "soft_bytes has to be a whole number."});
  };
  play.type("l");
  line("much");
  for (int i = 0; i < 3; ++i) play.press(Name::enter);
  CHECK(last_act(play) == R"(account.change {"soft_bytes":"much","name":"robin"})");
  CHECK(play.shows("has to be a whole number."));
  play.press(Name::escape);

  play.press(Name::tab);
  play.type("l");
  CHECK(play.shows("How much each in evening may keep"));
  play.press(Name::enter);
  play.press(Name::enter);
  play.press(Name::enter);
  line("1.5");  // no files in halves
  CHECK(last_act(play) == R"(class.limits {"hard_files":"1.5","name":"evening"})");
  play.type("l");
  for (int i = 0; i < 4; ++i) line("");
  CHECK(last_act(play) == R"(class.limits {"none":true,"name":"evening"})");
  CHECK(play.shows("To undo it: l and 64, 80, 0, 4."));
}

TEST_CASE("hand-in folders tell how many have handed in, and who has not") {
  Play play;
  play.columns = 140;
  std::vector<std::string> asked;
  const auto receipt = [](bool late, json::value returned) {
    return json::object{{"receipt", 1}, {"name", "essay"},
                        {"size", 420},  {"at", "2026-11-25T19:30:00.000Z"},
                        {"late", late}, {"returned", std::move(returned)}};
  };
  play.methods["handin.roll"] = [&](const json::object& params) {
    asked.push_back(json::serialize(params));
    return Answer(json::object{
        {"items",
         {json::object{{"name", "robin"}, {"member", true}, {"receipts", {receipt(true, nullptr)}}},
          json::object{{"name", "teasel"}, {"member", true}, {"receipts", json::array()}},
          json::object{{"name", "wren"},
                       {"member", true},
                       {"receipts",
                        {receipt(false, "2026-11-26T19:30:00.000Z"), receipt(false, nullptr)}}}}}});
  };
  play.settle();
  play.type("3");
  play.press(Name::tab);
  play.press(Name::tab);
  CHECK(play.shows("/classes/evening/hand-in"));
  CHECK(play.shows("2 of 3"));
  play.press(Name::tab);
  CHECK(play.shows("Choose a folder first"));
  play.after(Moment{60'000});
  CHECK(asked.empty());
  play.press(Name::back_tab);
  play.press(Name::enter);
  CHECK(asked.back() == R"({"path":"/classes/evening/hand-in"})");
  const std::string screen = play.screen();
  CHECK(screen.find("in /classes/evening/hand-in") != std::string::npos);
  CHECK(screen.find("not yet") < screen.find("late"));
  CHECK(screen.find("teasel") < screen.find("robin"));
  CHECK(screen.find("robin") < screen.find("wren"));
  CHECK(screen.find("handed back") != std::string::npos);
  play.type("n");
  CHECK(play.shows("A notice for teasel"));
  play.press(Name::escape);
  play.press(Name::back_tab);
  play.type("t");
  CHECK(play.shows("When /classes/evening/hand-in takes work"));
  play.press(Name::enter);
  play.press(Name::clear);
  play.press(Name::enter);
  play.press(Name::clear);
  play.type("no");
  play.press(Name::enter);
  CHECK(last_act(play) ==
        R"(handin.set {"path":"/classes/evening/hand-in","opens":"","closes":"","late":false})");
  CHECK(play.shows("To undo it: t and an empty line, 2026-12-01"));
}

TEST_CASE("an account is closed and opened, and a new password shows until it is closed") {
  Play play;
  play.methods["account.password"] = [](const json::object& params) {
    return Answer(json::object{{"name", params.at("name")}, {"password", "tern-mast-oar"}});
  };
  play.settle();
  play.type("3");
  CHECK(play.shows("Robin of the Mill"));
  play.type("c");
  CHECK(last_act(play) == R"(account.change {"name":"robin","closed":true})");
  CHECK(play.shows("o opens it again."));
  play.press(Name::down);
  play.type("o");
  CHECK(last_act(play) == R"(account.change {"name":"wren","closed":false})");
  play.press(Name::up);
  play.type("p");
  CHECK_FALSE(play.shows("tern-mast-oar"));
  play.type("y");
  CHECK(last_act(play) == R"(account.password {"name":"robin"})");
  CHECK(play.shows("tern-mast-oar"));
  play.after(Moment{60'000});
  CHECK(play.shows("tern-mast-oar"));
  play.press(Name::enter);
  CHECK_FALSE(play.shows("tern-mast-oar"));
  play.type("e");
  play.type("2027-07-31");
  play.press(Name::enter);
  CHECK(last_act(play) == R"(account.change {"name":"robin","ends":"2027-07-31"})");
}

TEST_CASE("how many are found shows beside the widest row of titles") {
  Play play;
  play.settle();
  play.type("3/wre");
  CHECK(play.shows("/ wre"));
  CHECK(play.shows("1 found"));
}

TEST_CASE("what was typed stays when it could not be done, with the reason") {
  Play play;
  play.methods["account.add"] = [](const json::object&) {
    return Answer(fs::Error{fs::Code::exists, "There is already an account teasel."});
  };
  play.settle();
  play.type("3a");
  play.type("teasel");
  play.press(Name::enter);
  play.type("Teasel");
  play.press(Name::enter);
  play.press(Name::enter);
  play.press(Name::enter);
  CHECK(play.acts.size() == 1);
  CHECK(play.shows("There is already an account teasel."));
  CHECK(play.shows("Teasel"));
  play.press(Name::up);
  play.press(Name::up);
  play.press(Name::up);
  play.type("2");
  CHECK(play.shows("teasel2"));
  // Without an answer it says that it waits, and no key is lost on something else.
  play.answers = false;
  play.press(Name::down);
  play.press(Name::down);
  play.press(Name::down);
  play.press(Name::enter);
  CHECK(play.shows("Waiting for the answer."));
  play.type("q");
  CHECK_FALSE(play.console.over());
  play.press(Name::escape);
  play.answers = true;
  CHECK_FALSE(play.shows("Waiting for the answer."));
}

TEST_CASE("a machine nobody knows is adopted") {
  Play play;
  play.settle();
  play.press(Name::back_tab);
  play.type("a");
  play.press(Name::enter);
  play.type("14");
  play.press(Name::enter);
  play.type("tern");
  play.press(Name::enter);
  play.press(Name::enter);
  CHECK(last_act(play) ==
        R"(station.adopt {"address":"10.0.0.9","name":"tern","segment":1,"number":14})");
  CHECK(play.shows("is station 1.14, tern"));
}

TEST_CASE("the tree shows what somebody else would see, and says whose eyes they are") {
  Play play;
  std::vector<std::string> asked;
  play.methods["file.list"] = [&](const json::object& params) {
    asked.push_back(json::serialize(params));
    const bool top = params.at("path") == "/";
    return Answer(json::object{
        {"items",
         {json::object{{"name", top ? "members" : "robin"},
                       {"kind", "folder"},
                       {"may", "may look in"},
                       {"access", "rwr-r-"}},
          json::object{{"name", "a note"}, {"kind", "text"}, {"may", "may read it"}}}}});
  };
  play.settle();
  play.type("4");
  CHECK(asked.back() == R"({"path":"/"})");
  CHECK(play.shows("/ as the keeper sees it"));
  play.press(Name::enter);
  CHECK(asked.back() == R"({"path":"/members"})");
  play.type("v");
  play.type("robin");
  play.press(Name::enter);
  CHECK(asked.back() == R"({"path":"/members","as":"robin"})");
  CHECK(play.shows("/members as robin sees it"));
  CHECK(play.shows("may look in"));
  play.press(Name::backspace);
  CHECK(asked.back() == R"({"path":"/","as":"robin"})");
  play.type("v");
  play.press(Key::Name::clear);
  play.type("guest");
  play.press(Name::enter);
  CHECK(asked.back() == R"({"path":"/","as":""})");
  CHECK(play.shows("as a guest sees it"));
  play.press(Name::down);
  play.type("d");
  CHECK(last_act(play) == R"(file.remove {"path":"/a note"})");
  CHECK(play.shows("To undo it: Tab, then r on it."));
  play.press(Name::tab);
  play.type("r");
  CHECK(last_act(play) == R"(bin.restore {"number":7})");
  // From where a person is at hand.
  play.type("3v");
  CHECK(asked.back() == R"({"path":"/","as":"robin"})");
}

TEST_CASE("the journal is narrowed down as one types, and by the service a moment later") {
  Play play;
  std::vector<std::string> asked;
  const auto whole = play.methods["journal.list"];
  play.methods["journal.list"] = [&](const json::object& params) {
    asked.push_back(json::serialize(params));
    return whole(params);
  };
  play.settle();
  play.type("5");
  CHECK(play.shows("account added"));
  play.type("/signed");
  CHECK_FALSE(play.shows("account added"));
  CHECK(asked.back() == R"({"most":500})");
  play.after(Moment{250});
  CHECK(asked.back() == R"({"most":500,"words":"signed"})");
  play.type(" 2026-11-25");
  play.after(Moment{250});
  CHECK(asked.back() ==
        R"({"most":500,"since":"2026-11-25","until":"2026-11-25","words":"signed"})");
  play.press(Name::escape);
  play.after(Moment{250});
  CHECK(asked.back() == R"({"most":500})");
  CHECK(play.shows("account added"));
}

TEST_CASE("a service that goes is said in words, and what shows stays") {
  Play play;
  play.settle();
  play.link = {Way::none, "The service has gone. It is looked for."};
  play.answers = false;
  play.after(Moment{1000});
  CHECK(play.shows("The service has gone. It is looked for."));
  CHECK(play.shows("dipper"));
  play.press(Name::down);
  CHECK(play.shows("address: 10.0.0.8"));
  play.link = {Way::straight, ""};
  play.answers = true;
  play.after(Moment{1000});
  CHECK(play.shows("No service runs"));
  play.link = {Way::service, ""};
  play.give("station.list", {json::object{{"station", "1.1"}, {"name", "heron"}}});
  play.after(Moment{1000});
  CHECK(play.shows("heron"));
}

TEST_CASE("an answer that is late is said, and keys go on working") {
  Play play;
  play.settle();
  play.answers = false;
  play.after(Moment{10'000});
  play.after(Moment{4'000});
  CHECK(play.shows("No answer for 4 s."));
  play.type("3");
  CHECK(play.shows("Coming."));
  play.type("q");
  CHECK(play.console.over());
}

TEST_CASE("names that would steer the terminal show harmless everywhere") {
  Play play;
  const std::string bad =
      "a\x1b[2J\xc2\x9b"
      "b\x07";
  play.give("station.list", {json::object{{"station", "1.1"}, {"name", bad}, {"note", bad}}});
  play.give("account.list", {json::object{{"name", bad}, {"full_name", bad}}});
  play.give("job.list", {json::object{{"job", 1}, {"state", "waiting"}, {"title", bad}}});
  play.give("journal.list", {json::object{{"number", 1}, {"what", bad}, {"detail", bad}}});
  play.settle();
  for (char digit = '1'; digit <= '6'; ++digit) {
    play.type(std::string(1, digit));
    for (const bool open : {false, true}) {
      if (open) play.press(Name::enter);
      const Grid grid = play.console.draw(80, 24);
      for (int y = 0; y < 24; ++y) {
        for (int x = 0; x < 80; ++x) {
          const char32_t c = grid.at(x, y).character;
          CHECK((c == 0 || (c >= 0x20 && !(c >= 0x7F && c < 0xA0))));
        }
      }
      if (open) play.press(Name::escape);
    }
  }
}

TEST_CASE("a method that an older service lacks spoils nothing but its own list") {
  Play play;
  play.methods["why.list"] = [](const json::object&) {
    return Answer(fs::Error{fs::Code::io, "There is no method why.list."});
  };
  play.settle();
  CHECK(play.shows("owl"));
  play.type("w");
  CHECK(play.shows("There is no method why.list."));
  play.type("1");
  CHECK(play.shows("owl"));
}
