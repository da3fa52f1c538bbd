// volume.toml: the volume's name and format, and the keeper's settings. This part reads the
// [volume], [limits], [history], [journal] and [adoption] tables; the other layers read their own
// from the same text. fs/settings_words.h says of each key what it is for.
#pragma once

#include <string>
#include <string_view>

#include "fs/ids.h"
#include "fs/journal.h"
#include "fs/quota.h"
#include "fs/result.h"
#include "fs/retention.h"

namespace stationer::fs {

// What this program writes, and the newest it reads.
inline constexpr int volume_format = 2;

struct VolumeSettings {
  std::string name;
  std::uint64_t reserve = 0;                 // bytes
  Quota new_account;                         // what a new account may keep
  std::chrono::hours grace = default_grace;  // over a soft limit; 0: it is hard at once
  Retention retention;
  JournalLimits journal;
  bool watch = true;  // files/ for what the host's owner does there
};

// The text of a new volume's file.
std::string new_volume_file(std::string_view name, Time created);

// Code::newer_format for a newer volume; Code::bad_input with the line for what can't be read.
Result<VolumeSettings> parse_volume_file(std::string_view text);

}  // namespace stationer::fs
