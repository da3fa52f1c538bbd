// Signing in, staying, and passwords.
#include <fmt/format.h>

#include "fs/account.h"
#include "fs/cause.h"
#include "fs/engine.h"
#include "fs/people_part.h"
#include "fs/rights.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

bool is_over(const Account& account, Time now) {
  return account.ends && now >= *account.ends;
}

Error time_is_over(const Account& account) {
  return because(NoEntry{account.name, NoEntry::Why::over}, Code::denied,
                 fmt::format("The time of the account {} is over. Its files are still "
                             "there: ask whoever keeps this room.",
                             account.name));
}

// What the one who tried is not told: a name that is there can't be told from one that is not.
NoEntry why_not(const Account& account) {
  using Why = NoEntry::Why;
  if (account.id == no_account) return {"", Why::unknown};
  if (account.closed) return {account.name, Why::closed};
  return {account.name, account.password.empty() ? Why::no_password : Why::wrong_password};
}

}  // namespace

Status People::may_stay(AccountId id) const {
  return engine_.read([&](const State& state) -> Status {
    const Account* account = state.account(id);
    if (account == nullptr) return Error{Code::denied, "Your account is not there any more."};
    if (account->closed) {
      return because(NoEntry{account->name, NoEntry::Why::closed}, Code::denied,
                     fmt::format("The account {} was closed. Its files are still "
                                 "there: ask whoever keeps this room.",
                                 account->name));
    }
    return is_over(*account, engine_.now()) ? time_is_over(*account) : Status();
  });
}

Result<AccountId> People::sign_in(std::string_view name, std::string_view password,
                                  const std::string& where) {
  // A name that is not there costs the same time as one that is.
  std::call_once(nobody_made_, [&] {
    if (auto made = hash_password("nobody has this password", cost_)) nobody_ = std::move(*made);
  });
  const Account account = engine_.read([&](const State& state) {
    const Account* found = state.account(ascii_lower(name));
    return found == nullptr ? Account{} : *found;
  });
  const bool open = account.id != no_account && !account.closed && !account.password.empty();
  const bool right = verify_password(open ? account.password : nobody_, password) && open;
  const bool over = right && is_over(account, engine_.now());
  Caller caller{right && !over ? account.id : no_account, false, where};
  std::string rehashed;
  if (right && !over && needs_rehash(account.password, cost_)) {
    if (auto made = hash_password(password, cost_)) rehashed = std::move(*made);
  }
  static_cast<void>(engine_.change([&](Transaction& change) -> Status {
    const Account* now = change.state().account(account.id);
    if (!rehashed.empty() && now != nullptr && now->password == account.password) {
      Account updated = *now;
      updated.password = rehashed;
      change.put(updated);
    }
    // What was typed as a name may be a password; only names that exist are written down.
    change.journal(caller, right && !over ? "signed in" : "sign-in refused",
                   account.id == no_account ? "an unknown name" : account.name,
                   over ? "the account's time is over" : "");
    return {};
  }));
  if (over) return time_is_over(account);
  if (!right) {
    return because(why_not(account), Code::wrong_password,
                   "That name and password do not go together. Try again.");
  }
  return account.id;
}

Ticket People::set_password(const Caller& caller, std::string_view name,
                            std::string_view password) {
  const std::string stored_name = ascii_lower(name);
  if (auto fine = check_new_password(password, stored_name); !fine) return fine.error();
  auto hash = hash_password(password, cost_);
  if (!hash) return hash.error();
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto account = wanted_account(state, stored_name);
    if (!account) return account.error();
    const bool allowed =
        is_manager(state, caller) || account->id == caller.account ||
        (account->role == Role::member && state.leads(caller.account, account->id));
    if (!allowed) {
      return Error{Code::denied, fmt::format("You may not set the password of {}.", account->name)};
    }
    account->password = *hash;
    change.put(*account);
    change.journal(caller, "password set", account->name);
    return {};
  });
}

}  // namespace stationer::fs
