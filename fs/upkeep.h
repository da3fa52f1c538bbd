// What every change of a node owes to the rest: a short name unlike its neighbours', and a path
// that everybody can take.
#pragma once

#include <string>
#include <string_view>

#include "fs/ids.h"
#include "fs/path.h"
#include "fs/result.h"

namespace stationer::fs {

class State;

// The 8.3 alias for a node called `name` in a folder; empty when the name is one itself. `self` may
// keep the one it has.
std::string alias_for(const State& state, NodeId folder, std::string_view name, NodeId self);

// What a node is called in the bin, where its number makes it unlike all others.
std::string bin_name(NodeId id, std::string_view name);

// A path that the host and every door can take, wherever in the tree a node comes to lie.
Status check_place(const Path& path);

}  // namespace stationer::fs
