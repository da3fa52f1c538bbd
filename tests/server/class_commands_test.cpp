// A class at work: eyes front, files for everybody, and longer visits.
#include <catch2/catch.hpp>

#include "server/freeze.h"
#include "tests/support/mill.h"

using namespace stationer;
using test::Mill;
using test::Visit;

namespace {

// Sorrel leads; robin and wren sit at machines of their own.
struct Lesson : Mill {
  Visit robins;
  Visit wrens;

  Lesson() : Mill({}, "sorrel"), robins(*this, {}, "10.0.0.8"), wrens(*this, {}, "10.0.0.9") {
    robins.sign_in("robin");
    wrens.sign_in("wren");
  }
};

constexpr const char* eyes_front =
    "Eyes front: sorrel has stopped saving and printing in tuesday for now.\n";

}  // namespace

TEST_CASE("freeze: a class can neither save nor print until it is thawed") {
  Lesson lesson;
  lesson.save("/members/robin/letter.txt", "Dear Wren\n");
  CHECK(lesson.answer("freeze tuesday") ==
        "tuesday can't save and print for 60 minutes. thaw tuesday ends that.\n");
  lesson.robins.shell->show_news();
  lesson.robins.take();
  CHECK(lesson.robins.screen.find("Eyes front: no saving and printing in tuesday for now.") !=
        std::string::npos);
  CHECK(lesson.robins.answer("write other.txt") == eyes_front);
  CHECK(lesson.robins.answer("copy letter.txt other.txt") == eyes_front);
  CHECK(lesson.robins.answer("print letter.txt") == eyes_front);
  CHECK(lesson.robins.answer("show letter.txt") == "Dear Wren\n");
  // The leader is not stopped.
  lesson.types("write plan.txt\r");
  CHECK(lesson.types("look up\r.\r").find("1 line saved") != std::string::npos);
  CHECK(lesson.answer("thaw tuesday") == "tuesday may save and print again.\n");
  CHECK(lesson.answer("thaw tuesday") == "tuesday is not frozen.\n");
  CHECK(lesson.robins.answer("copy letter.txt other.txt").find("other.txt") != std::string::npos);
  CHECK(lesson.read("/members/robin/other.txt") == "Dear Wren\n");
}

TEST_CASE("freeze: what is being typed is not lost, and is saved after it") {
  Lesson lesson;
  lesson.robins.types("write letter.txt\r");
  lesson.robins.types("Dear Wren\r");
  lesson.answer("freeze tuesday");
  CHECK(lesson.robins.types(".\r").find("Your text is not lost. Enter tries again: ") !=
        std::string::npos);
  CHECK(lesson.robins.types("\r").find("Eyes front") != std::string::npos);
  lesson.answer("thaw tuesday");
  CHECK(lesson.robins.types("\r").find("1 line saved in letter.txt.") != std::string::npos);
  CHECK(lesson.read("/members/robin/letter.txt") == "Dear Wren\n");
}

TEST_CASE("freeze: for a time, by its leaders only, and of no other class") {
  Lesson lesson;
  CHECK(lesson.robins.answer("freeze tuesday") == "You do not lead tuesday.\n");
  CHECK(lesson.answer("freeze friday") == "There is no class friday.\n");
  CHECK(lesson.answer("freeze tuesday 90") == "Minutes are a number from 1 to 60, not 90.\n");
  CHECK(lesson.answer("freeze tuesday soon") == "Minutes are a number from 1 to 60, not soon.\n");
  CHECK(lesson.answer("freeze tuesday 1") ==
        "tuesday can't save and print for 1 minute. thaw tuesday ends that.\n");
  Visit teasels(lesson, {}, "10.0.0.10");
  teasels.sign_in("teasel");
  teasels.types("write note.txt\r");
  CHECK(teasels.types("free\r.\r").find("saved") != std::string::npos);
  lesson.loop.pass(std::chrono::seconds(61));
  lesson.robins.types("write note.txt\r");
  CHECK(lesson.robins.types("free again\r.\r").find("saved") != std::string::npos);
}

TEST_CASE("freeze: print jobs that come by other doors are refused too") {
  Lesson lesson;
  lesson.answer("freeze tuesday");
  server::Session door(*lesson.room, "lpd", "10.0.0.20");
  const auto job = door.start_job("paper", {"a job", lesson.robin.account, "robin"});
  REQUIRE_FALSE(job);
  CHECK(job.error().message + "\n" == eyes_front);
}

TEST_CASE("handout: all who are here and looked after get a copy of their own") {
  Lesson lesson;
  lesson.save("/members/sorrel/task.txt", "Count the tides.\n", "sorrel");
  lesson.wrens.types("bye\r");
  lesson.wrens.session.sign_out();
  CHECK(lesson.answer("handout task.txt +tuesday").find("robin") != std::string::npos);
  CHECK(lesson.read("/members/robin/given/task.txt") == "Count the tides.\n");
  CHECK(lesson.read("/members/wren/given/task.txt").find("There is no") != std::string::npos);
  lesson.robins.shell->show_news();
  lesson.robins.take();
  CHECK(lesson.robins.screen.find("sorrel has sent you task.txt: look in /members/robin/given.") !=
        std::string::npos);
  // A second one never takes the place of the first.
  lesson.save("/members/robin/given/task.txt", "worked on", "robin");
  lesson.answer("handout task.txt");
  CHECK(lesson.read("/members/robin/given/task.txt") == "worked on");
  CHECK(lesson.read("/members/robin/given/task-2.txt") == "Count the tides.\n");
  // A person need not be here.
  lesson.answer("handout task.txt wren");
  CHECK(lesson.read("/members/wren/given/task.txt") == "Count the tides.\n");
}

TEST_CASE("handout: only to whom one looks after, and what one may read") {
  Lesson lesson;
  lesson.save("/members/sorrel/task.txt", "Count the tides.\n", "sorrel");
  CHECK(lesson.answer("handout task.txt teasel").find("You do not look after teasel.") !=
        std::string::npos);
  CHECK(lesson.answer("handout task.txt +friday") == "There is no class friday.\n");
  CHECK(lesson.answer("handout nothing.txt").find("nothing.txt") != std::string::npos);
  lesson.save("/members/robin/letter.txt", "Dear Wren\n");
  CHECK(lesson.robins.answer("handout letter.txt +tuesday") == "You do not lead tuesday.\n");
  CHECK(lesson.robins.answer("handout letter.txt wren").find("You do not look after wren.") !=
        std::string::npos);
  CHECK(lesson.read("/members/wren/given/letter.txt").find("There is no") != std::string::npos);
}

TEST_CASE("handout: several files, and those of a folder") {
  Lesson lesson;
  lesson.save("/members/sorrel/one.txt", "one", "sorrel");
  lesson.save("/members/sorrel/two.txt", "two", "sorrel");
  CHECK(lesson.answer("folder set").find("set") != std::string::npos);
  CHECK(lesson.answer("handout set").find("There is no file in") != std::string::npos);
  lesson.save("/members/sorrel/set/three.txt", "three", "sorrel");
  lesson.save("/members/sorrel/set/four.txt", "four", "sorrel");
  lesson.answer("folder set/within");
  lesson.answer("handout one.txt two.txt set +tuesday");
  for (const char* name : {"one", "two", "three", "four"}) {
    for (const char* who : {"robin", "wren"}) {
      CHECK(lesson.read(std::string("/members/") + who + "/given/" + name + ".txt") == name);
    }
  }
  lesson.robins.shell->show_news();
  lesson.robins.take();
  CHECK(lesson.robins.screen.find("sorrel has sent you 4 files: look in /members/robin/given.") !=
        std::string::npos);
  // The last word is somebody only when nothing is called so.
  lesson.save("/members/sorrel/robin", "a bird", "sorrel");
  lesson.answer("handout one.txt robin");
  CHECK(lesson.read("/members/wren/given/robin") == "a bird");
  CHECK(lesson.answer("handout one.txt two.txt wren").find("robin") == std::string::npos);
  CHECK(lesson.read("/members/wren/given/two-2.txt") == "two");
  CHECK(lesson.answer("handout one.txt none.txt +tuesday").find("none.txt") != std::string::npos);
}

TEST_CASE("forgot: a leader gives a member of the class a password that is made up") {
  Lesson lesson;
  const std::string said = lesson.answer("forgot Robin");
  const std::string begins = "The new password of robin is ";
  REQUIRE(said.starts_with(begins));
  const std::string password = said.substr(begins.size(), 10);
  CHECK(password.find_first_not_of("23456789abcdefghjkmnpqrstuvwxyz") == std::string::npos);
  CHECK(lesson.store.people().sign_in("robin", password, "test"));
  lesson.robins.shell->show_news();
  lesson.robins.take();
  CHECK(lesson.robins.screen.find("sorrel has given you a new password.") != std::string::npos);
  // The journal has it, and not the password (invariants 8 and 9).
  const auto entries = lesson.store.desk().journal({.who = "sorrel", .what = "password set"});
  REQUIRE(entries);
  REQUIRE(entries->size() == 1);
  CHECK(entries->front().subject == "robin");
  CHECK(entries->front().detail.empty());
}

TEST_CASE("forgot: for members one looks after, and nobody else") {
  Lesson lesson;
  const auto unchanged = [&](const std::string& name) {
    return lesson.store.people().sign_in(name, "mill-race-" + name, "test").has_value();
  };
  CHECK(lesson.answer("forgot teasel") == "You may not set the password of teasel.\n");
  CHECK(lesson.answer("forgot sorrel") ==
        "Your own password is changed by typing the old one first.\n");
  CHECK(lesson.robins.answer("forgot wren") == "You may not set the password of wren.\n");
  lesson.sit("bram");
  CHECK(lesson.answer("forgot sorrel") ==
        "sorrel is a leader. Whoever keeps this room gives them a new password.\n");
  CHECK(lesson.answer("forgot teasel").starts_with("The new password of teasel is "));
  for (const char* name : {"robin", "wren", "sorrel", "bram"}) CHECK(unchanged(name));
}

TEST_CASE("forgot: a leader who is a member of a class, too, is not given a password there") {
  Lesson lesson;
  lesson.store.add("dipper", fs::Role::leader);
  test::TestVolume::done(
      lesson.store.people().join(lesson.store.keeper, "tuesday", "dipper", false));
  CHECK(lesson.answer("forgot dipper") ==
        "dipper is a leader. Whoever keeps this room gives them a new password.\n");
}

TEST_CASE("forgot: names tried in vain are slowed down") {
  Lesson lesson;
  for (int i = 0; i < 3; ++i) {
    CHECK(lesson.answer("forgot nobody") == "There is no account nobody.\n");
  }
  CHECK(lesson.answer("forgot robin") ==
        "That was wrong too often. Wait 5 seconds, then try again.\n");
  CHECK(lesson.store.people().sign_in("robin", "mill-race-robin", "test"));
  lesson.loop.pass(std::chrono::seconds(6));
  CHECK(lesson.answer("forgot robin").starts_with("The new password of robin is "));
}

TEST_CASE("extend: whoever one looks after may sit idle for longer") {
  Lesson lesson;
  std::chrono::minutes heard{0};
  lesson.robins.session.on_extended = [&](std::chrono::minutes more) { heard = more; };
  CHECK(lesson.answer("extend robin 90") ==
        "robin is not signed off for 90 minutes, typing or not.\n");
  CHECK(heard == std::chrono::minutes(90));
  CHECK(lesson.answer("extend teasel 5") == "You do not look after teasel.\n");
  CHECK(lesson.answer("extend nobody 5") == "There is no account nobody.\n");
  CHECK(lesson.robins.answer("extend wren 5") == "You do not look after wren.\n");
  lesson.wrens.types("bye\r");
  lesson.wrens.session.sign_out();
  CHECK(lesson.answer("extend wren 5") == "wren is not here.\n");
}
