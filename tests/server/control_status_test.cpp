// Status, who is there, notices, the journal and the check by control methods.
#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>

#include "tests/support/test_control.h"

using namespace stationer;
using test::TestControl;
namespace json = boost::json;
using fs::Code;

TEST_CASE("the status says what there is, with a service and without") {
  TestControl control;
  control.store().add("robin");
  const auto status = control.done("status");
  CHECK(status.at("version") == STATIONER_VERSION);
  CHECK(status.at("name") == "Test room");
  CHECK(status.at("directory") == json::value(control.store().path()));
  CHECK(status.at("serving") == true);
  CHECK(status.at("since") == "2027-01-15T08:00:00.000Z");
  CHECK(status.at("doors").as_array().size() == 1);
  CHECK(status.at("doors").at(0).at("name") == "terminal");
  CHECK(status.at("doors").at(0).at("port") == 8023);
  CHECK(status.at("sessions") == 0);
  CHECK(status.at("accounts") == 1);
  CHECK(status.at("nodes").as_int64() ==
        static_cast<std::int64_t>(control.store().volume->nodes()));
  CHECK(status.at("free_bytes").as_int64() > 0);
  CHECK(status.at("troubles").as_array().empty());
  CHECK(status.at("jobs").at("waiting") == 0);

  TestControl alone("", false);
  const auto quiet = alone.done("status");
  CHECK(quiet.at("serving") == false);
  CHECK(quiet.at("since").is_null());
  CHECK(quiet.at("doors").as_array().empty());
  CHECK(alone.listed("session.list", "name") == "");
}

TEST_CASE("jobs and printouts are counted in the status") {
  TestControl control("[queue.paper]\npolicy = \"owner\"\n");
  const auto receive = [&](const std::string& bytes) {
    auto job = control.room.spool->receive("", "A letter", fs::no_account, "", "test");
    REQUIRE(job);
    REQUIRE(job->write(bytes));
    auto number = job->finish();
    REQUIRE(number);
    return *number;
  };
  receive("%!PS");  // refused
  receive("one");
  const auto second = receive("two");
  control.done("job.release", {{"job", second}});
  auto status = control.done("status");
  CHECK(status.at("jobs").at("refused") == 1);
  CHECK(status.at("jobs").at("held") == 1);
  CHECK(status.at("jobs").at("waiting") == 1);
  control.room.print_all();
  status = control.done("status");
  CHECK(status.at("jobs").at("waiting") == 0);
  CHECK(status.at("printouts") == 1);
  CHECK(status.at("unclaimed") == 1);
}

TEST_CASE("who is there is listed") {
  TestControl control;
  control.store().add("robin");
  server::Session here(*control.room.room, "terminal", "10.0.0.7");
  server::Session guest(*control.room.room, "lpd", "10.0.0.8");
  REQUIRE(control.room.result(here.sign_in("robin", "mill-race-robin")));
  CHECK(control.listed("session.list", "name") == "robin guest");
  CHECK(control.listed("session.list", "door") == "terminal lpd");
  CHECK(control.listed("session.list", "address") == "10.0.0.7 10.0.0.8");
  CHECK(control.listed("session.list", "role") == "member null");
  CHECK(control.done("status").at("sessions") == 2);
}

TEST_CASE("notices reach those they are for, and those who are there hear of it") {
  TestControl control;
  const fs::Caller robin = control.store().add("robin");
  const fs::Caller wren = control.store().add("wren");
  control.store().add("sorrel", fs::Role::leader);
  control.done("class.add", {{"name", "evening"}});
  control.done("class.join", {{"name", "evening"}, {"account", "robin"}});
  control.done("class.join", {{"name", "evening"}, {"account", "sorrel"}, {"leader", true}});
  server::Session here(*control.room.room, "terminal", "10.0.0.7");
  REQUIRE(control.room.result(here.sign_in("robin", "mill-race-robin")));

  control.done("notice.send", {{"to", "Robin"}, {"text", "We close at nine."}});
  CHECK(here.take_told().size() == 1);
  control.done("notice.send", {{"to", "@Evening"}, {"text", "Bring your listings."}});
  CHECK(here.take_told().size() == 1);
  control.done("notice.send", {{"to", "@all"}, {"text", "There is cake."}});
  CHECK(here.take_told().size() == 1);
  control.done("notice.send", {{"to", "wren"}, {"text", "Not for you, robin."}});
  CHECK(here.take_told().empty());

  const auto notices = control.store().desk().notices(robin);
  REQUIRE(notices.size() == 3);
  CHECK(notices[0].from == "the keeper");
  CHECK(notices[0].text == "We close at nine.");
  CHECK(control.store().desk().notices(wren).size() == 2);

  CHECK(control.refused("notice.send", {{"to", "bram"}, {"text", "x"}}) == Code::not_found);
  CHECK(control.refused("notice.send", {{"to", "@morning"}, {"text", "x"}}) == Code::not_found);
  CHECK(control.refused("notice.send", {{"to", "robin"}, {"text", ""}}) == Code::bad_input);
  CHECK(control.refused("notice.send", {{"to", "robin"}, {"text", std::string(241, 'x')}}) ==
        Code::bad_input);
  CHECK(control.refused("notice.send", {{"to", "robin"}}) == Code::bad_input);
  CHECK(here.take_told().empty());
}

TEST_CASE("invariant 9: the journal has what was done, by whom and from where") {
  TestControl control;
  control.client.emplace(control.context, server::keeper_with_uid(0));
  control.done("account.add", {{"name", "robin"}});
  control.done("account.change", {{"name", "robin"}, {"role", "leader"}});
  control.done("account.password", {{"name", "robin"}});
  const auto entries = control.done("journal.list").at("items").as_array();
  REQUIRE(entries.size() == 3);
  CHECK(entries[0].at("what") == "password set");
  CHECK(entries[1].at("what") == "role changed");
  CHECK(entries[1].at("detail") == "member to leader");
  CHECK(entries[2].at("what") == "account added");
  for (const auto& entry : entries) {
    CHECK(entry.at("who") == "the keeper");
    CHECK(entry.at("where") == "the box, user root");
    CHECK(entry.at("subject") == "robin");
  }
  CHECK(control.done("journal.list", {{"most", 2}}).at("items").as_array().size() == 2);
  CHECK(control.listed("journal.list", "what", {{"who", "robin"}}) == "");
  CHECK(control.listed("journal.list", "what", {{"about", "nobody"}}) == "");
  CHECK(control.refused("journal.list", {{"most", 10'001}}) == Code::bad_input);
  CHECK(control.refused("journal.list", {{"since", "soon"}}) == Code::bad_input);
  CHECK(control.listed("journal.list", "what", {{"until", "2027-01-15T08:00:00.000Z"}}) == "");
  CHECK(control.done("journal.list", {{"since", "2027-01-15T08:00:00Z"}, {"until", "2199-01-01"}})
            .at("items")
            .as_array()
            .size() == entries.size());
  const auto report = control.done("journal.verify");
  CHECK(report.at("whole") == true);
  CHECK(report.at("hash") == entries.front().at("hash"));
}

TEST_CASE("a long journal comes in parts that say everything once") {
  TestControl control;
  const int many = 3000;
  for (int i = 0; i < many; ++i) {
    control.store().desk().note(control.store().keeper, "tested", std::to_string(i),
                                std::string(100, 'd'));
  }
  json::object params{{"most", 10'000}};
  int expected = many;
  int parts = 0;
  for (bool more = true; more; ++parts) {
    const auto part = control.done("journal.list", params);
    for (const auto& entry : part.at("items").as_array()) {
      REQUIRE(entry.at("subject") == json::value(std::to_string(--expected)));
    }
    more = part.contains("next");
    if (more) params["from"] = part.at("next");
  }
  CHECK(expected == 0);
  CHECK(parts > 1);
}

TEST_CASE("a check is started, followed and read, by whoever asks") {
  TestControl control;
  control.put("/public/a", "Dear all");
  REQUIRE(control.store().volume->drain());
  CHECK(control.refused("check.show") == Code::not_found);
  control.room.loop.holds_work = true;
  CHECK(control.done("check.start").at("started") == true);
  CHECK(control.done("check.start").at("started") == false);
  CHECK(control.done("check.show").at("over") == false);
  REQUIRE(control.room.loop.do_work());
  auto report = control.done("check.show");
  CHECK(report.at("over") == true);
  CHECK(report.at("files") == 1);
  CHECK(report.at("bytes") == 8);
  CHECK(report.at("findings") == 0);

  // Another client sees it too, and finds what went wrong since by another check.
  server::ControlClient other(control.context, fs::keeper_at_the_box());
  std::ofstream(control.store().path() + "/files/public/a") << "Dear nobody";
  std::ofstream(control.store().path() + "/files/public/stray") << "?";
  CHECK(control.done("check.start").at("started") == true);
  REQUIRE(control.room.loop.do_work());
  CHECK(control.listed("check.show", "kind") == "changed stray");
  CHECK(control.listed("check.show", "path") == "files/public/a files/public/stray");
  CHECK(control.done("check.show").at("findings") == 2);
  std::string answer;
  other.call(server::jsonrpc_request(1, "check.show", json::object()),
             [&](std::string given) { answer = std::move(given); });
  CHECK(server::jsonrpc_result(answer, 1).value().at("findings") == 2);
}

TEST_CASE("a check that can't be made says why, and another can be made") {
  TestControl control;
  control.store().failure->calls = 0;
  control.store().failure->stay_dead = true;
  control.store().failure->fail_at = 1;
  control.done("check.start");
  CHECK(control.refused("check.show") == Code::io);
  control.store().failure->fail_at = 0;
  control.done("check.start");
  CHECK(control.done("check.show").at("findings") == 0);
}

TEST_CASE("adoption is started, and looked at until it is over") {
  TestControl control;
  REQUIRE(control.store().volume->drain());
  CHECK(control.refused("adopt.show") == Code::not_found);
  CHECK(control.refused("adopt.start", {{"everything", true}}) == Code::bad_input);
  std::ofstream(control.store().path() + "/files/public/new") << "put in";
  std::ofstream(control.store().path() + "/files/public/x?") << "no name";
  control.room.loop.holds_work = true;
  CHECK(control.done("adopt.start").at("started") == true);
  CHECK(control.done("adopt.start").at("started") == false);
  CHECK(control.done("adopt.show").at("over") == false);
  REQUIRE(control.room.loop.do_work());
  const auto report = control.done("adopt.show");
  CHECK(report.at("over") == true);
  CHECK(report.at("taken_in") == 1);
  CHECK(report.at("left_alone") == 1);
  CHECK(report.at("vanished") == 0);
  CHECK(report.at("waiting") == false);
  CHECK(control.listed("adopt.show", "path") == "files/public/new files/public/x?");
  CHECK(control.listed("adopt.show", "what") == "taken in left alone");
}
