#include "fs/desk.h"

#include <catch2/catch.hpp>

#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::TestVolume;

TEST_CASE("notices reach a person, a class or everybody, from those who may send them") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const Caller robin = room.add("robin", Role::member, "tuesday");
  const Caller wren = room.add("wren", Role::member, "tuesday");
  const Caller sorrel = room.add("sorrel", Role::leader, "tuesday");
  const Caller guest{no_account, false, "test"};
  TestVolume::done(room.desk().send_notice(robin, "WREN", "Have you seen the disc?"));
  const auto notices = room.desk().notices(wren);
  REQUIRE(notices.size() == 1);
  CHECK(notices[0].from == "robin");
  CHECK(notices[0].text == "Have you seen the disc?");
  CHECK(room.desk().notices(robin).empty());
  CHECK(TestVolume::refused(room.desk().send_notice(robin, "@tuesday", "x")) == Code::denied);
  CHECK(TestVolume::refused(room.desk().send_notice(sorrel, "@all", "x")) == Code::denied);
  CHECK(TestVolume::refused(room.desk().send_notice(guest, "wren", "x")) == Code::denied);
  CHECK(TestVolume::refused(room.desk().send_notice(robin, "nobody", "x")) == Code::not_found);
  CHECK(TestVolume::refused(room.desk().send_notice(robin, "wren", "")) == Code::bad_input);
  CHECK(TestVolume::refused(room.desk().send_notice(robin, "wren", "a\x1b[2J")) == Code::bad_input);
  CHECK(TestVolume::refused(room.desk().send_notice(robin, "wren", std::string(241, 'x'))) ==
        Code::bad_input);
  TestVolume::done(room.desk().send_notice(sorrel, "@tuesday", "Ten minutes left"));
  CHECK(room.desk().notices(robin).size() == 1);
  CHECK(room.desk().notices(wren).size() == 2);
  TestVolume::done(room.desk().drop_notices(robin, {notices[0].id}));  // not robin's to drop
  CHECK(room.desk().notices(wren).size() == 2);
  TestVolume::done(room.desk().drop_notices(wren, {notices[0].id}));
  CHECK(room.desk().notices(wren).size() == 1);
  room.reopen();
  CHECK(room.desk().notices(wren).size() == 1);
}

TEST_CASE("one person's pigeon-hole is bounded, and a full one does not stop the others' notice") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const Caller wren = room.add("wren");
  for (std::size_t i = 0; i < Desk::most_notices; ++i) {
    TestVolume::done(room.desk().send_notice(robin, "wren", "again"));
  }
  CHECK(TestVolume::refused(room.desk().send_notice(robin, "wren", "once more")) ==
        Code::over_quota);
  TestVolume::done(room.desk().send_notice(room.keeper, "@all", "closing soon"));
  CHECK(room.desk().notices(robin).size() == 1);
}

TEST_CASE("printouts lie in their owner's tray, and the unclaimed with the managers") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const Caller robin = room.add("robin", Role::member, "tuesday");
  const Caller wren = room.add("wren", Role::member, "tuesday");
  const Caller sorrel = room.add("sorrel", Role::leader, "tuesday");
  const auto printout = [](std::uint32_t job, AccountId owner) {
    Printout out;
    out.job = job;
    out.owner = owner;
    out.queue = "paper";
    out.title = "a listing";
    out.pages = 2;
    out.path = "printouts/" + std::to_string(job) + ".pdf";
    return out;
  };
  TestVolume::done(room.desk().add_printouts({printout(1, robin.account)}));
  TestVolume::done(room.desk().add_printouts({printout(1, wren.account)}));  // already there
  TestVolume::done(room.desk().add_printouts({printout(2, no_account)}));
  TestVolume::done(room.desk().add_printouts({printout(3, AccountId{999})}));  // of nobody we know
  CHECK(room.desk().printouts(robin, false).size() == 1);
  CHECK(room.desk().printouts(wren, true).empty());
  CHECK(room.desk().printouts(sorrel, true).size() == 1);
  CHECK(room.desk().printouts(room.keeper, true).size() == 3);
  CHECK(room.desk().printout(wren, 1).error().code == Code::not_found);
  CHECK(room.desk().printout(robin, 1)->title == "a listing");
  CHECK(room.desk().last_job() == 3);
  CHECK(TestVolume::refused(room.desk().give_printout(robin, 2, "robin")) == Code::denied);
  TestVolume::done(room.desk().give_printout(room.keeper, 2, "wren"));
  CHECK(room.desk().printouts(wren, false).front().job == 2);
  TestVolume::done(room.desk().mark_seen(wren, {1, 2, 77}));
  CHECK(room.desk().printout(wren, 2)->seen);
  CHECK_FALSE(room.desk().printout(robin, 1)->seen);
  CHECK(TestVolume::refused(room.desk().discard_printout(wren, 1)) == Code::not_found);
  TestVolume::done(room.desk().discard_printout(robin, 1));
  CHECK(room.desk().printouts(robin, false).empty());
  TestVolume::done(room.desk().discard_printout(room.keeper, 3));
  room.reopen();
  CHECK(room.desk().last_job() == 3);  // no other job gets its number
  // The PDFs of this test were never there, which is what the check says.
  CHECK(room.findings().find("missing printouts/2.pdf") != std::string::npos);
}

TEST_CASE("an unclaimed printout is claimed once, by somebody who is signed in") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const Caller robin = room.add("robin", Role::member, "tuesday");
  const Caller sorrel = room.add("sorrel", Role::leader);
  const Caller leads = room.add("bram", Role::leader);
  TestVolume::done(room.people().join(room.keeper, "tuesday", "bram", true));
  Printout printout;
  printout.job = 1;
  printout.path = "printouts/1.pdf";
  printout.pages = 3;
  printout.queue = "paper";
  printout.printed = *room.now;
  Printout second = printout;
  second.job = 2;
  TestVolume::done(room.desk().add_printouts({printout, second}));
  CHECK(room.desk().unclaimed(robin).error().code == Code::denied);
  CHECK(room.desk().unclaimed({}).error().code == Code::denied);
  for (const Caller& who : {sorrel, leads, room.keeper}) {
    CHECK(room.desk().unclaimed(who)->size() == 2);
  }
  CHECK(TestVolume::refused(room.desk().claim_printout({}, 1)) == Code::denied);
  CHECK(TestVolume::refused(room.desk().claim_printout(robin, 9)) == Code::not_found);
  TestVolume::done(room.desk().claim_printout(robin, 1));
  CHECK(TestVolume::refused(room.desk().claim_printout(sorrel, 1)) == Code::not_found);
  CHECK(room.desk().printouts(robin, false).size() == 1);
  CHECK(room.desk().unclaimed(sorrel)->size() == 1);
  JournalQuery query;
  query.what = "printout claimed";
  CHECK(room.desk().journal(query)->size() == 1);

  CHECK(room.desk().pages_printed(robin.account, "paper", *room.now) == 3);
  CHECK(room.desk().pages_printed(robin.account, "paper", *room.now + std::chrono::seconds(1)) ==
        0);
  CHECK(room.desk().pages_printed(robin.account, "wide", *room.now) == 0);
  CHECK(room.desk().has_printout(2));
  CHECK_FALSE(room.desk().has_printout(3));
}

TEST_CASE("printouts expire in any number, each with an entry in the journal") {
  TestVolume room;
  std::vector<Printout> printouts;
  for (std::uint32_t job = 1; job <= 250; ++job) {
    Printout printout;
    printout.job = job;
    printout.path = "printouts/" + std::to_string(job) + ".pdf";
    printout.printed = *room.now + std::chrono::seconds(job);
    printouts.push_back(printout);
  }
  TestVolume::done(room.desk().add_printouts(printouts));
  CHECK(*room.desk().retire_printouts(*room.now) == 0);
  CHECK(*room.desk().retire_printouts(*room.now + std::chrono::seconds(241)) == 240);
  CHECK(room.desk().printouts(room.keeper, true).size() == 10);
  JournalQuery query;
  query.what = "printout expired";
  query.most = 1000;
  CHECK(room.desk().journal(query)->size() == 240);
}
