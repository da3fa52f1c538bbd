// Accounts and classes by control methods.
#include <catch2/catch.hpp>

#include "tests/support/test_control.h"

using namespace stationer;
using test::TestControl;
namespace json = boost::json;
using fs::Code;

TEST_CASE("an account is added with a made-up password, which is told once") {
  TestControl control;
  control.done("class.add", {{"name", "evening"}});
  const auto added = control.done("account.add", {{"name", "Robin"},
                                                  {"class", "evening"},
                                                  {"role", "leader"},
                                                  {"full_name", "Robin of the Weir"}});
  CHECK(added.at("name") == "robin");
  const std::string password(added.at("password").as_string());
  CHECK(password.size() == 10);
  CHECK(control.store().people().sign_in("robin", password, "test"));

  const auto shown = control.done("account.show", {{"name", "ROBIN"}});
  CHECK(shown.at("full_name") == "Robin of the Weir");
  CHECK(shown.at("role") == "leader");
  CHECK(shown.at("class") == "evening");
  CHECK(shown.at("leads") == json::array{"evening"});
  CHECK(shown.at("has_password") == true);
  CHECK(shown.at("closed") == false);
  CHECK(shown.at("created") == "2027-01-15T08:00:00.000Z");  // 1,800,000,000 s after the epoch
}

TEST_CASE("an account is added with its end") {
  TestControl control;
  control.done("account.add", {{"name", "robin"}, {"ends", "2027-07-31"}});
  CHECK(control.text("account.show", "ends", {{"name", "robin"}}) == "2027-08-01T00:00:00.000Z");
  CHECK(control.refused("account.add", {{"name", "wren"}, {"ends", "soon"}}) == Code::bad_input);
  CHECK(control.listed("account.list", "name") == "robin");
}

TEST_CASE("invariant 9: the journal knows how many of a list were taken in") {
  TestControl control;
  control.done("account.imported", {{"list", "people.csv"}, {"added", 3}, {"wrong", 1}});
  const auto entry =
      control.done("journal.list", {{"most", 1}}).at("items").as_array().at(0).as_object();
  CHECK(entry.at("what") == "people imported");
  CHECK(entry.at("subject") == "people.csv");
  CHECK(entry.at("detail") == "3 added, 0 changed, 0 as they were, 1 left out; 0 classes made");
  CHECK(control.refused("account.imported") == Code::bad_input);
  CHECK(control.refused("account.imported", {{"list", "a\nb"}}) == Code::bad_input);
  CHECK(control.refused("account.imported", {{"list", "x"}, {"added", -1}}) == Code::bad_input);
}

TEST_CASE("a password that is given is taken, and not told again") {
  TestControl control;
  const auto added =
      control.done("account.add", {{"name", "wren"}, {"password", "weir-and-sluice"}});
  CHECK_FALSE(added.contains("password"));
  CHECK(control.store().people().sign_in("wren", "weir-and-sluice", "test"));
  CHECK_FALSE(control.done("account.password", {{"name", "wren"}, {"password", "wheel-and-race"}})
                  .contains("password"));
  CHECK(control.store().people().sign_in("wren", "wheel-and-race", "test"));
  const std::string made_up = control.text("account.password", "password", {{"name", "wren"}});
  CHECK(control.store().people().sign_in("wren", made_up, "test"));
  CHECK_FALSE(control.store().people().sign_in("wren", "wheel-and-race", "test"));
}

TEST_CASE("invariant 8: no answer but the one that makes a password up tells of one") {
  TestControl control;
  control.done("account.add", {{"name", "wren"}, {"password", "weir-and-sluice"}});
  const std::string made_up = control.text("account.add", "password", {{"name", "robin"}});
  control.refused("account.password", {{"name", "bram"}, {"password", "wheel-and-race"}});
  std::string all;
  for (const char* method : {"account.list", "journal.list", "status"}) {
    all += json::serialize(control.done(method));
  }
  for (const char* name : {"wren", "robin"}) {
    all += json::serialize(control.done("account.show", {{"name", name}}));
  }
  for (const std::string& secret : {std::string("weir-and-sluice"), made_up,
                                    std::string("wheel-and-race"), std::string("argon2")}) {
    CHECK(all.find(secret) == std::string::npos);
  }
}

TEST_CASE("accounts that can't be are refused") {
  TestControl control;
  control.store().add("robin");
  CHECK(control.refused("account.add", {{"name", "robin"}}) == Code::exists);
  CHECK(control.refused("account.add", {{"name", "guest"}}) == Code::bad_name);
  CHECK(control.refused("account.add", {{"name", "a b"}}) == Code::bad_name);
  CHECK(control.refused("account.add", {{"name", "wren"}, {"class", "nobody"}}) == Code::not_found);
  CHECK(control.refused("account.add", {{"name", "wren"}, {"role", "king"}}) == Code::bad_input);
  CHECK(control.refused("account.add", {{"name", "wren"}, {"password", "short"}}) ==
        Code::bad_input);
  CHECK(control.refused("account.add", {{"name", "wren"}, {"password", ""}}) == Code::bad_input);
  CHECK(control.refused("account.add", {{"name", "wren"}, {"full_name", "a\nb"}}) ==
        Code::bad_input);
  CHECK(control.refused("account.add") == Code::bad_input);
  CHECK(control.refused("account.show", {{"name", "wren"}}) == Code::not_found);
  CHECK(control.refused("account.password", {{"name", "wren"}}) == Code::not_found);
  CHECK(control.refused("account.remove", {{"name", "wren"}}) == Code::not_found);
  CHECK(control.listed("account.list", "name") == "robin");
}

TEST_CASE("an account is changed in what is named, and in nothing else") {
  TestControl control;
  control.done("class.add", {{"name", "evening"}});
  control.store().add("robin");
  control.done("account.change", {{"name", "robin"}, {"role", "leader"}});
  control.done("account.change", {{"name", "robin"}, {"full_name", "Robin"}, {"class", "evening"}});
  control.done("account.change", {{"name", "robin"}, {"closed", true}});
  auto shown = control.done("account.show", {{"name", "robin"}});
  CHECK(shown.at("role") == "leader");
  CHECK(shown.at("full_name") == "Robin");
  CHECK(shown.at("class") == "evening");
  CHECK(shown.at("closed") == true);
  CHECK(control.store().people().sign_in("robin", "mill-race-robin", "test").error().code ==
        Code::wrong_password);
  control.done("account.change", {{"name", "robin"}, {"closed", false}, {"class", ""}});
  CHECK(control.store().people().sign_in("robin", "mill-race-robin", "test"));
  CHECK(control.text("account.show", "class", {{"name", "robin"}}) == "");

  CHECK(control.refused("account.change", {{"name", "robin"}}) == Code::bad_input);
  CHECK(control.refused("account.change", {{"name", "wren"}, {"closed", true}}) == Code::not_found);
  CHECK(control.refused("account.change", {{"name", "robin"}, {"closed", "yes"}}) ==
        Code::bad_input);
}

TEST_CASE("limits are changed one by one, and never to nonsense") {
  TestControl control;
  control.store().add("robin");
  control.done("account.change", {{"name", "robin"}, {"soft_bytes", 1000}, {"hard_bytes", 2000}});
  control.done("account.change", {{"name", "robin"}, {"soft_files", 10}, {"hard_files", 0}});
  const auto shown = control.done("account.show", {{"name", "robin"}});
  CHECK(shown.at("soft_bytes") == 1000);
  CHECK(shown.at("hard_bytes") == 2000);
  CHECK(shown.at("soft_files") == 10);
  CHECK(shown.at("hard_files") == 0);
  CHECK(control.refused("account.change", {{"name", "robin"}, {"soft_bytes", 2001}}) ==
        Code::bad_input);
  CHECK(control.refused("account.change", {{"name", "robin"}, {"hard_files", 9}}) ==
        Code::bad_input);
  CHECK(control.refused("account.change", {{"name", "wren"}, {"soft_files", 9}}) ==
        Code::not_found);
  // A hard limit alone is fine.
  control.done("account.change", {{"name", "robin"}, {"soft_bytes", 0}});
  CHECK(control.refused("file.show", {{"path", "/members/wren"}}) == Code::not_found);
}

TEST_CASE("an account that owns nothing can be removed") {
  TestControl control;
  const fs::Caller robin = control.store().add("robin");
  REQUIRE(control.store().save(robin, "/members/robin/letter.txt", "Dear all"));
  CHECK(control.refused("account.remove", {{"name", "robin"}}) == Code::exists);
  control.done("file.remove", {{"path", "/members/robin/letter.txt"}});
  control.done("bin.empty");
  control.done("account.remove", {{"name", "robin"}});
  CHECK(control.listed("account.list", "name") == "");
  CHECK(control.store().findings() == "");
}

TEST_CASE("classes are made, joined, left and removed") {
  TestControl control;
  control.done("class.add", {{"name", "Evening"}});
  CHECK(control.refused("class.add", {{"name", "evening"}}) == Code::exists);
  CHECK(control.refused("class.add", {{"name", "two words"}}) == Code::bad_name);
  control.store().add("robin");
  control.store().add("wren");
  control.store().add("sorrel", fs::Role::leader);
  for (const char* name : {"robin", "wren"}) {
    control.done("class.join", {{"name", "evening"}, {"account", name}});
  }
  control.done("class.join", {{"name", "evening"}, {"account", "sorrel"}, {"leader", true}});
  CHECK(
      control.refused("class.join", {{"name", "evening"}, {"account", "wren"}, {"leader", true}}) ==
      Code::bad_input);
  CHECK(control.refused("class.join", {{"name", "evening"}, {"account", "bram"}}) ==
        Code::not_found);
  CHECK(control.refused("class.join", {{"name", "morning"}, {"account", "wren"}}) ==
        Code::not_found);

  const auto shown = control.done("class.show", {{"name", "evening"}});
  CHECK(shown.at("members") == 2);
  CHECK(shown.at("leaders") == 1);
  CHECK(control.listed("class.list", "name") == "evening");
  CHECK(control.listed("class.members", "name", {{"name", "evening"}}) == "sorrel robin wren");
  CHECK(control.listed("class.members", "leader", {{"name", "evening"}}) == "true false false");
  CHECK(control.listed("account.list", "name", {{"class", "EVENING"}}) == "robin sorrel wren");
  CHECK(control.refused("account.list", {{"class", "morning"}}) == Code::not_found);
  CHECK(control.refused("class.members", {{"name", "morning"}}) == Code::not_found);
  CHECK(control.refused("class.show", {{"name", "morning"}}) == Code::not_found);

  CHECK(control.refused("class.remove", {{"name", "evening"}}) == Code::exists);
  for (const char* name : {"robin", "wren", "sorrel"}) {
    control.done("class.leave", {{"name", "evening"}, {"account", name}});
  }
  CHECK(control.refused("class.leave", {{"name", "evening"}, {"account", "robin"}}) ==
        Code::not_found);
  control.done("class.remove", {{"name", "evening"}});
  CHECK(control.refused("class.remove", {{"name", "evening"}}) == Code::not_found);
  CHECK(control.listed("class.list", "name") == "");
}

TEST_CASE("a listing too long for one answer comes in parts, each in a line that can be taken") {
  TestControl control;
  control.done("class.add", {{"name", "evening"}});
  const int many = 1500;
  for (int i = 0; i < many; ++i) {
    fs::NewAccount account;
    account.name = "member" + std::to_string(i);
    account.klass = "evening";
    account.full_name = std::string(60, 'n');
    REQUIRE(control.store().people().add_account(control.store().keeper, account).wait());
  }
  for (const char* method : {"account.list", "class.members"}) {
    json::object params;
    if (method == std::string("class.members")) params["name"] = "evening";
    std::size_t found = 0;
    int parts = 0;
    for (bool more = true; more; ++parts) {
      const std::string answer =
          control.line(server::jsonrpc_request(1, method, json::value(params)));
      CHECK(answer.size() < server::JsonLines::longest / 2);
      const auto result = server::jsonrpc_result(answer, 1);
      REQUIRE(result);
      found += result->at("items").as_array().size();
      more = result->as_object().contains("next");
      if (more) params["from"] = result->at("next");
    }
    CHECK(found == many);
    CHECK((parts > 1) == (method == std::string("account.list")));
  }
  CHECK(control.listed("account.list", "name", {{"from", 1'000'000}}) == "");
}

TEST_CASE("limits of a class, and accounts that follow it") {
  TestControl control;
  control.done("class.add", {{"name", "tuesday"}});
  control.store().add("robin", fs::Role::member, "tuesday");
  control.done("class.limits", {{"name", "tuesday"}, {"soft_bytes", 1000}, {"hard_bytes", 1500}});
  control.done("class.limits", {{"name", "tuesday"}, {"soft_files", 10}});
  auto shown = control.done("class.show", {{"name", "tuesday"}});
  CHECK(shown.at("limits") == true);
  CHECK(shown.at("hard_bytes") == 1500);
  CHECK(shown.at("soft_files") == 10);
  CHECK(control.done("account.show", {{"name", "robin"}}).at("hard_bytes") == 1500);
  control.done("account.change", {{"name", "robin"}, {"hard_bytes", 3000}});
  shown = control.done("account.show", {{"name", "robin"}});
  CHECK(shown.at("own_limits") == true);
  CHECK(shown.at("soft_bytes") == 1000);  // what was not given is as it was
  CHECK(shown.at("hard_bytes") == 3000);
  control.done("account.change", {{"name", "robin"}, {"own_limits", false}});
  CHECK(control.done("account.show", {{"name", "robin"}}).at("hard_bytes") == 1500);
  control.done("class.limits", {{"name", "tuesday"}, {"none", true}});
  CHECK(control.done("class.show", {{"name", "tuesday"}}).at("limits") == false);
  CHECK(control.refused("class.limits", {{"name", "tuesday"}}) == Code::bad_input);
  CHECK(control.refused("class.limits", {{"name", "tuesday"}, {"none", true}, {"soft_bytes", 1}}) ==
        Code::bad_input);
  CHECK(control.refused("class.limits",
                        {{"name", "tuesday"}, {"soft_bytes", 2}, {"hard_bytes", 1}}) ==
        Code::bad_input);
  CHECK(control.refused("account.change",
                        {{"name", "robin"}, {"own_limits", false}, {"soft_bytes", 1}}) ==
        Code::bad_input);
}
