#include <catch2/catch.hpp>

#include "fs/local_time.h"
#include "server/control/views.h"
#include "tests/support/test_control.h"

using namespace stationer;
using namespace stationer::server;
using fs::Code;
using test::TestControl;

namespace {

constexpr const char* folder = "/classes/evening/hand-in";

}  // namespace

TEST_CASE("the keeper sets a hand-in folder's times; what is not named stays") {
  TestControl control;
  control.done("class.add", {{"name", "evening"}});
  auto items = control.done("handin.list").at("items").as_array();
  REQUIRE(items.size() == 1);
  CHECK(items[0].at("path").as_string() == folder);
  CHECK(items[0].at("class").as_string() == "evening");
  CHECK(items[0].at("opens").is_null());
  CHECK(items[0].at("late_allowed") == false);
  control.done("handin.set", {{"path", folder}, {"closes", "2026-12-01 15:30"}});
  control.done("handin.set", {{"path", folder}, {"late", true}});
  items = control.done("handin.list").at("items").as_array();
  const auto closes = fs::parse_time("2026-12-01 15:30");
  REQUIRE(closes);
  CHECK(items[0].at("closes").as_string() == time_text(*closes));
  CHECK(items[0].at("late_allowed") == true);
  control.done("handin.set", {{"path", folder}, {"closes", ""}, {"late", false}});
  items = control.done("handin.list").at("items").as_array();
  CHECK(items[0].at("closes").is_null());
  CHECK(control.refused("handin.set", {{"path", folder}, {"closes", "soon"}}) == Code::bad_input);
  CHECK(control.refused("handin.set", {{"path", "/public"}}) == Code::bad_input);
  CHECK(control.refused("handin.set", {{"path", "/nowhere"}}) == Code::not_found);
}

TEST_CASE("the keeper makes a hand-in folder an ordinary one") {
  TestControl control;
  control.done("class.add", {{"name", "evening"}});
  control.done("handin.ordinary", {{"path", folder}});
  CHECK(control.done("handin.list").at("items").as_array().empty());
  CHECK(control.refused("handin.ordinary", {{"path", folder}}) == Code::bad_input);
  control.done("handin.set", {{"path", folder}, {"closes", "2026-12-01"}});
  CHECK(control.done("handin.list").at("items").as_array().size() == 1);
}

TEST_CASE("the keeper sees the roll, collects and hands back") {
  TestControl control;
  control.done("class.add", {{"name", "evening"}});
  const auto robin = control.store().add("robin", fs::Role::member, "evening");
  control.store().add("wren", fs::Role::member, "evening");
  REQUIRE(control.store().save(robin, "/classes/evening/hand-in/essay.txt", "my feet say"));
  control.store().add("sorrel", fs::Role::leader, "evening");
  const auto listed = control.done("handin.list").at("items").as_array();
  CHECK(listed.at(0).at("members") == 2);
  CHECK(listed.at(0).at("handed_in") == 1);
  const auto entries = control.done("handin.roll", {{"path", folder}}).at("items").as_array();
  REQUIRE(entries.size() == 2);
  CHECK(entries[0].at("name").as_string() == "robin");
  const auto& receipt = entries[0].at("receipts").as_array().at(0);
  CHECK(receipt.at("receipt") == 1);
  CHECK(receipt.at("name").as_string() == "essay.txt");
  CHECK(receipt.at("late") == false);
  CHECK(receipt.at("returned").is_null());
  CHECK(entries[1].at("receipts").as_array().empty());
  CHECK(control.refused("handin.roll", {{"path", "/public"}}) == Code::bad_input);

  const auto collected =
      control.done("handin.collect", {{"path", folder}, {"to", "/public/essays"}});
  CHECK(collected.at("items").as_array().size() == 2);
  CHECK(*control.store().read(control.store().keeper, "/public/essays/robin.txt") == "my feet say");
  const auto back = control.done("handin.back", {{"path", folder}, {"account", "robin"}});
  CHECK(back.at("items").as_array().at(0).at("to").as_string() ==
        "/members/robin/returned/essay.txt");
  CHECK(control.refused("handin.back", {{"path", folder}}) == Code::not_found);
  CHECK(control.refused("handin.back", {{"path", folder}, {"account", "nobody"}}) ==
        Code::not_found);
}
