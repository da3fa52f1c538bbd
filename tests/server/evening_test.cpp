#include "server/evening.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::server;

namespace {

fs::Time at(int minutes) {
  return fs::Time(std::chrono::minutes(minutes));
}

fs::AccountView account(const std::string& name, const std::string& klass) {
  fs::AccountView view;
  view.name = name;
  view.klass = klass;
  return view;
}

fs::JournalEntry entry(int minutes, const std::string& what, const std::string& subject) {
  fs::JournalEntry out;
  out.at = at(minutes);
  out.what = what;
  out.subject = subject;
  return out;
}

fs::PrintoutView printout(int minutes, const std::string& owner, std::uint32_t pages) {
  fs::PrintoutView out;
  out.printed = at(minutes);
  out.owner = owner;
  out.pages = pages;
  return out;
}

// From minute 60 to 120.
EveningFacts facts() {
  EveningFacts out;
  out.since = at(60);
  out.until = at(120);
  out.accounts = {account("robin", "evening"), account("wren", "evening"), account("bram", "")};
  out.accounts[2].leads = {"day"};
  out.accounts.push_back(account("heron", ""));
  return out;
}

}  // namespace

TEST_CASE("an evening in which nothing happened has nothing in it") {
  const Evening none = evening(facts());
  CHECK(none.classes.empty());
  CHECK(none.all.is_empty());
  CHECK(none.refused.empty());
}

TEST_CASE("who came, who went and who was turned away is told by class, in the span alone") {
  auto those = facts();
  those.signs = {entry(59, "signed in", "heron"),
                 entry(60, "signed in", "robin"),
                 entry(70, "signed in", "robin"),
                 entry(71, "sign-in refused", "wren"),
                 entry(72, "sign-in refused", "wren"),
                 entry(73, "signed out", "wren"),
                 entry(119, "signed on without a password", "bram"),
                 entry(120, "signed in", "heron"),
                 entry(80, "sign-in slowed down", "heron")};
  const Evening those_here = evening(those);
  REQUIRE(those_here.classes.size() == 2);
  CHECK(those_here.classes[0].name == "day");
  CHECK(those_here.classes[0].was_here == std::vector<std::string>{"bram"});
  CHECK(those_here.classes[1].name == "evening");
  CHECK(those_here.classes[1].was_here == std::vector<std::string>{"robin", "wren"});
  CHECK(those_here.classes[1].visits == 2);
  CHECK(those_here.all.was_here == std::vector<std::string>{"bram", "robin", "wren"});
  CHECK(those_here.all.visits == 3);
  CHECK(those_here.refused == std::map<std::string, std::uint64_t>{{"wren", 2}});
}

TEST_CASE("what was saved, printed and handed in adds up by class, and over all") {
  auto those = facts();
  those.saved = {{"robin", 10}, {"wren", 20}, {"heron", 5}};
  those.printouts = {printout(59, "robin", 9), printout(60, "robin", 2), printout(61, "wren", 3),
                     printout(90, "", 4), printout(120, "wren", 9)};
  those.handed_in = {{"evening", false}, {"evening", true}, {"day", false}};
  const Evening sums = evening(those);
  REQUIRE(sums.classes.size() == 3);
  const EveningClass& none = sums.classes[0];
  const EveningClass& tuesday = sums.classes[2];
  CHECK(none.name.empty());
  CHECK(none.files == 1);
  CHECK(none.printed.pages == 4);
  CHECK(tuesday.files == 2);
  CHECK(tuesday.bytes == 30);
  CHECK(tuesday.printed.printouts == 2);
  CHECK(tuesday.printed.pages == 5);
  CHECK(tuesday.handed_in == 2);
  CHECK(tuesday.late == 1);
  CHECK(sums.unclaimed.printouts == 1);
  CHECK(sums.unclaimed.pages == 4);
  EveningClass all;
  for (const auto& each : sums.classes) all.add(each);
  CHECK(sums.all.files == 3);
  CHECK(sums.all.bytes == all.bytes);
  CHECK(sums.all.printed.printouts == 3);
  CHECK(sums.all.printed.pages == 9);
  CHECK(sums.all.handed_in == 3);
  CHECK(sums.all.late == 1);
}
