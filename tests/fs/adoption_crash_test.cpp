// Adoption and the power cut.
#include <string>

#include <catch2/catch.hpp>

#include "fs/adoption.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using namespace stationer::fs;

namespace {

using Disk = std::shared_ptr<test::SimulatedDisk>;

const HostPath folder = HostPath() / "files" / "public";

Path at(std::string_view name) {
  return Path::parse("/public/" + std::string(name)).value();
}

void save(Volume& volume, std::string_view name, std::string_view bytes) {
  SaveOptions options;
  options.replace = true;
  auto upload = volume.files().save(keeper_at_the_box(), at(name), options);
  REQUIRE(upload);
  REQUIRE(upload->write(bytes));
  REQUIRE(upload->finish().wait());
}

void put(HostFiles& host, const HostPath& path, std::string_view bytes) {
  REQUIRE((*host.create(path))->write_at(0, bytes));
}

std::string text(Volume& volume, std::string_view name) {
  const auto content = volume.files().read(keeper_at_the_box(), at(name));
  if (!content) return "nothing";
  std::string bytes(100, '\0');
  bytes.resize(content->read_at(0, bytes).value());
  return bytes;
}

void look(Volume& volume) {
  AdoptOptions options;
  options.patience = std::chrono::milliseconds(0);
  REQUIRE(volume.adoption().look_at_all(options));
  REQUIRE(volume.drain());
}

}  // namespace

TEST_CASE("invariant 1: a power cut at any call of adoption leaves what can be adopted again") {
  test::MountPoint mount;
  const Disk disk = test::SimulatedDisk::create();
  std::vector<Disk> moments;
  {
    auto made = mount.create(disk);
    REQUIRE(made);
    Volume& volume = **made;
    REQUIRE(volume.files().make_folder(keeper_at_the_box(), at("f")).wait());
    for (const char* name : {"a", "b", "c", "d"})
      save(volume, name, std::string("this is ") + name);
    save(volume, "a", "a, anew");
    REQUIRE(volume.drain());

    const auto host = disk->files();
    put(*host, folder / "new", "put in");
    REQUIRE(host->make_folder(folder / "g"));
    put(*host, folder / "g" / "in it", "put in, too");
    put(*host, folder / "b", "changed on the host");
    REQUIRE(host->rename(folder / "c", folder / "f" / "c", false));
    REQUIRE(host->remove_file(folder / "a"));
    REQUIRE(host->sync_everything());

    disk->set_hook([&](const test::DiskCall& call) {
      if (call.matters()) moments.push_back(disk->copy());
      return std::optional<Code>();
    });
    look(volume);
    disk->set_hook({});
    moments.push_back(disk->copy());
  }
  CHECK(moments.size() > 30);
  for (std::size_t moment = 0; moment < moments.size(); ++moment) {
    for (std::uint64_t seed = 0; seed < 2; ++seed) {
      INFO("call " << moment << ", seed " << seed);
      auto opened = mount.open(moments[moment]->after_power_cut(seed));
      if (!opened) FAIL(opened.error().message);
      Volume& volume = **opened;
      look(volume);
      look(volume);
      CHECK(text(volume, "new") == "put in");
      CHECK(text(volume, "g/in it") == "put in, too");
      CHECK(text(volume, "b") == "changed on the host");
      CHECK(text(volume, "f/c") == "this is c");
      CHECK(text(volume, "d") == "this is d");
      CHECK(text(volume, "a") == "nothing");
      CHECK(text(volume, "c") == "nothing");
      REQUIRE(volume.files().bin(keeper_at_the_box()).size() == 1);
      const auto report = volume.check();
      REQUIRE(report);
      for (const auto& finding : report->findings) {
        FAIL_CHECK(finding.path << ": " << finding.sentence);
      }
    }
  }
}
