// What the parts of hand-in folders share. Nobody else uses it.
#pragma once

#include "fs/hand_ins.h"
#include "fs/rights.h"

namespace stationer::fs {

HandInView view_of(const State& state, const HandIn& hand_in);

// Whether what a receipt tells of still lies in the folder.
bool lies_in(const State& state, const Receipt& receipt, NodeId folder);

bool is_in_class(const State& state, const Caller& caller, const Node& folder);
bool leads_folder(const State& state, const Caller& caller, const Node& folder);

// The hand-in folder at `path`; the second only for those who lead its class.
Result<HandIn> wanted_hand_in(const State& state, const Caller& caller, const Path& path);
Result<HandIn> wanted_by_leader(const State& state, const Caller& caller, const Path& path);

}  // namespace stationer::fs
