#include "server/protocol/jsonrpc.h"

#include <random>
#include <stdexcept>
#include <vector>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
namespace json = boost::json;
using stationer::fs::Code;
using stationer::fs::Error;

namespace {

// The methods of the examples in section 7 of the specification, and some that misbehave.
struct Service {
  Service() {
    methods.add("subtract", [](const json::value& params, const Methods::Reply& reply) {
      const auto whole = [&](const char* name, std::size_t index) -> const std::int64_t* {
        const json::value* value = params.is_array()    ? params.as_array().if_contains(index)
                                   : params.is_object() ? params.as_object().if_contains(name)
                                                        : nullptr;
        return value != nullptr ? value->if_int64() : nullptr;
      };
      const auto* from = whole("minuend", 0);
      const auto* less = whole("subtrahend", 1);
      if (from == nullptr || less == nullptr) {
        return reply(Error{Code::bad_input, "Two whole numbers are needed."});
      }
      reply(json::value(*from - *less));
    });
    methods.add("update", [this](const json::value&, const Methods::Reply& reply) {
      ++updates;
      reply(json::value("never seen by a notification"));
    });
    methods.add("later", [this](const json::value&, Methods::Reply reply) {
      waiting.push_back(std::move(reply));
    });
    methods.add("params", [](const json::value& params, const Methods::Reply& reply) {
      reply(json::value(params));
    });
    methods.add("forget", [](const json::value&, const Methods::Reply&) {});
    methods.add("twice", [](const json::value&, const Methods::Reply& reply) {
      reply(json::value(1));
      reply(json::value(2));
    });
    methods.add("throw", [](const json::value&, const Methods::Reply&) {
      throw std::runtime_error("nothing is where it was");
    });
    methods.add("fail", [](const json::value& params, const Methods::Reply& reply) {
      reply(Error{static_cast<Code>(params.as_array()[0].as_int64()), "It could not be done."});
    });
  }

  // All answers to one line so far, none as "".
  std::string operator()(std::string_view line) {
    answers.clear();
    methods.call(line, [this](std::string answer) {
      CHECK(answers.empty());
      answers = std::move(answer);
    });
    return answers;
  }
  json::value read(std::string_view line) { return json::parse((*this)(line)); }

  Methods methods;
  std::string answers;
  std::vector<Methods::Reply> waiting;
  int updates = 0;
};

// The number and id of an error, such as "-32600 null".
std::string error_of(const json::value& answer) {
  CHECK(answer.at("jsonrpc") == "2.0");
  CHECK_FALSE(answer.as_object().contains("result"));
  CHECK(answer.at("error").at("message").as_string().size() > 10);
  return json::serialize(answer.at("error").at("code")) + " " + json::serialize(answer.at("id"));
}

}  // namespace

TEST_CASE("JSON-RPC: calls with parameters by place and by name") {  // specification, section 7
  Service service;
  const auto check = [&](std::string_view request, std::string_view expected) {
    CHECK(service.read(request) == json::parse(expected));
  };
  check(R"({"jsonrpc":"2.0","method":"subtract","params":[42,23],"id":1})",
        R"({"jsonrpc":"2.0","result":19,"id":1})");
  check(R"({"jsonrpc":"2.0","method":"subtract","params":[23,42],"id":2})",
        R"({"jsonrpc":"2.0","result":-19,"id":2})");
  check(R"({"jsonrpc":"2.0","method":"subtract","params":{"subtrahend":23,"minuend":42},"id":3})",
        R"({"jsonrpc":"2.0","result":19,"id":3})");
  check(R"({"jsonrpc":"2.0","method":"params","id":"a"})",
        R"({"jsonrpc":"2.0","result":null,"id":"a"})");
  // Any id there may be comes back as it was.
  for (const std::string id : {"0", "-7", "1.5", "\"x\"", "\"\"", "null", "18446744073709551615"}) {
    CHECK(json::serialize(
              service.read(R"({"jsonrpc":"2.0","method":"params","id":)" + id + "}").at("id")) ==
          json::serialize(json::parse(id)));
  }
}

TEST_CASE("JSON-RPC: notifications are obeyed and never answered") {  // section 4.1
  Service service;
  CHECK(service(R"({"jsonrpc":"2.0","method":"update","params":[1,2]})").empty());
  CHECK(service.updates == 1);
  for (const char* method : {"nobody", "throw", "forget", "subtract"}) {
    CHECK(service(R"({"jsonrpc":"2.0","method":")" + std::string(method) + "\"}").empty());
  }
}

TEST_CASE("JSON-RPC: what can't be parsed") {  // section 5.1, section 7
  Service service;
  for (const char* line :
       {R"({"jsonrpc":"2.0","method":"foobar,"params":"bar","baz])",
        R"([{"jsonrpc":"2.0","method":"sum","id":"1"},{"jsonrpc":"2.0","method"])", "", "hello",
        "{}{}", "{\"a\":1,}", "\"\xFF\"",
        // Written back, these would be no JSON.
        R"({"jsonrpc":"2.0","method":"sum","params":[1],"id":1e400})",
        R"({"jsonrpc":"2.0","method":"sum","params":[1,{"a":[-1e999]}],"id":1})"}) {
    CHECK(error_of(service.read(line)) == "-32700 null");
  }
}

TEST_CASE("JSON-RPC: what is not a request") {  // section 4, section 7
  Service service;
  CHECK(error_of(service.read(R"({"jsonrpc":"2.0","method":1,"params":"bar"})")) == "-32600 null");
  for (const char* line :
       {"1", "null", "\"x\"", "{}", R"({"jsonrpc":"2.0"})", R"({"method":"update"})",
        R"({"jsonrpc":"1.0","method":"update"})", R"({"jsonrpc":2.0,"method":"update"})",
        R"({"JSONRPC":"2.0","method":"update"})", R"({"jsonrpc":"2.0","Method":"update"})",
        R"({"jsonrpc":"2.0","method":"update","params":null})",
        R"({"jsonrpc":"2.0","method":"update","params":"bar"})",
        R"({"jsonrpc":"2.0","method":"update","id":{}})",
        R"({"jsonrpc":"2.0","method":"update","id":true})"}) {
    CAPTURE(line);
    CHECK(error_of(service.read(line)) == "-32600 null");
  }
  // Where the id can be told it comes back, so that the client knows which call failed.
  CHECK(error_of(service.read(R"({"method":"update","id":5})")) == "-32600 5");
  CHECK(service.updates == 0);
}

TEST_CASE("JSON-RPC: unknown methods, wrong parameters, faults") {  // section 5.1
  Service service;
  const auto call = [&](const std::string& method, const std::string& params) {
    return error_of(service.read(R"({"jsonrpc":"2.0","method":")" + method + R"(","params":)" +
                                 params + R"(,"id":"1"})"));
  };
  CHECK(call("foobar", "[]") == "-32601 \"1\"");
  CHECK(call("rpc.discover", "[]") == "-32601 \"1\"");
  CHECK(call("subtract", "[1]") == "-32602 \"1\"");
  CHECK(call("throw", "[]") == "-32603 \"1\"");
  CHECK(call("forget", "[]") == "-32603 \"1\"");
  CHECK(service.read(R"({"jsonrpc":"2.0","method":"twice","id":1})").at("result") == 1);
}

TEST_CASE("JSON-RPC: batches") {  // section 6, section 7
  Service service;
  CHECK(error_of(service.read("[]")) == "-32600 null");
  const json::value one = service.read("[1]");
  REQUIRE(one.as_array().size() == 1);
  CHECK(error_of(one.as_array()[0]) == "-32600 null");
  const json::value three = service.read("[1,2,3]");
  REQUIRE(three.as_array().size() == 3);
  for (const auto& each : three.as_array()) CHECK(error_of(each) == "-32600 null");
  CHECK(service(R"([{"jsonrpc":"2.0","method":"update"},{"jsonrpc":"2.0","method":"update"}])")
            .empty());
  const json::value mixed =
      service.read(R"([{"jsonrpc":"2.0","method":"params","params":[1],"id":"1"},)"
                   R"({"jsonrpc":"2.0","method":"update","params":[7]},)"
                   R"({"jsonrpc":"2.0","method":"subtract","params":[42,23],"id":"2"},)"
                   R"({"foo":"boo"},)"
                   R"({"jsonrpc":"2.0","method":"foo.get","params":{"name":"myself"},"id":"5"}])");
  REQUIRE(mixed.as_array().size() == 4);
  CHECK(mixed.as_array()[1].at("result") == 19);
  CHECK(error_of(mixed.as_array()[2]) == "-32600 null");
  CHECK(error_of(mixed.as_array()[3]) == "-32601 \"5\"");
}

TEST_CASE("JSON-RPC: answers may come later, in any order, and a batch waits for all") {
  Service service;
  CHECK(service(R"([{"jsonrpc":"2.0","method":"later","id":1},)"
                R"({"jsonrpc":"2.0","method":"subtract","params":[3,2],"id":2},)"
                R"({"jsonrpc":"2.0","method":"later","id":3}])")
            .empty());
  REQUIRE(service.waiting.size() == 2);
  service.waiting[1](json::value("third"));
  CHECK(service.answers.empty());
  service.waiting[0](json::value("first"));
  const json::value all = json::parse(service.answers);
  REQUIRE(all.as_array().size() == 3);
  CHECK(all.as_array()[0].at("id") == 2);
  CHECK(all.as_array()[1].at("result") == "third");
  CHECK(all.as_array()[2].at("result") == "first");
  service.waiting.clear();  // replies given are not given again

  CHECK(service(R"({"jsonrpc":"2.0","method":"later","id":9})").empty());
  service.waiting.clear();  // thrown away without an answer
  CHECK(error_of(json::parse(service.answers)) == "-32603 9");
}

TEST_CASE("JSON-RPC: our own errors, there and back") {
  Service service;
  for (int code = 0; code <= static_cast<int>(Code::io); ++code) {
    const std::string line = service(R"({"jsonrpc":"2.0","method":"fail","id":7,"params":[)" +
                                     std::to_string(code) + "]}");
    const json::value answer = json::parse(line);
    const bool bad_input = code == static_cast<int>(Code::bad_input);
    CHECK(answer.at("error").at("code") == (bad_input ? -32602 : -32000 - code));
    CHECK(answer.at("error").at("data").at("code") ==
          stationer::fs::code_name(static_cast<Code>(code)));
    const auto result = jsonrpc_result(line, 7);
    REQUIRE(result.has_error());
    CHECK(result.error().code == static_cast<Code>(code));
    CHECK(result.error().message == "It could not be done.");
  }
  // Programs outside go by these numbers: they must not move.
  CHECK(json::parse(service(R"({"jsonrpc":"2.0","method":"fail","id":7,"params":[0]})"))
            .at("error")
            .at("data")
            .at("code") == "not_found");
  CHECK(static_cast<int>(Code::busy) == 10);
  CHECK(static_cast<int>(Code::io) == 16);
}

TEST_CASE("JSON-RPC: the client's end") {
  Service service;
  const auto result = jsonrpc_result(service(jsonrpc_request(4, "subtract", json::array{5, 3})), 4);
  REQUIRE(result.has_value());
  CHECK(*result == 2);
  CHECK(json::parse(jsonrpc_request(4, "params", nullptr)).as_object().contains("params") == false);
  for (const char* line : {"", "[]", "{}", R"({"jsonrpc":"2.0","result":1,"id":5})",
                           R"({"jsonrpc":"2.0","error":1,"id":4})",
                           R"({"jsonrpc":"2.0","error":{"code":1},"id":4})"}) {
    CHECK(jsonrpc_result(line, 4).error().code == Code::io);
  }
  CHECK(jsonrpc_result(service(R"({"jsonrpc":"2.0","method":"none","id":4})"), 4).error().code ==
        Code::io);
}

TEST_CASE("JSON-RPC: method names are checked when they are added") {
  Service service;
  CHECK_THROWS_AS(service.methods.add("update", {}), std::logic_error);
  CHECK_THROWS_AS(service.methods.add("rpc.x", {}), std::logic_error);
}

TEST_CASE("invariant 6: depth, batches and lines have their bounds") {
  Service service;
  const auto nested = [](std::size_t depth) {
    return R"({"jsonrpc":"2.0","method":"params","id":1,"params":)" + std::string(depth, '[') +
           std::string(depth, ']') + "}";
  };
  CHECK(service.read(nested(31)).as_object().contains("result"));
  CHECK(error_of(service.read(nested(32))) == "-32700 null");
  CHECK(error_of(service.read(std::string(100'000, '['))) == "-32700 null");

  std::string batch = "[1";
  for (int i = 1; i < 64; ++i) batch += ",1";
  CHECK(service.read(batch + "]").as_array().size() == 64);
  CHECK(error_of(service.read(batch + ",1]")) == "-32600 null");

  CHECK(error_of(json::parse(Methods::too_long())) == "-32600 null");
}

TEST_CASE("JSON lines: cut at LF, every way the input may come") {
  const std::string input = "{\"a\":1}\n\n\r\n[2]\r\n  3\nlast";
  const auto read = [](std::initializer_list<std::string_view> parts) {
    JsonLines lines;
    std::string seen;
    for (const auto part : parts) {
      lines.feed(
          part, [&](std::string_view line) { seen += readable(line) + "|"; },
          [&] { seen += "too long|"; });
    }
    return seen;
  };
  const std::string whole = read({input});
  CHECK(whole == "{\"a\":1}|[2]|  3|");
  every_cut(input, [&](std::string_view first, std::string_view second) {
    CHECK(read({first, second}) == whole);
  });
  CHECK(read({"a\n", std::string(JsonLines::longest, 'x'), "y", "z\nb\n"}) == "a|too long|b|");
  CHECK(read({std::string(JsonLines::longest + 1, 'x') + "\nb\n"}) == "too long|b|");
}

TEST_CASE("JSON lines: the longest line is taken whole") {
  JsonLines lines;
  std::size_t size = 0;
  lines.feed(
      std::string(JsonLines::longest, 'x') + "\n",
      [&](std::string_view line) { size = line.size(); }, [] { FAIL("it is not too long"); });
  CHECK(size == JsonLines::longest);
}

TEST_CASE("JSON-RPC: bent requests are always answered or are notifications") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  Service service;
  const std::string good =
      R"([{"jsonrpc":"2.0","method":"subtract","params":[42,23],"id":1},)"
      R"({"jsonrpc":"2.0","method":"params","params":{"a":[1,null]},"id":"x"}])";
  for (int round = 0; round < 5000; ++round) {
    std::string bent = good;
    for (auto changes = 1 + random() % 4; changes > 0; --changes) {
      const std::size_t at = random() % bent.size();
      switch (random() % 3) {
        case 0: bent[at] = static_cast<char>(random() % 256); break;
        case 1: bent.erase(at, 1 + random() % 4); break;
        default: bent.insert(at, 1, "[]{},:\"0"[random() % 8]); break;
      }
    }
    CAPTURE(readable(bent));
    const std::string answer = service(bent);
    if (!answer.empty()) {
      boost::system::error_code error;
      const json::value value = json::parse(answer, error);
      REQUIRE_FALSE(error);
      REQUIRE(answer.find('\n') == std::string::npos);
      const json::value& first = value.is_array() ? value.as_array().at(0) : value;
      REQUIRE((first.as_object().contains("result") != first.as_object().contains("error")));
    }
  }
}
