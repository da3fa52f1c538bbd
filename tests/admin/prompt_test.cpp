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
  AtTerminal terminal(keeper, {"init", "volume", "--name", "Tidewrack Mill"});
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
  for (const char* question : {"3 of 5", "4 of 5", "5 of 5"}) {
    REQUIRE(terminal.sees(question));
    REQUIRE(terminal.sees("]: "));
    terminal.types("\n");
  }
  REQUIRE(terminal.sees("with teasel as its manager"));
  CHECK(terminal.status() == 0);
  CHECK(terminal.seen().find("mill-race") == std::string::npos);
  CHECK(terminal.seen().find("short") == std::string::npos);
  CHECK(keeper.done("account show teasel").find("manager") != std::string::npos);
  CHECK(keeper.done("status").find("Tidewrack Mill") != std::string::npos);
}

TEST_CASE("init's questions explain what makes no sense, and ask again") {
  Keeper keeper;
  AtTerminal terminal(keeper, {"init", "volume"});
  const auto answer = [&](const char* question, const char* keys) {
    REQUIRE(terminal.sees(question));
    terminal.types(keys);
  };
  answer("[Our room]: ", "The \x01 mill\n");
  answer("[Our room]: ", "  The mill  \n");
  answer("name to sign in with: ", "teasel\n");
  answer("Password for teasel: ", "mill-race-one\n");
  answer("The same again: ", "mill-race-one\n");
  answer("[telnet tftp ftp lpd raw http]: ", "telnet, owls\n");
  REQUIRE(terminal.sees("\"owls\" is no kind of machine. There are: serial-80,"));
  answer("]: ", "Serial-40, telnet  lpd lpd\n");
  REQUIRE(terminal.sees("4 of 5"));
  answer("[room]: ", "everybody\n");
  REQUIRE(terminal.sees("\"everybody\" is neither room nor box"));
  answer("[room]: ", "8.8.8.8\n");
  REQUIRE(terminal.sees("can be reached from the whole Internet"));
  answer("[room]: ", "BOX\n");
  answer("[a4]: ", "parchment\n");
  REQUIRE(terminal.sees("Paper is a4 or letter here, not \"parchment\"."));
  answer("[a4]: ", "Letter\n");
  REQUIRE(terminal.sees("with teasel as its manager"));
  // A card for each kind that was named, once.
  REQUIRE(terminal.sees("The mill: Serial terminal, 40 columns"));
  REQUIRE(terminal.sees("The mill: Network terminal, by Telnet"));
  REQUIRE(terminal.sees("telnet 127.0.0.1 8023"));
  REQUIRE(terminal.sees("The mill: Printing by LPD"));
  CHECK(terminal.status() == 0);
  CHECK(terminal.seen().find("by HTTP\r\n-") == std::string::npos);

  const std::string settings = keeper.read("volume/volume.toml");
  CHECK(settings.find("name = \"The mill\"") != std::string::npos);
  CHECK(settings.find("[door.ftp]\nopen = false") != std::string::npos);
  CHECK(settings.find("[door.lpd]\naddress = \"loopback\"\nport = 8515") != std::string::npos);
  CHECK(settings.find("profile = \"plain-80-letter\"") != std::string::npos);
  CHECK(keeper.done("check").find("nothing is wrong") != std::string::npos);
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

TEST_CASE("giving up at any of init's questions leaves nothing behind") {
  Keeper keeper;
  const std::pair<const char*, const char*> answers[] = {{"[Our room]: ", "\n"},
                                                         {"sign in with: ", "teasel\n"},
                                                         {"for teasel: ", "mill-race\n"},
                                                         {"same again: ", "mill-race\n"},
                                                         {"raw http]: ", "\n"},
                                                         {"[room]: ", "\n"},
                                                         {"[a4]: ", "\n"}};
  for (std::size_t last = 0; last < std::size(answers); ++last) {
    INFO(answers[last].first);
    AtTerminal terminal(keeper, {"init", "volume"});
    for (std::size_t i = 0; i < last; ++i) {
      REQUIRE(terminal.sees(answers[i].first));
      terminal.types(answers[i].second);
    }
    REQUIRE(terminal.sees(answers[last].first));
    terminal.types(last % 2 == 0 ? "\x03" : "\x04");
    CHECK(terminal.status() != 0);
    CHECK(keeper.names().empty());
  }
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
