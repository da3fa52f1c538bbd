// What the parts of People share. Nobody else uses it.
#pragma once

#include <string>
#include <string_view>

#include "fs/people.h"

namespace stationer::fs {

Error only_managers();

// By their names, in any case. Code::not_found.
Result<Account> wanted_account(const State& state, std::string_view name);
Result<Class> wanted_class(const State& state, std::string_view name);

inline constexpr unsigned owner_all = Access::owner_read | Access::owner_write;

// Adds a folder that belongs to the starting tree, unless something is there already.
Result<NodeId> add_folder(Transaction& change, NodeId parent, std::string_view name,
                          AccountId owner, ClassId klass, unsigned bits);

std::string describe(const Quota& quota);

}  // namespace stationer::fs
