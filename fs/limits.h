// Whose limits are in force, and what follows from them: refusals, the note of when the soft limit
// was passed, and the notice to the account. The rules themselves are in fs/quota.h.
#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "fs/ids.h"
#include "fs/quota.h"
#include "fs/records.h"
#include "fs/result.h"

namespace stationer::fs {

class State;
class Transaction;

// The account's own limits if it has some; else those of its primary class, if that has some; else
// those in its own row: what it was made with, or last given.
Quota quota_of(const State& state, const Account& account);

// The class whose limits are in force, if a class's are.
const Class* limiting_class(const State& state, const Account& account);

// Since when the account counts as over its soft limit.
std::optional<Time> over_since(const Account& account, Time now);

// Whether what `owner` has may grow. An account that is not there has no limits. `caller` reads the
// refusal.
Status check_growth(const State& state, AccountId caller, AccountId owner, const Usage& before,
                    const Usage& after, Time now, std::chrono::hours grace);

// A notice from the room, unless the same waits to be read already or the account has as many as it
// may have.
void leave_notice(Transaction& change, AccountId to, std::string text);

// After any change of what an account owns or may own: notes when it passes its soft limit, and
// when it is below again. An account that has come nearer to its limits gets a notice, once.
void track_soft_limit(Transaction& change, AccountId owner);

}  // namespace stationer::fs
