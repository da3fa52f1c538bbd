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
