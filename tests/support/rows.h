// Every row of a catalogue and every file of a volume, in words: what is really kept, whatever the
// layers above make of it. Kinds of rows and their fields are taken from fs/records.h, so a new one
// is in it by itself.
#pragma once

#include <string>

#include "fs/host_files.h"

namespace stationer::test {

// Of the catalogue at `path`, which nobody has open. Passwords only as being there or not.
std::string all_rows(const std::string& path);

// Of what lies in files/, bin/, versions/ and rescued/: names, sizes, contents. (printouts/ is the
// spool's, which writes a PDF before there is a row for it.)
std::string all_files(fs::HostFiles& files);

}  // namespace stationer::test
