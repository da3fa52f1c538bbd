// Each command as a dialogue: what is typed, what the screen answers.
#include <algorithm>
#include <filesystem>
#include <memory>

#include <catch2/catch.hpp>

#include "tests/support/mill.h"

using namespace stationer;
using namespace stationer::server;
using test::Mill;
using test::screen_of;
using test::TestVolume;
using test::Visit;

namespace {

// Whatever the width of the screen made of its lines.
std::string joined(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

}  // namespace

TEST_CASE("list: what is in a folder, for the screen at hand") {
  Mill mill;
  CHECK(mill.answer("list") == "There is nothing here.\n");
  mill.save("/members/robin/letter.txt", "Dear Wren");
  mill.save("/members/robin/tide tables of spring.txt", std::string(2048, 'x'));
  CHECK(mill.answer("folder essays") == "The folder essays is made. go essays leads there.\n");
  CHECK(mill.answer("list") ==
        "name                       size  access  owner  changed\n"
        "essays/                          rw----  robin  2027-01-15 08:00\n"
        "letter.txt                    9  rw----  robin  2027-01-15 08:00\n"
        "tide tables of spring.txt  2.0K  rw----  robin  2027-01-15 08:00\n");
  CHECK(mill.answer("list essays") == "There is nothing in /members/robin/essays.\n");
  CHECK(mill.answer("list letter.txt") == "/members/robin/letter.txt is a file, not a folder.\n");
  CHECK(mill.answer("list /members/wren") == "You may not look into /members/wren.\n");
  CHECK(mill.answer("list /nowhere") == "There is no /nowhere.\n");
  CHECK(mill.answer("list ../../..") == "The path goes above the top folder, where nothing is.\n");
  mill.sit("robin", screen_of(40));
  CHECK(mill.answer("list") ==
        "name                  size access owner\n"
        "essays/                    rw---- robin\n"
        "letter.txt               9 rw---- robin\n"
        "tide tables of spring.txt\n"
        "                      2.0K rw---- robin\n");
  mill.sit("robin", screen_of(20));
  CHECK(mill.answer("list") ==
        "name           size\n"
        "essays/\n"
        "letter.txt        9\n"
        "tide tables of\n"
        "spring.txt\n"
        "               2.0K\n");
}

TEST_CASE("show: a text, with whatever ends its lines") {
  Mill mill;
  for (const char* end : {"\n", "\r", "\r\n"}) {
    mill.save("/members/robin/letter.txt",
              std::string("Dear Wren,") + end + "  the wheel turns." + end + end + "Robin");
    CHECK(mill.answer("show letter.txt") == "Dear Wren,\n  the wheel turns.\n\nRobin\n");
  }
  mill.save("/members/robin/padded.txt", std::string("end\r\n\x1A") + std::string(500, '\0'));
  CHECK(mill.answer("show padded.txt") == "end\n");
  mill.save("/members/robin/nothing", "");
  CHECK(mill.answer("show nothing") == "nothing is empty.\n");
}

TEST_CASE("show: what is not a text is refused, and what one may not read") {
  Mill mill;
  mill.save("/members/robin/game", std::string("\x00\x01\x02", 3));
  CHECK(mill.answer("show game") ==
        "game is not a text, so it can't be shown. info tells what is known about it.\n");
  CHECK(mill.answer("show /members") == "/members is a folder, not a file.\n");
  CHECK(mill.answer("show letter.txt") == "There is no /members/robin/letter.txt.\n");
  mill.save("/public/secret", "the key is under the mat", "wren");
  mill.set_access("/public/secret", "ce=");
  CHECK(mill.answer("show /public/secret") == "You may not read /public/secret.\n");
  CHECK(mill.answer("show /") == "/ is a folder, not a file.\n");
}

TEST_CASE("show: a long text comes a screen at a time and stops when told") {
  Mill mill(screen_of(80, 10));
  std::string text;
  for (int i = 1; i <= 5000; ++i) text += "High water " + std::to_string(i) + " 07:41 3.2 m\r\n";
  mill.save("/members/robin/tides", text);
  std::string shown = mill.types("show tides\r");
  CHECK(shown.ends_with("High water 9 07:41 3.2 m\r\nMore? Enter goes on, n stops: "));
  shown = mill.types("\r");
  CHECK(shown.find("High water 10 ") != std::string::npos);
  CHECK(shown.find("High water 18 ") != std::string::npos);
  CHECK(shown.find("High water 19 ") == std::string::npos);
  CHECK(mill.types("n\r") == "n\r\n/members/robin> ");
  // To the end, over many pieces, nothing lost or doubled between them.
  mill.sit("robin", screen_of(80, 0));
  std::string all = mill.answer("show tides");
  std::erase(text, '\r');
  CHECK(all == text);
}

TEST_CASE("show: the interrupt key stops a long text between two pieces") {
  Mill mill(screen_of(80, 0));
  std::string text;
  while (text.size() < 200'000) text += "High water 07:41 3.2 m\n";
  mill.save("/members/robin/tides", text);
  mill.loop.holds_work = true;
  mill.visit->screen.clear();
  mill.visit->terminal.typed("show tides\r");
  for (int i = 0; i < 3; ++i) {
    REQUIRE(mill.loop.do_work());
    mill.loop.turn_all();
    mill.visit->take();
  }
  mill.visit->terminal.typed("\x03");
  REQUIRE(mill.loop.do_work());
  mill.visit->settle();
  CHECK(mill.loop.works() == 0);
  CHECK(mill.visit->screen.size() < 3 * 4096 + 2000);
  CHECK(mill.visit->screen.ends_with("\r\n/members/robin> "));
}

TEST_CASE("write: a text is typed in and saved") {
  Mill mill;
  CHECK(mill.types("write letter.txt\r") ==
        "write letter.txt\r\nType your text. A full stop alone on a line ends it.\r\n");
  CHECK(mill.types("Dear Wren,\r\r\tthe wheel\x7F turns.\r") ==
        "Dear Wren,\r\n\r\n\tthe wheel\b \b turns.\r\n");
  CHECK(mill.types(".\r") == ".\r\n3 lines saved in letter.txt.\r\n/members/robin> ");
  CHECK(mill.read("/members/robin/letter.txt") == "Dear Wren,\n\n\tthe whee turns.\n");
  const auto view =
      mill.store.files().look(mill.robin, TestVolume::at("/members/robin/letter.txt"));
  CHECK(view->kind == fs::Kind::text);
}

TEST_CASE("write: two stops mean one, other lines are as they are typed") {
  Mill mill;
  mill.types("write stops\r.START\r..\r...\r. \r..x\rend.\r.\r");
  CHECK(mill.read("/members/robin/stops") == ".START\n.\n..\n. \n..x\nend.\n");
}

TEST_CASE("write: lines longer than the editor's come whole") {
  Mill mill;
  const std::string longest(1000, 'x');
  mill.types("write long\r" + longest + "\r" + std::string(255, 'y') + "\r" +
             std::string(256, '.') + "\r.\r");
  CHECK(mill.read("/members/robin/long") ==
        longest + "\n" + std::string(255, 'y') + "\n" + std::string(256, '.') + "\n");
}

TEST_CASE("write: an existing file is asked about first, and kept until the new one is there") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "the old one");
  CHECK(mill.types("write LETTER.TXT\r") ==
        "write LETTER.TXT\r\nletter.txt is there already. Replace it? (y/n) ");
  CHECK(mill.types("n\r") == "n\r\nIt stays as it is.\r\n/members/robin> ");
  mill.types("write letter.txt\ry\rthe new one\r");
  CHECK(mill.read("/members/robin/letter.txt") == "the old one");
  CHECK(mill.types(".\r") == ".\r\n1 line saved in letter.txt.\r\n/members/robin> ");
  CHECK(mill.read("/members/robin/letter.txt") == "the new one\n");
  // Nothing typed replaces nothing.
  CHECK(mill.types("write letter.txt\ry\r.\r")
            .ends_with("Nothing was typed, so nothing is saved.\r\n/members/robin> "));
  CHECK(mill.read("/members/robin/letter.txt") == "the new one\n");
}

TEST_CASE("write: the interrupt key throws it away after asking") {
  Mill mill;
  mill.types("write letter.txt\rDear Wren,\rthe wh");
  CHECK(mill.types("\x03") == "^C\r\nThrow away what you typed? (y/n) ");
  CHECK(mill.types("n\r") == "n\r\nGo on with your text.\r\n");
  mill.types("the wheel turns.\r");
  CHECK(mill.types("\x03y\r").ends_with("y\r\nIt is thrown away.\r\n/members/robin> "));
  CHECK(mill.answer("list") == "There is nothing here.\n");
  CHECK(mill.types("write letter.txt\r\x03")
            .ends_with("^C\r\nIt is thrown away.\r\n/members/robin> "));
  mill.visit.reset();  // and nothing was rescued
  CHECK(mill.store.files().list(mill.robin, TestVolume::at("/members/robin"))->empty());
}

TEST_CASE("write: what can't be saved is told before anything is typed") {
  Mill mill;
  CHECK(mill.answer("write /members/wren/note") == "You may not save in /members/wren.\n");
  CHECK(mill.answer("write /programs/note") == "You may not save in /programs.\n");
  CHECK(mill.answer("write /public") == "/public is a folder.\n");
  CHECK(mill.answer("write what?") == "A name can't hold the character ?\n");
  CHECK(mill.answer("write /") == "The top folder is not a file.\n");
  mill.save("/members/robin/kept", "as it is");
  mill.set_access("/members/robin/kept", "+k");
  CHECK(mill.answer("write kept") ==
        "/members/robin/kept is kept: it can't be changed or removed until its keep bit\n"
        "is cleared.\n");
  mill.limit(0, 8);
  CHECK(mill.answer("who").find("Your space is nearly full.") != std::string::npos);
  CHECK(mill.answer("write note") ==
        "There is no room: the space allowed is 8 bytes and 8 bytes are in use. Remove\n"
        "what is not needed, or ask for more.\n");
  mill.limit(0, 0, 2);
  CHECK(mill.answer("write note").find("2 files and folders are allowed") != std::string::npos);
}

TEST_CASE("write: when the room runs out, what fits is saved and the rest is told of") {
  Mill mill;
  mill.limit(0, 30);
  mill.types("write note\r");
  mill.types("123456789\r123456789\r");
  CHECK(mill.types("1234567890\r") ==
        "1234567890\r\n"
        "There is no room: the space allowed is 30 bytes and 0 bytes are in use. Remove\r\n"
        "what is not needed, or ask for more.\r\n"
        "This line and what follows is left out. A full stop alone saves what came\r\n"
        "before.\r\n");
  CHECK(mill.types("x\ry\r.\r") ==
        "x\r\ny\r\n.\r\n3 lines left out.\r\n2 lines saved in note.\r\n/members/robin> ");
  CHECK(mill.read("/members/robin/note") == "123456789\n123456789\n");
}

TEST_CASE("invariant 6: a text that is typed in has a bound, and what is beyond it is told of") {
  Mill mill(screen_of(80, 0));
  mill.types("write note\r");
  const std::string line = std::string(127, 'x') + "\r";
  std::string last;
  for (int i = 0; i < 1024; ++i) last = mill.types(line);
  CHECK(last == std::string(127, 'x') + "\r\n");
  CHECK(mill.types("one more\r").find("A text typed in can have 128.0K at most.") !=
        std::string::npos);
  CHECK(mill.types(".\r").find("1 line left out.\r\n1024 lines saved in note.") !=
        std::string::npos);
  CHECK(mill.read("/members/robin/note").size() == 128 * 1024);
}

TEST_CASE("write: when saving fails at the end, another name is asked for") {
  Mill mill;
  mill.types("write note\rDear Wren\r");
  mill.save("/members/robin/note", "somebody was faster");
  CHECK(mill.types(".\r") ==
        ".\r\nThere is already something called /members/robin/note.\r\n"
        "Your text is not lost: save it under another name.\r\nName: ");
  CHECK(mill.types("/programs/note\r").find("You may not save in /programs.") != std::string::npos);
  CHECK(mill.types("two words\r").find("One name, please") != std::string::npos);
  CHECK(mill.types("\r") == "\r\nThrow the text away? (y/n) ");
  CHECK(mill.types("n\r").find("Name: ") != std::string::npos);
  CHECK(mill.types("\"note two\"\r").ends_with("1 line saved in note two.\r\n/members/robin> "));
  CHECK(mill.read("/members/robin/note two") == "Dear Wren\n");
  CHECK(mill.read("/members/robin/note") == "somebody was faster");
}

TEST_CASE("write: a disk that fails at the end loses nothing") {
  Mill mill;
  mill.types("write note\rDear Wren\r");
  mill.store.failure->fail_at = mill.store.failure->calls + 1;
  mill.store.failure->stay_dead = true;
  const std::string told = mill.types(".\r");
  CHECK(told.ends_with("Your text is not lost: save it under another name.\r\nName: "));
  mill.store.failure->fail_at = 0;
  CHECK(mill.types("\r") == "\r\nThrow the text away? (y/n) ");
  CHECK(mill.types("y\r").ends_with("It is thrown away.\r\n/members/robin> "));
}

TEST_CASE("write: a line that breaks leaves what was typed beside its place, and a notice") {
  Mill mill;
  mill.types("write letter.txt\rDear Wren,\rthe wheel");
  mill.visit.reset();
  CHECK(mill.read("/members/robin/letter.txt.cut1") == "Dear Wren,\n");
  CHECK(mill.read("/members/robin/letter.txt").starts_with("(There is no"));
  mill.visit.emplace(mill);
  mill.types("robin\r");
  CHECK(mill.types("mill-race-robin\r").find("There is a notice for you.") != std::string::npos);
  CHECK(mill.answer("notices") ==
        "From robin, 2027-01-15 08:00:\n"
        "You were cut off while you wrote letter.txt. What you had typed is in\n"
        "letter.txt.cut1, in your own folder.\n");
}

TEST_CASE("copy and rename: to a name, or into a folder under the same name") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren");
  CHECK(mill.answer("copy letter.txt letter2.txt") == "letter.txt is copied to letter2.txt.\n");
  CHECK(mill.answer("copy LETTER.TXT /public") == "letter.txt is copied to /public/letter.txt.\n");
  CHECK(mill.read("/public/letter.txt") == "Dear Wren");
  CHECK(mill.answer("copy letter.txt /public") ==
        "There is already something called /public/letter.txt.\n");
  CHECK(mill.answer("copy letter.txt letter.txt") ==
        "There is already something called /members/robin/letter.txt.\n");
  CHECK(mill.answer("copy /public x") == "/public is a folder, not a file.\n");
  CHECK(mill.answer("copy nothing x") == "There is no /members/robin/nothing.\n");
  CHECK(mill.answer("copy letter.txt /classes/tuesday/hand-in") ==
        "letter.txt is copied to /classes/tuesday/hand-in/letter.txt.\n"
        "Receipt 1: letter.txt handed in on 2027-01-15 08:00.\n");
  CHECK(mill.answer("list /classes/tuesday/hand-in") ==
        "You may not look into /classes/tuesday/hand-in.\n");

  CHECK(mill.answer("folder essays") == "The folder essays is made. go essays leads there.\n");
  CHECK(mill.answer("rename letter2.txt essays") == "letter2.txt is now essays/letter2.txt.\n");
  CHECK(mill.answer("rename letter.txt \"to wren\"") == "letter.txt is now to wren.\n");
  CHECK(mill.answer("rename essays ESSAYS") == "essays is now ESSAYS.\n");
  CHECK(mill.answer("rename ESSAYS ESSAYS/more") ==
        "/members/robin/ESSAYS can't be moved into itself.\n");
  CHECK(mill.answer("rename \"to wren\" /programs") == "You may not save in /programs.\n");
  CHECK(mill.answer("rename / x") == "The top folder stays where it is.\n");
  CHECK(mill.answer("rename /public/letter.txt /members/wren/x") ==
        "You may not save in /members/wren.\n");
}

TEST_CASE("remove, bin and restore") {
  Mill mill;
  CHECK(mill.answer("bin") == "The bin is empty.\n");
  mill.save("/members/robin/letter.txt", "one");
  CHECK(mill.answer("remove LETTER.TXT") ==
        "letter.txt is in the bin; restore letter.txt brings it back.\n");
  *mill.store.now += std::chrono::minutes(1);
  mill.save("/members/robin/letter.txt", "two");
  mill.answer("remove letter.txt");
  *mill.store.now += std::chrono::minutes(1);
  mill.answer("folder \"old things\"");
  mill.save("/members/robin/old things/map", std::string(5000, 'x'));
  CHECK(mill.answer("remove \"old things\"") ==
        "old things with all that is in it is in the bin; restore \"old things\" brings it\n"
        "back.\n");
  CHECK(mill.answer("bin") ==
        "name         size  removed\n"
        "old things/  4.9K  2027-01-15 08:02\n"
        "letter.txt      3  2027-01-15 08:01\n"
        "letter.txt      3  2027-01-15 08:00\n");
  CHECK(mill.answer("restore Letter.txt") == "letter.txt is back.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "two");
  CHECK(mill.answer("restore letter.txt") ==
        "There is already something called /members/robin/letter.txt.\n"
        "Rename that one, then restore again.\n");
  CHECK(mill.answer("restore \"/MEMBERS/ROBIN/old things\"") == "old things is back.\n");
  CHECK(mill.read("/members/robin/old things/map").size() == 5000);
  CHECK(mill.answer("restore map") ==
        "There is no map in the bin. Type bin to see what there is.\n");
  CHECK(mill.answer("bin full") == "Type bin alone to see what is in it, or bin empty.\n");

  CHECK(mill.types("bin empty\r") ==
        "bin empty\r\n1 thing in your bin, 3: take away for good? (y/n) ");
  CHECK(mill.types("n\r") == "n\r\nThe bin is as it was.\r\n/members/robin> ");
  CHECK(mill.types("bin empty\ry\r").ends_with("y\r\nYour bin is empty.\r\n/members/robin> "));
  CHECK(mill.answer("bin empty") == "There is nothing of yours in the bin.\n");
  CHECK(mill.answer("restore letter.txt") ==
        "There is no letter.txt in the bin. Type bin to see what there is.\n");
}

TEST_CASE("bin: what has the keep bit can't be taken away for good") {
  Mill mill;
  for (const char* name : {"letter.txt", "poem.txt"}) {
    mill.save(std::string("/members/robin/") + name, "one");
    mill.save(std::string("/members/robin/") + name, "two");
  }
  mill.answer("access letter.txt +k");
  mill.answer("remove poem.txt");
  REQUIRE(mill.store.volume->drain());
  REQUIRE(std::filesystem::remove(mill.store.path() + "/files/members/robin/letter.txt"));
  fs::AdoptOptions at_once;
  at_once.patience = std::chrono::milliseconds(0);
  REQUIRE(mill.store.volume->adoption().look_at_all(at_once));
  CHECK(
      mill.types("bin empty\ry\r")
          .find("What has the keep bit stays in your bin: restore it, and clear the bit first.") !=
      std::string::npos);
  CHECK(mill.answer("bin").find("poem.txt") == std::string::npos);
  CHECK(mill.answer("restore letter.txt") == "letter.txt is back.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "one");
}

TEST_CASE("restore: what was in a folder that is gone, too, comes back after it") {
  Mill mill;
  mill.answer("folder old");
  mill.save("/members/robin/old/map", "here be weirs");
  mill.answer("remove old/map");
  mill.answer("remove old");
  CHECK(mill.answer("restore map") ==
        "There is no /members/robin/old.\n"
        "It was in there. Restore that first, or make it again.\n");
  CHECK(mill.answer("restore old") == "old is back.\n");
  CHECK(mill.answer("restore map") == "old/map is back.\n");
}

TEST_CASE("versions, and restore with a number") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "one");
  CHECK(mill.answer("versions letter.txt") ==
        "letter.txt has never been replaced, or it was too long ago.\n");
  CHECK(mill.answer("restore letter.txt 1") == "It has no versions to restore.\n");
  *mill.store.now += std::chrono::minutes(1);
  mill.save("/members/robin/letter.txt", "the second");
  *mill.store.now += std::chrono::minutes(1);
  mill.save("/members/robin/letter.txt", "");
  CHECK(mill.answer("versions LETTER.TXT") ==
        "no  saved             size  replaced\n"
        " 1  2027-01-15 08:01    10  2027-01-15 08:02\n"
        " 2  2027-01-15 08:00     3  2027-01-15 08:01\n");
  for (const char* wrong : {"0", "3", "x", "-1", "99999999999999999999"}) {
    CHECK(mill.answer(std::string("restore letter.txt ") + wrong) ==
          "Type a number from 1 to 2, as versions letter.txt shows them.\n");
  }
  CHECK(mill.answer("restore letter.txt 2") ==
        "letter.txt is again as it was at 2027-01-15 08:00; version 1 is what it was\n"
        "until now.\n");
  CHECK(mill.read("/members/robin/letter.txt") == "one");
  CHECK(mill.answer("versions nothing") == "There is no /members/robin/nothing.\n");
  CHECK(mill.answer("versions /programs") == "/programs is a folder, not a file.\n");
  mill.save("/public/note", "x", "wren");
  CHECK(mill.answer("versions /public/note") ==
        "Only its owner may see what /public/note was before.\n");
}

TEST_CASE("remove: what is kept, shared or the room's stays") {
  Mill mill;
  mill.save("/members/robin/kept", "x");
  mill.set_access("/members/robin/kept", "+k");
  CHECK(mill.answer("remove kept").starts_with("/members/robin/kept is kept:"));
  mill.save("/public/note", "x", "wren");
  CHECK(mill.answer("remove /public/note") == "/public/note belongs to wren.\n");
  CHECK(mill.answer("remove /public") == "You may not change what is in /.\n");
  CHECK(mill.answer("remove /") == "The top folder can't be removed.\n");
  CHECK(mill.answer("remove ..") == "You may not change what is in /.\n");
}

TEST_CASE("remove and restore: a leader for a member, each in their own bin") {
  Mill mill({}, "sorrel");
  mill.save("/members/robin/letter.txt", "robin's");
  mill.save("/members/sorrel/letter.txt", "sorrel's", "sorrel");
  CHECK(mill.answer("remove /members/robin/letter.txt") ==
        "letter.txt is in robin's bin; restore letter.txt brings it back.\n");
  *mill.store.now += std::chrono::seconds(1);
  mill.answer("remove letter.txt");
  CHECK(mill.answer("bin") ==
        "name                       size  removed           owner\n"
        "letter.txt                    8  2027-01-15 08:00\n"
        "/members/robin/letter.txt     7  2027-01-15 08:00  robin\n");
  // One's own first, then those that one looks after.
  CHECK(mill.answer("restore letter.txt") == "letter.txt is back.\n");
  CHECK(mill.answer("restore letter.txt") == "/members/robin/letter.txt is back.\n");
}

TEST_CASE("access: in words, and changed") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "x");
  CHECK(mill.answer("access letter.txt") ==
        "letter.txt belongs to robin.\n"
        "You may read and change it.\n"
        "Nobody else may read it.\n"
        "In letters: rw----\n");
  CHECK(mill.answer("access letter.txt E+R") ==
        "letter.txt belongs to robin.\n"
        "You may read and change it.\n"
        "Everyone else may read it.\n"
        "But not everyone can get there: /members/robin is closed to them. A copy in an\n"
        "open folder would help.\n"
        "In letters: rw--r-\n");
  CHECK(mill.answer("access letter.txt c+rw,e=,+k") ==
        "letter.txt belongs to robin.\n"
        "You may read and change it.\n"
        "No class has to do with it, so what a class may do means nothing here.\n"
        "Nobody else may read it.\n"
        "It is kept: nobody can change or remove it until access letter.txt -k.\n"
        "In letters: rwrw--k\n");
  CHECK(mill.answer("access letter.txt o+z") ==
        "\"o+z\" is no change of access. Write who (o owner, c class, e everyone, a all),\n"
        "then + - or =, then r, w or k: c+r lets the class read.\n");
  CHECK(mill.answer("access /public e-w") == "Only its owner may change the access of /public.\n");
  CHECK(mill.answer("access /classes/tuesday") ==
        "tuesday belongs to the room and the class tuesday.\n"
        "Leaders of tuesday may look in and add to it.\n"
        "The class tuesday may look in.\n"
        "Nobody else may look in.\n"
        "In letters: rwr---\n");
  CHECK(mill.answer("access /classes/tuesday/hand-in") ==
        "hand-in belongs to the room and the class tuesday.\n"
        "Leaders of tuesday may look in and add to it.\n"
        "The class tuesday may put things in, but not look.\n"
        "Nobody else may look in.\n"
        "In letters: rw-w--\n");
  CHECK(mill.answer("access /") ==
        "/ belongs to the room.\n"
        "Everyone else may look in.\n"
        "In letters: rwr-r-\n");
}

TEST_CASE("access: tells when its class can't get to it") {
  Mill mill({}, "sorrel");
  TestVolume::done(mill.store.files().make_folder(mill.store.caller("sorrel"),
                                                  TestVolume::at("/classes/tuesday/plans")));
  mill.save("/classes/tuesday/plans/may", "x", "sorrel");
  mill.set_access("/classes/tuesday/plans", "c=");
  mill.set_access("/classes/tuesday/plans/may", "c+r");
  CHECK(mill.answer("access /classes/tuesday/plans/may") ==
        "may belongs to sorrel and the class tuesday.\n"
        "You may read and change it.\n"
        "The class tuesday may read it.\n"
        "Nobody else may read it.\n"
        "But the class tuesday can't get there: /classes/tuesday/plans is closed to it.\n"
        "In letters: rwr---\n");
}

TEST_CASE("info: all that is known") {
  Mill mill;
  fs::SaveOptions program;
  program.kind = fs::Kind::program;
  program.load_address = 0x1900;
  program.entry_point = 0xFFFF1923u;
  auto upload = mill.store.files().save(mill.robin,
                                        TestVolume::at("/members/robin/mill wheel game"), program);
  REQUIRE(upload->write(std::string(12'345, '\0')));
  TestVolume::done(upload->finish());
  CHECK(mill.answer("info \"mill wheel game\"") ==
        "name        mill wheel game\n"
        "short name  MILLWH~1\n"
        "in          /members/robin\n"
        "kind        program\n"
        "size        12,345 bytes\n"
        "loads at    1900 hex\n"
        "starts at   FFFF1923 hex\n"
        "made        2027-01-15 08:00\n"
        "changed     2027-01-15 08:00\n"
        "mill wheel game belongs to robin.\n"
        "You may read and change it.\n"
        "Nobody else may read it.\n"
        "In letters: rw----\n");
  CHECK(mill.answer("info /") ==
        "kind     folder\n"
        "made     2027-01-15 08:00\n"
        "changed  2027-01-15 08:00\n"
        "/ belongs to the room.\n"
        "Everyone else may look in.\n"
        "In letters: rwr-r-\n");
  CHECK(mill.answer("info nothing") == "There is no /members/robin/nothing.\n");
}

TEST_CASE("go and up: the prompt shows where") {
  Mill mill;
  CHECK(mill.types("go /public\r") == "go /public\r\n/public> ");
  CHECK(mill.types("up\r") == "up\r\n/> ");
  CHECK(mill.types("up\r") == "up\r\nThis is the top: there is nothing above it.\r\n/> ");
  CHECK(mill.types("go\r") == "go\r\n/members/robin> ");
  CHECK(mill.types("go ..\r") == "go ..\r\n/members> ");
  CHECK(mill.answer("go wren") == "You may not look into /members/wren.\n");
  CHECK(mill.types("go ROBIN\r") == "go ROBIN\r\n/members/robin> ");
}

TEST_CASE("print: to a queue, held or refused where that is so") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren,\rthe wheel turns.\r");
  CHECK(mill.answer("jobs") == "No print jobs are waiting.\n");
  CHECK(mill.answer("tray") == "Your tray is empty.\n");
  CHECK(mill.answer("print letter.txt") ==
        "Job 1 is in the queue paper. The printout comes to your tray.\n");
  CHECK(mill.answer("print letter.txt MINE") ==
        "Job 2 is in the queue mine. It waits for its owner to release it.\n"
        "release 2 prints it, cancel 2 takes it back.\n");
  CHECK(mill.answer("print letter.txt essays") ==
        "Job 3 is in the queue essays. It waits for a leader to release it.\n"
        "cancel 3 takes it back.\n");
  mill.save("/members/robin/drawing", "%!PS-Adobe-3.0\nshowpage\n");
  CHECK(mill.answer("print drawing") ==
        "Job 4 can't be printed. The job is a PostScript program, and this queue\n"
        "imitates a text-only printer. Choose such a printer on the machine that sent\n"
        "it.\n");
  CHECK(mill.answer("print letter.txt nowhere") ==
        "There is no queue nowhere. There is essays, mine, paper and scarce.\n");
  mill.save("/members/robin/game", std::string("\x00\x01\x02", 3));
  CHECK(mill.types("print game\r") ==
        "print game\r\ngame does not look like a text. Print it all the same? (y/n) ");
  CHECK(mill.types("n\r") == "n\r\n/members/robin> ");
  CHECK(mill.answer("print nothing") == "There is no /members/robin/nothing.\n");

  CHECK(mill.answer("jobs") ==
        "job  state    queue   title\n"
        "  1  waiting  paper   letter.txt\n"
        "  2  held     mine    letter.txt\n"
        "  It waits for its owner to release it.\n"
        "  3  held     essays  letter.txt\n"
        "  It waits for a leader to release it.\n"
        "  4  refused  paper   drawing\n"
        "  The job is a PostScript program, and this queue imitates a text-only printer.\n"
        "  Choose such a printer on the machine that sent it.\n");
  CHECK(mill.answer("release 3") == "Job 3 is not yours to handle.\n");
  CHECK(mill.answer("release 2") == "Job 2 is on its way.\n");
  CHECK(mill.answer("release 2") == "Job 2 is waiting, so there is nothing to release.\n");
  CHECK(mill.answer("cancel 4") == "Job 4 is cancelled.\n");
  CHECK(mill.answer("cancel 4") == "There is no job 4 in the queues.\n");
  CHECK(mill.answer("cancel four") ==
        "\"four\" is not the number of a job. Type jobs to see them.\n");
  CHECK(mill.answer("cancel 99999999999").starts_with("\"99999999999\" is not the number"));
  CHECK(mill.answer("cancel -1").starts_with("\"-1\" is not the number"));
  mill.print_all();
  CHECK(mill.answer("tray") ==
        "job  pages  printed           title\n"
        "  2      1  2027-01-15 08:00  letter.txt (new)\n"
        "  1      1  2027-01-15 08:00  letter.txt (new)\n");
  CHECK(mill.answer("tray") ==
        "job  pages  printed           title\n"
        "  2      1  2027-01-15 08:00  letter.txt\n"
        "  1      1  2027-01-15 08:00  letter.txt\n");

  mill.sit("sorrel");
  CHECK(mill.answer("jobs") ==
        "job  state  queue   owner  title\n"
        "  3  held   essays  robin  letter.txt\n"
        "  It waits for a leader to release it.\n");
  CHECK(mill.answer("release 3") == "Job 3 is on its way.\n");
  CHECK(mill.answer("tray") == "Your tray is empty.\n");
  mill.sit("teasel");
  CHECK(mill.answer("jobs") == "No print jobs are waiting.\n");
  CHECK(mill.answer("cancel 3") == "Job 3 is not yours to handle.\n");
}

TEST_CASE("queue: those there are, with what is left of them, and a job moved to another") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren");
  CHECK(mill.answer("queue") ==
        "queue   title\n"
        "essays  80 columns and 66 lines on A4\n"
        "mine    80 columns and 66 lines on A4\n"
        "paper   80 columns and 66 lines on A4\n"
        "scarce  80 columns and 66 lines on A4\n"
        "  In the queue scarce a member may print 1 page a day. 0 are used, and 1 is\n"
        "  left. It begins anew on Saturday, 2027-01-16.\n");
  mill.answer("print letter.txt essays");
  CHECK(mill.answer("queue 1 mine") ==
        "Job 1 is in the queue mine. It waits for its owner to release it.\n"
        "release 1 prints it, cancel 1 takes it back.\n");
  CHECK(mill.answer("queue 1") == "Say which queue the job is to go to: queue JOB NAME.\n");
  CHECK(mill.answer("queue one mine").starts_with("\"one\" is not the number of a job."));
  CHECK(mill.answer("queue 1 nowhere") == "There is no print queue \"nowhere\".\n");
  mill.sit("teasel");
  CHECK(mill.answer("queue 1 paper") == "Job 1 is not yours to handle.\n");
}

TEST_CASE("hold, refuse and again: what becomes of a job, and once more what was printed") {
  Mill mill;
  mill.save("/members/robin/letter.txt", "Dear Wren");
  mill.answer("print letter.txt");
  CHECK(mill.answer("hold 1") == "Job 1 is held. release 1 lets it go.\n");
  CHECK(mill.answer("refuse 1 Too long.") == "Job 1 is not yours to handle.\n");
  mill.sit("sorrel");
  CHECK(mill.answer("refuse 1") == "There is something missing: refuse JOB WHY\n");
  CHECK(mill.answer("refuse 1 " + std::string(201, 'x')) ==
        "The reason is too long: at most 200 characters.\n");
  CHECK(mill.answer("refuse 1 Ask me first.") == "Job 1 is refused.\n");
  mill.sit("robin");
  CHECK(mill.answer("jobs").find("Ask me first.") != std::string::npos);
  CHECK(mill.answer("again 1") ==
        "Job 2 is in the queue paper. The printout comes to your tray.\n");
  mill.print_all();
  CHECK(mill.answer("again 2 MINE") ==
        "Job 3 is in the queue mine. It waits for its owner to release it.\n"
        "release 3 prints it, cancel 3 takes it back.\n");
  CHECK(mill.answer("again 9") == "There is no job 9 in the queues.\n");
  CHECK(mill.answer("hold 3 Later.") == "Job 3 is held, so it can't be held.\n");
}

TEST_CASE("jobs: that others' are there, and no more of them") {
  Mill mill;
  mill.save("/members/robin/diary.txt", "Dear diary");
  mill.answer("print diary.txt mine");
  mill.sit("teasel");
  CHECK(mill.answer("jobs") == "No print jobs are waiting.\n");
  CHECK(mill.answer("jobs all") ==
        "job  state  queue  owner\n"
        "  1  held   mine   robin\n");
  CHECK(mill.answer("jobs some") == "jobs shows yours, jobs all everybody's.\n");
  mill.sit("sorrel");
  CHECK(mill.answer("jobs all").find("diary.txt") != std::string::npos);
}

TEST_CASE("claim: a printout that nobody has claimed, by its code") {
  Mill mill;
  mill.save("/public/letter.txt", "Dear all");
  mill.set_access("/public/letter.txt", "e+r");
  mill.visit.reset();
  mill.visit.emplace(mill);
  mill.types("guest\r");
  mill.answer("print /public/letter.txt");
  mill.answer("print /public/letter.txt");
  CHECK(mill.answer("claim abcd efgh").starts_with("Guests can't do that."));
  mill.print_all();
  const std::string code = mill.spool->code_of(1);
  mill.sit("sorrel");
  const std::string listed = mill.answer("claim");
  CHECK(listed.starts_with("code       job  pages  printed           title\n"));
  CHECK(listed.find(code + "    1      1  2027-01-15 08:00  letter.txt\n") != std::string::npos);
  mill.sit("robin");
  CHECK(mill.answer("claim") == "Ask whoever keeps this room for the code of your printout.\n");
  CHECK(mill.answer("claim 1") == "No printout waits under that code. Ask for it once more.\n");
  std::string capitals = code;
  for (char& c : capitals) c = static_cast<char>(std::toupper(c));
  CHECK(mill.answer("claim " + capitals) == "Printout 1 is in your tray.\n");
  CHECK(mill.answer("tray").find("letter.txt (new)") != std::string::npos);
  CHECK(mill.answer("claim " + code) ==
        "No printout waits under that code. Ask for it once more.\n");

  // Guessing is slowed down, also for the right code; signing in is not.
  CHECK(mill.answer("claim aaaabbbb").starts_with("No printout"));
  CHECK(mill.answer("claim aaaacccc").starts_with("No printout"));
  CHECK(mill.answer("claim " + mill.spool->code_of(2)) ==
        "Too many wrong codes. Wait 5 seconds, then try again.\n");
  mill.loop.pass(std::chrono::seconds(6));
  CHECK(mill.answer("claim " + mill.spool->code_of(2)) == "Printout 2 is in your tray.\n");
  mill.sit("sorrel");
  CHECK(mill.answer("claim") == "There are no printouts that nobody has claimed.\n");
}

TEST_CASE("finish: a job that is still coming in, from this machine or one's own") {
  Mill mill;
  CHECK(mill.answer("finish") == "No print job of yours is coming in.\n");
  int ended = 0;
  print::Job job;
  job.number = 7;
  job.queue = "paper";
  job.title = "From 10.0.0.7";
  OpenJobs::Place here(mill.room->open_jobs, {job, "10.0.0.7", [&] { ++ended; }});
  CHECK(mill.answer("finish") == "Job 7 ends here.\n");
  CHECK(ended == 1);
  job.number = 8;
  job.owner = mill.robin.account;
  job.owner_name = "robin";
  OpenJobs::Place own(mill.room->open_jobs, {job, "10.0.0.9", [&] { ++ended; }});
  CHECK(mill.answer("finish") ==
        "Several jobs are coming in. Say which: jobs shows the numbers.\n");
  CHECK(mill.answer("finish 8") == "Job 8 ends here.\n");
  CHECK(mill.answer("jobs") ==
        "job  state      queue  title\n"
        "  8  coming in  paper  From 10.0.0.7\n");
  CHECK(mill.answer("finish 9") == "No print job 9 of yours is coming in.\n");
  job.number = 10;
  job.owner = mill.store.caller("wren").account;
  OpenJobs::Place another(mill.room->open_jobs, {job, "10.0.0.9", [&] { ++ended; }});
  CHECK(mill.answer("finish 10") == "No print job 10 of yours is coming in.\n");
  CHECK(ended == 2);
}

TEST_CASE("print: guests may, for the unclaimed tray") {
  Mill mill;
  mill.save("/public/letter.txt", "Dear all");
  mill.set_access("/public/letter.txt", "e+r");
  mill.visit.reset();
  mill.visit.emplace(mill);
  mill.types("guest\r");
  CHECK(mill.answer("print /public/letter.txt") ==
        "Job 1 is in the queue paper. Whoever keeps this room has the printout.\n");
  CHECK(mill.answer("print /public/letter.txt mine") ==
        "Job 2 is in the queue mine. It waits for its owner to release it.\n");
  mill.print_all();
  const auto all = mill.store.desk().printouts(mill.store.keeper, true);
  REQUIRE(all.size() == 1);
  CHECK(all[0].owner.empty());
}

TEST_CASE("find: printouts by their words, with the line") {
  Mill mill;
  mill.save("/members/robin/tides.txt", "High water 3:15\nLow water 9:30\n");
  mill.answer("print tides.txt");
  mill.print_all();
  mill.sit("wren");
  mill.save("/members/wren/letter.txt", "Dear Robin,\nthe water is high.\n", "wren");
  mill.answer("print letter.txt");
  mill.print_all();
  CHECK(mill.answer("find water") ==
        "job  page  printed     title\n"
        "  2     1  2027-01-15  letter.txt\n"
        "  the water is high.\n");
  CHECK(mill.answer("find \"high water\"") == "No printout of yours has that.\n");
  CHECK(mill.answer("find of wren queue paper since 2027-01-15 until 2027-01-15") ==
        "job  printed     title\n"
        "  2  2027-01-15  letter.txt\n");
  CHECK(mill.answer("find water of robin") == "No printout of yours has that.\n");
  CHECK(mill.answer("find water of nobody") == "There is no account nobody.\n");
  CHECK(mill.answer("find water of +nowhere") == "There is no class nowhere.\n");
  CHECK(mill.answer("find water since yesterday").starts_with("\"yesterday\" is no date."));
  CHECK(mill.answer("find \"of\"") == "No printout of yours has that.\n");
  for (const char* nonsense :
       {"find \"", "find )(", "find AND", "find *", "find of", "find a\"b"}) {
    CHECK(mill.answer(nonsense) == "No printout of yours has that.\n");
  }
  CHECK(mill.answer("find") == "There is something missing: find WORDS [WHOSE]\n");

  mill.sit("sorrel");
  CHECK(mill.answer("find wat* of +tuesday") ==
        "job  page  printed     owner  title\n"
        "  2     1  2027-01-15  wren   letter.txt\n"
        "  the water is high.\n"
        "  1     1  2027-01-15  robin  tides.txt\n"
        "  High water 3:15\n");
  CHECK(mill.answer("find \"high water\" of robin") ==
        "job  page  printed     owner  title\n"
        "  1     1  2027-01-15  robin  tides.txt\n"
        "  High water 3:15\n");
  mill.sit("teasel");
  CHECK(mill.answer("find water") == "No printout of yours has that.\n");
}

TEST_CASE("bind: printouts become one file") {
  Mill mill;
  mill.save("/members/robin/tides.txt", "High water 3:15\n");
  mill.answer("print tides.txt");
  mill.answer("print tides.txt");
  mill.print_all();
  CHECK(mill.answer("bind mine.pdf") == "mine.pdf has 2 printouts on 3 pages.\n");
  CHECK(mill.read("/members/robin/mine.pdf").starts_with("%PDF-1.7"));
  CHECK(mill.answer("bind mine.pdf").starts_with("There is already"));
  CHECK(mill.answer("bind other.pdf of wren") == "There are no such printouts.\n");
  CHECK(mill.answer("bind other.pdf until 2020-01-01") == "There are no such printouts.\n");
  CHECK(mill.answer("bind other.pdf tides") ==
        "Behind the name may stand of NAME or of +CLASS, queue NAME, since DAY and until\n"
        "DAY.\n");
  CHECK(mill.answer("bind /programs/mine.pdf").starts_with("You may not"));
  mill.sit("sorrel");
  CHECK(mill.answer("bind \"the evening.pdf\" of +tuesday since 2027-01-15") ==
        "the evening.pdf has 2 printouts on 3 pages.\n");
}

TEST_CASE("tray: printouts count as seen only when they were shown to the end") {
  Mill mill(screen_of(80, 4));
  mill.save("/members/robin/letter.txt", "Dear Wren");
  for (int i = 0; i < 5; ++i) mill.answer("print letter.txt");
  mill.print_all();
  mill.types("tray\rn\r");
  CHECK(mill.types("tray\r").find("(new)") != std::string::npos);
  mill.types("\r\r");
  CHECK(mill.types("tray\r").find("(new)") == std::string::npos);
}

TEST_CASE("notice and notices") {
  Mill mill;
  CHECK(mill.answer("notices") == "There are no notices for you.\n");
  Visit sorrel(mill, {}, "10.0.0.8");
  sorrel.sign_in("sorrel");
  CHECK(sorrel.answer("notice ROBIN Is your 3.5\" disk   ready?") ==
        "Your notice to ROBIN is sent.\n");
  CHECK(sorrel.answer("notice +tuesday Bring your disks.") == "Your notice to +tuesday is sent.\n");
  CHECK(sorrel.answer("notice +all Tea!") == "Only a manager may send a notice to everybody.\n");
  CHECK(sorrel.answer("notice nobody Hello") == "There is no account nobody.\n");
  CHECK(sorrel.answer("notice robin " + std::string(241, 'x')) ==
        "The notice is too long: at most 240 characters.\n");
  CHECK(mill.answer("list") ==
        "There is nothing here.\n"
        "A notice from sorrel has come. Type notices to read it.\n"
        "A notice from sorrel has come. Type notices to read it.\n");
  CHECK(mill.answer("notices") ==
        "From sorrel, 2027-01-15 08:00:\n"
        "Is your 3.5\" disk   ready?\n"
        "From sorrel, 2027-01-15 08:00:\n"
        "Bring your disks.\n");
  CHECK(mill.answer("notices") == "There are no notices for you.\n");
  mill.sit("bram");
  CHECK(mill.answer("notice @all Tea is ready.") == "Your notice to @all is sent.\n");
}

TEST_CASE("notices: those not shown to the end stay") {
  Mill mill(screen_of(80, 4));
  for (int i = 0; i < 3; ++i) {
    TestVolume::done(mill.store.desk().send_notice(mill.store.caller("wren"), "robin", "Hello"));
  }
  mill.types("notices\rn\r");
  CHECK(mill.visit->session.notices().size() == 3);
  mill.types("notices\r\r");
  CHECK(mill.visit->session.notices().empty());
}

TEST_CASE("password: one's own, and a member's by a leader") {
  Mill mill;
  CHECK(mill.types("password\r") == "password\r\nOld password: ");
  CHECK(mill.types("mill-race-robin\r") == "\r\nNew password: ");
  CHECK(mill.types("overshot wheel\r") == "\r\nThe same again: ");
  CHECK(mill.types("overshot wheel\r") == "\r\nYour password is changed.\r\n/members/robin> ");
  CHECK(mill.types("password\rguess\rundershot wheel\rundershot wheel\r")
            .find("That name and password do not go together.") != std::string::npos);
  CHECK(mill.types("password ROBIN\rovershot wheel\rone wheel\ranother wheel\r")
            .ends_with("The two are not the same.\r\nThe password stays as it was.\r\n"
                       "/members/robin> "));
  CHECK(mill.types("password\rovershot wheel\rshort\rshort\r")
            .find("A password needs at least 8 characters.") != std::string::npos);
  CHECK(mill.types("password\r\x03") == "password\r\nOld password: ^C\r\n/members/robin> ");
  CHECK(mill.types("password\rx\r\x03")
            .ends_with("^C\r\nThe password stays as it was.\r\n/members/robin> "));
  CHECK(mill.answer("password wren") == "You may not set the password of wren.\n");

  mill.sit("sorrel");
  CHECK(mill.types("password Robin\r") == "password Robin\r\nNew password: ");
  CHECK(mill.types("breast wheel\rbreast wheel\r") ==
        "\r\nThe same again: \r\nrobin has a new password.\r\n/members/sorrel> ");
  CHECK(mill.answer("password bram") == "You may not set the password of bram.\n");
  CHECK(mill.answer("password nobody") == "There is no account nobody.\n");
  CHECK(mill.store.people().sign_in("robin", "breast wheel", "test"));
}

TEST_CASE("space: in use, allowed, left") {
  Mill mill;
  std::string said = mill.answer("space");
  CHECK(said ==
        "You use 0 of 64.0M, 0 per cent.\n"
        "You have 1 file or folder of 2000.\n"
        "For a week you may go over your limit, up to 80.0M.\n"
        "There is room for 80.0M more.\n");
  mill.limit(0, 0, 0);
  CHECK_THAT(mill.answer("space"),
             Catch::StartsWith("You use 0.\nYou have 1 file or folder.\nThere is room for "));
  mill.limit(4096, 8192, 20);
  mill.save("/members/robin/a", std::string(2048, 'x'));
  CHECK(mill.answer("space") ==
        "You use 2.0K of 4.0K, 50 per cent.\n"
        "You have 2 files and folders of 20.\n"
        "For a week you may go over your limit, up to 8.0K.\n"
        "There is room for 6.0K more.\n");
  mill.save("/members/robin/b", std::string(3072, 'x'));
  CHECK(mill.answer("who").find("You have more than your limit.") != std::string::npos);
  CHECK(mill.answer("space") ==
        "You use 5.0K of 4.0K, 125 per cent.\n"
        "You have 3 files and folders of 20.\n"
        "That is more than your limit, since 2027-01-15. From 2027-01-22 on nothing more\n"
        "can be saved: remove what you do not need.\n"
        "There is room for 3.0K more.\n");
  mill.visit.reset();
  mill.visit.emplace(mill);
  mill.types("robin\r");
  CHECK(
      mill.types("mill-race-robin\r")
          .find("You have more than your limit. Remove what you do not need: from 2027-01-22 on") !=
      std::string::npos);
  Visit guest(mill, {}, "10.0.0.9");
  guest.types("guest\r");
  said = guest.answer("space");
  CHECK(said.starts_with("The disk has room for "));
  CHECK(said.ends_with("more. Guests can't save anything.\n"));
}

TEST_CASE("why: what was refused last, and whom to ask") {
  Mill mill;
  CHECK(mill.answer("why") == "Nothing was refused here of late.\n");
  CHECK(mill.answer("folder /programs/mine") == "You may not make a folder in /programs.\n");
  const std::string told =
      "2027-01-15 08:00: You may not make a folder in /programs.\nOnly some may change it, and you "
      "are not among them. Ask whoever keeps this room.\n";
  CHECK(joined(mill.answer("why")) == joined(told));
  // What others are refused is theirs to ask after, and what works is no reason to ask.
  Visit wren(mill, {}, "10.0.0.8");
  wren.sign_in("wren");
  CHECK(wren.answer("why") == "Nothing was refused here of late.\n");
  mill.answer("folder mine");
  CHECK(joined(mill.answer("why")) == joined(told));
  // Looks at what is not there are no refusals as long as nobody is told of them.
  CHECK(mill.answer("show nowhere") == "There is no /members/robin/nowhere.\n");
  CHECK(
      mill.answer("why") ==
      "2027-01-15 08:00: There is no /members/robin/nowhere.\nNothing of that name was there. Was "
      "it typed as it is called?\n");
  mill.sit("robin", screen_of(20));
  CHECK(
      mill.answer("why") ==
      "2027-01-15 08:00:\nThere is no\n/members/robin/nowh\nere.\nNothing of that\nname was there. "
      "Was\nit typed as it is\ncalled?\n");
}

TEST_CASE("who: names for all, where and what for leaders and managers") {
  Mill mill;
  Visit guest(mill, {}, "10.0.0.9");
  guest.types("guest\r");
  CHECK(guest.answer("who") == "robin is here.\n1 is not signed in.\n");
  Visit again(mill, {}, "10.0.0.10");
  again.sign_in("robin");
  Visit sorrel(mill, {}, "10.0.0.8");
  sorrel.sign_in("sorrel");
  sorrel.types("write note\r");
  const Session printing(*mill.room, "lpd", "10.0.0.77");
  CHECK(mill.answer("who") == "robin and sorrel are here.\n2 are not signed in.\n");
  sorrel.types("\x03");
  mill.types("write note\r");
  CHECK(sorrel.answer("who") ==
        "name    since             door      address    doing\n"
        "guest   2027-01-15 08:00  terminal  10.0.0.9   waiting\n"
        "guest   2027-01-15 08:00  lpd       10.0.0.77  waiting\n"
        "robin   2027-01-15 08:00  terminal  10.0.0.7   write\n"
        "robin   2027-01-15 08:00  terminal  10.0.0.10  waiting\n"
        "sorrel  2027-01-15 08:00  terminal  10.0.0.8   who\n");
}

TEST_CASE("help: the commands one may use, and more about one") {
  Mill mill(screen_of(80, 0));
  std::string said = mill.answer("help");
  CHECK(static_cast<std::size_t>(std::count(said.begin(), said.end(), '\n')) ==
        commands().size() + 2);
  CHECK(said.find("copy      FROM TO         copy a file\n") != std::string::npos);
  CHECK(mill.answer("help sh") == "show NAME\nRead a text on the screen.\n");
  CHECK(mill.answer("help re") ==
        "Do you mean receipts, refuse, release, remove, rename or restore?\n");
  CHECK(mill.answer("help copy") ==
        "copy FROM TO\nCopy a file.\nTO is a new name, or a folder to copy it into.\n");
  mill.sit("robin", screen_of(40, 0));
  said = mill.answer("help");
  CHECK(said.find("copy     copy a file\n") != std::string::npos);
  mill.sit("robin", screen_of(20, 0));
  said = mill.answer("help");
  CHECK(said.find("\ncopy\ndue\nextend\nfetch\nfind\nfinish\nfolder\nforgot\nfreeze\n") !=
        std::string::npos);
  mill.visit.reset();
  mill.visit.emplace(mill);
  mill.types("guest\r");
  said = mill.answer("help");
  CHECK(said.find("write") == std::string::npos);
  CHECK(said.find("show") != std::string::npos);
}

TEST_CASE("invariant 3: show, list and write at the terminal follow the one rule of access") {
  Mill mill;
  mill.save("/public/rules.txt", "no running");
  TestVolume::done(mill.store.files().set_class(mill.store.keeper,
                                                TestVolume::at("/public/rules.txt"), "tuesday"));
  struct Person {
    std::string name;
    fs::Standing standing;
    std::unique_ptr<Visit> visit;
  };
  std::vector<Person> people;
  const auto add = [&](const std::string& name) -> fs::Standing& {
    people.push_back({name, {}, std::make_unique<Visit>(mill)});
    if (name == "guest") {
      people.back().visit->types("guest\r");
    } else {
      people.back().visit->sign_in(name);
    }
    people.back().visit->types("go /public\r");
    return people.back().standing;
  };
  add("guest").guest = true;
  add("wren").in_class = true;
  add("teasel");
  fs::Standing& leader = add("sorrel");
  leader.in_class = leader.leads_owner = true;
  add("bram").manager = true;
  fs::Standing& owner = add("robin");
  owner.owner = owner.in_class = true;
  for (unsigned bits = 0; bits < 64; ++bits) {
    const fs::Access access(bits);
    mill.set_access("/public/rules.txt", access.symbolic());
    for (auto& person : people) {
      INFO(access.text() << " " << person.name);
      const bool read = fs::may_read(access, person.standing);
      const bool write = fs::may_write(access, person.standing);
      CHECK(person.visit->answer("show rules.txt") ==
            (read ? "no running\n" : "You may not read /public/rules.txt.\n"));
      const bool listed = person.visit->answer("list").find("rules.txt") != std::string::npos;
      CHECK(listed == (read || write));
      if (person.standing.guest) continue;
      const std::string asked = person.visit->types("write rules.txt\r");
      CHECK((asked.find("Replace it?") != std::string::npos) == write);
      if (write) person.visit->types("n\r");
    }
  }
}

TEST_CASE("names: what can't be a name is refused in words, and no path leads out") {
  Mill mill;
  for (const auto& [typed, told] : std::vector<std::pair<std::string, std::string>>{
           {"show ../../../etc/passwd", "The path goes above the top folder, where nothing is.\n"},
           {"show /../x", "The path goes above the top folder, where nothing is.\n"},
           {"show \"\"", "A name is needed.\n"},
           {"folder a:b", "A name can't hold the character :\n"},
           {"folder \" a\"", "A name can't start or end with a space.\n"},
           {"folder -x", "A name can't start with a dash.\n"},
           {"folder con", "\"con\" is the name of a device on DOS machines. Choose another.\n"}}) {
    INFO(typed);
    CHECK(mill.answer(typed) == told);
  }
}

namespace {

Terminal::Setup station(std::string_view style, print::Charset charset, bool capitals = false) {
  Terminal::Setup setup;
  setup.names = fs::find_name_style(style).value();
  setup.screen.charset = charset;
  setup.screen.capitals = capitals;
  return setup;
}

}  // namespace

TEST_CASE("names: a screen shows only what it has, and what it shows can be typed") {
  Mill mill(station("long", print::Charset::ascii));
  mill.save("/members/robin/caf\u00e9.txt", "tea");
  mill.save("/members/robin/cafe.txt", "coffee");
  mill.save("/members/robin/\u6c34\u8eca", "water wheel");
  std::string list = mill.answer("list");
  CHECK(list.find("cafe.txt    ") != std::string::npos);
  CHECK(list.find("CAF_~1.TXT") != std::string::npos);
  CHECK(list.find("__~1") != std::string::npos);
  CHECK(list.find('?') == std::string::npos);
  CHECK(mill.answer("show CAF_~1.TXT") == "tea\n");
  CHECK(mill.answer("show caf=e9=.txt") == "tea\n");
  CHECK(mill.answer("show cafe.txt") == "coffee\n");
  CHECK(mill.answer("show =6C34==8ECA=") == "water wheel\n");
  CHECK(mill.answer("show caf=EA=.txt") == "There is no /members/robin/cafe.txt.\n");
  const std::string info = mill.answer("info CAF_~1.TXT");
  CHECK(info.find("name     CAF_~1.TXT\n") != std::string::npos);
  CHECK(info.find("spelled  caf=E9=.txt\n") != std::string::npos);
  // A new name with letters that the keyboard lacks.
  CHECK(mill.answer("rename cafe.txt =2116=.txt") == "cafe.txt is now _~1.TXT.\n");
  CHECK(mill.read("/members/robin/\u2116.txt") == "coffee");
  CHECK(mill.answer("show a=2F=b") == "A name can't hold the character /\n");
  CHECK(mill.answer("remove CAF=E9=.TXT") ==
        "CAF_~1.TXT is in the bin; restore CAF_~1.TXT brings it back.\n");
  CHECK(mill.answer("bin").find("caf=E9=.txt") != std::string::npos);
  CHECK(mill.answer("restore caf=E9=.txt") == "CAF_~1.TXT is back.\n");
}

TEST_CASE("names: capitals only, in a national set without brackets and tilde") {
  Mill mill(station("long", print::Charset::iso646_de, true));
  mill.save("/members/robin/Letter.txt", "Dear Wren");
  mill.save("/members/robin/caf\u00e9.txt", "tea");
  mill.save("/members/robin/m\u00fchle", "mill");
  const std::string list = mill.answer("list");
  CHECK(list.find("LETTER.TXT") != std::string::npos);
  CHECK(list.find("M]HLE") != std::string::npos);  // DIN 66003 has U with two dots there
  const auto at = list.find("CAF+");
  REQUIRE(at != std::string::npos);
  const std::string shown = list.substr(at, list.find(' ', at) - at);
  CHECK(mill.answer("show " + shown) == "TEA\n");
  CHECK(mill.answer("SHOW CAF=E9=.TXT") == "TEA\n");
  CHECK(mill.answer("SHOW LETTER.TXT") == "DEAR WREN\n");
  CHECK(mill.answer("SHOW M]HLE") == "MILL\n");
}

TEST_CASE("names: a style for the system that the station has") {
  Mill mill;
  mill.save("/members/robin/Letter to the bank.doc", "Dear bank");
  mill.save("/members/robin/tide.txt", "ebb");
  TestVolume::done(
      mill.store.files().make_folder(mill.robin, TestVolume::at("/members/robin/essays")));
  mill.save("/members/robin/essays/a.b", "dots");
  CHECK(mill.answer("names").find("long      systems that take any name as it is (as it is now)") !=
        std::string::npos);
  CHECK(mill.answer("names nine") ==
        "There is no name style \"nine\". There are long, portable, dos, micro10, micro7.\n");
  CHECK(mill.types("names dos\r").ends_with("\\MEMBERS\\ROBIN> "));
  CHECK(mill.answer("list").find("LETTER~1.DOC") != std::string::npos);
  CHECK(mill.answer("show \\members\\robin\\letter~1.doc") == "Dear bank\n");
  CHECK(mill.answer("copy TIDE.TXT ESSAYS") == "TIDE.TXT is copied to ESSAYS\\TIDE.TXT.\n");
  CHECK(mill.types("names micro10\r").ends_with(".members.robin> "));
  CHECK(mill.answer("list").find("tide!txt") != std::string::npos);
  CHECK(mill.answer("show tide!txt") == "ebb\n");
  CHECK(mill.answer("show essays.tide!txt") == "ebb\n");
  CHECK(mill.answer("show .members.robin.essays.a!b") == "dots\n");
  CHECK(mill.answer("show /members/robin/tide.txt") == "ebb\n");  // a whole name that is there
  CHECK(mill.answer("list .programs") == "There is nothing in .programs.\n");
  CHECK(mill.types("go ..\r").ends_with(".members> "));
  CHECK(mill.types("go .\r").ends_with(".members> "));
  CHECK(mill.types("go robin.essays\r").ends_with(".members.robin.essays> "));
  CHECK(mill.types("go ../..\r").ends_with(".members> "));
  CHECK(mill.types("names micro7\r").ends_with(".MEMBERS> "));
  CHECK(mill.types("go\r").ends_with(".MEMBERS.ROBIN> "));
  CHECK(mill.answer("rename tide.txt ebb!txt").ends_with(" is now EBB!TXT.\n"));
  CHECK(mill.read("/members/robin/ebb.txt") == "ebb");
}

TEST_CASE("space: told right after the save that comes near the limit, and once") {
  Mill mill;
  mill.limit(1000, 2000);
  mill.save("/members/robin/a", std::string(795, 'x'));
  CHECK(mill.answer("write b") == "Type your text. A full stop alone on a line ends it.\n");
  CHECK(mill.types("hello\r.\r").find("Your space is nearly full.") != std::string::npos);
  CHECK(mill.answer("who") == "robin is here.\n");
  CHECK(mill.answer("copy a c").find("You have more than your limit.") != std::string::npos);
  CHECK(mill.answer("who") == "robin is here.\n");
  CHECK(mill.answer("remove c").find("limit") == std::string::npos);
  CHECK(mill.answer("copy a c").find("You have more than your limit.") != std::string::npos);
}

TEST_CASE("space: no more is shown as free than the station's system can count") {
  Mill mill(station("micro7", print::Charset::ascii));
  mill.limit(0, 0);
  CHECK(mill.answer("space").find("There is room for 64.0K more.") != std::string::npos);
  static_cast<void>(mill.answer("names micro10"));
  CHECK(mill.answer("space").find("There is room for 16.0M more.") != std::string::npos);
  mill.limit(0, 5000);
  CHECK(mill.answer("space").find("There is room for 4.9K more.") != std::string::npos);
}
