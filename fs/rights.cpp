#include "fs/rights.h"

#include <fmt/format.h>

#include "fs/engine.h"

namespace stationer::fs {

bool is_manager(const State& state, const Caller& caller) {
  if (caller.keeper) return true;
  const Account* account = state.account(caller.account);
  return account != nullptr && account->role == Role::manager;
}

namespace {

Standing standing(const State& state, const Caller& caller, AccountId owner, ClassId klass) {
  Standing out;
  out.manager = is_manager(state, caller);
  if (caller.account == no_account) {
    out.guest = !caller.keeper;
    return out;
  }
  out.owner = owner == caller.account;
  const Membership* own = klass == no_class ? nullptr : state.membership(klass, caller.account);
  out.in_class = own != nullptr;
  // What belongs to a class and to nobody in it is its leaders' to look after.
  out.leads_owner =
      owner == no_account ? own != nullptr && own->leader : state.leads(caller.account, owner);
  return out;
}

Standing standing(const State& state, const Caller& caller, NodeId node) {
  return standing(state, caller, state.tree.owner(node), state.tree.klass(node));
}

}  // namespace

Standing standing(const State& state, const Caller& caller, const Node& node) {
  return standing(state, caller, node.owner, node.klass);
}

bool may_read(const State& state, const Caller& caller, const Node& node) {
  return may_read(node.access, standing(state, caller, node));
}

bool may_read(const State& state, const Caller& caller, NodeId node) {
  return may_read(state.tree.access(node), standing(state, caller, node));
}

bool may_write(const State& state, const Caller& caller, const Node& node) {
  return may_write(node.access, standing(state, caller, node));
}

bool may_write(const State& state, const Caller& caller, NodeId node) {
  return may_write(state.tree.access(node), standing(state, caller, node));
}

bool is_as_owner(const State& state, const Caller& caller, const Node& node) {
  return is_as_owner(standing(state, caller, node));
}

namespace {

// The first names of a path, for messages.
std::string beginning(const Path& path, std::size_t count) {
  Path out;
  for (std::size_t i = 0; i < count; ++i) out = out / path.names()[i];
  return out.text();
}

// Walks `count` names of the path down from the top.
Result<NodeId> walk(const State& state, const Caller& caller, const Path& path, std::size_t count) {
  NodeId at = files_root;
  for (std::size_t i = 0; i < count; ++i) {
    if (!state.tree.is_folder(at)) {
      return Error{Code::not_a_folder,
                   fmt::format("{} is a file, not a folder.", beginning(path, i))};
    }
    if (!may_read(state, caller, at)) {
      return Error{Code::denied, fmt::format("You may not look into {}.", beginning(path, i))};
    }
    const auto child = state.tree.child(at, path.names()[i]);
    if (!child) {
      return Error{Code::not_found, fmt::format("There is no {}.", beginning(path, i + 1))};
    }
    at = *child;
  }
  return at;
}

}  // namespace

Result<NodeId> find(const State& state, const Caller& caller, const Path& path) {
  return walk(state, caller, path, path.names().size());
}

Result<NodeId> find_parent(const State& state, const Caller& caller, const Path& path) {
  auto parent = walk(state, caller, path, path.names().size() - 1);
  if (!parent) return parent;
  if (!state.tree.is_folder(*parent)) {
    return Error{Code::not_a_folder,
                 fmt::format("{} is a file, not a folder.", path.parent().text())};
  }
  return parent;
}

}  // namespace stationer::fs
