#include "fs/rights.h"

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/files.h"

namespace stationer::fs {

std::string account_name_of(const State& state, AccountId id) {
  const Account* account = state.account(id);
  return account == nullptr ? "" : account->name;
}

bool is_manager(const State& state, const Caller& caller) {
  if (caller.keeper) return true;
  const Account* account = state.account(caller.account);
  return account != nullptr && account->role == Role::manager;
}

namespace {

Standing standing(const State& state, const Caller& caller, AccountId owner, ClassId klass) {
  Standing out;
  out.manager = is_manager(state, caller);
  // Whose account was taken away meanwhile has a guest's rights.
  if (state.account(caller.account) == nullptr) {
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

Error lacks(const State& state, const Caller& caller, NodeId id, bool write, std::string message) {
  const Node node = state.tree.get(id);
  const Class* klass = state.class_of(node.klass);
  return because(LacksBit{Files::path_of(state, id).text(), node.access,
                          counted_as(standing(state, caller, node)), write,
                          account_name_of(state, node.owner), klass == nullptr ? "" : klass->name},
                 Code::denied, std::move(message));
}

}  // namespace

Error lacks_reading(const State& state, const Caller& caller, NodeId node, std::string message) {
  return lacks(state, caller, node, false, std::move(message));
}

Error lacks_writing(const State& state, const Caller& caller, NodeId node, std::string message) {
  return lacks(state, caller, node, true, std::move(message));
}

Error not_theirs(const State& state, NodeId node, std::string message) {
  return because(
      NotTheirs{Files::path_of(state, node).text(), account_name_of(state, state.tree.owner(node))},
      Code::denied, std::move(message));
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
      return lacks_reading(state, caller, at,
                           fmt::format("You may not look into {}.", beginning(path, i)));
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
