// What befalls a catalogue while no Stationer looks: statements run straight on catalog.db, and
// bytes turned over in it. Both throw when they can't.
#pragma once

#include <ios>
#include <string>

namespace stationer::test {

// `volume` is the volume's folder; it must not be open.
void run_sql(const std::string& volume, const std::string& statements);

// Turns all bits of `count` bytes over, from `offset` on.
void flip_bytes(const std::string& file, std::streamoff offset, std::streamoff count);

}  // namespace stationer::test
