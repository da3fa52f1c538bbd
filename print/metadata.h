// What a printout says about itself: the Info dictionary (ISO 32000-1 section 14.3.3) and, with
// equal content, the XMP packet (ISO 16684-1) that PDF/A asks for (ISO 19005-2 section 6.6).
#pragma once

#include <chrono>
#include <string>

namespace stationer::print {

// Truths about the job, from whoever took it in. Text may be any bytes: what isn't UTF-8 or doesn't
// print is replaced, and it is cut to a sensible length.
struct Metadata {
  std::string title;
  std::string owner;   // shown as the author; may be empty when nobody is known
  std::string origin;  // what sent it, such as "station 1.7, queue listing"; may be empty
  std::string job;     // the job's id: part of the file's identifier
  std::chrono::sys_seconds created;  // when the job came in
};

// "2026-05-17 09:00 UTC". Asks the host nothing, not even for a time zone.
std::string moment_text(std::chrono::sys_seconds time);

// The value of the Info dictionary.
std::string info_dictionary(const Metadata& metadata);

// The XMP packet: the same, and that the file keeps to PDF/A-2u.
std::string xmp_packet(const Metadata& metadata);

}  // namespace stationer::print
