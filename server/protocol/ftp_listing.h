// What FTP says of files and folders. Pure; lines without their ends.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "fs/files.h"
#include "fs/ids.h"

namespace stationer::server {

// For LIST, as `ls -l` writes it (POSIX XCU "ls", long format), which is what clients old and new
// look for: mode, links, owner, class, size, date, name. RFC 959 leaves the form open. Dates are in
// UTC; one of the last half year, by `now`, has its time of the day, an other its year.
std::string list_line(const fs::NodeView& node, std::string_view name, fs::Time now);

// The facts of MLST and MLSD (RFC 3659 §7.5).
class FtpFacts {
 public:
  // By OPTS MLST: the names of facts, each with its semicolon, in any case; others are left out.
  // False, and nothing changes, when it is no such list.
  bool choose(std::string_view list);
  std::string chosen() const;    // "Type;Size;"
  std::string features() const;  // "Type*;Size*;Modify;", a * behind those that are chosen

  // "Type=file;Size=1830;Modify=19940916055648;Perm=r;" One may rename and remove what one may
  // write to in a folder that one may write to.
  std::string of(const fs::NodeView& node, bool may_write_folder) const;

 private:
  static constexpr unsigned count = 5;
  unsigned chosen_ = (1u << count) - 1;
};

// "19940916055648", in UTC (RFC 3659 §2.3).
std::string ftp_time(fs::Time time);

// Whether a name fits a pattern with * and ?, in any case of ASCII letters.
bool fits_pattern(std::string_view name, std::string_view pattern);

// The options before a path, as in "LIST -la docs", which many clients send though no standard has
// them, are left out.
std::string_view without_options(std::string_view argument);

}  // namespace stationer::server
