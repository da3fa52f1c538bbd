// A volume whose commit log is damaged: refused, with all that is in it left as it was, until the
// keeper says to go on without what can't be read; and then everything of it is kept.
#include <string>

#include <catch2/catch.hpp>

#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::DiskCall;

namespace {

const std::string large(small_content + 10, 'L');

Path at(const char* path) {
  return Path::parse(path).value();
}

Status save(Volume& volume, const char* path, std::string_view bytes) {
  auto upload = volume.files().save(keeper_at_the_box(), at(path), {});
  if (!upload) return upload.error();
  if (auto written = upload->write(bytes); !written) return written;
  return upload->finish().wait();
}

bool is_there(Volume& volume, const char* path) {
  return volume.files().look(keeper_at_the_box(), at(path)).has_value();
}

// Four files were promised, and nothing of them was settled when the power went.
std::shared_ptr<test::SimulatedDisk> unsettled(test::MountPoint& place) {
  auto disk = test::SimulatedDisk::create();
  auto volume = place.create(disk);
  REQUIRE(volume);
  REQUIRE((*volume)->drain());
  disk->set_hook([](const DiskCall& call) -> std::optional<Code> {
    if (call.path.starts_with("files") || call.kind == DiskCall::Kind::sync_everything) {
      return Code::io;
    }
    return std::nullopt;
  });
  REQUIRE(save(**volume, "/public/first", "the first words"));
  REQUIRE(save(**volume, "/public/second", "the second words"));
  REQUIRE(save(**volume, "/public/large", large));
  REQUIRE(save(**volume, "/public/fourth", "the fourth words"));
  auto left = disk->copy();
  volume->reset();
  return left;
}

void damage(test::SimulatedDisk& disk, std::string_view words) {
  auto files = disk.files();
  for (const auto& entry : files->list(HostPath() / "log").value()) {
    const HostPath path = HostPath() / "log" / entry.name;
    const std::string bytes = read_whole(*files, path, 1u << 30).value();
    const auto found = bytes.find(words);
    if (found == std::string::npos) continue;
    const auto file = files->open_write(path).value();
    REQUIRE(file->write_at(found, "x"));
    REQUIRE(file->sync());
    return;
  }
  FAIL("not in the log");
}

}  // namespace

TEST_CASE(
    "invariant 1: a damaged log is refused, and what is in it is kept when the loss is accepted") {
  test::MountPoint place;
  auto disk = unsettled(place);
  damage(*disk, "the second words");
  for (int again = 0; again < 2; ++again) {
    const auto refused = place.open(disk);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == Code::damaged);
    CHECK(refused.error().message.find("stationer check --repair --accept-loss") !=
          std::string::npos);
  }
  auto surroundings = place.surroundings(disk);
  surroundings.accept_loss = true;
  disk->mount(place.path());
  {
    auto opened = Volume::open(place.path(), surroundings);
    if (!opened) FAIL(opened.error().message);
    CheckOptions options;
    options.repair = options.accept_loss = true;
    auto report = (*opened)->check(options);
    REQUIRE(report);
    REQUIRE_FALSE(report->findings.empty());
    CHECK(report->findings.front().path == "log");
    CHECK(report->findings.front().mended);
    CHECK(is_there(**opened, "/public/first"));
    for (const char* lost : {"/public/second", "/public/large", "/public/fourth"}) {
      CHECK_FALSE(is_there(**opened, lost));
    }
    JournalQuery query;
    query.what = "repaired";
    CHECK((*opened)->desk().journal(query)->size() == 1);
    REQUIRE(save(**opened, "/public/fifth", "the fifth words"));
  }
  auto opened = place.open(disk);
  if (!opened) FAIL(opened.error().message);
  CHECK(is_there(**opened, "/public/first"));
  CHECK(is_there(**opened, "/public/fifth"));
  auto report = (*opened)->check();
  REQUIRE(report);
  CHECK(report->findings.empty());
  // Every byte that was promised is still on the disk.
  auto files = disk->files();
  bool log = false;
  bool content = false;
  for (const auto& entry : files->list(HostPath() / "rescued").value()) {
    const std::string bytes =
        read_whole(*files, HostPath() / "rescued" / entry.name, 1u << 30).value();
    log = log || bytes.find("the fourth words") != std::string::npos;
    content = content || bytes == large;
  }
  CHECK(log);
  CHECK(content);
}

TEST_CASE("invariant 1: accepting a loss loses nothing when the log is sound") {
  test::MountPoint place;
  auto disk = unsettled(place);
  auto surroundings = place.surroundings(disk);
  surroundings.accept_loss = true;
  disk->mount(place.path());
  auto opened = Volume::open(place.path(), surroundings);
  if (!opened) FAIL(opened.error().message);
  for (const char* path : {"/public/first", "/public/second", "/public/large", "/public/fourth"}) {
    CHECK(is_there(**opened, path));
  }
}

TEST_CASE("invariant 1: the power may go at any call while a loss is accepted") {
  test::MountPoint place;
  const auto start = unsettled(place);
  damage(*start, "the second words");
  for (std::uint64_t when = 0;; ++when) {
    auto disk = start->copy();
    std::shared_ptr<test::SimulatedDisk> then;
    std::uint64_t calls = 0;
    disk->set_hook([&, on = disk.get()](const DiskCall& call) -> std::optional<Code> {
      if (call.matters() && calls++ == when) then = on->copy();
      return std::nullopt;
    });
    auto surroundings = place.surroundings(disk);
    surroundings.accept_loss = true;
    disk->mount(place.path());
    REQUIRE(Volume::open(place.path(), surroundings));
    disk->set_hook({});
    if (!then) break;
    auto cut = then->after_power_cut(when);
    auto opened = place.open(cut);
    if (!opened) {  // the log was not moved yet
      auto once_more = place.surroundings(cut);
      once_more.accept_loss = true;
      cut->mount(place.path());
      opened = Volume::open(place.path(), once_more);
    }
    INFO(when);
    if (!opened) FAIL(opened.error().message);
    CHECK(is_there(**opened, "/public/first"));
    CHECK_FALSE(is_there(**opened, "/public/fourth"));
  }
}
