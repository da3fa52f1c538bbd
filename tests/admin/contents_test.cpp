// Files of every size there and back, as processes, with the service and without.
#include <optional>
#include <random>

#include <catch2/catch.hpp>

#include "tests/admin/process.h"
#include "tests/support/serving.h"

using namespace stationer;
using test::Keeper;
using test::Said;

namespace {

std::string random_bytes(std::size_t size) {
  std::mt19937 random(7);
  std::string out;
  out.reserve(size);
  while (out.size() < size) out += static_cast<char>(random());
  return out;
}

}  // namespace

TEST_CASE("contents of any size come back as they went, by file and by pipe") {
  Keeper keeper;
  keeper.make_volume();
  std::optional<test::Serving> service;
  for (const bool serving : {false, true}) {
    if (serving) {
      service.emplace(STATIONER_PROGRAM, keeper.volume());
      REQUIRE(service->is_ready());
    }
    for (const std::size_t size : {std::size_t{0}, std::size_t{1}, std::size_t{256} * 1024,
                                   std::size_t{256} * 1024 + 1, std::size_t{5'000'000}}) {
      INFO(size << (serving ? " bytes, with the service" : " bytes"));
      const std::string bytes = random_bytes(size);
      keeper.write("local", bytes);
      keeper.done("file put local /public/there --replace");
      keeper.done("file get /public/there back --replace");
      CHECK((keeper.read("back") == bytes));
      CHECK((keeper.done("file get /public/there -") == bytes));
      keeper.done("file put - /public/piped --replace", bytes);
      CHECK((keeper.done("file get /public/piped -") == bytes));
      CHECK(keeper.done("file show /public/piped --json")
                .find("\"size\":" + std::to_string(size) + ",") != std::string::npos);
    }
  }
  CHECK(service->stop() == 0);
  CHECK(keeper.done("check").find("nothing is wrong.") != std::string::npos);
}

TEST_CASE("an output that can't be written leaves nothing behind, and says why") {
  Keeper keeper;
  keeper.make_volume({"paper"});
  keeper.write("local", random_bytes(700'000));
  keeper.done("file put local /public/there");
  const auto before = keeper.names();
  for (const char* command : {"file get /public/there", "printout get 1", "pdf local"}) {
    const auto line = [&](const char* where) { return std::string(command) + ' ' + where; };
    CHECK(keeper.failed(line("/dev/full")).find("No space left") != std::string::npos);
    CHECK(keeper.failed(line("/proc/none")).find("could not be created") != std::string::npos);
    CHECK(keeper.failed(line("no/folder/x")).find("could not be created") != std::string::npos);
    CHECK(keeper.failed(line(std::string(300, 'n').c_str())).find("name too long") !=
          std::string::npos);
  }
  CHECK(keeper.names() == before);

  keeper.output = "/dev/full";
  const Said said = keeper.run("file get /public/there -");
  CHECK(said.status == 1);
  CHECK(said.err.find("\"standard output\" could not be written") != std::string::npos);
  CHECK(keeper.run("pdf local -").status == 1);
}

TEST_CASE("invariant 1: a file that fails on its way in leaves what was there") {
  Keeper keeper;
  keeper.make_volume();
  keeper.done("account add robin");
  keeper.done("account quota robin --mib 1 --hard-mib 1");
  keeper.write("large", random_bytes(3'000'000));
  keeper.write("small", "before");
  keeper.done("file put small /members/robin/work");
  keeper.done("file owner /members/robin/work robin");
  // It stays its owner's, and counts.
  CHECK(keeper.failed("file put large /members/robin/work --replace").find("There is no room") !=
        std::string::npos);
  CHECK(keeper.done("file get /members/robin/work -") == "before");
  CHECK(keeper.done("check").find("nothing is wrong.") != std::string::npos);
}

TEST_CASE("names with spaces, other scripts and the greatest length go there and back") {
  Keeper keeper;
  keeper.make_volume();
  for (const std::string& name : {std::string("a name with spaces"), std::string("it's \"quoted\""),
                                  std::string("stra\xC3\x9F"
                                              "e \xE2\x98\x83.txt"),
                                  std::string("$HOME;echo"), std::string(255, 'n')}) {
    if (name.find('"') != std::string::npos) continue;  // no name in a volume
    INFO(name);
    keeper.write("local", name);
    CHECK(keeper.run({"file", "put", "local", "/public/" + name}).status == 0);
    CHECK(keeper.run({"file", "get", "/public/" + name, "-"}).out == name);
  }
  keeper.write("local", "");
  const Said longer = keeper.run({"file", "put", "local", "/public/" + std::string(256, 'n')});
  CHECK(longer.status == 1);
  CHECK(longer.err.find("at most 255 bytes") != std::string::npos);
  CHECK(keeper.run({"file", "put", "local", "/public/\"quoted\""}).status == 1);
}
