// The console's way to the control methods, with a service that comes and goes.
#include <csignal>

#include <catch2/catch.hpp>

#include "admin/console/fetcher.h"
#include "fs/volume.h"
#include "tests/admin/process.h"
#include "tests/support/serving.h"

using namespace stationer;
using namespace stationer::admin::console;
using test::Keeper;
using namespace std::chrono_literals;

namespace {

// Tries for half a minute.
template <class Is>
bool comes(const Is& is) {
  for (int tries = 0; tries < 1500; ++tries) {
    if (is()) return true;
    std::this_thread::sleep_for(20ms);
  }
  return false;
}

// The answers that come, by the numbers of their requests.
struct Talk {
  Fetcher fetcher;
  std::map<std::uint64_t, Answer> answers;

  explicit Talk(const Keeper& keeper) : fetcher(keeper.volume()) {}

  void ask(std::uint64_t id, std::string method, boost::json::object params = {},
           bool act = false) {
    std::vector<Request> one;
    one.push_back({id, std::move(method), std::move(params), act});
    fetcher.send(std::move(one));
  }
  bool answered(std::uint64_t id) {
    return comes([&] {
      for (auto& each : fetcher.take()) answers.emplace(each.id, std::move(each.answer));
      return answers.count(id) == 1;
    });
  }
  bool goes(Way way) {
    return comes([&] { return fetcher.link().way == way; });
  }
};

}  // namespace

TEST_CASE("without a service the console works on the volume, and lets go of it") {
  Keeper keeper;
  keeper.make_volume();
  Talk talk(keeper);
  talk.ask(1, "status");
  REQUIRE(talk.answered(1));
  REQUIRE(talk.answers.at(1));
  CHECK_FALSE(talk.answers.at(1)->at("serving").as_bool());
  CHECK(talk.fetcher.link().way == Way::straight);
  CHECK(comes([&] { return fs::Volume::open(keeper.volume()).has_value(); }));
  talk.ask(2, "account.add", {{"name", "robin"}}, true);
  REQUIRE(talk.answered(2));
  CHECK(talk.answers.at(2));
}

TEST_CASE("a service that goes is found again, and what was to be done is not done later") {
  Keeper keeper;
  keeper.make_volume();
  std::optional<test::Serving> service(std::in_place, STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service->is_ready());
  Talk talk(keeper);
  talk.ask(1, "status");
  REQUIRE(talk.answered(1));
  CHECK(talk.answers.at(1)->at("serving").as_bool());
  CHECK(talk.fetcher.link().way == Way::service);
  // One that is stopped keeps nobody from anything, and one that is killed is noticed.
  REQUIRE(::kill(service->pid(), SIGSTOP) == 0);
  talk.ask(2, "status");
  std::this_thread::sleep_for(100ms);
  CHECK(talk.fetcher.take().empty());
  service->kill();
  REQUIRE(talk.answered(2));
  CHECK_FALSE(talk.answers.at(2));
  {
    const auto held = fs::Volume::open(keeper.volume(), {});
    REQUIRE(held);
    talk.ask(3, "account.add", {{"name", "robin"}}, true);
    REQUIRE(talk.answered(3));
    REQUIRE_FALSE(talk.answers.at(3));
    CHECK(talk.answers.at(3).error().message.find("Nothing was done") != std::string::npos);
    CHECK(talk.goes(Way::none));
    CHECK(talk.fetcher.link().why.ends_with('.'));
    talk.ask(4, "account.list");
  }
  service.emplace(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service->is_ready());
  REQUIRE(talk.answered(4));  // what only looks waited
  talk.ask(5, "account.show", {{"name", "robin"}});
  REQUIRE(talk.answered(5));
  CHECK(talk.answers.at(5).error().code == fs::Code::not_found);
  CHECK(talk.goes(Way::service));
}

TEST_CASE("what is to be done goes before what only looks, in its order") {
  Keeper keeper;
  keeper.make_volume();
  Talk talk(keeper);
  std::vector<Request> all;
  for (const std::uint64_t id : {1, 2}) all.push_back({id, "status", {}, false});
  for (const std::uint64_t id : {3, 4})
    all.push_back({id, "class.add", {{"name", "evening"}}, true});
  talk.fetcher.send(std::move(all));
  std::vector<std::uint64_t> order;
  REQUIRE(comes([&] {
    for (const auto& each : talk.fetcher.take()) order.push_back(each.id);
    return order.size() == 4;
  }));
  CHECK(order == std::vector<std::uint64_t>{3, 4, 1, 2});
}

TEST_CASE("leaving the console waits for no service that does not answer") {
  Keeper keeper;
  keeper.make_volume();
  test::Serving service(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service.is_ready());
  std::optional<Talk> talk(std::in_place, keeper);
  REQUIRE(talk->goes(Way::service));
  REQUIRE(::kill(service.pid(), SIGSTOP) == 0);
  talk->ask(1, "status");
  std::this_thread::sleep_for(200ms);
  talk.reset();  // would hang here
  REQUIRE(::kill(service.pid(), SIGCONT) == 0);
  CHECK(service.stop() == 0);
}
