#include "admin/people_plan.h"

#include <catch2/catch.hpp>

#include "admin/sign_in_name.h"
#include "fs/account.h"
#include "tests/support/odd_people.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

using Lines = std::vector<std::string>;

struct Room {
  std::vector<KnownAccount> accounts;
  std::vector<std::string> classes = {"day", "evening"};
  PlanOptions options = {};

  PeoplePlan plan(std::string_view list) const {
    const auto read = read_people_list(list);
    REQUIRE(read);
    return plan_people(read->people, accounts, classes, options);
  }

  // Each row's line, what becomes of it, who it is, and the words.
  Lines says(std::string_view list) const {
    Lines out;
    for (const auto& person : plan(list).people) {
      std::string line = std::to_string(person.line) + " " + std::string(deed_name(person.deed)) +
                         " " + person.name;
      for (const auto& each : person.words) line += ": " + each;
      out.push_back(line);
    }
    return out;
  }

  // What applying a plan makes of the room, as the store does it.
  void apply(const PeoplePlan& plan) {
    classes.insert(classes.end(), plan.new_classes.begin(), plan.new_classes.end());
    for (const auto& person : plan.people) {
      if (person.deed == Deed::add) {
        KnownAccount account{person.name, person.full_name, person.role, person.klass, {},
                             {},          person.ends};
        if (!person.klass.empty()) {
          (person.role == "leader" ? account.leads : account.classes).push_back(person.klass);
        }
        accounts.push_back(account);
      }
      if (person.deed != Deed::change) continue;
      for (auto& account : accounts) {
        if (account.name != person.name) continue;
        if (!person.full_name.empty()) account.full_name = person.full_name;
        if (!person.role.empty()) account.role = person.role;
        if (!person.ends.empty()) account.last_day = person.ends;
        if (person.joins_as_leader) account.leads.push_back(person.klass);
        if (person.joins_as_leader || person.klass.empty()) continue;
        std::erase(account.classes, person.leaves);
        account.classes.push_back(person.klass);
        account.klass = person.klass;
      }
    }
  }
};

KnownAccount member(const std::string& name, const std::string& full_name,
                    const std::string& klass) {
  KnownAccount account{name, full_name, "member", klass, {}, {}, ""};
  if (!klass.empty()) account.classes.push_back(klass);
  return account;
}

}  // namespace

TEST_CASE("who is not there is new, and who is there as listed is the same") {
  const Room room{{member("robinf", "Robin Fenn", "evening")}};
  CHECK(room.says("name;class\nrobin  FENN;Evening\nWren Rill;day\n") ==
        Lines{"2 same robinf", "3 new wrenr"});
  CHECK(room.says("Robin Fenn\n") == Lines{"1 same robinf"});
  CHECK(room.says("sign-in\nROBINF\nnew-one\n") == Lines{"2 same robinf", "3 new new-one"});
}

TEST_CASE("what a row says otherwise changes, and what it leaves out stays") {
  KnownAccount robin = member("robinf", "Robin Fenn", "evening");
  robin.last_day = "2027-07-31";
  const Room room{{robin}};
  CHECK(room.says("sign-in;name;class;role;ends\nrobinf;Robin Rill;day;teacher;31.7.2028\n") ==
        Lines{"2 change robinf: full name: Robin Fenn becomes Robin Rill: role: member becomes "
              "leader: last day: 2027-07-31 becomes 2028-07-31: leads day"});
  CHECK(room.says("sign-in;class\nrobinf;day\n") ==
        Lines{"2 change robinf: class: evening becomes day"});
  CHECK(room.plan("sign-in;class\nrobinf;day\n").people.at(0).leaves == "evening");
  CHECK(room.says("sign-in;name;class;role;ends\nrobinf;;;;\n") == Lines{"2 same robinf"});
}

TEST_CASE("a class is known however it is written, and a new one needs a word") {
  Room room;
  room.classes = {"year-9", "b.team"};
  CHECK(room.says("name;class\nRobin;Year 9\nWren;YEAR9\nBram;B-Team\nTeasel;Gar\u00e7ons 7/b\n") ==
        Lines{"2 new robin", "3 new wren", "4 new bram",
              "5 wrong : There is no class garcons-7-b. With --new-classes it is made."});
  room.options.new_classes = true;
  const auto plan = room.plan("name;class\nRobin;Year 9\nTeasel;Gar\u00e7ons 7/b\nBram;?\n");
  CHECK(plan.new_classes == Lines{"garcons-7-b"});
  CHECK(plan.people.at(2).words.at(0).find("\"?\" can't be a class.") == 0);
  room.options.klass = "b.team";
  CHECK(room.plan("Robin\n").people.at(0).klass == "b.team");
}

TEST_CASE("two people of one name in two classes are two, with names of their own") {
  Room room;
  const std::string_view list = "name;class\nRobin Fenn;day\nRobin Fenn;evening\n";
  CHECK(room.says(list) == Lines{"2 new robinf", "3 new robinfe"});
  room.apply(room.plan(list));
  CHECK(room.says(list) == Lines{"2 same robinf", "3 same robinfe"});
  CHECK(room.says("Robin Fenn\n").at(0).find("may be any of robinf, robinfe") != std::string::npos);
}

TEST_CASE(
    "two people of one name in one class are told apart by sign-in names, and never guessed") {
  Room room;
  CHECK(room.says("name;class\nRobin Fenn;day\nWren;day\nROBIN fenn;day\n") ==
        Lines{"2 wrong : Robin Fenn is in line 4, too. If they are two people, give each a sign-in "
              "name; if not, remove one.",
              "3 new wren",
              "4 wrong : ROBIN fenn is in line 2, too. If they are two people, give each a sign-in "
              "name; if not, remove one."});
  CHECK(room.says("name;class;login\nRobin Fenn;day;robin1\nRobin Fenn;day;\n")
            .at(1)
            .find("3 wrong") == 0);
  CHECK(room.says("name;class\nRobin Fenn;\nRobin Fenn;day\n").at(0).find("2 wrong") == 0);
  const std::string_view both = "name;class;login\nRobin Fenn;day;robin1\nRobin Fenn;day;robin2\n";
  CHECK(room.says(both) == Lines{"2 new robin1", "3 new robin2"});
  room.apply(room.plan(both));
  CHECK(room.says(both) == Lines{"2 same robin1", "3 same robin2"});
  CHECK(room.says("name;class\nRobin Fenn;day\n").at(0).find("may be any of robin1, robin2") !=
        std::string::npos);
  CHECK(room.says("name;login\nA;x\nB;X\n") ==
        Lines{"2 wrong x: x is the sign-in name in line 3, too.",
              "3 wrong x: x is the sign-in name in line 2, too."});
  // By the name in one line, by the sign-in name alone in the other.
  room.accounts = {member("robinf", "Robin Fenn", "day")};
  CHECK(room.says("name;class;login\nRobin Fenn;day;\n;;robinf\n") ==
        Lines{"2 same robinf", "3 wrong robinf: Line 2 is about robinf, too."});
}

TEST_CASE("somebody of the same name elsewhere is new, and the keeper is told to mind") {
  const Room room{{member("robinf", "Robin Fenn", "evening")}};
  CHECK(room.says("name;class\nRobin Fenn;day\n") ==
        Lines{"2 new robinfe: mind: robinf is Robin Fenn in evening, too"});
  CHECK(room.says("name;class;login\nRobin Fenn;evening;rob\n") ==
        Lines{"2 new rob: mind: robinf is Robin Fenn in evening, too"});
}

TEST_CASE("a closed account stays closed") {
  Room room{{member("robinf", "Robin Fenn", "evening")}};
  room.accounts[0].closed = true;
  CHECK(room.says("Robin Fenn\n") ==
        Lines{"1 same robinf: mind: the account is closed, and stays so"});
}

TEST_CASE("what can't be is told with its reason, and the other rows are as they were") {
  const Room room;
  const auto all = room.says(
      "name;class;role;ends;login\n"
      "Robin;day;boss;;\n"
      "Wren;day;;31/07/2027;\n"
      "Bram;day;;30.02.2027;\n"
      "Teasel;day;;;two words\n"
      "Dipper;day;;;guest\n"
      "\u6c34;day;;;\n"
      "\u706b;day;;;crake\n" +
      std::string(61, 'a') + ";day;;;\nSorrel;day;Teacher;2027-07-31;\n");
  CHECK(all.at(0) == "2 wrong : \"boss\" is no role: write member, leader or manager.");
  CHECK(all.at(1) == "3 wrong : \"31/07/2027\" is no day: write 2027-07-31 or 31.07.2027.");
  CHECK(all.at(2) == "4 wrong : \"30.02.2027\" is no day: write 2027-07-31 or 31.07.2027.");
  CHECK(all.at(3).find("5 wrong two words: \"two words\" can't be a sign-in name.") == 0);
  CHECK(all.at(4).find("6 wrong guest: \"guest\" can't be a sign-in name.") == 0);
  CHECK(all.at(5) ==
        "7 wrong : No sign-in name can be made of that name. Write one into the list.");
  CHECK(all.at(6) == "8 new crake");
  CHECK(all.at(7) == "9 wrong : The full name is too long: at most 60 characters.");
  CHECK(all.at(8) == "10 new sorrel");
}

TEST_CASE("whatever is applied, the same list changes nothing the second time") {
  Room room{{member("robinf", "Robin Fenn", "evening"), member("wren", "Wren Rill", ""),
             member("bram", "", "day")}};
  room.accounts[1].role = "leader";
  room.options.new_classes = true;
  const std::string_view list =
      "name;class;role;ends;login\n"
      "Robin Fenn;evening;pupil;2027-07-31;\n"
      "Wren Rill;evening;;;wren\n"
      "Bram Rill;Year 9;teacher;;bram\n"
      "Sorrel Fenn;Year 9;leader;;\n"
      "Robin Fenn;Year 9;;;\n"
      "Nobody In Particular;;manager;1.2.2028;\n";
  const auto first = room.plan(list);
  CHECK(first.count(Deed::add) == 3);
  CHECK(first.count(Deed::change) == 3);
  room.apply(first);
  const auto second = room.plan(list);
  CHECK(second.count(Deed::keep) == 6);
  CHECK(second.new_classes.empty());
}

TEST_CASE(
    "lists with every oddity: each row is judged right, and the second time nothing changes") {
  for (std::uint32_t seed = 0; seed < 60; ++seed) {
    CAPTURE(seed);
    const auto odd = test::odd_people(seed == 0 ? 2000 : 200, seed);
    Room room;
    room.options.new_classes = true;
    const auto first = room.plan(odd.list);
    for (const auto& person : first.people) {
      if (person.deed != Deed::add) continue;
      CHECK(fs::account_name(person.name).value() == person.name);
      if (!person.name.starts_with("s-") && !person.name.starts_with("a-") &&
          !person.name.starts_with("b-")) {
        CHECK(person.name.size() <= longest_made_name);
      }
    }
    CHECK(first.count(Deed::add) == odd.good);
    CHECK(first.count(Deed::wrong) == odd.wrong);
    room.apply(first);
    const auto second = room.plan(odd.list);
    CHECK(second.count(Deed::keep) == odd.good);
    CHECK(second.count(Deed::wrong) == odd.wrong);
    CHECK(second.new_classes.empty());
  }
}
