#include "server/refusals.h"

#include <catch2/catch.hpp>

#include "fs/cause.h"

using namespace stationer;
using namespace std::chrono_literals;
using server::Refusal;
using server::Refusals;

namespace {

Refusal refusal(const std::string& address, fs::Time at = fs::Time(1h),
                const std::string& sentence = "There is no tide.com.",
                fs::AccountId account = fs::no_account) {
  return {at, account, "tftp", address, "load", "tide.com", {fs::Code::not_found, sentence}};
}

}  // namespace

TEST_CASE("the latest refusals of one account or station are kept, and so many of all") {
  Refusals refusals;
  for (int i = 0; i < 60; ++i) {
    refusals.add(refusal("10.0.0.7", fs::Time(1h), std::to_string(i)));
  }
  CHECK(refusals.all().size() == Refusals::most_of_one);
  CHECK(refusals.all().front().error.message == "59");
  // The same person at many machines.
  for (int i = 0; i < 60; ++i) {
    refusals.add(refusal(std::to_string(i), fs::Time(1h), "No.", fs::AccountId{3}));
  }
  CHECK(refusals.all().size() == 2 * Refusals::most_of_one);
  for (int i = 0; i < 3000; ++i) refusals.add(refusal(std::to_string(i)));
  CHECK(refusals.all().size() == Refusals::most);
  CHECK(refusals.all().front().address == "2999");
  CHECK(refusals.all().back().address == "1000");
}

TEST_CASE("the same refusal again within a minute counts as one that came several times") {
  Refusals refusals;
  for (int i = 0; i < 5; ++i) refusals.add(refusal("10.0.0.7", fs::Time(1h + i * 50s)));
  REQUIRE(refusals.all().size() == 1);
  CHECK(refusals.all().front().times == 5);
  CHECK(refusals.all().front().at == fs::Time(1h + 200s));
  refusals.add(refusal("10.0.0.8", fs::Time(1h + 201s)));
  refusals.add(refusal("10.0.0.7", fs::Time(1h + 202s)));
  CHECK(refusals.all().size() == 2);
  CHECK(refusals.all().front().address == "10.0.0.7");
  refusals.add(refusal("10.0.0.7", fs::Time(1h + 262s)));
  CHECK(refusals.all().size() == 3);
}

TEST_CASE("what a door tells of a refusal that was kept in mind just now adds nothing") {
  Refusals refusals;
  refusals.add(refusal("10.0.0.7"));
  refusals.add_if_new(refusal("10.0.0.7", fs::Time(1h + 1s), "There is no tide.com. Or is there?"));
  CHECK(refusals.all().size() == 1);
  CHECK(refusals.all().front().times == 1);
  refusals.add_if_new(refusal("10.0.0.8"));
  CHECK(refusals.all().size() == 2);
  refusals.add_if_new(refusal("10.0.0.7", fs::Time(1h + 2s)));
  CHECK(refusals.all().front().times == 2);
}

TEST_CASE("refusals that tell of somebody can be forgotten, and others stay") {
  Refusals refusals;
  for (int i = 0; i < 10; ++i)
    refusals.add(refusal(std::to_string(i % 5), fs::Time(1h), std::to_string(i)));
  refusals.forget([](const Refusal& each) { return each.address == "3"; });
  CHECK(refusals.all().size() == 8);
  refusals.add(refusal("3"));
  CHECK(refusals.all().size() == 9);
  refusals.forget([](const Refusal&) { return true; });
  CHECK(refusals.all().empty());
}

TEST_CASE("texts from stations are kept only so far") {
  Refusals refusals;
  Refusal long_one = refusal("10.0.0.7", fs::Time(1h), std::string(5000, 's'));
  long_one.subject = std::string(5000, 'f');
  refusals.add(std::move(long_one));
  CHECK(refusals.all().front().subject.size() == Refusals::longest_text);
  CHECK(refusals.all().front().error.message.size() == Refusals::longest_text);
}

TEST_CASE("a station that asks in vain all day does not fill the journal, nor do many of them") {
  Refusals refusals;
  const auto journalled = [&](const std::string& address, fs::Time at) {
    int count = 0;
    for (int i = 0; i < 500; ++i) count += refusals.is_for_journal(address, at) ? 1 : 0;
    return count;
  };
  CHECK(journalled("10.0.0.7", fs::Time(1h)) == Refusals::most_a_minute);
  CHECK(journalled("10.0.0.8", fs::Time(1h + 59s)) == Refusals::most_a_minute);
  CHECK(journalled("10.0.0.7", fs::Time(1h + 60s)) == Refusals::most_a_minute);
  int all = 0;
  for (int i = 0; i < 1000; ++i) {
    all += refusals.is_for_journal(std::to_string(i), fs::Time(2h)) ? 1 : 0;
  }
  CHECK(all == Refusals::most_a_minute_of_all);
}
