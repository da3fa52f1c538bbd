// What the parts of Files share. Nobody else uses it.
#pragma once

#include <string>
#include <vector>

#include "fs/files.h"

namespace stationer::fs {

Error denied(std::string message);
Error for_managers(std::string message);
Error kept(const Path& path);
Error taken(const Path& path);

// Everybody who owns something there, each once.
std::vector<AccountId> owners_below(const State& state, NodeId top);

// Whether it may be brought back as it was.
Status check_former(const State& state, const Caller& caller, const std::optional<Former>& former);
AccountId owner_of(const State& state, const Former& former);
ClassId class_of(const State& state, const Former& former);
// Gives a node the owner, class and bits it had.
void dress(const State& state, Node& node, const Former& former);

}  // namespace stationer::fs
