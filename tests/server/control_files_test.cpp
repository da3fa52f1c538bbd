// The tree, the bin and the streams by control methods.
#include <random>

#include <catch2/catch.hpp>

#include "server/control/base64.h"
#include "tests/support/test_control.h"

using namespace stationer;
using namespace stationer::server;
using test::TestControl;
namespace json = boost::json;
using fs::Code;

namespace {

std::string random_bytes(std::size_t size) {
  std::mt19937 random(5);
  std::string out;
  while (out.size() < size) out += static_cast<char>(random());
  return out;
}

}  // namespace

TEST_CASE("contents of any length come back as they were saved, in pieces of any size") {
  TestControl control;
  for (const std::size_t size : {std::size_t{0}, std::size_t{1}, std::size_t{3}, fs::small_content,
                                 fs::small_content + 1, std::size_t{1'000'000}}) {
    const std::string bytes = random_bytes(size);
    control.put("/public/a", bytes, 100'000, {{"replace", true}});
    for (const std::uint64_t piece : {65536, 100'000, 262'144}) {
      CHECK(control.get("file.open", {{"path", "/public/a"}}, piece) == bytes);
    }
    CHECK(control.text("file.show", "size", {{"path", "/public/a"}}) == std::to_string(size));
  }
  const std::string few = random_bytes(20);
  control.put("/public/b", few, 1);
  for (const std::uint64_t piece : {1, 3, 19, 20, 21}) {
    CHECK(control.get("file.open", {{"path", "public/b"}}, piece) == few);
  }
  CHECK(control.store().findings() == "");
}

TEST_CASE("what a file was before can be fetched and brought back") {
  TestControl control;
  control.put("/public/a", "one", 100);
  control.put("/public/a", "two", 100, {{"replace", true}});
  const auto listed = control.done("file.versions", {{"path", "/public/a"}}).at("items");
  REQUIRE(listed.as_array().size() == 1);
  const auto& version = listed.as_array().front().as_object();
  CHECK(version.at("size") == 3);
  CHECK(version.at("replaced_by") == "the keeper");
  const auto number = version.at("number");
  CHECK(control.get("file.open", {{"path", "/public/a"}, {"version", number}}, 100) == "one");
  control.done("file.revert", {{"path", "/public/a"}, {"version", number}});
  CHECK(control.get("file.open", {{"path", "/public/a"}}, 100) == "one");
  CHECK(control.refused("file.revert", {{"path", "/public/a"}, {"version", 999}}) ==
        Code::not_found);
  CHECK(control.refused("file.revert", {{"path", "/public/a"}}) == Code::bad_input);
  CHECK(control.refused("file.versions", {{"path", "/public"}}) == Code::is_a_folder);
}

TEST_CASE("a file is wholly there or not at all") {
  TestControl control;
  const auto stream = control.done("file.save", {{"path", "/public/a"}}).at("stream");
  control.done("stream.write", {{"stream", stream}, {"bytes", base64("half of")}});
  CHECK(control.refused("file.show", {{"path", "/public/a"}}) == Code::not_found);
  control.done("stream.close", {{"stream", stream}});
  CHECK(control.refused("file.show", {{"path", "/public/a"}}) == Code::not_found);
  CHECK(control.refused("stream.finish", {{"stream", stream}}) == Code::not_found);

  // The same when the client goes away, also in the midst of a large one.
  const auto other = control.done("file.save", {{"path", "/public/b"}}).at("stream");
  const std::string large(fs::small_content * 2, 'L');
  control.done("stream.write", {{"stream", other}, {"bytes", base64(large)}});
  control.client.reset();
  control.client.emplace(control.context, fs::keeper_at_the_box());
  CHECK(control.refused("file.show", {{"path", "/public/b"}}) == Code::not_found);
  CHECK(control.refused("stream.finish", {{"stream", other}}) == Code::not_found);
  CHECK(control.store().findings() == "");
}

TEST_CASE("streams are used the right way round, one call at a time, and not too many") {
  TestControl control;
  control.put("/public/a", "Dear all");
  const auto reading = control.done("file.open", {{"path", "/public/a"}}).at("stream");
  CHECK(control.refused("stream.write", {{"stream", reading}, {"bytes", ""}}) == Code::bad_input);
  CHECK(control.refused("stream.finish", {{"stream", reading}}) == Code::bad_input);
  const auto writing = control.done("file.save", {{"path", "/public/b"}}).at("stream");
  CHECK(control.refused("stream.read", {{"stream", writing}}) == Code::bad_input);
  CHECK(control.refused("stream.write", {{"stream", writing}, {"bytes", "?"}}) == Code::bad_input);
  CHECK(control.refused("stream.read", {{"stream", 999}}) == Code::not_found);
  CHECK(control.refused("stream.close", {{"stream", 999}}) == Code::not_found);
  CHECK(control.refused("stream.read", {{"stream", reading}, {"most", Streams::piece + 1}}) ==
        Code::bad_input);

  control.room.loop.holds_work = true;
  std::vector<std::string> answers;
  const auto read = [&] {
    control.client->call(
        jsonrpc_request(1, "stream.read", json::object{{"stream", reading}, {"most", 4}}),
        [&](std::string answer) { answers.push_back(std::move(answer)); });
  };
  read();
  read();
  REQUIRE(answers.size() == 1);
  CHECK(jsonrpc_result(answers[0], 1).error().code == Code::busy);
  // Closed in the midst of a read, which is answered all the same.
  control.done("stream.close", {{"stream", reading}});
  REQUIRE(control.room.loop.do_work());
  control.room.loop.turn_all();
  REQUIRE(answers.size() == 2);
  CHECK(jsonrpc_result(answers[1], 1).value().at("bytes") == json::value(base64("Dear")));
  control.room.loop.holds_work = false;

  for (std::size_t i = 1; i < Streams::most; ++i)
    control.done("file.open", {{"path", "/public/a"}});
  CHECK(control.refused("file.open", {{"path", "/public/a"}}) == Code::busy);
  CHECK(control.refused("file.save", {{"path", "/public/c"}}) == Code::busy);
  control.done("stream.close", {{"stream", writing}});
  control.done("file.open", {{"path", "/public/a"}});
}

TEST_CASE("a save that can't go on closes its stream and leaves nothing") {
  TestControl control;
  control.store().failure->calls = 0;
  const auto stream = control.done("file.save", {{"path", "/public/a"}}).at("stream");
  const std::string large(fs::small_content + 1, 'L');
  control.store().failure->stay_dead = true;
  control.store().failure->fail_at = 1;
  CHECK(control.refused("stream.write", {{"stream", stream}, {"bytes", base64(large)}}) ==
        Code::io);
  control.store().failure->fail_at = 0;
  CHECK(control.refused("stream.write", {{"stream", stream}, {"bytes", ""}}) == Code::not_found);
  CHECK(control.refused("file.show", {{"path", "/public/a"}}) == Code::not_found);
  CHECK(control.store().findings() == "");
}

TEST_CASE("a file that is there is replaced when that is said, and keeps what is not said") {
  TestControl control;
  control.put("/programs/maze", "10 GOTO 10", 100,
              {{"kind", "program"}, {"load_address", 0x1900}, {"entry_point", 0x8023}});
  control.done("file.access", {{"path", "/programs/maze"}, {"changes", "e-r"}});
  CHECK(control.refused("file.save", {{"path", "/programs/maze"}}) == Code::exists);
  control.put("/programs/maze", "20 GOTO 20", 100, {{"replace", true}, {"entry_point", 0x1903}});
  const auto shown = control.done("file.show", {{"path", "/programs/maze"}});
  CHECK(shown.at("kind") == "program");
  CHECK(shown.at("load_address") == 0x1900);
  CHECK(shown.at("entry_point") == 0x1903);
  CHECK(shown.at("access") == "rwr---");
  CHECK(control.get("file.open", {{"path", "/programs/maze"}}) == "20 GOTO 20");

  control.done("file.details", {{"path", "/programs/maze"}, {"kind", "data"}});
  CHECK(control.text("file.show", "load_address", {{"path", "/programs/maze"}}) == "6400");
  control.done("file.details", {{"path", "/programs/maze"}, {"no_addresses", true}});
  CHECK(control.text("file.show", "load_address", {{"path", "/programs/maze"}}) == "null");
  CHECK(control.text("file.show", "kind", {{"path", "/programs/maze"}}) == "data");

  CHECK(control.refused("file.details", {{"path", "/programs/maze"}}) == Code::bad_input);
  CHECK(control.refused("file.details", {{"path", "/programs/maze"}, {"kind", "song"}}) ==
        Code::bad_input);
  CHECK(control.refused("file.details", {{"path", "/programs/maze"},
                                         {"load_address", 1LL << 32}}) == Code::bad_input);
  CHECK(control.refused("file.details", {{"path", "/programs/maze"},
                                         {"load_address", 1},
                                         {"no_addresses", true}}) == Code::bad_input);
  CHECK(control.refused("file.details", {{"path", "/programs"}, {"kind", "text"}}) ==
        Code::is_a_folder);
}

TEST_CASE("the tree is listed, moved about in and copied") {
  TestControl control;
  control.done("file.folder", {{"path", "/programs/games"}});
  CHECK(control.refused("file.folder", {{"path", "/programs/games"}}) == Code::exists);
  control.put("/public/Maze Game.bas", "10 GOTO 10", 100, {{"kind", "text"}});
  CHECK(control.text("file.show", "alias", {{"path", "/public/maze game.bas"}}) == "MAZEGA~1.BAS");

  // Into a folder the old name goes along.
  control.done("file.copy", {{"from", "/public/Maze Game.bas"}, {"to", "/programs/games"}});
  control.done("file.move", {{"from", "/public/Maze Game.bas"}, {"to", "/programs/games/old.bas"}});
  CHECK(control.listed("file.list", "name", {{"path", "/programs/games"}}) ==
        "Maze Game.bas old.bas");
  CHECK(control.listed("file.list", "kind", {{"path", "/programs/games"}}) == "text text");
  CHECK(control.listed("file.list", "name", {{"path", "/"}}) == "classes members programs public");
  CHECK(control.get("file.open", {{"path", "/programs/games/old.bas"}}) == "10 GOTO 10");
  // Its real one, whatever it was asked for by; and a folder that is only to be written differently
  // does not go into itself.
  control.done("file.copy", {{"from", "/programs/games/MAZEGA~1.BAS"}, {"to", "/public"}});
  CHECK(control.listed("file.list", "name", {{"path", "/public"}}) == "Maze Game.bas");
  control.done("file.move", {{"from", "/programs/games"}, {"to", "/programs/Games"}});
  CHECK(control.listed("file.list", "name", {{"path", "/programs"}}) == "Games");

  CHECK(control.refused("file.list", {{"path", "/programs/games/old.bas"}}) == Code::not_a_folder);
  CHECK(control.refused("file.list", {{"path", "/nowhere"}}) == Code::not_found);
  CHECK(control.refused("file.copy", {{"from", "/programs/games"}, {"to", "/public/x"}}) ==
        Code::is_a_folder);
  CHECK(control.refused("file.copy", {{"from", "/nowhere"}, {"to", "/public/x"}}) ==
        Code::not_found);
  CHECK(control.refused("file.copy", {{"from", "/programs/games/old.bas"},
                                      {"to", "/programs/games/maze game.bas"}}) == Code::exists);
  CHECK(control.refused("file.move", {{"from", "/programs"}, {"to", "/programs/games"}}) ==
        Code::bad_input);
  CHECK(control.refused("file.move", {{"from", "/"}, {"to", "/public"}}) == Code::denied);
  CHECK(control.refused("file.open", {{"path", "/programs"}}) == Code::is_a_folder);
  CHECK(control.refused("file.show", {{"path", "/../etc"}}) == Code::bad_name);
  CHECK(control.refused("file.save", {{"path", "/public/con"}}) == Code::bad_name);
  CHECK(control.store().findings() == "");
}

TEST_CASE("owner, class and access are the keeper's to change") {
  TestControl control;
  control.store().add("robin");
  control.done("class.add", {{"name", "evening"}});
  control.put("/public/a", "Dear all");
  control.done("file.owner", {{"path", "/public/a"}, {"account", "Robin"}});
  control.done("file.class", {{"path", "/public/a"}, {"class", "evening"}});
  CHECK(control.text("file.access", "access", {{"path", "/public/a"}, {"changes", "ce=,+k"}}) ==
        "rw----k");
  auto shown = control.done("file.show", {{"path", "/public/a"}});
  CHECK(shown.at("owner") == "robin");
  CHECK(shown.at("class") == "evening");
  CHECK(control.refused("file.remove", {{"path", "/public/a"}}) == Code::kept);
  CHECK(control.refused("file.access", {{"path", "/public/a"}, {"changes", "z+r"}}) ==
        Code::bad_input);
  CHECK(control.refused("file.owner", {{"path", "/public/a"}, {"account", "bram"}}) ==
        Code::not_found);
  CHECK(control.refused("file.class", {{"path", "/public/a"}, {"class", "morning"}}) ==
        Code::not_found);
  control.done("file.owner", {{"path", "/public/a"}, {"account", ""}});
  control.done("file.class", {{"path", "/public/a"}, {"class", ""}});
  CHECK(control.text("file.show", "owner", {{"path", "/public/a"}}) == "");
}

TEST_CASE("what is removed waits in the bin, comes back, or goes for good") {
  TestControl control;
  control.put("/public/a", "Dear all");
  control.put("/public/b", "Yours");
  control.done("file.remove", {{"path", "/public/a"}});
  control.done("file.remove", {{"path", "/public/b"}});
  const auto bin = control.done("bin.list").at("items").as_array();
  REQUIRE(bin.size() == 2);
  CHECK(control.listed("bin.list", "path").find("/public/a") != std::string::npos);
  const auto& letter = bin[0].at("path") == "/public/a" ? bin[0] : bin[1];
  control.done("bin.restore", {{"number", letter.at("number")}});
  CHECK(control.get("file.open", {{"path", "/public/a"}}) == "Dear all");
  CHECK(control.refused("bin.restore", {{"number", letter.at("number")}}) == Code::not_found);
  CHECK(control.refused("bin.restore", {{"number", "a"}}) == Code::bad_input);
  CHECK(control.done("bin.empty").at("left") == 0);
  CHECK(control.listed("bin.list", "path") == "");
  CHECK(control.refused("file.show", {{"path", "/public/b"}}) == Code::not_found);
  CHECK(control.store().findings() == "");
}

TEST_CASE("invariant 3: the tree with somebody else's eyes is what the store gives them") {
  TestControl control;
  control.done("class.add", {{"name", "evening"}});
  for (const char* name : {"robin", "wren"}) {
    control.done("account.add", {{"name", name}, {"password", "water-wheel-1"}});
  }
  control.done("class.join", {{"name", "evening"}, {"account", "robin"}});
  control.put("/members/robin/diary", "rain", 4);
  control.done("file.owner", {{"path", "/members/robin/diary"}, {"account", "robin"}});
  control.done("file.access", {{"path", "/members/robin/diary"}, {"changes", "o=r,ce="}});
  const auto& files = control.store().volume->files();
  const auto& people = control.store().volume->people();
  for (const std::string name : {"robin", "wren", "sorrel", ""}) {
    const auto account = people.account(std::string_view(name));
    if (!name.empty() && !account) {
      CHECK(control.refused("file.list", {{"path", "/"}, {"as", name}}) == Code::not_found);
      CHECK(control.refused("file.show", {{"path", "/"}, {"as", name}}) == Code::not_found);
      continue;
    }
    fs::Caller they;
    if (account) they.account = account->id;
    for (const char* folder :
         {"/", "/members", "/members/robin", "/classes/evening", "/programs"}) {
      INFO(name << " in " << folder);
      const auto views = files.list(they, *fs::Path::parse(folder));
      if (!views) {
        CHECK(control.refused("file.list", {{"path", folder}, {"as", name}}) == views.error().code);
        continue;
      }
      std::string names;
      for (const auto& view : *views) names += (names.empty() ? "" : " ") + view.name;
      CHECK(control.listed("file.list", "name", {{"path", folder}, {"as", name}}) == names);
    }
  }
  // And what they may do with it, in words.
  const auto may = [&](const char* path, const char* as) {
    return control.text("file.show", "may", {{"path", path}, {"as", as}});
  };
  CHECK(may("/members/robin/diary", "robin") == "may read it");
  CHECK(control.refused("file.show", {{"path", "/members/robin/diary"}, {"as", "wren"}}) ==
        Code::denied);
  CHECK(may("/public", "wren") == "may look in and add to it");
  CHECK(may("/public", "") == "may look in");
  CHECK(may("/programs", "robin") == "may look in");
  CHECK(may("/classes/evening/hand-in", "robin") == "may put things in, but not look");
  CHECK(control.text("file.show", "may", {{"path", "/programs"}}) == "may look in and add to it");
  CHECK(control.listed("file.list", "may", {{"path", "/members/robin"}, {"as", "robin"}}) ==
        "may read it");
}
