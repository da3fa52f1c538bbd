// Settling a group again after a crash, when the group is no longer the same.
#include "fs/settle.h"

#include <string>

#include <catch2/catch.hpp>

#include "tests/support/simulated_disk.h"
#include "tests/support/temp_folder.h"

using namespace stationer;
using namespace stationer::fs;

namespace {

using Disk = std::shared_ptr<test::SimulatedDisk>;

struct Place {
  test::TempFolder mount;
  Disk disk;
  std::unique_ptr<HostFiles> files;
  std::unique_ptr<Catalog> catalog;

  explicit Place(Disk of = empty_disk()) : disk(std::move(of)), files(disk->files()) {
    disk->mount(mount / "volume");
    catalog = Catalog::create(mount / "volume/catalog.db").value();
  }
  static Disk empty_disk() {
    auto disk = test::SimulatedDisk::create();
    const auto files = disk->files();
    for (const char* name : {"files", "incoming", "versions"}) {
      REQUIRE(files->make_folder(HostPath() / name));
    }
    REQUIRE(files->sync_everything());
    return disk;
  }
  void upload(ContentId content, std::string_view bytes) {
    REQUIRE(write_durably(*files, incoming_path(content), bytes));
  }
  std::string text(const HostPath& path) {
    auto bytes = read_whole(*files, path, 1000);
    return bytes ? *bytes : "nothing";
  }
  void settle(const std::vector<const Commit*>& group) {
    SettleEvents events;
    events.while_deeds = [](std::span<const Deed* const>, const std::function<Status()>& act) {
      return act();
    };
    events.trouble = [](const std::string& words) { FAIL(words); };
    REQUIRE(settle_group(*files, *catalog, group, events));
  }
};

const HostPath letter = HostPath() / "files" / "letter";
const HostPath first = version_path(ContentId{1}, "letter");
const HostPath second = version_path(ContentId{2}, "letter");

Commit saving(std::uint64_t number, ContentId content, const char* bytes,
              const HostPath* replaced = nullptr) {
  Commit commit;
  commit.number = number;
  PlaceFile placed;
  placed.path = letter;
  placed.content = content;
  if (bytes != nullptr) placed.bytes = std::make_shared<const std::string>(bytes);
  if (replaced != nullptr) placed.aside = MovePath{letter, *replaced};
  commit.deeds.push_back(std::move(placed));
  return commit;
}

}  // namespace

// The bytes of a large content are not in the log: once it has left incoming/, it is nowhere but
// where it was put.
TEST_CASE("a large content put in place before a crash is kept when the redo finds it overtaken") {
  Place place;
  const Commit one = saving(1, ContentId{1}, nullptr);
  const Commit two = saving(2, ContentId{2}, nullptr, &first);
  const Commit three = saving(3, ContentId{3}, "third", &second);
  place.upload(ContentId{1}, "first");
  place.settle({&one});
  CHECK(place.text(letter) == "first");
  // Logged after that; and the catalogue never heard of the first.
  place.upload(ContentId{2}, "second");
  place.settle({&one, &two});
  CHECK(place.text(letter) == "second");
  CHECK(place.text(first) == "first");
  place.settle({&one, &two, &three});
  place.settle({&one, &two, &three});
  CHECK(place.text(letter) == "third");
  CHECK(place.text(first) == "first");
  CHECK(place.text(second) == "second");
}

TEST_CASE("contents that one name had one after another each end where they belong") {
  Place place;
  const Commit one = saving(1, ContentId{1}, "first");
  const Commit two = saving(2, ContentId{2}, nullptr, &first);
  const Commit three = saving(3, ContentId{3}, "third", &second);
  place.upload(ContentId{2}, "second");
  for (int time = 0; time < 2; ++time) {
    place.settle({&one, &two, &three});
    CHECK(place.text(letter) == "third");
    CHECK(place.text(first) == "first");
    CHECK(place.text(second) == "second");
  }
  // In the next group it is a file that is there.
  const HostPath old = version_path(ContentId{3}, "letter");
  const Commit four = saving(4, ContentId{4}, "fourth", &old);
  place.settle({&four});
  CHECK(place.text(letter) == "fourth");
  CHECK(place.text(old) == "third");
}

// A file's new name may outlive the power cut that its folder's own does not.
TEST_CASE("a large content in a folder just made survives a power cut at any call") {
  const HostPath folder = HostPath() / "files" / "new";
  Commit one;
  one.number = 1;
  one.deeds.push_back(MakeFolder{folder});
  PlaceFile placed;
  placed.path = folder / "letter";
  placed.content = ContentId{1};
  one.deeds.push_back(placed);

  Place place;
  place.upload(ContentId{1}, "first");
  std::vector<Disk> moments;
  place.disk->set_hook([&](const test::DiskCall& call) {
    if (call.matters() && !call.path.starts_with("catalog")) moments.push_back(place.disk->copy());
    return std::optional<Code>();
  });
  place.settle({&one});
  place.disk->set_hook({});
  moments.push_back(place.disk->copy());
  REQUIRE(moments.size() >= 4);
  for (std::size_t moment = 0; moment < moments.size(); ++moment) {
    for (std::uint64_t seed = 0; seed < 40; ++seed) {
      INFO("call " << moment << ", seed " << seed);
      const Disk after = moments[moment]->after_power_cut(seed);
      REQUIRE(after->remove("catalog.db", false));  // all is settled again
      Place again(after);
      again.settle({&one});
      REQUIRE(again.text(placed.path) == "first");
    }
  }
}

TEST_CASE(
    "the hash of a small content is taken when it is settled, unless nobody wants it any more") {
  Place place;
  Commit one = saving(1, ContentId{1}, "first");
  one.changes.push_back(put(Digest{ContentId{1}, {}}));
  Commit two = saving(2, ContentId{2}, "second");
  two.changes.push_back(drop(Digest{ContentId{1}, {}}));
  two.changes.push_back(put(Digest{ContentId{2}, {}}));
  place.settle({&one});
  CHECK(*place.catalog->digest(ContentId{1}) == hash_of("first"));
  place.settle({&one, &two});
  CHECK(*place.catalog->digest(ContentId{1}) == std::nullopt);
  CHECK(*place.catalog->digest(ContentId{2}) == hash_of("second"));
}
