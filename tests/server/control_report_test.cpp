// An evening's figures by control methods, and what a class printed.
#include <catch2/catch.hpp>

#include "server/control/views.h"
#include "server/session.h"
#include "tests/support/test_control.h"

using namespace stationer;
using fs::Code;
using test::TestControl;
using test::TestVolume;
namespace json = boost::json;

namespace {

// Robin and wren of the class of evening, sorrel its leader.
struct Evening : TestControl {
  Evening() : TestControl("[print]\nqueue = \"paper\"\n[queue.paper]\n") {
    done("class.add", {{"name", "evening"}});
    store().add("robin", fs::Role::member, "evening");
    store().add("wren", fs::Role::member, "evening");
    store().add("sorrel", fs::Role::leader, "evening");
  }

  void visits(const std::string& name) {
    server::Session session(*room.room, "terminal", "10.0.0.7");
    const auto signed_in = room.result(session.sign_in(name, "mill-race-" + name));
    if (!signed_in) FAIL(signed_in.error().message);
    session.sign_out();
  }

  void prints(const std::string& name, std::string_view bytes) {
    server::Session session(*room.room, "raw", "10.0.0.7");
    const auto owner = name.empty() ? fs::no_account : store().caller(name).account;
    auto job = session.start_job("paper", {"a job", owner, name});
    REQUIRE(job);
    REQUIRE(room.result(session.write(*job, std::string(bytes))));
    REQUIRE(room.result(session.finish(*job)));
    room.print_all();
  }

  void saves(const std::string& name, const std::string& path, std::string_view bytes) {
    REQUIRE(store().save(store().caller(name), path, bytes, true));
  }

  json::object of_class(const json::object& report, std::string_view name) {
    for (const auto& each : report.at("classes").as_array()) {
      if (each.as_object().at("class").as_string() == name) return each.as_object();
    }
    FAIL("no class " << name);
    return {};
  }
};

}  // namespace

TEST_CASE("an evening's report has what happened in its span, and nothing else") {
  Evening evening;
  evening.visits("robin");
  evening.prints("robin", "before\n");
  evening.saves("robin", "/members/robin/before.txt", "before");
  const auto since = server::time_text(*evening.store().now += std::chrono::hours(1));
  evening.visits("robin");
  evening.visits("robin");
  evening.visits("sorrel");
  {
    server::Session guess(*evening.room.room, "terminal", "10.0.0.9");
    CHECK_FALSE(evening.room.result(guess.sign_in("wren", "what was it again")));
  }
  evening.saves("robin", "/members/robin/letter.txt", "Dear all");
  evening.saves("robin", "/members/robin/letter.txt", "Dear all of you");
  evening.saves("wren", "/public/note.txt", "high water");
  evening.saves("wren", "/classes/evening/hand-in/essay.txt", "It was a dark night.");
  evening.prints("wren", "one\ftwo\f");
  evening.prints("", "whose is it\n");
  const auto until = server::time_text(*evening.store().now += std::chrono::hours(1));
  evening.visits("wren");
  evening.prints("wren", "after\n");
  evening.saves("wren", "/members/wren/after.txt", "after");

  const auto report = evening.done("report.evening", {{"since", since}, {"until", until}});
  CHECK(report.at("since").as_string() == since);
  const auto here = evening.of_class(report, "evening");
  CHECK(here.at("was_here") == json::array{"robin", "sorrel"});
  CHECK(here.at("visits") == 3);
  CHECK(here.at("files") == 2);
  CHECK(here.at("bytes") == 15 + 10);
  CHECK(here.at("printouts") == 1);
  CHECK(here.at("pages") == 2);
  CHECK(here.at("handed_in") == 1);
  CHECK(here.at("late") == 0);
  CHECK(evening.of_class(report, "").at("pages") == 1);
  CHECK(report.at("all").at("pages") == 3);
  CHECK(report.at("unclaimed_printouts") == 1);
  CHECK(report.at("refused_sign_ins") == json::array{{{"name", "wren"}, {"count", 1}}});
  CHECK(report.at("refused_jobs").as_array().empty());
  CHECK(evening.refused("report.evening", {{"since", "yesterday"}}) == Code::bad_input);
}

TEST_CASE("an evening without a span is today, until now") {
  Evening evening;
  evening.visits("robin");
  *evening.store().now += std::chrono::seconds(1);
  const auto report = evening.done("report.evening");
  CHECK(report.at("since").as_string() == "2027-01-15T00:00:00.000Z");
  CHECK(report.at("all").at("visits") == 1);
}

TEST_CASE("what a class printed is told member by member, also of those who printed nothing") {
  Evening evening;
  evening.prints("robin", "one\ftwo\f");
  evening.prints("robin", "three\n");
  evening.prints("", "whose is it\n");
  evening.prints("sorrel", "not a member\n");
  CHECK(evening.listed("class.printed", "name", {{"name", "Evening"}}) == "robin wren");
  CHECK(evening.listed("class.printed", "printouts", {{"name", "evening"}}) == "2 0");
  CHECK(evening.listed("class.printed", "pages", {{"name", "evening"}}) == "3 0");
  CHECK(evening.listed("class.printed", "pages",
                       {{"name", "evening"}, {"since", "2027-01-15"}, {"until", "2027-01-15"}}) ==
        "3 0");
  CHECK(evening.listed("class.printed", "pages", {{"name", "evening"}, {"since", "2027-01-16"}}) ==
        "0 0");
  CHECK(evening.listed("class.printed", "pages", {{"name", "evening"}, {"until", "2027-01-14"}}) ==
        "0 0");
  CHECK(evening.refused("class.printed", {{"name", "nobody"}}) == Code::not_found);
  CHECK(evening.refused("class.printed", {{"name", "evening"}, {"since", "soon"}}) ==
        Code::bad_input);
}
