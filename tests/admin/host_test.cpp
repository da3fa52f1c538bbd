// The keeper's own files.
#include "admin/host.h"

#include <csignal>
#include <filesystem>

#include <catch2/catch.hpp>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/admin/process.h"

using namespace stationer;
using namespace stationer::admin;
using fs::Code;
using test::Keeper;

TEST_CASE("an output has its name when it is finished, and not before") {
  const Keeper keeper;
  {
    auto output = Output::create(keeper / "a", false);
    REQUIRE(output);
    REQUIRE(output->write("half"));
    CHECK_FALSE(std::filesystem::exists(keeper / "a"));
    CHECK(keeper.names().size() == 1);
  }
  CHECK(keeper.names().empty());
  auto output = Output::create(keeper / "a", false);
  REQUIRE(output);
  REQUIRE(output->write("who"));
  REQUIRE(output->write("le"));
  REQUIRE(output->finish());
  CHECK(keeper.names() == std::vector<std::string>{"a"});
  CHECK(keeper.read("a") == "whole");
}

TEST_CASE("what is there is replaced only when that is asked for, also when it came meanwhile") {
  const Keeper keeper;
  keeper.write("a", "before");
  CHECK(Output::create(keeper / "a", false).error().code == Code::exists);
  auto late = Output::create(keeper / "b", false);
  REQUIRE(late);
  keeper.write("b", "before");
  CHECK(late->finish().error().code == Code::exists);
  CHECK(keeper.read("b") == "before");
  auto output = Output::create(keeper / "a", true);
  REQUIRE(output);
  REQUIRE(output->write("after"));
  CHECK(keeper.read("a") == "before");
  REQUIRE(output->finish());
  CHECK(keeper.read("a") == "after");
}

TEST_CASE("a part gets the first name beside its own that is free, and replaces nothing") {
  const test::Keeper keeper;
  for (const auto& [name, part] : {std::pair("slips.pdf", "slips-2.pdf"),
                                   {"slips", "slips-1"},
                                   {"a.b/slips", "a.b/slips-1"}}) {
    keeper.write("slips-1.pdf", "before");
    std::filesystem::create_directory(keeper / "a.b");
    auto output = Output::create(keeper / name, false);
    REQUIRE(output);
    REQUIRE(output->write("part"));
    CHECK(output->finish_in_part().value() == keeper / part);
    CHECK(keeper.read(part) == "part");
    CHECK_FALSE(std::filesystem::exists(keeper / name));
  }
  CHECK(keeper.read("slips-1.pdf") == "before");
  auto standard = Output::create("/dev/null", false);
  REQUIRE(standard);
  CHECK(standard->finish_in_part().value() == "/dev/null");
}

TEST_CASE("Ctrl-C and its like can be put off, and then do again what they did") {
  const auto handler = [] {
    struct sigaction now {};
    ::sigaction(SIGINT, nullptr, &now);
    return now.sa_handler;
  };
  const auto before = handler();
  {
    const PutOff signals;
    CHECK_FALSE(signals.asked());
    ::raise(SIGINT);
    CHECK(signals.asked());
  }
  CHECK(handler() == before);
  const auto hung_up = std::signal(SIGHUP, SIG_IGN);  // as under nohup
  {
    const PutOff signals;
    CHECK_FALSE(signals.asked());
    ::raise(SIGHUP);
    CHECK_FALSE(signals.asked());
  }
  std::signal(SIGHUP, hung_up);
}

TEST_CASE("Ctrl-C and its like leave nothing of an output, and end the program as they always do") {
  const Keeper keeper;
  keeper.write("a", "before");
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
    INFO(signal);
    const pid_t child = ::fork();
    if (child == 0) {
      std::signal(signal, SIG_DFL);  // in place of Catch2's
      auto earlier = Output::create(keeper / "earlier", false);
      const bool finished = earlier && earlier->write("whole") && earlier->finish();
      auto output = Output::create(keeper / "a", true);
      if (finished && output && output->write("half")) ::raise(signal);
      ::_exit(1);
    }
    REQUIRE(child > 0);
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    CHECK(WIFSIGNALED(status));
    CHECK(WTERMSIG(status) == signal);
    CHECK(keeper.names() == std::vector<std::string>{"a", "earlier"});
    CHECK(keeper.read("a") == "before");
    std::filesystem::remove(keeper / "earlier");
  }
}

TEST_CASE("what can't be written says so") {
  const Keeper keeper;
  CHECK(Output::create(keeper / ".", true).error().code == Code::is_a_folder);
  CHECK(Output::create(keeper / "none/a", true).error().code == Code::not_found);
  CHECK_FALSE(Output::create("/proc/a", true));  // nobody may make a file there
  auto full = Output::create("/dev/full", false);
  REQUIRE(full);
  CHECK(full->write("x").error().code == Code::no_space);
}

TEST_CASE("an input knows what a plain file has, and no more of others") {
  const Keeper keeper;
  keeper.write("a", "12345");
  auto input = Input::open(keeper / "a");
  REQUIRE(input);
  CHECK(input->size() == 5u);
  CHECK(input->changed());
  std::string buffer(3, '\0');
  CHECK(input->read(buffer).value() == 3);
  CHECK(buffer == "123");
  CHECK(input->read(buffer).value() == 2);
  CHECK(input->read(buffer).value() == 0);
  auto device = Input::open("/dev/null");
  REQUIRE(device);
  CHECK_FALSE(device->size());
  CHECK_FALSE(device->changed());
  CHECK(Input::open(keeper / "none").error().code == Code::not_found);
  CHECK(Input::open(keeper / ".").error().code == Code::is_a_folder);
}

TEST_CASE("a file's place is what is named, or in it when that is a folder") {
  const Keeper keeper;
  CHECK(place_for("", "a.pdf") == "a.pdf");
  CHECK(place_for("-", "a.pdf") == "-");
  CHECK(place_for(keeper / "b", "a.pdf") == keeper / "b");
  CHECK(place_for(keeper / ".", "a.pdf") == keeper / "./a.pdf");
  CHECK(place_for(keeper / "./", "a.pdf") == keeper / "./a.pdf");
  CHECK(last_part("/members/robin/a") == "a");
  CHECK(last_part("a") == "a");
  CHECK(last_part("a/").empty());
}
