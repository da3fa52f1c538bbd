// A volume on a simulated disk, with a clock that stands still unless moved.
#pragma once

#include <memory>
#include <stdexcept>
#include <string>

#include "fs/volume.h"
#include "tests/support/simulated_disk.h"
#include "tests/support/temp_folder.h"

namespace stationer::test {

// Where simulated disks are mounted, one at a time: a folder of the host's that stays empty.
class MountPoint {
 public:
  std::string path() const { return folder_ / "volume"; }

  fs::Surroundings surroundings(const std::shared_ptr<SimulatedDisk>& disk) const {
    fs::Surroundings out;
    out.clock = [now = now] { return *now; };
    out.password_cost = {1, 8192};  // RFC 9106 §3.1: the least there is
    out.seed = 1;
    out.wrap_files = [disk](std::unique_ptr<fs::HostFiles>) { return disk->files(); };
    return out;
  }

  fs::Result<std::unique_ptr<fs::Volume>> create(const std::shared_ptr<SimulatedDisk>& disk) {
    disk->mount(path());
    // The host has no folder for snapshots below the volume; so they lie on the disk's top.
    const std::string settings =
        "[snapshots]\nfolder = \"" + folder_.path() + "\"\n[visitors]\naccounts = [\"wren\"]\n";
    return fs::Volume::create(path(), "Tidewrack Mill", surroundings(disk), settings);
  }
  fs::Result<std::unique_ptr<fs::Volume>> open(const std::shared_ptr<SimulatedDisk>& disk,
                                               bool accept_loss = false) {
    disk->mount(path());
    auto around = surroundings(disk);
    around.accept_loss = accept_loss;
    return fs::Volume::open(path(), std::move(around));
  }

  std::shared_ptr<fs::Time> now =
      std::make_shared<fs::Time>(std::chrono::milliseconds(1'800'000'000'000));

 private:
  TempFolder folder_;
};

}  // namespace stationer::test
