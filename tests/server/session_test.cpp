#include "server/session.h"

#include <list>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "tests/support/test_room.h"

using namespace stationer;
using namespace stationer::server;
using namespace std::chrono_literals;
using test::TestRoom;
using test::TestVolume;

namespace {

struct Sessions : TestRoom {
  using TestRoom::TestRoom;

  fs::Status sign_in(Session& session, const std::string& name, const std::string& password) {
    return result(session.sign_in(name, password));
  }
  fs::Status sign_in(Session& session, const std::string& name) {
    return sign_in(session, name, "mill-race-" + name);
  }
  fs::Code refused(const fs::Status& status) {
    REQUIRE_FALSE(status);
    CHECK_FALSE(status.error().message.empty());
    return status.error().code;
  }
  // What the journal has, oldest first: "robin terminal 10.0.0.7: signed in".
  std::vector<std::string> journal() {
    auto entries = store.desk().journal({}).value();
    std::vector<std::string> out;
    for (auto each = entries.rbegin(); each != entries.rend(); ++each) {
      out.push_back(each->who + " " + each->where + ": " + each->what);
    }
    return out;
  }
};

}  // namespace

TEST_CASE("session: a guest until signed in, and again after signing out") {
  Sessions at;
  at.store.add("robin");
  Session session(*at.room, "terminal", "10.0.0.7");
  CHECK_FALSE(session.signed_in());
  CHECK(session.name() == "guest");
  CHECK(session.here().is_top());
  CHECK(session.home().is_top());
  REQUIRE(at.sign_in(session, "ROBIN", "MILL-RACE-ROBIN"));
  CHECK(session.name() == "robin");
  CHECK(session.here().text() == "/members/robin");
  session.sign_out();
  CHECK(session.name() == "guest");
  CHECK(session.here().is_top());
}

TEST_CASE("session: a wrong name is no different from a wrong password") {
  Sessions at;
  at.store.add("robin");
  Session session(*at.room, "terminal", "10.0.0.7");
  const auto wrong_password = at.sign_in(session, "robin", "not this one");
  const auto wrong_name = at.sign_in(session, "nobody", "not this one");
  CHECK(at.refused(wrong_password) == fs::Code::wrong_password);
  CHECK(at.refused(wrong_name) == fs::Code::wrong_password);
  CHECK(wrong_password.error().message == wrong_name.error().message);
  CHECK_FALSE(session.signed_in());
}

TEST_CASE("session: guessing is slowed down before the password is looked at") {
  Sessions at;
  at.store.add("robin");
  Session session(*at.room, "terminal", "10.0.0.7");
  for (int i = 0; i < 3; ++i) at.sign_in(session, "robin", "guess");
  const auto slowed = at.sign_in(session, "robin");
  CHECK(at.refused(slowed) == fs::Code::throttled);
  CHECK(slowed.error().message == "Too many wrong passwords. Wait 5 seconds, then try again.");
  // Elsewhere, and later, it goes.
  Session other(*at.room, "terminal", "10.0.0.8");
  CHECK(at.sign_in(other, "robin"));
  at.loop.pass(5s);
  CHECK(at.sign_in(session, "robin"));
}

TEST_CASE("session: guesses made at the same time learn no more than those made in a row") {
  Sessions at;
  at.store.add("robin");
  at.loop.holds_work = true;
  std::list<Session> sessions;
  std::vector<Task<fs::Status>> guesses;
  for (int i = 0; i < 10; ++i) {
    Session& session = sessions.emplace_back(*at.room, "ftp", "10.0.0.7");
    guesses.push_back(session.sign_in("robin", i == 9 ? "mill-race-robin" : "guess"));
    guesses.back().start();
  }
  CHECK(at.loop.works() == 10);
  while (at.loop.do_work()) continue;
  at.loop.turn_all();
  int wrong = 0;
  for (auto& guess : guesses) {
    REQUIRE(guess.done());
    const auto code = at.refused(guess.take());
    if (code == fs::Code::wrong_password) ++wrong;
  }
  CHECK(wrong == Throttle::allowed_together);
  CHECK_FALSE(sessions.back().signed_in());
}

TEST_CASE("session: the old password is needed for a new one, and guessing it is slowed down too") {
  Sessions at;
  at.store.add("robin");
  Session session(*at.room, "terminal", "10.0.0.7");
  REQUIRE(at.sign_in(session, "robin"));
  CHECK(at.refused(at.result(session.change_password("guess", "a new mill race"))) ==
        fs::Code::wrong_password);
  REQUIRE(at.result(session.change_password("mill-race-robin", "a new mill race")));
  session.sign_out();
  CHECK(at.refused(at.sign_in(session, "robin")) == fs::Code::wrong_password);
  CHECK(at.sign_in(session, "robin", "a new mill race"));
  for (int i = 0; i < 3; ++i) at.result(session.change_password("guess", "another mill race"));
  CHECK(at.refused(at.result(session.change_password("a new mill race", "another mill race"))) ==
        fs::Code::throttled);
}

TEST_CASE("session: leaders set passwords of their members, nobody their own without the old one") {
  Sessions at;
  TestVolume::done(at.store.people().add_class(at.store.keeper, "tuesday"));
  at.store.add("robin", fs::Role::member, "tuesday");
  at.store.add("wren");
  at.store.add("sorrel", fs::Role::leader, "tuesday");
  Session session(*at.room, "terminal", "10.0.0.7");
  REQUIRE(at.sign_in(session, "sorrel"));
  CHECK(session.may_set_password("robin"));
  CHECK(at.refused(session.may_set_password("wren")) == fs::Code::denied);
  CHECK(at.refused(session.may_set_password("nobody")) == fs::Code::not_found);
  CHECK(at.refused(session.may_set_password("sorrel")) == fs::Code::denied);
  CHECK(at.result(session.set_password("Robin", "a new mill race")));
  for (const char* name : {"wren", "sorrel", "nobody"}) {
    CHECK_FALSE(at.result(session.set_password(name, "a new mill race")));
  }
  Session robin(*at.room, "terminal", "10.0.0.8");
  CHECK(at.sign_in(robin, "robin", "a new mill race"));
  CHECK_FALSE(at.result(robin.set_password("robin", "yet another one")));
}

TEST_CASE("session: whose account is gone can change nothing, and is signed out") {
  Sessions at;
  at.store.add("robin");
  Session session(*at.room, "terminal", "10.0.0.7");
  REQUIRE(at.sign_in(session, "robin"));
  TestVolume::done(at.store.people().remove_account(at.store.keeper, "robin"));
  CHECK(session.save(TestVolume::at("/public/note"), {}).error().code == fs::Code::denied);
  CHECK(at.result(session.make_folder(TestVolume::at("/public/mine"))).error().code ==
        fs::Code::denied);
  at.room->send_home();
  CHECK_FALSE(session.signed_in());
  CHECK(at.store.findings() == "");
}

TEST_CASE("session: the journal has who came and went, also when the line broke") {
  Sessions at;
  at.store.add("robin");
  {
    Session session(*at.room, "terminal", "10.0.0.7");
    REQUIRE(at.sign_in(session, "robin"));
    session.sign_out();
    session.sign_out();
    REQUIRE(at.sign_in(session, "robin"));
  }
  { const Session passer_by(*at.room, "terminal", "10.0.0.8"); }
  std::vector<std::string> seen = at.journal();
  seen.erase(seen.begin());  // the account was added
  CHECK(seen == std::vector<std::string>{
                    "robin terminal 10.0.0.7: signed in", "robin terminal 10.0.0.7: signed out",
                    "robin terminal 10.0.0.7: signed in", "robin terminal 10.0.0.7: signed out"});
}

TEST_CASE("session: who is here, and who alone is at an address") {
  Sessions at;
  const auto robin = at.store.add("robin").account;
  at.store.add("wren", fs::Role::leader);
  Session one(*at.room, "terminal", "10.0.0.7");
  CHECK(at.room->person_at("10.0.0.7") == fs::no_account);
  REQUIRE(at.sign_in(one, "robin"));
  one.doing("list");
  CHECK(at.room->person_at("10.0.0.7") == robin);
  CHECK(at.room->person_at("10.0.0.8") == fs::no_account);
  {
    Session again(*at.room, "ftp", "10.0.0.7");
    REQUIRE(at.sign_in(again, "robin"));
    CHECK(at.room->person_at("10.0.0.7") == robin);
    Session two(*at.room, "terminal", "10.0.0.7");
    CHECK(at.room->person_at("10.0.0.7") == robin);
    REQUIRE(at.sign_in(two, "wren"));
    CHECK(at.room->person_at("10.0.0.7") == fs::no_account);
    const auto views = at.room->sessions();
    REQUIRE(views.size() == 3);
    CHECK(views[0].name == "robin");
    CHECK(views[0].doing == "list");
    CHECK(views[1].door == "ftp");
    CHECK(views[2].name == "wren");
    CHECK(views[2].role == fs::Role::leader);
  }
  CHECK(at.room->person_at("10.0.0.7") == robin);
  CHECK(at.room->sessions().size() == 1);
}

TEST_CASE("session: people are told what concerns them, up to a bound") {
  Sessions at;
  const auto robin = at.store.add("robin").account;
  at.store.add("wren");
  Session one(*at.room, "terminal", "10.0.0.7");
  Session two(*at.room, "terminal", "10.0.0.8");
  Session guest(*at.room, "terminal", "10.0.0.9");
  REQUIRE(at.sign_in(one, "robin"));
  REQUIRE(at.sign_in(two, "wren"));
  int heard = 0;
  one.on_told = [&] { ++heard; };
  at.room->tell(robin, "Job 7 is printed.");
  at.room->tell_all("Tea is ready.");
  at.room->tell(fs::no_account, "nobody");
  CHECK(heard == 2);
  CHECK(one.take_told() == std::vector<std::string>{"Job 7 is printed.", "Tea is ready."});
  CHECK(one.take_told().empty());
  CHECK(two.take_told() == std::vector<std::string>{"Tea is ready."});
  CHECK(guest.take_told().empty());
  for (int i = 0; i < 1000; ++i) at.room->tell(robin, "again");
  CHECK(one.take_told().size() == 20);
}

TEST_CASE("session: a notice is told to those it is for, and waits for the others") {
  Sessions at;
  TestVolume::done(at.store.people().add_class(at.store.keeper, "tuesday"));
  at.store.add("robin", fs::Role::member, "tuesday");
  at.store.add("wren", fs::Role::member, "tuesday");
  at.store.add("sorrel", fs::Role::leader, "tuesday");
  at.store.add("bram");
  Session sorrel(*at.room, "terminal", "10.0.0.7");
  Session robin(*at.room, "terminal", "10.0.0.8");
  Session bram(*at.room, "terminal", "10.0.0.9");
  REQUIRE(at.sign_in(sorrel, "sorrel"));
  REQUIRE(at.sign_in(robin, "robin"));
  REQUIRE(at.sign_in(bram, "bram"));
  REQUIRE(at.result(sorrel.send_notice("@TUESDAY", "Bring your disks.")));
  CHECK(robin.take_told() ==
        std::vector<std::string>{"A notice from sorrel has come. Type notices to read it."});
  CHECK(bram.take_told().empty());
  REQUIRE(at.result(bram.send_notice("Robin", "Have you got the key?")));
  CHECK(robin.take_told().size() == 1);
  CHECK(at.refused(at.result(bram.send_notice("@tuesday", "Hello"))) == fs::Code::denied);
  CHECK(robin.take_told().empty());
  REQUIRE(robin.notices().size() == 2);
  REQUIRE(at.result(robin.drop_notices({robin.notices()[0].id})));
  CHECK(robin.notices().size() == 1);
  Session wren(*at.room, "terminal", "10.0.0.10");
  REQUIRE(at.sign_in(wren, "wren"));
  CHECK(wren.notices().size() == 1);
}

TEST_CASE("session: one stands in a folder by its real name, and only where one may") {
  Sessions at;
  TestVolume::done(at.store.people().add_class(at.store.keeper, "tuesday"));
  at.store.add("robin", fs::Role::member, "tuesday");
  at.store.add("wren");
  Session session(*at.room, "terminal", "10.0.0.7");
  REQUIRE(at.sign_in(session, "robin"));
  REQUIRE(at.result(session.make_folder(*session.path("Essays of the winter"))));
  REQUIRE(session.go(*session.path("ESSAYS~1")));
  CHECK(session.here().text() == "/members/robin/Essays of the winter");
  REQUIRE(session.go(*session.path("/CLASSES/TUESDAY/HAND-IN")));
  CHECK(session.here().text() == "/classes/tuesday/hand-in");
  CHECK(at.refused(session.go(*session.path("/members/wren"))) == fs::Code::denied);
  CHECK(at.refused(session.go(*session.path("/nowhere"))) == fs::Code::not_found);
  CHECK(session.here().text() == "/classes/tuesday/hand-in");
  REQUIRE(at.store.save(at.store.caller("robin"), "/members/robin/letter.txt", "x"));
  CHECK(at.refused(session.go(*session.path("/members/robin/letter.txt"))) ==
        fs::Code::not_a_folder);
}

TEST_CASE("session: large contents come and go in pieces, copies keep what is known of a file") {
  Sessions at;
  at.store.add("robin");
  Session session(*at.room, "terminal", "10.0.0.7");
  REQUIRE(at.sign_in(session, "robin"));
  std::string bytes;
  for (int i = 0; i < 300'000; ++i) bytes += static_cast<char>(i * 7 % 251);
  fs::SaveOptions options;
  options.kind = fs::Kind::program;
  options.load_address = 0x1900;
  options.entry_point = 0x1923;
  auto upload = session.save(*session.path("game"), options);
  REQUIRE(upload);
  for (std::size_t offset = 0; offset < bytes.size(); offset += 50'000) {
    REQUIRE(at.result(session.write(*upload, bytes.substr(offset, 50'000))));
  }
  REQUIRE(at.result(session.finish(*upload)));
  REQUIRE(at.result(session.copy(*session.path("game"), *session.path("game2"))));
  const auto view = session.look(*session.path("game2"));
  REQUIRE(view);
  CHECK(view->kind == fs::Kind::program);
  CHECK(view->load_address == 0x1900u);
  CHECK(view->entry_point == 0x1923u);
  CHECK(at.store.read(at.store.caller("robin"), "/members/robin/game2").value() == bytes);
  CHECK(at.refused(at.result(session.copy(*session.path("game"), *session.path("game2")))) ==
        fs::Code::exists);
}

TEST_CASE("invariant 3: through a session everybody may do just what the rule of access says") {
  Sessions at;
  TestVolume::done(at.store.people().add_class(at.store.keeper, "tuesday"));
  at.store.add("robin", fs::Role::member, "tuesday");
  at.store.add("wren", fs::Role::member, "tuesday");
  at.store.add("sorrel", fs::Role::leader, "tuesday");
  at.store.add("teasel");
  at.store.add("bram", fs::Role::manager);
  const fs::Path file = TestVolume::at("/public/rules.txt");
  TestVolume::done(at.store.files().set_access(at.store.keeper, TestVolume::at("/public"), "a=rw"));
  REQUIRE(at.store.save(at.store.caller("robin"), file.text(), "no running on the stairs"));
  TestVolume::done(at.store.files().set_class(at.store.keeper, file, "tuesday"));

  struct Person {
    std::string name;
    fs::Standing standing;
  };
  std::vector<Person> people(6);
  people[0] = {"", {}};
  people[0].standing.guest = true;
  people[1] = {"robin", {}};
  people[1].standing.owner = people[1].standing.in_class = true;
  people[2] = {"wren", {}};
  people[2].standing.in_class = true;
  people[3] = {"sorrel", {}};
  people[3].standing.leads_owner = people[3].standing.in_class = true;
  people[4] = {"teasel", {}};
  people[5] = {"bram", {}};
  people[5].standing.manager = true;
  std::list<Session> sessions;
  for (const auto& person : people) {
    Session& session = sessions.emplace_back(*at.room, "terminal", "10.0.0.7");
    if (!person.name.empty()) REQUIRE(at.sign_in(session, person.name));
  }
  for (unsigned bits = 0; bits < 128; ++bits) {
    const fs::Access access(bits);
    TestVolume::done(at.store.files().set_access(at.store.keeper, file, "-k"));
    TestVolume::done(at.store.files().set_access(at.store.keeper, file, access.symbolic()));
    auto session = sessions.begin();
    for (const auto& person : people) {
      INFO(access.text() << " " << person.name);
      CHECK(session->open(file).has_value() == fs::may_read(access, person.standing));
      fs::SaveOptions replace;
      replace.replace = true;
      const bool may_write =
          fs::may_write(access, person.standing) && !access.has(fs::Access::keep);
      CHECK(session->save(file, replace).has_value() == may_write);
      const auto view = session->look(file);
      REQUIRE(view);
      CHECK(view->may_read == fs::may_read(access, person.standing));
      CHECK(view->may_write == fs::may_write(access, person.standing));
      ++session;
    }
  }
}

TEST_CASE("session: a text whose writer is gone is saved beside its place, and they hear of it") {
  Sessions at;
  at.store.add("robin");
  const fs::Caller robin = at.store.caller("robin");
  TestVolume::done(at.store.files().set_access(at.store.keeper, TestVolume::at("/public"), "a=r"));
  {
    Session session(*at.room, "terminal", "10.0.0.7");
    REQUIRE(at.sign_in(session, "robin"));
    const auto letter = *session.path("letter.txt");
    REQUIRE(at.store.save(robin, "/members/robin/letter.txt", "the old one"));
    session.rescue(letter, "one");
    session.rescue(letter, "two");
    session.rescue(*session.path("/public/poem"), "three");  // where nothing may be saved
    session.rescue(*session.path(std::string(250, 'x')), "four");
    for (int i = 0; i < 20; ++i) session.rescue(letter, "more");  // gives up at some number
    REQUIRE(session.notices().size() == 24);
    CHECK(
        session.notices()[0].text ==
        "You were cut off while you wrote letter.txt. What you had typed is in letter.txt.cut1, in "
        "your own folder.");
    CHECK(session.notices()[23].text ==
          "You were cut off while you wrote letter.txt. What you had typed could not be saved.");
  }
  CHECK(at.store.read(robin, "/members/robin/letter.txt").value() == "the old one");
  CHECK(at.store.read(robin, "/members/robin/letter.txt.cut1").value() == "one");
  CHECK(at.store.read(robin, "/members/robin/letter.txt.cut2").value() == "two");
  CHECK(at.store.read(robin, "/members/robin/poem.cut1").value() == "three");
  CHECK(at.store.read(robin, "/members/robin/" + std::string(60, 'x') + ".cut1").value() == "four");
  CHECK(at.store.files().look(robin, TestVolume::at("/members/robin/letter.txt.cut9")));
  CHECK_FALSE(at.store.files().look(robin, TestVolume::at("/members/robin/letter.txt.cut10")));
}
