// Questions at a terminal, which a real one asks: what is secret does not show.
#include <filesystem>

#include <catch2/catch.hpp>

#include "tests/admin/process.h"

using namespace stationer;
using test::AtTerminal;
using test::Keeper;

TEST_CASE(
    "invariant 8: init asks for the manager's name and, twice, for a password that does not show") {
  Keeper keeper;
  AtTerminal terminal(keeper, {"init", "volume"});
  REQUIRE(terminal.sees("name to sign in with: "));
  terminal.types("two words\n");
  REQUIRE(terminal.sees("The name of an account has"));
  REQUIRE(terminal.sees("name to sign in with: "));
  terminal.types("teasel\n");
  REQUIRE(terminal.sees("Password for teasel: "));
  terminal.types("short\n");
  REQUIRE(terminal.sees("at least 8 characters"));
  REQUIRE(terminal.sees("Password for teasel: "));
  terminal.types("mill-race-one\n");
  REQUIRE(terminal.sees("The same again: "));
  terminal.types("mill-race-two\n");
  REQUIRE(terminal.sees("Those were not the same."));
  REQUIRE(terminal.sees("Password for teasel: "));
  terminal.types("mill-race-one\r");  // an Enter of the other kind
  REQUIRE(terminal.sees("The same again: "));
  terminal.types(
      "mill-race-onx\x7f"
      "e\n");  // with a slip of the finger
  REQUIRE(terminal.sees("with teasel as its manager"));
  CHECK(terminal.status() == 0);
  CHECK(terminal.seen().find("mill-race") == std::string::npos);
  CHECK(terminal.seen().find("short") == std::string::npos);
  CHECK(keeper.done("account show teasel").find("manager") != std::string::npos);
}

TEST_CASE("giving up at a question changes nothing") {
  Keeper keeper;
  for (const char* key : {"\x03", "\x04"}) {
    AtTerminal terminal(keeper, {"init", "volume", "--manager", "teasel"});
    REQUIRE(terminal.sees("Password for teasel: "));
    terminal.types(std::string("mill") + key);
    REQUIRE(terminal.sees("Given up; nothing was changed."));
    CHECK(terminal.status() == 1);
  }
  AtTerminal terminal(keeper, {"init", "volume", "--manager", "teasel"});
  for (int i = 0; i < 3; ++i) {
    REQUIRE(terminal.sees("Password for teasel: "));
    terminal.types("teasel\n");
  }
  REQUIRE(terminal.sees("three tries are enough"));
  CHECK(terminal.status() == 1);
  CHECK(keeper.names().empty());
}

TEST_CASE("a password is asked for before the volume is taken") {
  Keeper keeper;
  keeper.make_volume();
  AtTerminal terminal(keeper, {"account", "password", "wren", "--ask-password"});
  REQUIRE(terminal.sees("Password for wren: "));
  // Meanwhile somebody else can work.
  CHECK(keeper.done("account list").find("wren") != std::string::npos);
  terminal.types("forgotten\x15mill-race-new\n");  // Ctrl-U takes the line away
  REQUIRE(terminal.sees("The same again: "));
  terminal.types("mill-race-new\n");
  CHECK(terminal.status() == 0);
  CHECK(terminal.seen().find("mill-race") == std::string::npos);
  CHECK(keeper.done("journal --about wren --count 1").find("password") != std::string::npos);

  // There is nobody to ask without a terminal.
  CHECK(keeper.failed("account password wren --ask-password").find("no terminal") !=
        std::string::npos);
}

TEST_CASE("emptying the bin asks whether that is meant") {
  Keeper keeper;
  keeper.make_volume();
  keeper.done("file put - /public/letter", "Dear all");
  keeper.done("file remove /public/letter");
  {
    AtTerminal terminal(keeper, {"file", "bin", "--empty"});
    REQUIRE(terminal.sees("Type yes: "));
    terminal.types("y\n");
    REQUIRE(terminal.sees("The bin was left as it is."));
    CHECK(terminal.status() == 1);
  }
  CHECK(keeper.done("file bin").find("/public/letter") != std::string::npos);
  AtTerminal terminal(keeper, {"file", "bin", "--empty"});
  REQUIRE(terminal.sees("Type yes: "));
  terminal.types("yes\n");
  CHECK(terminal.status() == 0);
  CHECK(keeper.done("file bin") == "The bin is empty.\n");
}

TEST_CASE("emptying the bin tells what stays for its keep bit") {
  Keeper keeper;
  keeper.make_volume();
  keeper.done("file put - /public/letter", "Dear all");
  keeper.done("file put - /public/letter --replace", "Dear both");
  keeper.done("file access /public/letter +k");
  std::filesystem::remove(keeper.volume() + "/files/public/letter");
  keeper.done("adopt");
  CHECK(keeper.done("file bin --empty --yes") ==
        "What has the keep bit stays in the bin, 1 thing: restore it, and clear the bit first.\n");
  CHECK(keeper.done("file bin").find("/public/letter") != std::string::npos);
}

TEST_CASE("on a terminal, long work shows how far it is, and tables fit") {
  Keeper keeper;
  keeper.make_volume();
  keeper.write("large", std::string(5'000'000, 'x'));
  {
    AtTerminal terminal(keeper, {"file", "put", "large", "/public/large"});
    REQUIRE(terminal.sees("large  52 %"));
    CHECK(terminal.status() == 0);
    CHECK(terminal.seen().ends_with("\r"));  // and it is gone again
  }
  keeper.write("small", "x");
  keeper.run({"file", "put", "small", "/public/" + std::string(120, 'n')});
  AtTerminal terminal(keeper, {"file", "list", "/public"});
  CHECK(terminal.status() == 0);
  std::size_t start = 0;
  const std::string& seen = terminal.seen();
  while (start < seen.size()) {
    const auto end = std::min(seen.find("\r\n", start), seen.size());
    CHECK(end - start <= 80);
    start = end + 2;
  }
  // Off a terminal nothing of the kind is said.
  const test::Said said = keeper.run("file put large /public/large --replace");
  CHECK(said.err.empty());
  CHECK(said.out.empty());
}
