// What mending a volume is made of. All of it within a change or leading to one, so that nothing is
// half done, and all of it in the journal.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "fs/caller.h"
#include "fs/hash.h"
#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/records.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;
class State;
class Transaction;

// Makes a change and waits until it is durable.
Status change_now(Engine& engine, const std::function<Status(Transaction&)>& make);

// `wanted`, or the like of it that check_name() takes and nothing in the folder has yet: with the
// forbidden characters as _, or with a number, "letter (2).txt".
std::string free_name(const State& state, NodeId folder, std::string_view wanted);

// The folder /found, made when it is not there. What is in it is for managers to sort out.
NodeId found_folder(Transaction& change);

// Gives a node another folder or name; its alias follows. Moves what lies on the host with it when
// `moves` is set.
void put_elsewhere(Transaction& change, Node node, NodeId folder, std::string name, bool moves);

// What looks at the host after a mend should find it as it is to be. What is logged is done,
// though, even if it can't be put in its place now.
Status in_place(Engine& engine, Status done);

// A free place in rescued/ for something called `name`.
Result<HostPath> rescue_place(Engine& engine, std::string_view name);
// Moves what lies at `path` there; with a node given, only while that node belongs at `path`.
Status move_to_rescued(Engine& engine, const Caller& caller, NodeId node, const HostPath& path);

// The hash and size of a file on the host, read in pieces; nothing when it changes meanwhile.
struct Reading {
  Hash hash{};
  std::uint64_t size = 0;
  Time modified{};
};
Result<std::optional<Reading>> read_through(HostFiles& files, const HostPath& path);

}  // namespace stationer::fs
