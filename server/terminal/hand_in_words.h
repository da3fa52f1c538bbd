// How hand-in folders and their times are said, and read.
#pragma once

#include <span>
#include <string>

#include "fs/hand_ins.h"
#include "fs/result.h"

namespace stationer::server {

// "/classes/evening/hand-in is open until 2026-12-01 15:30; what comes later is marked late."
std::string times_sentence(const fs::HandInView& folder);

// What has become of one that is none any more.
std::string ordinary_sentence(const fs::HandInView& folder);

// The times after "closes 2026-12-01 15:30 late yes", word by word: opens or closes with a day and
// perhaps a time of it, or with never; late with yes or no. What is not named stays.
fs::Result<fs::HandInTimes> changed_times(fs::HandInTimes times,
                                          std::span<const std::string> words);

// Whether a word begins such changes rather than naming a folder.
bool begins_times(const std::string& word);

// Each copy on a line of its own: "robin: essay.txt is essays/robin.txt." or why there is none.
std::string carried_lines(const std::vector<fs::Carried>& carried);

}  // namespace stationer::server
