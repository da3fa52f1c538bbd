// Contents in pieces, over a channel that answers what the test wants.
#include "admin/transfer.h"

#include <deque>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>

#include "server/control/base64.h"
#include "tests/admin/process.h"

using namespace stationer;
using namespace stationer::admin;
namespace json = boost::json;
using fs::Code;
using test::Keeper;

namespace {

class Scripted : public Channel {
 public:
  std::deque<std::string> answers;  // results as JSON; "!" is an error of the service's
  std::vector<std::string> asked;   // methods

 private:
  fs::Result<std::string> exchange(const std::string& line) override {
    const json::object request = json::parse(line).as_object();
    asked.emplace_back(request.at("method").as_string());
    if (answers.empty()) return fs::Error{Code::io, "The line is dead."};
    const std::string answer = answers.front();
    answers.pop_front();
    const std::string id = json::serialize(request.at("id"));
    if (answer == "!") {
      return R"({"jsonrpc":"2.0","id":)" + id +
             R"(,"error":{"code":-32000,"message":"No.","data":{"code":"denied"}}})";
    }
    return R"({"jsonrpc":"2.0","id":)" + id + R"(,"result":)" + answer + "}";
  }
};

std::string piece(std::string_view bytes, bool last) {
  return json::serialize(json::object{{"bytes", server::base64(bytes)}, {"last", last}});
}

const char* const opened = R"({"stream": 1, "name": "tides.bas", "size": 6})";

}  // namespace

TEST_CASE("a file comes in pieces and is there when the last has come") {
  const Keeper keeper;
  Scripted channel;
  channel.answers = {opened, piece("abc", false), piece("def", true)};
  CHECK(fetch(channel, "file.open", {{"path", "/tides.bas"}}, keeper / "got", false));
  CHECK(keeper.read("got") == "abcdef");
  CHECK(keeper.names() == std::vector<std::string>{"got"});
}

TEST_CASE("into a folder it goes under its own name") {
  const Keeper keeper;
  Scripted channel;
  channel.answers = {opened, piece("", true)};
  CHECK(fetch(channel, "file.open", {}, keeper / ".", false));
  CHECK(keeper.names() == std::vector<std::string>{"tides.bas"});
  CHECK(keeper.read("tides.bas").empty());
}

TEST_CASE("whatever goes wrong on the way, no part of a file is left") {
  const Keeper keeper;
  for (const std::string& wrong :
       {std::string("!"), std::string("[]"), std::string(R"({"bytes": "a"})"), piece("", false),
        std::string(R"({"bytes": "%%%%", "last": true})")}) {
    INFO(wrong);
    Scripted channel;
    channel.answers = {opened, piece("abc", false), wrong};
    const auto fetched = fetch(channel, "file.open", {}, keeper / "got", false);
    REQUIRE_FALSE(fetched);
    CHECK(fetched.error().message.ends_with('.'));
    CHECK(keeper.names().empty());
  }
  Scripted dead;
  dead.answers = {opened, piece("abc", false)};
  CHECK_FALSE(fetch(dead, "file.open", {}, keeper / "got", false));
  CHECK(keeper.names().empty());
}

TEST_CASE("a file that is there stays unless it is to be replaced") {
  const Keeper keeper;
  keeper.write("got", "before");
  Scripted channel;
  channel.answers = {opened};
  CHECK(fetch(channel, "file.open", {}, keeper / "got", false).error().code == Code::exists);
  CHECK(channel.asked == std::vector<std::string>{"file.open"});  // nothing was read in vain
  channel.answers = {opened, piece("a", false), "!"};
  CHECK_FALSE(fetch(channel, "file.open", {}, keeper / "got", true));
  CHECK(keeper.read("got") == "before");
  channel.answers = {opened, piece("after", true)};
  CHECK(fetch(channel, "file.open", {}, keeper / "got", true));
  CHECK(keeper.read("got") == "after");
}

TEST_CASE("a file is sent in pieces that fit, and finished once") {
  const Keeper keeper;
  keeper.write("to send", std::string(600'000, 'x'));
  Scripted channel;
  channel.answers = {R"({"stream": 1})", "{}", "{}", "{}", "{}"};
  CHECK(send(channel, keeper / "to send", {{"path", "/a"}}));
  CHECK(channel.asked == std::vector<std::string>{"file.save", "stream.write", "stream.write",
                                                  "stream.write", "stream.finish"});
}

TEST_CASE("sending ends with the first refusal, and says it") {
  const Keeper keeper;
  keeper.write("to send", std::string(600'000, 'x'));
  Scripted channel;
  channel.answers = {R"({"stream": 1})", "{}", "!"};
  const auto sent = send(channel, keeper / "to send", {{"path", "/a"}});
  REQUIRE_FALSE(sent);
  CHECK(sent.error().code == Code::denied);
  CHECK(sent.error().message == "No.");
  CHECK(channel.asked.back() == "stream.write");

  Scripted untouched;
  CHECK(send(untouched, keeper / "not there", {}).error().code == Code::not_found);
  CHECK(send(untouched, keeper / ".", {}).error().code == Code::is_a_folder);
  CHECK(untouched.asked.empty());
}

TEST_CASE("listings that come in parts are put together") {
  Scripted channel;
  channel.answers = {R"({"items": [{"a": 1}, {"a": 2}], "next": 2, "also": true})",
                     R"({"items": [{"a": 3}]})"};
  auto whole = channel.list("account.list");
  REQUIRE(whole);
  CHECK(json::serialize(whole->items) == R"([{"a":1},{"a":2},{"a":3}])");
  CHECK(whole->first.at("also").as_bool());
  CHECK(channel.asked.size() == 2);

  // A service that goes on without saying anything is not asked for ever.
  channel.answers = {R"({"items": [], "next": 0})"};
  CHECK(channel.list("account.list"));
  for (const char* strange : {"{}", R"({"items": 3})", R"({"items": [3]})", "7", "null"}) {
    INFO(strange);
    channel.answers = {strange};
    const auto listed = channel.list("account.list");
    REQUIRE_FALSE(listed);
    CHECK(listed.error().message.find("another version") != std::string::npos);
  }
}
