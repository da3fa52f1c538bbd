#include "server/terminal/hand_in_words.h"

#include <fmt/format.h>

#include "fs/local_time.h"
#include "fs/text.h"

namespace stationer::server {
namespace {

using fs::Code;
using fs::Error;

Error unclear() {
  return {Code::bad_input,
          "Say opens or closes with a day and a time, as in closes 2026-12-01 15:30, or with "
          "never; or say late yes or late no."};
}

}  // namespace

std::string times_sentence(const fs::HandInView& folder) {
  const auto& times = folder.times;
  std::string out = folder.path;
  if (times.opens && times.closes) {
    out += fmt::format(" is open from {} until {}", fs::local_time_text(*times.opens),
                       fs::local_time_text(*times.closes));
  } else if (times.opens) {
    out += fmt::format(" is open from {} on", fs::local_time_text(*times.opens));
  } else if (times.closes) {
    out += fmt::format(" is open until {}", fs::local_time_text(*times.closes));
  } else {
    out += " is always open";
  }
  if (times.closes && times.late_allowed) out += "; what comes later is marked late";
  return out + ".";
}

std::string ordinary_sentence(const fs::HandInView& folder) {
  return fmt::format(
      "{} is an ordinary folder now, and the class looks into it. What was handed in stays there, "
      "for leaders only, and the receipts stay. With due it takes work again.",
      folder.path);
}

bool begins_times(const std::string& word) {
  const std::string lower = fs::ascii_lower(word);
  return lower == "opens" || lower == "closes" || lower == "late";
}

fs::Result<fs::HandInTimes> changed_times(fs::HandInTimes times,
                                          std::span<const std::string> words) {
  for (std::size_t at = 0; at < words.size();) {
    const std::string what = fs::ascii_lower(words[at++]);
    if (at == words.size() || !begins_times(what)) return unclear();
    const std::string value = fs::ascii_lower(words[at++]);
    if (what == "late") {
      if (value != "yes" && value != "no") return unclear();
      times.late_allowed = value == "yes";
      continue;
    }
    auto& moment = what == "opens" ? times.opens : times.closes;
    if (value == "never") {
      moment.reset();
      continue;
    }
    std::string text = value;
    if (at < words.size() && !begins_times(words[at])) text += " " + words[at++];
    const auto time = what == "opens" ? fs::parse_opening(text) : fs::parse_closing(text);
    if (!time) return time.error();
    moment = *time;
  }
  return times;
}

std::string carried_lines(const std::vector<fs::Carried>& carried) {
  std::string out;
  for (const auto& each : carried) {
    if (!each.account.empty()) out += each.account + ": ";
    out += each.problem.empty() ? fmt::format("{} is in {}\n", each.name, each.to)
                                : fmt::format("{} is not copied. {}\n", each.name, each.problem);
  }
  return out;
}

}  // namespace stationer::server
