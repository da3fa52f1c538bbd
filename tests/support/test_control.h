// The control methods of a room, called as the keeper's programs call them: lines of JSON-RPC.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

#include "server/control/control.h"
#include "server/protocol/jsonrpc.h"
#include "tests/support/test_room.h"

namespace stationer::test {

struct TestControl {
  using Object = boost::json::object;

  TestRoom room;
  server::Running running;
  server::ControlContext context;
  std::optional<server::ControlClient> client;

  explicit TestControl(std::string_view settings = "", bool serving = true)
      : room(settings),
        running{*room.room, *room.store.now,
                [] {
                  return std::vector<server::DoorView>{{"terminal", "127.0.0.1", 8023}};
                }},
        context(*room.store.volume, *room.spool, *room.finder, *room.forwarder, room.loop) {
    if (serving) context.running = &running;
    client.emplace(context, fs::keeper_at_the_box());
  }

  TestVolume& store() { return room.store; }

  // The answer to one line.
  std::string line(const std::string& request) {
    std::optional<std::string> answer;
    client->call(request, [&answer](std::string given) {
      CHECK_FALSE(answer);
      answer = std::move(given);
    });
    REQUIRE(room.loop.turn_until([&] { return answer.has_value(); }));
    return *answer;
  }

  fs::Result<boost::json::value> call(std::string_view method, Object params = {}) {
    const auto id = ++last_id;
    return server::jsonrpc_result(line(server::jsonrpc_request(id, method, std::move(params))), id);
  }

  // What the method gives, which must be an object.
  Object done(std::string_view method, Object params = {}) {
    auto result = call(method, std::move(params));
    if (!result) FAIL(std::string(method) + ": " + result.error().message);
    REQUIRE(result->is_object());
    return result->as_object();
  }

  // Why it is refused: the code, and a whole sentence for a person.
  fs::Code refused(std::string_view method, Object params = {}) {
    auto result = call(method, std::move(params));
    INFO(method);
    REQUIRE_FALSE(result);
    CHECK(result.error().message.ends_with('.'));
    return result.error().code;
  }

  // One text field of every item of a listing, joined: "robin wren".
  std::string listed(std::string_view method, std::string_view key, Object params = {}) {
    std::string out;
    const Object whole = done(method, std::move(params));
    const char* between = "";
    for (const auto& item : whole.at("items").as_array()) {
      const boost::json::value& field = item.as_object().at(key);
      out += std::exchange(between, " ");
      out += field.is_string() ? std::string(field.as_string()) : boost::json::serialize(field);
    }
    return out;
  }

  std::string text(std::string_view method, std::string_view key, Object params = {}) {
    const Object result = done(method, std::move(params));
    const boost::json::value& field = result.at(key);
    return field.is_string() ? std::string(field.as_string()) : boost::json::serialize(field);
  }

  // Saves and fetches in pieces.
  void put(const std::string& path, std::string_view bytes, std::size_t piece = 65536,
           Object params = {});
  std::string get(std::string_view method, Object params, std::uint64_t most = 65536);

  std::uint64_t last_id = 0;
};

}  // namespace stationer::test
