#include "fs/rights.h"

#include <fmt/format.h>

#include "fs/engine.h"

namespace stationer::fs {

bool is_manager(const State& state, const Caller& caller) {
  if (caller.keeper) return true;
  const Account* account = state.account(caller.account);
  return account != nullptr && account->role == Role::manager;
}

Standing standing(const State& state, const Caller& caller, const Node& node) {
  Standing out;
  out.manager = is_manager(state, caller);
  if (caller.account == no_account) {
    out.guest = !caller.keeper;
    return out;
  }
  out.owner = node.owner == caller.account;
  const Membership* own =
      node.klass == no_class ? nullptr : state.membership(node.klass, caller.account);
  out.in_class = own != nullptr;
  // What belongs to a class and to nobody in it is its leaders' to look after.
  out.leads_owner = node.owner == no_account ? own != nullptr && own->leader
                                             : state.leads(caller.account, node.owner);
  return out;
}

bool may_read(const State& state, const Caller& caller, const Node& node) {
  return may_read(node.access, standing(state, caller, node));
}

bool may_write(const State& state, const Caller& caller, const Node& node) {
  return may_write(node.access, standing(state, caller, node));
}

bool is_as_owner(const State& state, const Caller& caller, const Node& node) {
  return is_as_owner(standing(state, caller, node));
}

namespace {

// Walks `count` names of the path down from the top.
Result<NodeId> walk(const State& state, const Caller& caller, const Path& path, std::size_t count) {
  NodeId at = files_root;
  Path done;
  for (std::size_t i = 0; i < count; ++i) {
    const Node folder = state.tree.get(at);
    if (!folder.folder) {
      return Error{Code::not_a_folder, fmt::format("{} is a file, not a folder.", done.text())};
    }
    if (!may_read(state, caller, folder)) {
      return Error{Code::denied, fmt::format("You may not look into {}.", done.text())};
    }
    const auto child = state.tree.child(at, path.names()[i]);
    done = done / path.names()[i];
    if (!child) return Error{Code::not_found, fmt::format("There is no {}.", done.text())};
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
  if (!state.tree.get(*parent).folder) {
    return Error{Code::not_a_folder,
                 fmt::format("{} is a file, not a folder.", path.parent().text())};
  }
  return parent;
}

}  // namespace stationer::fs
