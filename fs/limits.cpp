#include "fs/limits.h"

#include "fs/cause.h"
#include "fs/desk.h"
#include "fs/engine.h"

namespace stationer::fs {
namespace {

std::string words_for(Fullness fullness) {
  return fullness == Fullness::over
             ? "You have more than your limit. Remove what you do not need: when the time of grace "
               "is over, nothing more can be saved. Type space for the figures."
             : "Your space is nearly full. Type space for the figures.";
}

}  // namespace

void leave_notice(Transaction& change, AccountId to, std::string text) {
  Notice notice;
  notice.to = to;
  notice.from = "the room";
  notice.sent = change.now();
  notice.text = std::move(text);
  std::size_t waiting = 0;
  for (const auto& [id, each] : change.state().notices) {
    if (each.to != to) continue;
    if (each.text == notice.text) return;  // it waits to be read already
    if (++waiting == Desk::most_notices) return;
  }
  notice.id = change.next_number(Series::notice);
  change.put(std::move(notice));
}

Quota quota_of(const State& state, const Account& account) {
  const Class* klass = limiting_class(state, account);
  return klass == nullptr ? account.quota() : klass->quota();
}

const Class* limiting_class(const State& state, const Account& account) {
  const Class* klass = state.class_of(account.klass);
  return !account.own_limits && klass != nullptr && klass->limits ? klass : nullptr;
}

std::optional<Time> over_since(const Account& account, Time now) {
  return over_since_as_of(now, account.over_since.has_value(), account.over_since, account.created);
}

Status check_growth(const State& state, AccountId caller, AccountId owner, const Usage& before,
                    const Usage& after, Time now, std::chrono::hours grace) {
  const Account* account = state.account(owner);
  if (account == nullptr) return {};
  auto allowed = may_grow(quota_of(state, *account), before, after, over_since(*account, now), now,
                          grace, caller == owner ? "" : account->name);
  if (allowed) return allowed;
  NoRoom cause = std::get<NoRoom>(allowed.error().cause->rule);
  cause.account = account->name;
  if (const Class* klass = limiting_class(state, *account)) cause.klass = klass->name;
  return because(std::move(cause), allowed.error());
}

void track_soft_limit(Transaction& change, AccountId owner) {
  const Account* account = change.state().account(owner);
  if (account == nullptr) return;
  const Quota quota = quota_of(change.state(), *account);
  const Fullness now = fullness(quota, change.state().tree.usage(owner));
  const Fullness told = account->told;
  const auto since =
      over_since_as_of(change.now(), now == Fullness::over, account->over_since, account->created);
  if (since == account->over_since && now == told) return;
  Account changed = *account;
  changed.over_since = since;
  changed.told = now;
  change.put(std::move(changed));
  if (now > told) leave_notice(change, owner, words_for(now));
}

}  // namespace stationer::fs
