// SQLite on simulated disks: a VFS (https://www.sqlite.org/vfs.html) that becomes SQLite's default
// in a program that links it. A database below a directory that a disk is mounted at lives on that
// disk; any other can't be opened. One connection to a database at a time.
#pragma once

#include <memory>
#include <string>

namespace stationer::test {

class SimulatedDisk;

void mount_for_sqlite(const std::string& directory, std::weak_ptr<SimulatedDisk> disk);
void unmount_for_sqlite(const SimulatedDisk& disk);

}  // namespace stationer::test
