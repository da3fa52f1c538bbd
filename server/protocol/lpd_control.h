// The control file of an LPD job: who prints what, and how (RFC 1179 §7). Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stationer::server {

// One data file as the control file names it, once for each way to print it.
struct LpdListing {
  std::string data_file;  // the name it is sent under: a key, never a path
  // How to read the data, by the letter of §7.17 to §7.29: f text, l text with its control
  // characters kept, p text to be given headings, r FORTRAN carriage control, o PostScript …
  char format = 'f';
  unsigned copies = 1;
  std::string source;              // its name where it comes from (N, §7.8), may be empty
  std::string title;               // for headings (T, §7.11), may be empty
  std::optional<unsigned> width;   // columns (W, §7.13)
  std::optional<unsigned> indent;  // columns (I, §7.3), for f
};

// All texts are clean UTF-8: cut to the lengths of the RFC, read as Latin-1 where they are not
// UTF-8, control characters replaced by question marks.
struct LpdControl {
  std::string host;        // H, §7.2
  std::string user;        // P, §7.10
  std::string job;         // J, §7.4
  std::string class_name;  // C, §7.1
  std::string banner;      // L, §7.5: the user whose name a banner page would show
  std::string mail;        // M, §7.6
  std::vector<LpdListing> files;
};

// Takes anything: unknown lines are skipped, missing ones leave their texts empty. H and P are
// mandatory by the RFC, but a job is not lost for want of them. Beyond 256 listings the rest is
// left.
LpdControl parse_lpd_control(std::string_view octets);

// What a printout is best called: the job's name, or the file's, or its title; of a path from the
// top only the last part, because many clients name the whole path. Empty when there is none.
std::string title_of(const LpdControl& control, const LpdListing& listing);

}  // namespace stationer::server
