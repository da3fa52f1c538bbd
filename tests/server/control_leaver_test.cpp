// Those who go, and classes that move up, by control methods.
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>

#include "tests/support/test_control.h"
#include "tests/support/test_room.h"

using namespace stationer;
using test::TestControl;
using test::Visit;
namespace json = boost::json;
using fs::Code;

TEST_CASE("an account's last day is set, shown and taken back") {
  TestControl control;
  control.store().add("robin");
  CHECK(control.done("account.show", {{"name", "robin"}}).at("ends").is_null());
  control.done("account.change", {{"name", "robin"}, {"ends", "2027-01-31T00:00:00Z"}});
  CHECK(control.text("account.show", "ends", {{"name", "robin"}}) == "2027-01-31T00:00:00.000Z");
  CHECK(control.refused("account.change", {{"name", "robin"}, {"ends", "in May"}}) ==
        Code::bad_input);
  control.done("account.change", {{"name", "robin"}, {"ends", ""}});
  CHECK(control.done("account.show", {{"name", "robin"}}).at("ends").is_null());
}

TEST_CASE("who signs in near the end of their time is told, and afterwards why they can't") {
  TestControl control;
  control.store().add("robin");
  // 15 days and 16 hours from now.
  control.done("account.change", {{"name", "robin"}, {"ends", "2027-01-31T00:00:00Z"}});
  const std::string words = "is the last day you can sign in.";
  CHECK(Visit(control.room).types("robin\rmill-race-robin\r").find(words) == std::string::npos);
  *control.store().now += std::chrono::days(2);
  CHECK(Visit(control.room).types("robin\rmill-race-robin\r").find(words) != std::string::npos);
  *control.store().now += std::chrono::days(14);
  Visit late(control.room);
  CHECK(late.types("robin\rmill-race-robin\r").find("The time of the account robin is over.") !=
        std::string::npos);
  CHECK_FALSE(late.session.signed_in());
}

TEST_CASE("a person is exported, leaves, and is erased") {
  TestControl control;
  const auto robin = control.store().add("robin");
  REQUIRE(control.store().save(robin, "members/robin/letter", "Dear wren"));
  const auto made = control.done("account.export", {{"name", "robin"}});
  CHECK(made.at("archive") == "archives/robin/2027-01-15.tar.zst");
  CHECK(made.at("files") == 1);
  CHECK(made.at("bytes").as_int64() > 100);
  CHECK(control.refused("account.export", {{"name", "nobody"}}) == Code::not_found);

  CHECK(control.text("account.leave", "after", {{"name", "robin"}}) == "2027-02-14T08:00:00.000Z");
  CHECK(control.text("account.show", "leaves_after", {{"name", "robin"}}) ==
        "2027-02-14T08:00:00.000Z");
  control.done("account.due");
  CHECK(control.listed("bin.list", "path") == "");
  control.done("account.leave", {{"name", "robin"}, {"after", "2027-01-15T08:00:00Z"}});
  control.done("account.due");
  CHECK(control.listed("bin.list", "path") == "/members/robin");

  const std::string preview = control.listed("account.erase", "sentence", {{"name", "robin"}});
  CHECK(preview.find("0 files and folders of theirs go for good, and 2 more in the bin.") !=
        std::string::npos);
  control.done("account.erase", {{"name", "robin"}, {"confirmed", true}});
  CHECK(control.refused("account.show", {{"name", "robin"}}) == Code::not_found);
  CHECK(control.done("journal.verify").at("whole") == true);
  CHECK(control.listed("journal.list", "what", {{"words", "robin"}}) == "");
  CHECK(control.refused("account.erase", {{"name", "robin"}}) == Code::not_found);
}

TEST_CASE("nobody is erased who is signed in, and print jobs go with a person") {
  TestControl control("[queue.paper]\npolicy = \"owner\"\n");
  const auto robin = control.store().add("robin");
  auto job = control.room.spool->receive("", "A letter", robin.account, "robin", "test");
  REQUIRE(job);
  REQUIRE(job->write("Dear wren\n"));
  REQUIRE(job->finish());
  {
    Visit visit(control.room);
    visit.sign_in("robin");
    control.done("account.change", {{"name", "robin"}, {"closed", true}});
    CHECK(control.refused("account.erase", {{"name", "robin"}, {"confirmed", true}}) == Code::busy);
    visit.types("bye\r");
  }
  CHECK(control.listed("account.erase", "sentence", {{"name", "robin"}})
            .find("Print jobs of theirs that are not done go: 1.") != std::string::npos);
  control.done("account.erase", {{"name", "robin"}, {"confirmed", true}});
  CHECK(control.listed("job.list", "owner") == "");
  CHECK(control.done("journal.verify").at("whole") == true);
}

TEST_CASE("the words of an erased person's printouts are in no file of the volume") {
  TestControl control;
  const auto robin = control.store().add("robin");
  auto job = control.room.spool->receive("", "zwqtitle", robin.account, "robin", "test");
  REQUIRE(job);
  REQUIRE(job->write("vqkjxword\r\n"));
  REQUIRE(job->finish());
  control.room.print_all();
  CHECK(control.listed("printout.find", "job", {{"words", "vqkjxword"}}) == "1");
  const auto index_has = [&](const std::string& bytes) {
    for (const char* end : {"", "-wal"}) {
      std::ifstream file(control.store().path() + "/printouts.index" + end, std::ios::binary);
      const std::string all{std::istreambuf_iterator<char>(file), {}};
      if (all.find(bytes) != std::string::npos) return true;
    }
    return false;
  };
  CHECK(index_has("qkjxword"));
  control.done("account.change", {{"name", "robin"}, {"closed", true}});
  control.done("account.erase", {{"name", "robin"}, {"confirmed", true}});
  CHECK_FALSE(index_has("qkjxword"));
  CHECK_FALSE(index_has("wqtitle"));
}

TEST_CASE("classes move up a year and back by control methods") {
  TestControl control;
  control.done("class.add", {{"name", "year9"}});
  control.done("class.add", {{"name", "year10"}});
  control.done("account.add", {{"name", "robin"}, {"class", "year9"}});
  control.done("account.add", {{"name", "wren"}, {"class", "year10"}});
  const json::object plan{{"moves", "year9:year10"}, {"leaving", "year10"}};
  const auto preview = control.done("year.preview", plan);
  CHECK(preview.at("people") == 2);
  CHECK(preview.at("sentences").as_array().size() == 2);
  CHECK(preview.at("obstacles").as_array().empty());
  control.done("year.apply", plan);
  CHECK(control.text("account.show", "class", {{"name", "robin"}}) == "year10");
  CHECK(control.done("account.show", {{"name", "wren"}}).at("closed") == true);
  CHECK(control.listed("year.list", "what") == "year9 to year10, year10 left");
  control.done("year.undo", {{"step", 1}});
  CHECK(control.text("account.show", "class", {{"name", "robin"}}) == "year9");
  CHECK(control.done("account.show", {{"name", "wren"}}).at("closed") == false);
  CHECK(control.refused("year.undo", {{"step", 1}}) == Code::exists);
  CHECK(control.refused("year.apply", {{"moves", "year9"}}) == Code::bad_input);
  CHECK(control.refused("year.apply", {{"moves", ":year9"}}) == Code::bad_input);
  CHECK(control.refused("year.preview", {{"classes", "year9"}}) == Code::bad_input);
}
