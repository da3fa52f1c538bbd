#include "fs/retention.h"

#include <algorithm>
#include <map>
#include <tuple>

namespace stationer::fs {

std::vector<Past> outdated(std::vector<Past> all, const Retention& retention, Time now,
                           std::uint64_t shortage) {
  std::erase_if(all, [](const Past& each) { return each.kept; });
  std::sort(all.begin(), all.end(), [](const Past& a, const Past& b) {
    return std::tie(a.since, a.node, a.content) > std::tie(b.since, b.node, b.content);
  });

  std::map<NodeId, std::uint32_t> versions;
  std::map<AccountId, std::uint64_t> bytes;
  std::vector<Past> going;
  std::vector<Past> staying;
  std::uint64_t freed = 0;
  // Newest first, so that each sees what is newer than itself.
  for (const Past& each : all) {
    const bool old = retention.days != 0 && now - each.since > std::chrono::days(retention.days);
    const bool crowded =
        !each.is_removal() && retention.versions != 0 && ++versions[each.node] > retention.versions;
    std::uint64_t& taken = bytes[each.owner];
    const bool large =
        retention.account_bytes != 0 && taken != 0 && taken + each.size > retention.account_bytes;
    if (old || crowded || large) {
      freed += each.size;
      going.push_back(each);
    } else {
      taken += each.size;
      staying.push_back(each);
    }
  }
  while (freed < shortage && !staying.empty()) {
    const Past& oldest = staying.back();
    if (now - oldest.since < Retention::spared) break;
    freed += oldest.size;
    going.push_back(oldest);
    staying.pop_back();
  }
  std::sort(going.begin(), going.end(),
            [](const Past& a, const Past& b) { return a.since < b.since; });
  return going;
}

}  // namespace stationer::fs
