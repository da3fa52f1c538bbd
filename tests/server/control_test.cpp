// How control methods are called: the table, parameters, bounds, and clients that come and go.
#include "server/control/control.h"

#include <random>
#include <set>

#include <catch2/catch.hpp>

#include "server/control/base64.h"
#include "server/control/method.h"
#include "tests/support/test_control.h"

using namespace stationer;
using namespace stationer::server;
using test::TestControl;
namespace json = boost::json;
using fs::Code;

namespace {

std::vector<std::string> all_methods() {
  std::vector<std::string> names;
  for (const auto topic : control_methods()) {
    for (const Method& method : topic) names.emplace_back(method.name);
  }
  return names;
}

int error_number(const std::string& answer) {
  return static_cast<int>(json::parse(answer).at("error").at("code").as_int64());
}

}  // namespace

TEST_CASE("base64 is that of RFC 4648") {
  // RFC 4648 §10.
  const std::vector<std::pair<std::string, std::string>> vectors = {
      {"", ""},
      {"f", "Zg=="},
      {"fo", "Zm8="},
      {"foo", "Zm9v"},
      {"foob", "Zm9vYg=="},
      {"fooba", "Zm9vYmE="},
      {"foobar", "Zm9vYmFy"},
  };
  for (const auto& [bytes, text] : vectors) {
    CHECK(base64(bytes) == text);
    CHECK(from_base64(text).value() == bytes);
  }
  // RFC 4648 §4, table 1: all 64 letters in their order.
  std::string every;
  for (unsigned i = 0; i < 64; i += 4) {
    const unsigned bits = i << 18 | (i + 1) << 12 | (i + 2) << 6 | (i + 3);
    for (const unsigned shift : {16u, 8u, 0u}) every += static_cast<char>(bits >> shift);
  }
  CHECK(base64(every) == "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/");
}

TEST_CASE("base64 that is not quite that is refused") {
  // RFC 4648 §3.2 (padding), §3.3 (foreign characters), §3.5 (bits that must be zero).
  for (const char* wrong : {"Z", "Zg", "Zg=", "Zg===", "=", "====", "Zg==Zg==", "Zm9v\n", "Zm 9",
                            "Zm9-", "Zm9_", "Zh==", "Zm9=", "Z=8=", "\xC3\xA4g="}) {
    INFO(wrong);
    CHECK(from_base64(wrong).error().code == Code::bad_input);
  }
}

TEST_CASE("base64 gives back any bytes") {
  std::mt19937 random(4);
  for (std::size_t size = 0; size < 200; ++size) {
    std::string bytes;
    while (bytes.size() < size) bytes += static_cast<char>(random());
    CHECK(from_base64(base64(bytes)).value() == bytes);
  }
}

TEST_CASE("parameters that can't be right are refused with the one that is wrong") {
  const auto check = [](const char* text, const auto& take) {
    const json::value value = json::parse(text);
    Params params(value);
    take(params);
    const auto checked = params.check();
    return checked ? std::string("fine") : checked.error().message;
  };
  const auto take_name = [](Params& params) { params.text("name"); };
  CHECK(check(R"({"name": "robin"})", take_name) == "fine");
  CHECK(check("{}", take_name) == "\"name\" is missing.");
  CHECK(check("null", take_name) == "\"name\" is missing.");
  CHECK(check(R"({"name": null})", take_name) == "\"name\" is missing.");
  CHECK(check(R"({"name": 7})", take_name) == "\"name\" has to be a text.");
  CHECK(check("[1]", take_name) == "The parameters have to be an object, with a name for each.");
  CHECK(check(R"({"name": "robin", "nmae": 1})", take_name) ==
        "There is no parameter \"nmae\"; there are: name.");
  CHECK(check(R"({"a": 1})", [](Params&) {}) == "This method takes no parameters.");

  const auto take_number = [](Params& params) { params.whole("n", 10); };
  CHECK(check(R"({"n": 0})", take_number) == "fine");
  CHECK(check(R"({"n": 10})", take_number) == "fine");
  for (const char* wrong : {R"({"n": 11})", R"({"n": -1})", R"({"n": 1.5})", R"({"n": "1"})",
                            R"({"n": true})", R"({"n": 18446744073709551615})"}) {
    CHECK(check(wrong, take_number) == "\"n\" has to be a whole number from 0 to 10.");
  }
  CHECK(check(R"({"f": "yes"})", [](Params& params) { params.flag("f"); }) ==
        "\"f\" has to be true or false.");
  // The first thing that is wrong is told.
  CHECK(check(R"({"n": 11, "name": 7})", [&](Params& params) {
          take_number(params);
          take_name(params);
        }) == "\"n\" has to be a whole number from 0 to 10.");
}

TEST_CASE("every method refuses parameters that it doesn't know, with a sentence") {
  TestControl control;
  for (const auto& name : all_methods()) {
    INFO(name);
    const std::string answer =
        control.line(R"({"jsonrpc":"2.0","id":1,"method":")" + name + R"(","params":{"bogus":1}})");
    CHECK(error_number(answer) == -32602);
    CHECK(error_number(control.line(R"({"jsonrpc":"2.0","id":1,"method":")" + name +
                                    R"(","params":["x"]})")) == -32602);
  }
  CHECK(error_number(control.line(R"({"jsonrpc":"2.0","id":1,"method":"account.burn"})")) ==
        -32601);
}

TEST_CASE("no method is named twice, and each stands in the table") {
  const auto names = all_methods();
  const std::set<std::string> different(names.begin(), names.end());
  CHECK(different.size() == names.size());
  CHECK(names.size() > 40);
}

TEST_CASE("invariant 6: random parameters neither end the service nor harm the volume") {
  TestControl control;
  control.store().add("robin");
  std::mt19937 random(11);
  const auto pick = [&random](const auto& from) { return from[random() % from.size()]; };
  const auto names = all_methods();
  const std::vector<std::string> keys = {
      "name",   "account",    "class",   "path",         "from",     "to",    "job",
      "number", "stream",     "bytes",   "text",         "most",     "role",  "closed",
      "leader", "soft_bytes", "reason",  "owner",        "who",      "about", "queue",
      "kind",   "replace",    "changes", "load_address", "full_name"};
  const json::array values = {nullptr,
                              true,
                              false,
                              0,
                              1,
                              -1,
                              2,
                              3,
                              42,
                              1e300,
                              INT64_MAX,
                              "",
                              "robin",
                              "Robin",
                              "evening",
                              "/",
                              "/members/robin",
                              "/members/robin/a",
                              "../..",
                              "..",
                              "/public/b",
                              "@all",
                              "@evening",
                              "paper",
                              "program",
                              "manager",
                              "+k",
                              "a-rwk",
                              "Zm9v",
                              "\x01\x7F",
                              "\xE2\x80\xAE right to left",
                              std::string(5000, 'x'),
                              json::array{1, 2},
                              json::object{{"a", 1}}};
  for (int round = 0; round < 4000; ++round) {
    json::object params;
    for (auto count = random() % 5; count > 0; --count) params[pick(keys)] = pick(values);
    const std::string answer = control.line(jsonrpc_request(
        1, pick(names), random() % 20 == 0 ? json::value(json::array{}) : json::value(params)));
    const json::value read = json::parse(answer);
    INFO(answer);
    REQUIRE((read.as_object().contains("result") != read.as_object().contains("error")));
    if (const json::value* error = read.as_object().if_contains("error")) {
      const std::string message(error->at("message").as_string());
      CHECK(message.size() > 10);
      CHECK(message.find("fault") == std::string::npos);
    }
  }
  CHECK(control.store().findings() == "");
}

TEST_CASE("calls that wait run side by side, and not too many of them") {
  TestControl control;
  control.room.loop.holds_work = true;
  std::vector<std::string> answers;
  const auto ask = [&] {
    control.client->call(jsonrpc_request(answers.size(), "class.list", {}),
                         [&](std::string answer) { answers.push_back(std::move(answer)); });
  };
  for (std::size_t i = 0; i < Methods::most_in_batch; ++i) ask();
  CHECK(answers.empty());
  ask();
  REQUIRE(answers.size() == 1);
  CHECK(jsonrpc_result(answers.front(), 0).error().code == Code::busy);
  // What needs no waiting overtakes... but not while there are too many.
  while (control.room.loop.do_work()) control.room.loop.turn_all();
  CHECK(answers.size() == Methods::most_in_batch + 1);
  // There is room again.
  ask();
  CHECK(control.room.loop.works() == 1);
}

TEST_CASE("a notification is done, and let go of at once") {
  TestControl control;
  const auto witness = std::make_shared<int>(0);
  control.client->call(R"({"jsonrpc":"2.0","method":"class.add","params":{"name":"evening"}})",
                       [witness](const std::string&) { FAIL("a notification was answered"); });
  control.room.loop.turn_until([&] { return witness.use_count() == 1; });
  CHECK(witness.use_count() == 1);
  CHECK(control.listed("class.list", "name") == "evening");
}

TEST_CASE("a client that goes away is sent nothing more, and what it began is let go") {
  TestControl control;
  control.store().add("robin");
  control.room.loop.holds_work = true;
  int answers = 0;
  const auto send = [&](const std::string&) { ++answers; };
  const std::vector<std::pair<const char*, json::object>> calls = {
      {"account.list", {}},
      {"account.add", {{"name", "wren"}}},
      {"account.password", {{"name", "robin"}}},
      {"journal.list", {}},
      {"bin.list", {}},
      {"status", {}},
      {"printout.list", {}},
  };
  for (const auto& [method, params] : calls) {
    control.client->call(jsonrpc_request(1, method, params), send);
  }
  CHECK(control.room.loop.works() == calls.size());
  control.client.reset();
  while (control.room.loop.do_work()) control.room.loop.turn_all();
  control.room.loop.turn_all();
  CHECK(answers == 0);
  // What was under way on another thread was done all the same.
  CHECK(control.store().people().account("wren"));

  control.client.emplace(control.context, fs::keeper_at_the_box());
  control.room.loop.holds_work = false;
  CHECK(control.listed("account.list", "name") == "robin wren");
}

TEST_CASE("a batch is answered as one") {
  TestControl control;
  const json::value answer = json::parse(
      control.line(R"([{"jsonrpc":"2.0","id":1,"method":"class.add","params":{"name":"evening"}},)"
                   R"({"jsonrpc":"2.0","id":2,"method":"account.show","params":{"name":"wren"}},)"
                   R"({"jsonrpc":"2.0","id":3,"method":"status"}])"));
  REQUIRE(answer.as_array().size() == 3);
  for (const auto& each : answer.as_array()) {
    if (each.at("id") == 2) {
      CHECK(each.at("error").at("message") == "There is no account wren.");
    } else {
      CHECK(each.as_object().contains("result"));
    }
  }
}

TEST_CASE("the keeper is named in the journal, with the user they are") {
  CHECK(keeper_with_uid(0).where == "the box, user root");
  CHECK(keeper_with_uid(4'000'000'001u).where == "the box, user number 4000000001");
  CHECK(keeper_with_uid(0).keeper);
  CHECK(keeper_with_uid(0).account == fs::no_account);
}
