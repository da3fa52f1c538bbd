#include "admin/sign_in_name.h"

#include <set>

#include <catch2/catch.hpp>

#include "fs/account.h"

using namespace stationer;
using admin::sign_in_name;

namespace {

std::string made(std::string_view full_name, const std::set<std::string>& taken = {}) {
  return sign_in_name(full_name, [&](const std::string& name) { return taken.count(name) != 0; });
}

}  // namespace

TEST_CASE("a sign-in name is the given name and the beginning of the family name") {
  CHECK(made("Robin Fenn") == "robinf");
  CHECK(made("Wren") == "wren");
  CHECK(made("Maximiliana Rill") == "maximilr");
  CHECK(made("Anna Maria von der Muehle") == "annam");
  CHECK(made("Jo O'Fenn-Rill") == "joo");
  CHECK(made("  Robin   Fenn ") == "robinf");
}

TEST_CASE("a sign-in name has letters that every keyboard has") {
  CHECK(made("J\u00fcrgen \u00d8rn") == "jurgeno");
  CHECK(made("\u0141ucja \u017b\u00f3\u0142w") == "lucjaz");
  CHECK(made("Stra\u00dfe") == "strasse");
  CHECK(made("\u00c6sa \u00deorn") == "aesat");
  CHECK(made("\u0130\u0131\u015f\u0131k") == "iisik");
  CHECK(made("Ng\u1ecdc \u0110\u1ed7") == "ngocd");
  CHECK(made("e\u0301tude") == "etude");       // composed and not are the same
  CHECK(made("\uff32\uff4f\uff42") == "rob");  // wide letters
  CHECK(made("\u6c34 \u706b").empty());        // none of them is
  CHECK(made("").empty());
  CHECK(made("- '").empty());
}

TEST_CASE("a name that is taken grows by the family name, then by a number") {
  std::set<std::string> taken;
  std::vector<std::string> names;
  for (int i = 0; i < 5; ++i) {
    names.push_back(made("Robin Fenn", taken));
    taken.insert(names.back());
  }
  CHECK(names == std::vector<std::string>{"robinf", "robinfe", "robinfen", "robinf2", "robinf3"});
  CHECK(made("Maximiliana Rill", {"maximilr"}) == "maximil2");
  CHECK(made("Guest") == "guest2");  // "guest" can't be an account
}

TEST_CASE("however many share a name, theirs are short, fit to be accounts, and no two alike") {
  std::set<std::string> taken;
  for (int i = 0; i < 1200; ++i) {
    const std::string name = made(i % 2 == 0 ? "Maximiliana Rill" : "Bo Fenn", taken);
    CHECK(name.size() <= admin::longest_made_name);
    CHECK(fs::account_name(name).value() == name);
    CHECK(taken.insert(name).second);
  }
}
