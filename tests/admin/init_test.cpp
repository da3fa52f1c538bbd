// Making a volume.
#include <catch2/catch.hpp>

#include "tests/admin/process.h"

using namespace stationer;
using test::Keeper;
using test::Said;

TEST_CASE("init makes a volume that commands can use, and says how it goes on") {
  Keeper keeper;
  keeper.named = "";
  const std::string said =
      keeper.done("init \"the mill\" --name \"Tidewrack Mill\" --manager Wren --password-stdin",
                  "mill-race-wren\n");
  CHECK(said ==
        "The volume is made, with wren as its manager. Start it with: stationer serve "
        "--volume 'the mill'\n");
  CHECK(keeper.done("account show wren --volume \"the mill\"").find("manager") !=
        std::string::npos);
  CHECK(keeper.done("status --volume \"the mill\"").find("Tidewrack Mill") != std::string::npos);
  CHECK(keeper.done("journal --volume \"the mill\"").find("account added") != std::string::npos);
  // All that the layers want to be set is there, and right.
  const std::string settings = keeper.read("the mill/volume.toml");
  for (const char* part : {"[volume]", "[limits]", "[print]", "[door.terminal]", "[door.lpd]"}) {
    INFO(part);
    CHECK(settings.find(part) != std::string::npos);
  }
  CHECK(settings.find("mill-race-wren") == std::string::npos);
}

TEST_CASE("init without a terminal and a manager makes none, and says how to add one") {
  Keeper keeper;
  CHECK(keeper.done("init volume")
            .find("stationer account add NAME --role manager --volume volume") !=
        std::string::npos);
  CHECK(keeper.done("account list").find("There are no accounts yet.") != std::string::npos);
}

TEST_CASE("init without a terminal asks nothing, and takes the same answers as options") {
  Keeper keeper;
  const Said said = keeper.run(
      "init volume --machines \"telnet http\" --address 10.1.2.3 --paper letter --manager wren "
      "--password-stdin",
      "mill-race-wren\n");
  CHECK(said.status == 0);
  CHECK(said.out ==
        "The volume is made, with wren as its manager. Start it with: stationer serve --volume "
        "volume\n");
  CHECK(said.err.empty());
  const std::string settings = keeper.read("volume/volume.toml");
  for (const char* shut : {"lpd", "raw", "tftp", "ftp"}) {
    INFO(shut);
    CHECK(settings.find("[door." + std::string(shut) + "]\nopen = false") != std::string::npos);
  }
  for (const char* open : {"terminal", "http", "time", "daytime"}) {
    INFO(open);
    CHECK(settings.find("[door." + std::string(open) + "]\naddress = \"10.1.2.3\"") !=
          std::string::npos);
  }
  CHECK(settings.find("profile = \"plain-80-letter\"") != std::string::npos);
  CHECK(keeper.failed("init other --machines owls").find("is no kind of machine") !=
        std::string::npos);
  CHECK(keeper.failed("init other --address 8.8.8.8").find("whole Internet") != std::string::npos);
  CHECK(keeper.run("init other --paper parchment").status == 2);
  CHECK(keeper.names() == std::vector<std::string>{"volume"});
}

TEST_CASE("init leaves nothing where it can't or may not make a volume") {
  Keeper keeper;
  keeper.make_volume();
  keeper.write("a file", "mine");
  const auto before = keeper.names();
  CHECK(keeper.failed("init volume").find("is not empty") != std::string::npos);
  CHECK(keeper.failed("init .").find("is not empty") != std::string::npos);
  keeper.failed("init \"a file\"");
  keeper.failed("init no/such/folder");
  keeper.failed("init new --manager \"two words\" --password-stdin", "mill-race-1\n");
  CHECK(keeper.failed("init new --manager teasel --password-stdin", "short\n")
            .find("at least 8 characters") != std::string::npos);
  keeper.failed("init new --manager teasel --password-stdin");
  keeper.failed("init new --manager teasel --password-stdin", std::string(300, 'p') + "\n");
  CHECK(keeper.run("init new --manager teasel").status == 2);
  CHECK(keeper.run("init new --password-stdin", "mill-race-1\n").status == 2);
  CHECK(keeper.run("init").status == 2);
  CHECK(keeper.names() == before);
  CHECK(keeper.read("a file") == "mine");
  CHECK(keeper.done("account list").find("wren") != std::string::npos);
}
