// Machines that sign on by themselves, and the end of the visitors' day.
#include <catch2/catch.hpp>

#include "fs/local_time.h"
#include "tests/support/mill.h"

using namespace stationer;
using test::Mill;
using test::TestVolume;
using test::Visit;

namespace {

struct OpenDay : Mill {
  OpenDay() : Mill({}, "bram", "[visitors]\naccounts = [\"visitor\", \"sorrel\"]\n") {
    TestVolume::done(
        store.people().add_account(store.keeper, {"visitor", "", fs::Role::member, "", ""}));
  }
  // What sits down at a machine of the open day.
  struct Machine {
    server::Session session;
    server::Terminal terminal;
    server::Shell shell;

    Machine(OpenDay& day, const std::string& account)
        : session(*day.room, "terminal", "10.0.0.30"),
          terminal({}),
          shell(session, terminal, true, account) {
      shell.start();
      day.loop.turn_until([&] { return terminal.waits_for_input(); });
    }
  };
};

}  // namespace

TEST_CASE("visitors: whoever sits down at such a machine is signed on") {
  OpenDay day;
  OpenDay::Machine machine(day, "visitor");
  CHECK(machine.session.name() == "visitor");
  CHECK(machine.session.signed_in());
  CHECK(machine.terminal.take_output().find("Welcome, visitor.") != std::string::npos);
}

TEST_CASE("visitors: nobody comes by rights that take a password") {
  OpenDay day;
  OpenDay::Machine robins(day, "robin");
  CHECK_FALSE(robins.session.signed_in());
  CHECK(robins.terminal.take_output().find("Nobody may sign on as robin without a password.") !=
        std::string::npos);
  OpenDay::Machine leaders(day, "sorrel");
  CHECK_FALSE(leaders.session.signed_in());
  fs::AccountChange closed;
  closed.closed = true;
  TestVolume::done(day.store.people().change_account(day.store.keeper, "visitor", closed));
  OpenDay::Machine machine(day, "visitor");
  CHECK_FALSE(machine.session.signed_in());
}

TEST_CASE("visitors: in the evening what they left is gone for good, and so are they") {
  OpenDay day;
  // 2027-01-15 08:00; the day ends at 22:00 by the clock of the box.
  std::optional<OpenDay::Machine> machine;
  machine.emplace(day, "visitor");
  day.save("/members/visitor/drawing.txt", "a boat", "visitor");
  TestVolume::done(day.store.files().make_folder(day.store.caller("visitor"),
                                                 TestVolume::at("/members/visitor/more")));
  day.save("/members/visitor/more/second.txt", "two boats", "visitor");
  day.save("/members/visitor/more/second.txt", "three boats", "visitor");
  TestVolume::done(day.store.files().set_access(
      day.store.keeper, TestVolume::at("/members/visitor/more/second.txt"), "+k"));
  day.save("/members/visitor/gone.txt", "a mistake", "visitor");
  TestVolume::done(day.store.files().remove(day.store.caller("visitor"),
                                            TestVolume::at("/members/visitor/gone.txt")));
  day.save("/public/poster.txt", "come again", "visitor");
  day.save("/members/robin/letter.txt", "Dear Wren");
  TestVolume::done(day.store.desk().send_notice(day.store.keeper, "visitor", "hello"));
  auto& visitors = day.store.volume->visitors();
  const auto zone = fs::zone_at(day.store.volume->now());

  *day.store.now += std::chrono::hours(13);  // 21:00
  REQUIRE(visitors.tidy(zone));
  day.room->send_home();
  CHECK(machine->session.signed_in());
  CHECK(day.read("/members/visitor/drawing.txt") == "a boat");

  *day.store.now += std::chrono::hours(2);  // 23:00
  day.save("/members/visitor/late.txt", "after hours", "visitor");
  std::string why;
  machine->session.on_sent_home = [&](const std::string& words) { why = words; };
  day.room->send_home();
  CHECK_FALSE(machine->session.signed_in());
  CHECK(why == "The visitors' day is over, and what you left is put away.");
  REQUIRE(visitors.tidy(zone));
  const auto left = day.store.files().list(day.store.keeper, TestVolume::at("/members/visitor"));
  REQUIRE(left);
  REQUIRE(left->size() == 1);
  CHECK(left->front().name == "late.txt");
  CHECK(day.store.files().bin(day.store.caller("visitor")).empty());
  CHECK(day.store.desk().notices(day.store.caller("visitor")).empty());
  // Nobody else's, and nothing that was put elsewhere.
  CHECK(day.read("/public/poster.txt") == "come again");
  CHECK(day.read("/members/robin/letter.txt") == "Dear Wren");
  // It holds after the service was away, and is done once.
  machine.reset();
  day.visit.reset();
  day.room.reset();
  day.spool.reset();
  day.finder.reset();
  day.forwarder.reset();
  day.store.reopen();
  const auto report = day.store.volume->check();
  REQUIRE(report);
  CHECK(report->findings.empty());
}
