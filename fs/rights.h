// How a caller stands to nodes, read from the state. The decision itself is in fs/access.h.
#pragma once

#include <string>

#include "fs/access.h"
#include "fs/caller.h"
#include "fs/cause.h"
#include "fs/path.h"
#include "fs/state.h"

namespace stationer::fs {

// What an account is called; empty for nobody's.
std::string account_name_of(const State& state, AccountId id);

bool is_manager(const State& state, const Caller& caller);

Standing standing(const State& state, const Caller& caller, const Node& node);

bool may_read(const State& state, const Caller& caller, const Node& node);
bool may_read(const State& state, const Caller& caller, NodeId node);
bool may_write(const State& state, const Caller& caller, const Node& node);
bool may_write(const State& state, const Caller& caller, NodeId node);
bool is_as_owner(const State& state, const Caller& caller, const Node& node);

// What is said when may_read() or may_write(), or is_as_owner(), is false, with why it is.
Error lacks_reading(const State& state, const Caller& caller, NodeId node, std::string message);
Error lacks_writing(const State& state, const Caller& caller, NodeId node, std::string message);
Error not_theirs(const State& state, NodeId node, std::string message);

// The node at `path`. Every folder above it must be readable by the caller; it itself need not be.
// Code::denied, Code::not_found or Code::not_a_folder, with the part of the path that is at fault.
Result<NodeId> find(const State& state, const Caller& caller, const Path& path);

// The folder that holds, or will hold, `path`; not of the top. It need not be readable itself, so
// that one can put something into a folder without looking in.
Result<NodeId> find_parent(const State& state, const Caller& caller, const Path& path);

}  // namespace stationer::fs
