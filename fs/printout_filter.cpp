#include "fs/printout_filter.h"

#include <set>

#include "fs/text.h"

namespace stationer::fs {

Result<std::vector<PrintoutView>> meant_printouts(Volume& volume, const Caller& caller,
                                                  const PrintoutFilter& filter) {
  std::string owner;
  if (!filter.owner.empty()) {
    auto account = volume.people().account(std::string_view(filter.owner));
    if (!account) return account.error();
    owner = account->name;
  }
  std::set<std::string> members;
  if (!filter.klass.empty()) {
    auto klass = volume.people().class_of(filter.klass);
    if (!klass) return klass.error();
    members.insert(klass->members.begin(), klass->members.end());
    members.insert(klass->leaders.begin(), klass->leaders.end());
  }
  const std::string queue = ascii_lower(filter.queue);
  auto out = volume.desk().printouts(caller, true);
  std::erase_if(out, [&](const PrintoutView& each) {
    return (!owner.empty() && each.owner != owner) ||
           (!filter.klass.empty() && members.count(each.owner) == 0) ||
           (!queue.empty() && each.queue != queue) ||
           (filter.from && each.printed < *filter.from) ||
           (filter.to && each.printed >= *filter.to);
  });
  return out;
}

}  // namespace stationer::fs
