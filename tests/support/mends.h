// What puts a volume right, or makes it forget, with what makes that needed: repair, adoption of
// what the host's owner did, work that comes back out of a snapshot, limits that are reached. Rows
// like those of operations.h, for what can't be done to just any volume. Add a row for each new way
// to mend, or to do what the host did.
#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "tests/support/operations.h"
#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

namespace stationer::test {

struct Mend {
  Operation operation;
  // Makes it needed, while nobody serves the volume.
  std::function<void(MountPoint& place, const std::shared_ptr<SimulatedDisk>& disk)> need;
};

const std::vector<Mend>& mends();

// A small volume with something of everything that can be damaged; the clock is then moved on by
// two days.
std::shared_ptr<SimulatedDisk> furnish_for_mends(MountPoint& place);

}  // namespace stationer::test
