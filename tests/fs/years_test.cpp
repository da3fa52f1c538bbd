#include "fs/years.h"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using namespace stationer::test;

namespace {

using Sentences = std::vector<std::string>;

// Three years: robin and wren in year9, bram in year10, sorrel in year11; teasel leads year9.
struct School : TestVolume {
  School() {
    for (const char* name : {"year9", "year10", "year11"}) {
      done(people().add_class(keeper, name));
    }
    add("robin", Role::member, "year9");
    add("wren", Role::member, "year9");
    add("bram", Role::member, "year10");
    add("sorrel", Role::member, "year11");
    add("teasel", Role::leader, "year9");
  }
  Years& years() { return volume->years(); }

  // Who is in what: "year9: robin wren; year10: …", and who is closed.
  std::string standing() {
    std::string out;
    for (const char* name : {"year9", "year10", "year11"}) {
      out += std::string(name) + ":";
      const ClassView klass = people().class_of(name).value();
      for (const auto& each : klass.members) out += " " + each;
      out += "; ";
    }
    for (const auto& each : people().accounts()) {
      out += each.name + "=" + each.klass + (each.closed ? " closed" : "") + " ";
    }
    return out;
  }
};

const YearPlan whole{{{"year9", "year10"}, {"year10", "year11"}, {"year11", ""}}, {}};

}  // namespace

TEST_CASE("a plan to move up is looked at without changing anything") {
  School school;
  const std::string before = school.standing();
  auto preview = school.years().preview(school.keeper, whole);
  REQUIRE(preview);
  CHECK(preview->obstacles.empty());
  CHECK(preview->sentences ==
        Sentences{"2 people from year9 to year10: robin, wren.", "Still leading year9: teasel.",
                  "1 person from year10 to year11: bram.",
                  "1 person out of year11, and their accounts are closed: sorrel."});
  CHECK(school.standing() == before);
  CHECK(school.years().steps().empty());
}

TEST_CASE("classes move up all at once, and back") {
  School school;
  const std::string before = school.standing();
  TestVolume::done(school.years().apply(school.keeper, whole));
  CHECK(school.standing() ==
        "year9:; year10: robin wren; year11: bram; bram=year11 robin=year10 sorrel= closed "
        "teasel=year9 wren=year10 ");
  school.reopen();
  auto steps = school.years().steps();
  REQUIRE(steps.size() == 1);
  CHECK(steps[0].words == "year9 to year10, year10 to year11, year11 left");
  CHECK(steps[0].people == 4);
  CHECK(steps[0].by == "the keeper");
  CHECK(steps[0].obstacle.empty());

  TestVolume::done(school.years().undo(school.keeper, steps[0].step));
  CHECK(school.standing() == before);
  CHECK(school.years().steps().at(0).obstacle == "It was undone already.");
  CHECK(TestVolume::refused(school.years().undo(school.keeper, 1)) == Code::exists);
  CHECK(TestVolume::refused(school.years().undo(school.keeper, 2)) == Code::not_found);

  JournalQuery query;
  query.what = "moved";
  CHECK(school.desk().journal(query)->size() == 10);  // four people and the step, twice
  CHECK(school.desk().verify_journal()->signs.empty());
}

TEST_CASE("who is back in a class by undoing a step has not left any more") {
  School school;
  TestVolume::done(school.years().apply(school.keeper, whole));
  REQUIRE(school.volume->leavers().leave(school.keeper, "sorrel", *school.now));
  TestVolume::done(school.years().undo(school.keeper, 1));
  const auto sorrel = school.people().account(std::string_view("sorrel")).value();
  CHECK_FALSE(sorrel.closed);
  CHECK_FALSE(sorrel.leaves_after);
  REQUIRE(school.volume->do_what_is_due());
  CHECK(school.files().look(school.keeper, school.at("/members/sorrel")));
}

TEST_CASE("who stays is left as they are") {
  School school;
  YearPlan plan = whole;
  plan.staying = {"Wren"};
  TestVolume::done(school.years().apply(school.keeper, plan));
  CHECK(school.standing().starts_with("year9: wren; year10: robin; "));
}

TEST_CASE("who leaves a class that is not their primary one keeps an open account") {
  School school;
  school.add("crake", Role::member, "year10");
  TestVolume::done(school.people().join(school.keeper, "year11", "crake", false));
  YearPlan plan{{{"year11", ""}}, {}};
  auto preview = school.years().preview(school.keeper, plan);
  CHECK(preview->sentences.front() ==
        "1 person out of year11, and no account is closed for that: crake.");
  TestVolume::done(school.years().apply(school.keeper, plan));
  CHECK_FALSE(school.people().account("crake")->closed);
  CHECK(school.people().account("crake")->klass == "year10");
}

TEST_CASE("what is in the way of moving up is said, and then nothing moves") {
  School school;
  const std::string before = school.standing();
  const auto obstacles = [&](const YearPlan& plan) {
    auto preview = school.years().preview(school.keeper, plan);
    REQUIRE(preview);
    CHECK(TestVolume::refused(school.years().apply(school.keeper, plan)) == Code::bad_input);
    CHECK(school.standing() == before);
    return preview->obstacles;
  };
  CHECK(obstacles({}) == Sentences{"The plan names no class."});
  CHECK(obstacles({{{"year9", "year12"}}, {}}) ==
        Sentences{"There is no class year12. Make it first."});
  CHECK(obstacles({{{"year9", "year9"}}, {}}) == Sentences{"year9 can't move to itself."});
  CHECK(obstacles({{{"year9", "year10"}, {"YEAR9", ""}}, {}}) ==
        Sentences{"The plan names year9 twice."});
  CHECK(obstacles({{{"year9", "year10"}}, {"nobody"}}) == Sentences{"There is no account nobody."});
  CHECK(obstacles({{{"year9", "year10"}}, {"bram"}}) ==
        Sentences{"bram is to stay, but is in none of these classes."});
  TestVolume::done(school.people().join(school.keeper, "year10", "robin", false));
  CHECK(school.years().preview(school.keeper, whole)->obstacles ==
        Sentences{"robin is in year9 and in year10, and both move. Take them out of one of the two "
                  "first."});
}

TEST_CASE("a plan that moves nobody is no step") {
  School school;
  TestVolume::done(school.people().add_class(school.keeper, "empty"));
  const YearPlan plan{{{"empty", "year9"}}, {}};
  CHECK(school.years().preview(school.keeper, plan)->sentences ==
        Sentences{"Nobody moves out of empty."});
  CHECK(TestVolume::refused(school.years().apply(school.keeper, plan)) == Code::bad_input);
}

TEST_CASE("only managers move classes up") {
  School school;
  const Caller leader = school.caller("teasel");
  CHECK_FALSE(school.years().preview(leader, whole));
  CHECK(TestVolume::refused(school.years().apply(leader, whole)) == Code::denied);
  TestVolume::done(school.years().apply(school.keeper, whole));
  CHECK(TestVolume::refused(school.years().undo(leader, 1)) == Code::denied);
}

TEST_CASE("a step is not undone over what has changed since") {
  School school;
  TestVolume::done(school.years().apply(school.keeper, whole));
  const auto refused = [&] {
    const auto words = school.years().steps().front().obstacle;
    auto undone = school.years().undo(school.keeper, 1).wait();
    REQUIRE_FALSE(undone);
    CHECK(undone.error().message == "Step 1 can't be undone: " + words);
    return words;
  };
  auto& people = school.people();
  SECTION("back in the class") {
    TestVolume::done(people.join(school.keeper, "year9", "robin", false));
    CHECK(refused() == "robin is in year9 again.");
  }
  SECTION("out of the new class") {
    TestVolume::done(people.leave(school.keeper, "year10", "robin"));
    CHECK(refused() == "robin has left year10 since, or leads it.");
  }
  SECTION("another primary class") {
    AccountChange change;
    change.klass = "";
    TestVolume::done(people.change_account(school.keeper, "robin", change));
    CHECK(refused() == "The primary class of robin has changed since.");
  }
  SECTION("opened again") {
    AccountChange change;
    change.closed = false;
    TestVolume::done(people.change_account(school.keeper, "sorrel", change));
    CHECK(refused() == "The account sorrel was opened again.");
  }
  SECTION("a class gone") {
    TestVolume::done(people.leave(school.keeper, "year9", "teasel"));
    TestVolume::done(people.remove_class(school.keeper, "year9"));
    CHECK(refused() == "The class that robin was in is not there any more.");
  }
  SECTION("an account gone, and its number another's") {
    TestVolume::done(people.remove_account(school.keeper, "sorrel"));
    CHECK(refused() == "An account that was moved is not there any more.");
  }
  SECTION("other changes do not matter") {
    TestVolume::done(people.set_password(school.keeper, "robin", "new-mill-race"));
    TestVolume::done(school.years().undo(school.keeper, 1));
  }
}

TEST_CASE("the oldest steps are forgotten") {
  School school;
  for (std::size_t n = 0; n < Years::most_steps + 2; ++n) {
    const bool there = n % 2 == 0;
    TestVolume::done(school.years().apply(
        school.keeper, {{{there ? "year9" : "year10", there ? "year10" : "year9"}}, {}}));
  }
  const auto steps = school.years().steps();
  CHECK(steps.size() == Years::most_steps);
  CHECK(steps.back().step == 3);
  school.reopen();
  CHECK(school.years().steps().size() == Years::most_steps);
}

TEST_CASE("after an account's end nobody signs in, and its files stay") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "members/robin/letter", "Dear wren"));
  AccountChange change;
  change.ends = *room.now + std::chrono::hours(1);
  TestVolume::done(room.people().change_account(room.keeper, "robin", change));
  CHECK(room.people().account("robin")->ends == *room.now + std::chrono::hours(1));
  CHECK(room.people().sign_in("robin", "mill-race-robin", "test"));
  *room.now += std::chrono::hours(1);
  auto over = room.people().sign_in("robin", "mill-race-robin", "test");
  REQUIRE_FALSE(over);
  CHECK(over.error().code == Code::denied);
  CHECK(over.error().message ==
        "The time of the account robin is over. Its files are still there: ask whoever keeps this "
        "room.");
  // Who does not know the password learns nothing of it.
  CHECK(room.people().sign_in("robin", "wrong", "test").error().code == Code::wrong_password);
  JournalQuery query;
  query.what = "sign-in refused";
  CHECK(room.desk().journal(query)->back().detail == "the account's time is over");
  CHECK(room.read(room.keeper, "members/robin/letter").value() == "Dear wren");
  room.reopen();
  CHECK_FALSE(room.people().sign_in("robin", "mill-race-robin", "test"));

  change.ends = std::optional<Time>();
  TestVolume::done(room.people().change_account(room.keeper, "robin", change));
  CHECK(room.people().sign_in("robin", "mill-race-robin", "test"));
}
