// Adoption, one thing at a time: what the host's owner put into files/, changed, moved or took away
// there becomes so in the tree. Each is a commit of its own in the journal that looks again, under
// the lock, before it acts: Code::busy when it is still being written or is one of ours on its way,
// Code::not_found when things are no longer so.
#pragma once

#include "fs/caller.h"
#include "fs/compare.h"
#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/mend.h"
#include "fs/records.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;
class State;

// Why a file or folder on the host can't become a node of `folder` as it is: its name is none, is
// taken under folding, or the path would be too long.
Status can_take_in(const State& state, NodeId folder, std::string_view name);

// Makes a node of the file or the folder that lies at `stray` on the host, without what is in it.
// It belongs to whom the nearest folder above belongs, with the bits of a new node there. Limits do
// not keep anything out that is there already, but its owner is told. The host's file stays where
// it is and is made durable first.
Result<NodeId> take_in_one(Engine& engine, const Caller& caller, NodeId folder,
                           const Difference& stray);

// The same with everything in it, as far as can_take_in() allows.
Status take_in(Engine& engine, const Caller& caller, NodeId folder, const Difference& stray);

// Makes what the host has in a file's place the file's contents; nothing is kept of what the host
// wrote over. With the same contents at another time, only that time is taken. Gives whether the
// contents were others.
Result<bool> take_contents(Engine& engine, const Caller& caller, NodeId file);

// For a former content that the host's owner wrote to before it was replaced: what was kept of the
// file is what they made of it, and so the history says. Gives whether it was so.
Result<bool> take_former(Engine& engine, const Caller& caller, const Version& version);

// The hash of a file on the host, once it is durable there with its name.
Result<Reading> read_durably(HostFiles& files, const HostPath& path);

// Lets a node follow to where the host's owner moved or renamed it, into `folder`, with its owner,
// its bits and its history. Of a file `reading` is what is there.
Status take_move(Engine& engine, const Caller& caller, NodeId node, NodeId folder,
                 const HostPath& to, const std::optional<Reading>& reading);

// For what is gone from the host. A file that was replaced before goes to the bin with its newest
// former content; any other is nothing but a name, and the node goes. A folder goes when nothing is
// left in it; the starting folders, those of members and classes, and those for handing in are made
// again. Gives what became of it, in a sentence.
Result<std::string> take_away(Engine& engine, const Caller& caller, NodeId node);

}  // namespace stationer::fs
