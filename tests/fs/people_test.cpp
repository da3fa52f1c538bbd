#include "fs/people.h"

#include <algorithm>

#include <catch2/catch.hpp>

#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::TestVolume;

namespace {

std::string journal(TestVolume& room, std::uint32_t most = 1) {
  JournalQuery query;
  query.most = most;
  std::string out;
  for (const auto& entry : *room.desk().journal(query)) {
    out += entry.who + " | " + entry.where + " | " + entry.what + " | " + entry.subject + " | " +
           entry.detail + "\n";
  }
  return out;
}

}  // namespace

TEST_CASE("an account gets a folder, a quota and a place in its class") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "Tuesday"));
  TestVolume::done(
      room.people().add_account(room.keeper, {"Robin", "Robin Reed", Role::member, "tuesday", ""}));
  const auto robin = room.people().account("ROBIN");
  REQUIRE(robin);
  CHECK(robin->name == "robin");
  CHECK(robin->full_name == "Robin Reed");
  CHECK_FALSE(robin->has_password);
  CHECK(robin->klass == "tuesday");
  CHECK(robin->classes == std::vector<std::string>{"tuesday"});
  CHECK(robin->quota.soft_bytes > 0);
  CHECK(room.files().look(room.keeper, room.at("/members/robin"))->owner == "robin");
  CHECK(TestVolume::refused(room.people().add_account(
            room.keeper, {"ROBIN", "", Role::member, "", ""})) == Code::exists);
  CHECK(TestVolume::refused(room.people().add_account(
            room.keeper, {"wren", "", Role::member, "none", ""})) == Code::not_found);
  CHECK(TestVolume::refused(room.people().add_account(
            room.keeper, {"../x", "", Role::member, "", ""})) == Code::bad_name);
  CHECK(room.people().accounts().size() == 1);
}

TEST_CASE("only managers change accounts and classes") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const Caller robin = room.add("robin", Role::member, "tuesday");
  const Caller sorrel = room.add("sorrel", Role::leader, "tuesday");
  const Caller heron = room.add("heron", Role::manager);
  for (const Caller& each : {robin, sorrel, Caller{no_account, false, "test"}}) {
    CHECK(TestVolume::refused(room.people().add_account(each, {"x", "", Role::member, "", ""})) ==
          Code::denied);
    CHECK(TestVolume::refused(room.people().change_account(
              each, "robin", {.role = Role::manager})) == Code::denied);
    CHECK(TestVolume::refused(room.people().remove_account(each, "robin")) == Code::denied);
    CHECK(TestVolume::refused(room.people().add_class(each, "x")) == Code::denied);
    CHECK(TestVolume::refused(room.people().join(each, "tuesday", "robin", false)) == Code::denied);
  }
  TestVolume::done(room.people().add_account(heron, {"wren", "", Role::member, "", ""}));
}

TEST_CASE("invariant 8: signing in compares the folded form, and tells nothing about names") {
  TestVolume room;
  const Caller robin = room.add("robin");
  CHECK(*room.people().sign_in("robin", "mill-race-robin", "t") == robin.account);
  CHECK(*room.people().sign_in("ROBIN", "MILL-RACE-ROBIN", "t") == robin.account);
  const auto wrong = room.people().sign_in("robin", "nonsense", "t");
  const auto nobody = room.people().sign_in("nobody", "nonsense", "t");
  REQUIRE_FALSE(wrong);
  REQUIRE_FALSE(nobody);
  CHECK(wrong.error().code == Code::wrong_password);
  CHECK(wrong.error().message == nobody.error().message);
  CHECK_FALSE(room.people().sign_in("robin", "", "t"));
  TestVolume::done(room.people().change_account(room.keeper, "robin", {.closed = true}));
  CHECK_FALSE(room.people().sign_in("robin", "mill-race-robin", "t"));
  TestVolume::done(room.people().add_account(room.keeper, {"wren", "", Role::member, "", ""}));
  CHECK_FALSE(room.people().sign_in("wren", "", "t"));
}

TEST_CASE("invariant 8: no password stands in the catalogue, the log or the journal") {
  TestVolume room;
  room.add("robin");
  static_cast<void>(room.people().sign_in("robin", "mill-race-robin", "t"));
  static_cast<void>(room.people().sign_in("sesame-opens-it", "sesame-opens-it", "t"));
  room.volume.reset();
  for (const char* name : {"/catalog.db", "/log/000001", "/volume.toml"}) {
    const auto bytes = read_outside_file(room.path() + name, 1u << 30);
    REQUIRE(bytes);
    CHECK(bytes->find("mill-race") == std::string::npos);
    CHECK(bytes->find("sesame") == std::string::npos);
  }
  const auto catalogue = read_outside_file(room.path() + "/catalog.db", 1u << 30);
  CHECK(catalogue->find("$argon2id$v=19$") != std::string::npos);
}

TEST_CASE("passwords are set by oneself, one's leader or a manager, and nobody else") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const Caller robin = room.add("robin", Role::member, "tuesday");
  const Caller wren = room.add("wren", Role::member, "tuesday");
  const Caller sorrel = room.add("sorrel", Role::leader, "tuesday");
  const Caller heron = room.add("heron", Role::manager);
  TestVolume::done(room.people().set_password(robin, "robin", "new-password"));
  CHECK(room.people().sign_in("robin", "new-password", "t"));
  CHECK(TestVolume::refused(room.people().set_password(wren, "robin", "new-password")) ==
        Code::denied);
  TestVolume::done(room.people().set_password(sorrel, "robin", "by-the-leader"));
  CHECK(room.people().sign_in("robin", "by-the-leader", "t"));
  CHECK(TestVolume::refused(room.people().set_password(sorrel, "heron", "by-the-leader")) ==
        Code::denied);
  TestVolume::done(room.people().set_password(heron, "sorrel", "by-the-manager"));
  CHECK(TestVolume::refused(room.people().set_password(robin, "robin", "short")) ==
        Code::bad_input);
  CHECK(TestVolume::refused(room.people().set_password(heron, "nobody", "by-the-manager")) ==
        Code::not_found);
}

TEST_CASE("a password hashed at another cost is hashed anew at the next sign-in") {
  TestVolume room;
  const Caller robin = room.add("robin");
  room.volume.reset();
  auto surroundings = room.surroundings();
  surroundings.password_cost = {2, 16384};
  auto opened = Volume::open(room.path(), surroundings);
  REQUIRE(opened);
  room.volume = std::move(*opened);
  CHECK(*room.people().sign_in("robin", "mill-race-robin", "t") == robin.account);
  room.volume.reset();
  const auto catalogue = read_outside_file(room.path() + "/catalog.db", 1u << 30);
  CHECK(catalogue->find("$argon2id$v=19$m=16,t=2,p=1$") != std::string::npos);
}

TEST_CASE(
    "invariant 9: every change of accounts and rights is journalled, with who and from where") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  CHECK(journal(room) == "the keeper | the box | class added | tuesday | \n");
  const Caller heron = room.add("heron", Role::manager);
  CHECK(journal(room) == "the keeper | the box | account added | heron | manager\n");
  const Caller from{heron.account, false, "terminal 10.0.0.7"};
  const auto by_heron = [](const std::string& rest) {
    return "heron | terminal 10.0.0.7 | " + rest + "\n";
  };
  TestVolume::done(room.people().add_account(from, {"robin", "", Role::member, "", ""}));
  CHECK(journal(room) == by_heron("account added | robin | member"));
  TestVolume::done(room.people().change_account(from, "robin", {.role = Role::leader}));
  CHECK(journal(room) == by_heron("role changed | robin | member to leader"));
  TestVolume::done(room.people().change_account(from, "robin", {.full_name = "Robin Reed"}));
  CHECK(journal(room) == by_heron("full name changed | robin | Robin Reed"));
  TestVolume::done(room.people().change_account(from, "robin", {.quota = Quota{1, 2, 3, 4}}));
  CHECK(journal(room) == by_heron("limits changed | robin | warned at 1 byte, stopped at 2 bytes; "
                                  "files: warned at 3, stopped at 4"));
  TestVolume::done(room.people().change_account(from, "robin", {.closed = true}));
  CHECK(journal(room) == by_heron("account closed | robin | "));
  TestVolume::done(room.people().change_account(from, "robin", {.closed = false}));
  CHECK(journal(room) == by_heron("account opened | robin | "));
  TestVolume::done(room.people().join(from, "tuesday", "robin", true));
  CHECK(journal(room) == by_heron("made leader of class | robin | tuesday"));
  TestVolume::done(room.people().join(from, "tuesday", "robin", false));
  CHECK(journal(room) == by_heron("joined class | robin | tuesday"));
  TestVolume::done(room.people().leave(from, "tuesday", "robin"));
  CHECK(journal(room) == by_heron("left class | robin | tuesday"));
  TestVolume::done(room.people().set_password(from, "robin", "a-long-password"));
  CHECK(journal(room) == by_heron("password set | robin | "));
  REQUIRE(room.people().sign_in("robin", "a-long-password", "terminal 10.0.0.9"));
  CHECK(journal(room) == "robin | terminal 10.0.0.9 | signed in | robin | \n");
  REQUIRE_FALSE(room.people().sign_in("robin", "wrong", "terminal 10.0.0.9"));
  CHECK(journal(room) == "guest | terminal 10.0.0.9 | sign-in refused | robin | \n");

  REQUIRE(room.save(room.caller("robin"), "/members/robin/a", "x"));
  TestVolume::done(room.files().set_access(from, room.at("/members/robin/a"), "e+r"));
  CHECK(journal(room) == by_heron("access changed | /members/robin/a | rw---- to rw--r-"));
  TestVolume::done(room.files().set_owner(from, room.at("/members/robin/a"), "heron"));
  CHECK(journal(room) == by_heron("owner changed | /members/robin/a | robin to heron"));
  TestVolume::done(room.files().set_class(from, room.at("/members/robin/a"), "tuesday"));
  CHECK(journal(room) == by_heron("class changed | /members/robin/a | tuesday"));
  TestVolume::done(room.files().set_details(from, room.at("/members/robin/a"), Kind::program, 0x801,
                                            std::nullopt));
  CHECK(journal(room) ==
        by_heron("details changed | /members/robin/a | data to program, loads at 0801 hex"));
  TestVolume::done(
      room.files().set_details(from, room.at("/members/robin/a"), Kind::program, 0x801, 0x80D));
  CHECK(journal(room) == by_heron("details changed | /members/robin/a | program, loads at 0801 hex "
                                  "to program, loads at 0801 hex, starts at 080D hex"));
  TestVolume::done(room.files().make_folder(from, room.at("/members/ROBIN/b")));
  CHECK(journal(room) == by_heron("folder made | /members/robin/b | "));
  TestVolume::done(
      room.files().move(from, room.at("/members/robin/a"), room.at("/members/robin/b/A new name")));
  CHECK(journal(room) ==
        by_heron("file moved | /members/robin/a | to /members/robin/b/A new name"));
  TestVolume::done(
      room.files().move(from, room.at("/members/robin/B"), room.at("/members/robin/c")));
  CHECK(journal(room) == by_heron("folder moved | /members/robin/b | to /members/robin/c"));
  // What changes nothing is not in it, nor is a save, or a copy, which is one.
  const std::string so_far = journal(room, 1000);
  TestVolume::done(
      room.files().move(from, room.at("/members/robin/c"), room.at("/members/robin/c")));
  TestVolume::done(room.files().set_details(from, room.at("/members/robin/c/a new name"),
                                            Kind::program, 0x801, 0x80D));
  REQUIRE(room.save(from, "/members/robin/c/a new name", "y", true));
  CHECK(journal(room, 1000) == so_far);
  TestVolume::done(
      room.files().move(from, room.at("/members/robin/c/a new name"), room.at("/members/robin/a")));
  TestVolume::done(room.files().remove(from, room.at("/members/robin/c")));
  CHECK(journal(room) == by_heron("folder removed | /members/robin/c | "));
  TestVolume::done(room.files().remove(from, room.at("/members/robin/a")));
  CHECK(journal(room) == by_heron("file removed | /members/robin/a | "));
  TestVolume::done(room.files().restore(from, room.files().bin(from).front().id));
  CHECK(journal(room) == by_heron("restored from the bin | /members/robin/a | "));
  TestVolume::done(room.files().remove(from, room.at("/members/robin/a")));
  TestVolume::done(room.files().empty_bin(from, true));
  CHECK(journal(room) == by_heron("bin emptied | everybody's | 2 removals"));
  TestVolume::done(room.people().remove_class(from, "tuesday"));
  CHECK(journal(room) == by_heron("class removed | tuesday | "));
  TestVolume::done(room.people().remove_account(from, "robin"));
  CHECK(journal(room) == by_heron("account removed | robin | "));

  // It is still there after opening again, and goes on from there.
  const std::string before = journal(room, 1000);
  room.reopen();
  CHECK(journal(room, 1000) == before);
  TestVolume::done(room.desk().note(room.keeper, "noted", "something"));
  CHECK(journal(room) == "the keeper | the box | noted | something | \n");
  JournalQuery by_robin;
  by_robin.who = "robin";
  CHECK(room.desk().journal(by_robin)->size() == 1);
}

TEST_CASE("an account that owns something can't be removed, only closed") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/public/x", "x"));
  CHECK(TestVolume::refused(room.people().remove_account(room.keeper, "robin")) == Code::exists);
  TestVolume::done(room.files().remove(robin, room.at("/public/x")));
  CHECK(TestVolume::refused(room.people().remove_account(room.keeper, "robin")) == Code::exists);
  TestVolume::done(room.files().empty_bin(robin, false));
  TestVolume::done(room.people().remove_account(room.keeper, "robin"));
  CHECK_FALSE(room.people().account("robin"));
  CHECK_FALSE(room.files().look(room.keeper, room.at("/members/robin")));
  CHECK(room.findings() == "");
}

TEST_CASE("a class that is gone leaves nothing to the next one") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  TestVolume::done(room.people().remove_class(room.keeper, "tuesday"));
  TestVolume::done(room.people().add_class(room.keeper, "thursday"));
  const Caller robin = room.add("robin", Role::member, "thursday");
  CHECK(room.files().list(robin, room.at("/classes/thursday")));
  CHECK(room.files().list(robin, room.at("/classes/tuesday")).error().code == Code::denied);
  CHECK(TestVolume::refused(room.people().remove_class(room.keeper, "thursday")) == Code::exists);
  CHECK(room.findings() == "");
}

TEST_CASE("limits: those of the class, until an account has its own") {
  TestVolume room;
  const auto quota_of = [&](const char* name) {
    return room.people().account(std::string_view(name))->quota;
  };
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  room.add("robin", Role::member, "tuesday");
  room.add("teasel");
  const Quota first = quota_of("robin");
  const Quota small{1000, 1250, 10, 12};
  TestVolume::done(room.people().set_class_limits(room.keeper, "tuesday", small));
  CHECK(room.people().class_of("tuesday")->quota == small);
  room.add("wren", Role::member, "tuesday");
  CHECK(quota_of("robin") == small);
  CHECK(quota_of("wren") == small);
  CHECK(quota_of("teasel") == first);
  // Its own from then on, whatever the class says.
  const Quota own{5, 6, 7, 8};
  TestVolume::done(room.people().change_account(room.keeper, "robin", {.quota = own}));
  const Quota other{2000, 2500, 20, 25};
  TestVolume::done(room.people().set_class_limits(room.keeper, "tuesday", other));
  CHECK(quota_of("robin") == own);
  CHECK(room.people().account(std::string_view("robin"))->own_limits);
  CHECK(quota_of("wren") == other);
  room.reopen();
  CHECK(quota_of("robin") == own);
  CHECK(quota_of("wren") == other);
  TestVolume::done(room.people().change_account(room.keeper, "robin", {.own_limits = false}));
  CHECK(quota_of("robin") == other);
  // Out of the class, and into it.
  TestVolume::done(room.people().leave(room.keeper, "tuesday", "wren"));
  CHECK(quota_of("wren") == first);
  TestVolume::done(room.people().join(room.keeper, "tuesday", "teasel", false));
  CHECK(quota_of("teasel") == other);
  TestVolume::done(room.people().set_class_limits(room.keeper, "tuesday", std::nullopt));
  CHECK(quota_of("teasel") == first);
  CHECK_FALSE(room.people().class_of("tuesday")->quota);
  const auto robin = room.caller("robin");
  CHECK(TestVolume::refused(room.people().set_class_limits(robin, "tuesday", own)) == Code::denied);
  CHECK(TestVolume::refused(room.people().set_class_limits(room.keeper, "friday", own)) ==
        Code::not_found);
}

TEST_CASE("limits: a class that lowers them puts its members over, and tells them once") {
  TestVolume room;
  TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
  const auto robin = room.add("robin", Role::member, "tuesday");
  REQUIRE(room.save(robin, "/members/robin/a", std::string(500, 'a')));
  CHECK(room.desk().notices(robin).empty());
  TestVolume::done(room.people().set_class_limits(room.keeper, "tuesday", Quota{400, 600, 0, 0}));
  CHECK(room.people().account(robin.account)->over_since);
  REQUIRE(room.desk().notices(robin).size() == 1);
  CHECK(room.desk().notices(robin)[0].text.find("more than your limit") != std::string::npos);
  TestVolume::done(room.people().set_class_limits(room.keeper, "tuesday", Quota{450, 600, 0, 0}));
  REQUIRE(room.save(robin, "/members/robin/b", "b"));
  CHECK(room.desk().notices(robin).size() == 1);
  TestVolume::done(room.people().set_class_limits(room.keeper, "tuesday", Quota{5000, 6000, 0, 0}));
  CHECK_FALSE(room.people().account(robin.account)->over_since);
}

TEST_CASE("the number of an account or a class that is gone is given to no other") {
  TestVolume room;
  room.add("robin");
  const AccountId wren = room.add("wren").account;
  TestVolume::done(room.people().remove_account(room.keeper, "wren"));
  CHECK(room.add("teasel").account > wren);
  const AccountId last = room.add("bram").account;
  TestVolume::done(room.people().remove_account(room.keeper, "bram"));
  room.reopen();
  CHECK(room.add("sorrel").account > last);
  CHECK(room.findings() == "");
}

TEST_CASE("whose account is closed, at its end or gone may not stay, and is told so") {
  TestVolume room;
  const Caller robin = room.add("robin");
  const auto why = [&] {
    const auto may = room.people().may_stay(robin.account);
    return may ? std::string() : may.error().message;
  };
  CHECK(why().empty());
  AccountChange change;
  change.ends = *room.now + std::chrono::hours(1);
  TestVolume::done(room.people().change_account(room.keeper, "robin", change));
  CHECK(why().empty());
  *room.now += std::chrono::hours(1);
  CHECK(why().starts_with("The time of the account robin is over."));
  change.ends = std::optional<Time>();
  change.closed = true;
  TestVolume::done(room.people().change_account(room.keeper, "robin", change));
  CHECK(why().starts_with("The account robin was closed."));
  change.closed = false;
  TestVolume::done(room.people().change_account(room.keeper, "robin", change));
  CHECK(why().empty());
  TestVolume::done(room.people().remove_account(room.keeper, "robin"));
  CHECK(why() == "Your account is not there any more.");
  // Nor can a session that has not noticed yet make anything that would belong to nobody's number.
  CHECK(room.save(robin, "/public/note", "x").error().code == Code::denied);
  CHECK(TestVolume::refused(room.files().make_folder(robin, room.at("/public/mine"))) ==
        Code::denied);
  CHECK(room.findings() == "");
}
