// Adoption: what the host's owner put into files/, or changed there, becomes part of the tree.
#pragma once

#include "fs/caller.h"
#include "fs/compare.h"
#include "fs/engine.h"
#include "fs/result.h"

namespace stationer::fs {

// Why a file or folder on the host can't become a node of `folder` as it is: its name is none, is
// taken under folding, or the path would be too long.
Status can_take_in(const State& state, NodeId folder, std::string_view name);

// Makes a node of what lies at `stray` on the host, with everything in it as far as can_take_in()
// allows. It belongs to whom the nearest folder above belongs, with the bits of a new node there.
// The host's file stays where it is and is made durable first. Code::busy when it is still being
// written or is one of ours on its way.
Status take_in(Engine& engine, const Caller& caller, NodeId folder, const Difference& stray);

// Makes what the host has in a file's place the file's contents. Code::busy as above.
Status take_contents(Engine& engine, const Caller& caller, NodeId file);

}  // namespace stationer::fs
