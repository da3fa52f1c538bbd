// Snapshots by control methods, and those that the settings ask for.
#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>

#include "server/control/snapshot_run.h"
#include "tests/support/test_control.h"

using namespace stationer;
using test::TestControl;
namespace json = boost::json;
using fs::Code;

namespace {

json::object followed(TestControl& control) {
  for (;;) {
    auto state = control.done("snapshot.progress");
    if (state.at("over") == true) return state;
    CHECK(state.at("done").to_number<std::uint64_t>() <=
          state.at("all").to_number<std::uint64_t>());
  }
}

bool mentions(const json::value& troubles, std::string_view words) {
  for (const auto& each : troubles.as_array()) {
    if (std::string_view(each.as_string()).find(words) != std::string_view::npos) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("a snapshot is taken, listed, and told in the status") {
  TestControl control;
  CHECK(control.refused("snapshot.progress") == Code::not_found);
  CHECK(control.done("status").at("last_snapshot").is_null());
  CHECK(control.listed("snapshot.list", "file") == "");
  control.put("/public/letter", "Dear room");
  control.done("snapshot.take");
  const auto taken = followed(control);
  CHECK(taken.at("lost") == 0);
  CHECK(taken.at("taken") == "2027-01-15T08:00:00.000Z");
  const std::string file(taken.at("file").as_string());
  CHECK(file == control.store().path() + "/snapshots/test-room-2027-01-15-080000.tar.zst");
  CHECK(std::filesystem::file_size(file) == taken.at("size").to_number<std::uint64_t>());
  CHECK(control.listed("snapshot.list", "file") == file);
  CHECK(control.text("snapshot.list", "folder") == control.store().path() + "/snapshots");
  CHECK(control.done("status").at("last_snapshot") == "2027-01-15T08:00:00.000Z");
  const auto entry = control.done("journal.list").at("items").at(0);
  CHECK(entry.at("what") == "snapshot taken");
  CHECK(entry.at("subject") == json::value(file));
}

TEST_CASE("work comes back out of a snapshot") {
  TestControl control;
  control.store().add("robin");
  control.put("/public/letter", "as it was");
  const std::string file = control.store().folder / "there.tar.zst";
  control.done("snapshot.take", {{"file", file}});
  followed(control);
  control.put("/public/letter", "as it is", 65536, {{"replace", true}});
  control.done("snapshot.return", {{"file", file}, {"path", "/public/letter"}});
  const auto returned = followed(control);
  CHECK(returned.at("files") == 1);
  CHECK(returned.at("replaced").at(0) == "/public/letter");
  CHECK(returned.at("replaced_count") == 1);
  CHECK(returned.at("beside").as_array().empty());
  CHECK(control.get("file.open", {{"path", "/public/letter"}}) == "as it was");
  control.done("snapshot.return", {{"file", file}, {"account", "robin"}});
  CHECK(followed(control).at("files") == 0);
}

TEST_CASE("wrong words about snapshots are refused") {
  TestControl control;
  CHECK(control.refused("snapshot.take", {{"file", "here.tar.zst"}}) == Code::bad_input);
  CHECK(control.refused("snapshot.take", {{"where", "/"}}) == Code::bad_input);
  CHECK(control.refused("snapshot.return", {{"file", "/x"}}) == Code::bad_input);
  CHECK(control.refused("snapshot.return", {{"path", "/x"}}) == Code::bad_input);
  control.done("snapshot.take", {{"file", control.store().folder / "none/x"}});
  for (;;) {
    auto state = control.call("snapshot.progress");
    if (state) continue;
    CHECK(state.error().code == Code::not_found);
    break;
  }
}

TEST_CASE("the settings' snapshots: due, taken, thinned, and a failed one is a trouble") {
  TestControl control;
  auto& store = control.store();
  server::SnapshotRun& run = *control.context.snapshot;
  const fs::Caller service{fs::no_account, true, "the service"};
  CHECK_FALSE(run.is_due());  // the volume is new
  *store.now += std::chrono::days(1);
  CHECK(run.is_due());
  CHECK(run.troubles().empty());
  *store.now += std::chrono::days(2);
  CHECK(mentions(control.done("status").at("troubles"), "No snapshot was ever taken"));

  // Something stands where they should go.
  std::ofstream(store.path() + "/snapshots") << "in the way";
  REQUIRE(run.begin());
  CHECK_FALSE(run.is_due());  // one is under way
  run.take(service, "");
  CHECK_FALSE(run.is_due());  // not again at once
  CHECK(mentions(control.done("status").at("troubles"), "The last snapshot could not be taken"));
  std::filesystem::remove(store.path() + "/snapshots");
  *store.now += std::chrono::hours(2);
  CHECK(run.is_due());
  REQUIRE(run.begin());
  run.take(service, "");
  CHECK(control.done("status").at("troubles").as_array().empty());
  CHECK_FALSE(run.is_due());

  for (int day = 0; day < 9; ++day) {
    *store.now += std::chrono::days(1);
    REQUIRE(run.is_due());
    REQUIRE(run.begin());
    run.take(service, "");
  }
  const auto kept = store.volume->snapshots().list().value();
  CHECK(kept.size() >= 7);
  CHECK(kept.size() < 10);
  *store.now += std::chrono::days(5);
  CHECK(mentions(control.done("status").at("troubles"), "The last snapshot is 5 days old"));
}

TEST_CASE("a snapshot that is stopped is over soon and leaves nothing") {
  TestControl control;
  server::SnapshotRun& run = *control.context.snapshot;
  run.stop();
  REQUIRE(run.begin());
  run.take(fs::keeper_at_the_box(), "");
  REQUIRE(run.outcome());
  CHECK(run.outcome()->error().code == Code::busy);
  CHECK(std::filesystem::is_empty(control.store().path() + "/snapshots"));
}
