// On whose behalf something is done, and from where.
#pragma once

#include <string>

#include "fs/ids.h"

namespace stationer::fs {

struct Caller {
  AccountId account = no_account;  // no_account: a guest, who sees what everyone may
  bool keeper = false;             // the person at the box: a manager without an account
  std::string where;               // for the journal: "terminal 10.0.0.7", "the box"
  bool itself = false;             // Stationer, doing what fell due
};

inline Caller keeper_at_the_box() {
  return {no_account, true, "the box"};
}

// For what falls due. May do what the keeper may.
inline Caller stationer_itself() {
  return {no_account, true, "the box", true};
}

}  // namespace stationer::fs
