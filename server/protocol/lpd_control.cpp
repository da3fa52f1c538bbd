#include "server/protocol/lpd_control.h"

#include <algorithm>
#include <charconv>

#include "fs/text.h"
#include "server/protocol/clean_text.h"
#include "server/protocol/clean_text.h"

namespace stationer::server {
namespace {

// RFC 1179 §7.1 to §7.11.
constexpr std::size_t longest_class = 31;
constexpr std::size_t longest_host = 31;
constexpr std::size_t longest_job = 99;
constexpr std::size_t longest_source = 131;
constexpr std::size_t longest_user = 31;
constexpr std::size_t longest_title = 79;
constexpr std::size_t most_listings = 256;  // a job has 52 files; no control file needs more

std::string field(std::string_view line, std::size_t longest) {
  return clean_text(fs::is_utf8(line) ? fs::clip(line, longest) : line.substr(0, longest));
}

std::optional<unsigned> number(std::string_view digits) {
  unsigned value = 0;
  const auto* end = digits.data() + digits.size();
  const auto result = std::from_chars(digits.data(), end, value);
  const bool whole = result.ec == std::errc{} && result.ptr == end;
  return whole && value <= 999 ? std::optional(value) : std::nullopt;
}

}  // namespace

std::string title_of(const LpdControl& control, const LpdListing& listing) {
  const std::string& whole = !control.job.empty()      ? control.job
                             : !listing.source.empty() ? listing.source
                                                       : listing.title;
  const bool drive = whole.size() > 3 && whole[1] == ':' && whole[2] == '\\';
  if (!drive && !whole.starts_with('/')) return whole;
  const auto last = whole.substr(whole.find_last_of(drive ? "\\" : "/") + 1);
  return last.empty() ? whole : last;
}

LpdControl parse_lpd_control(std::string_view octets) {
  LpdControl control;
  // Lines about the file to come; N may stand on either side of it.
  std::string source;
  std::string title;
  std::optional<unsigned> width;
  std::optional<unsigned> indent;
  while (!octets.empty()) {
    std::string_view line = octets.substr(0, octets.find('\n'));
    octets.remove_prefix(std::min(line.size() + 1, octets.size()));
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    if (line.size() < 2) continue;
    const char letter = line.front();
    line.remove_prefix(1);
    auto& files = control.files;
    switch (letter) {
      case 'C': control.class_name = field(line, longest_class); break;
      case 'H': control.host = field(line, longest_host); break;
      case 'I': indent = number(line); break;
      case 'J': control.job = field(line, longest_job); break;
      case 'L': control.banner = field(line, longest_user); break;
      case 'M': control.mail = field(line, longest_user); break;
      case 'N':
        (files.empty() || !files.back().source.empty() ? source : files.back().source) =
            field(line, longest_source);
        break;
      case 'P': control.user = field(line, longest_user); break;
      case 'T': title = field(line, longest_title); break;
      case 'W': width = number(line); break;
      default: {
        if (letter < 'a' || letter > 'z') break;  // S, U, 1 to 4: nothing to us
        const auto same = std::find_if(files.begin(), files.end(), [&](const LpdListing& file) {
          return file.data_file == line && file.format == letter;
        });
        if (same != files.end()) {  // each repetition is one more copy
          ++same->copies;
          break;
        }
        if (files.size() == most_listings) break;
        files.push_back({std::string(line), letter, 1, std::move(source), title, width, indent});
        source.clear();
      }
    }
  }
  return control;
}

}  // namespace stationer::server
