#include "print/allowance.h"

#include <fmt/format.h>

#include "fs/local_time.h"

namespace stationer::print {
namespace {

Allowance one(std::uint64_t limit, std::uint64_t used, std::string_view span,
              std::string_view setting, std::string_view queue, fs::Time anew) {
  Allowance out;
  out.setting = setting;
  out.left = limit - std::min(limit, used);
  const std::string state =
      out.left == 0 ? "All of them are used"
                    : fmt::format("{} {} used, and {} {} left", used, used == 1 ? "is" : "are",
                                  out.left, out.left == 1 ? "is" : "are");
  out.words =
      fmt::format("In the queue {} a member may print {} {} {}. {}. It begins anew on {}.", queue,
                  limit, limit == 1 ? "page" : "pages", span, state, fs::local_day_text(anew));
  return out;
}

}  // namespace

std::optional<Allowance> allowance(const PageLimits& limits, const PagesUsed& used,
                                   std::string_view queue, fs::Time now) {
  std::optional<Allowance> nearest;
  if (limits.day != 0)
    nearest = one(limits.day, used.day, "a day", "pages_per_day", queue, fs::local_day(now, 1));
  if (limits.week != 0) {
    Allowance week =
        one(limits.week, used.week, "a week", "pages_per_week", queue, fs::local_week(now, 1));
    if (!nearest || week.left <= nearest->left) nearest = std::move(week);
  }
  return nearest;
}

}  // namespace stationer::print
