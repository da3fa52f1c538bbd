// How a caller stands to nodes, read from the state. The decision itself is in fs/access.h.
#pragma once

#include "fs/access.h"
#include "fs/caller.h"
#include "fs/path.h"
#include "fs/state.h"

namespace stationer::fs {

bool is_manager(const State& state, const Caller& caller);

Standing standing(const State& state, const Caller& caller, const Node& node);

bool may_read(const State& state, const Caller& caller, const Node& node);
bool may_read(const State& state, const Caller& caller, NodeId node);
bool may_write(const State& state, const Caller& caller, const Node& node);
bool may_write(const State& state, const Caller& caller, NodeId node);
bool is_as_owner(const State& state, const Caller& caller, const Node& node);

// The node at `path`. Every folder above it must be readable by the caller; it itself need not be.
// Code::denied, Code::not_found or Code::not_a_folder, with the part of the path that is at fault.
Result<NodeId> find(const State& state, const Caller& caller, const Path& path);

// The folder that holds, or will hold, `path`; not of the top. It need not be readable itself, so
// that one can put something into a folder without looking in.
Result<NodeId> find_parent(const State& state, const Caller& caller, const Path& path);

}  // namespace stationer::fs
