// The part of hand-in folders that Files::save() asks: what may be handed in, where it is filed,
// and the receipts.
#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/hand_ins_part.h"
#include "fs/local_time.h"
#include "fs/node_name.h"
#include "fs/text.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

Node new_node(Transaction& change, NodeId parent, std::string name, ClassId klass) {
  const State& state = change.state();
  Node node;
  node.id = change.free_node();
  node.parent = parent;
  if (!is_short_name(name)) {
    node.alias = short_alias(
        name, [&](std::string_view each) { return state.tree.child(parent, each).has_value(); });
  }
  node.name = std::move(name);
  node.klass = klass;
  node.access = Access(HandIns::for_leaders);
  node.created = node.modified = change.now();
  return node;
}

}  // namespace

std::optional<HandIn> handing_in(const State& state, const Caller& caller, NodeId folder) {
  if (caller.account == no_account) return std::nullopt;
  const auto found = state.hand_ins.find(folder);
  if (found == state.hand_ins.end()) return std::nullopt;
  return found->second;
}

Status check_hand_in(const State& state, const Caller& caller, const HandIn& hand_in,
                     std::uint64_t size, Time now) {
  const Node folder = state.tree.get(hand_in.node);
  if (!is_manager(state, caller) && !is_in_class(state, caller, folder)) {
    const Class* klass = state.class_of(folder.klass);
    return because(NotOfClass{klass == nullptr ? "" : klass->name}, Code::denied,
                   "Only the class may hand in here.");
  }
  if (!may_write(state, caller, folder)) {
    return lacks_writing(state, caller, hand_in.node, "You may not hand in here.");
  }
  const auto shut = [&](bool early, Time at, std::string message) {
    return because(HandInShut{Files::path_of(state, hand_in.node).text(), early, at}, Code::denied,
                   std::move(message));
  };
  switch (hand_in_timing(hand_in.times(), now)) {
    case HandInTiming::too_early:
      return shut(true, *hand_in.opens,
                  fmt::format("It is too early to hand in here: it opens on {}.",
                              local_time_text(*hand_in.opens)));
    case HandInTiming::too_late:
      return shut(false, *hand_in.closes,
                  fmt::format("It is too late to hand in here: it closed on {}. Ask a leader "
                              "whether you may still hand in.",
                              local_time_text(*hand_in.closes)));
    case HandInTiming::in_time:
    case HandInTiming::late: break;
  }
  std::size_t files = 0;
  std::uint64_t bytes = 0;
  for (const auto number : state.receipts_of(caller.account)) {
    const Receipt& receipt = state.receipts.at(number);
    if (!lies_in(state, receipt, hand_in.node)) continue;
    ++files;
    bytes += receipt.size;
  }
  if (files >= most_hand_ins) {
    return Error{Code::over_quota,
                 fmt::format("You have handed in {} files here, and that is the most there can be. "
                             "Ask a leader to take some away.",
                             files)};
  }
  if (bytes + size > most_hand_in_bytes) {
    return Error{Code::over_quota,
                 fmt::format("With this you would have handed in more than {} million bytes here, "
                             "and that is the most there can be. Ask a leader to take some away.",
                             most_hand_in_bytes / 1'000'000)};
  }
  return {};
}

Result<Node> file_hand_in(Transaction& change, const Caller& caller, const HandIn& hand_in,
                          const std::string& name) {
  const State& state = change.state();
  const ClassId klass = state.tree.get(hand_in.node).klass;
  const auto free_name = [&](NodeId folder, const std::string& wanted, auto fits) {
    for (std::uint32_t version = 1;; ++version) {
      std::string each = version_name(wanted, version);
      if (const auto there = state.tree.child(folder, each); !there || fits(*there)) return each;
    }
  };
  // A leader may have put a file where the person's folder should be.
  const std::string own = free_name(hand_in.node, account_name_of(state, caller.account),
                                    [&](NodeId there) { return state.tree.get(there).folder; });
  const Path place = Files::path_of(state, hand_in.node) / own;
  auto folder = state.tree.child(hand_in.node, own);
  if (!folder) {
    if (auto fits = Path::parse(place.text()); !fits) return fits.error();
    Node made = new_node(change, hand_in.node, own, klass);
    made.folder = true;
    folder = made.id;
    change.put(std::move(made));
    change.deed(MakeFolder{Engine::host_path(state, *folder)});
  }
  const std::string filed = free_name(*folder, name, [](NodeId) { return false; });
  if (auto fits = Path::parse((place / filed).text()); !fits) return fits.error();
  return new_node(change, *folder, filed, klass);
}

std::uint32_t give_receipt(Transaction& change, const Caller& caller, const HandIn& hand_in,
                           const std::string& name, const Node& node) {
  const State& state = change.state();
  Receipt receipt;
  receipt.number = change.next_number(Series::receipt);
  receipt.account = caller.account;
  receipt.folder = hand_in.node;
  receipt.place = Files::path_of(state, hand_in.node).text();
  receipt.name = name;
  receipt.node = node.id;
  receipt.content = node.content;
  receipt.size = node.size;
  receipt.at = change.now();
  receipt.late = hand_in_timing(hand_in.times(), change.now()) == HandInTiming::late;
  const std::string folded = fold(name);
  std::vector<Receipt> old;
  for (const auto number : state.receipts_of(caller.account)) {
    const Receipt& earlier = state.receipts.at(number);
    if (earlier.folder == hand_in.node && fold(earlier.name) == folded) {
      receipt.version = std::max(receipt.version, earlier.version + 1);
    }
    if (earlier.node == no_node) old.push_back(earlier);
  }
  for (std::size_t i = 0; i + most_old_receipts < old.size(); ++i) change.drop(old[i]);
  change.journal(caller, "handed in", Files::path_of(state, node.id).text(),
                 fmt::format("receipt {}{}", receipt.number, receipt.late ? ", late" : ""));
  change.put(receipt);
  return receipt.number;
}

AccountId work_of(const State& state, NodeId file) {
  if (const auto copy = state.collected.find(file); copy != state.collected.end()) {
    return copy->second.account;
  }
  for (const auto number : state.receipts_about(file)) {
    const Receipt& receipt = state.receipts.at(number);
    if (receipt.node == file) return receipt.account;
  }
  return no_account;
}

std::vector<NodeId> copies_of_work(const State& state, AccountId whose) {
  std::vector<NodeId> out;
  for (const auto& [node, row] : state.collected) {
    if (row.account == whose && state.tree.has(node)) out.push_back(node);
  }
  return out;
}

void note_work(Transaction& change, const Node& file, AccountId whose) {
  if (whose == no_account || whose == file.owner || change.state().account(whose) == nullptr)
    return;
  change.put(Collected{file.id, whose});
}

void forget_hand_ins(Transaction& change, NodeId node) {
  const State& state = change.state();
  const std::set<std::uint32_t> numbers = state.receipts_about(node);
  for (const auto number : numbers) {
    Receipt receipt = state.receipts.at(number);
    if (receipt.node == node) receipt.node = no_node;
    if (receipt.folder == node) receipt.folder = no_node;
    change.put(std::move(receipt));
  }
  if (state.hand_ins.count(node) != 0) change.drop(HandIn{node, {}, {}, false});
  if (state.collected.count(node) != 0) change.drop(Collected{node, {}});
}

void forget_hand_ins(Transaction& change, AccountId account) {
  const std::set<std::uint32_t> numbers = change.state().receipts_of(account);
  for (const auto number : numbers) {
    Receipt receipt = change.state().receipts.at(number);
    receipt.account = no_account;
    change.put(std::move(receipt));
  }
  for (const NodeId node : copies_of_work(change.state(), account)) {
    change.drop(Collected{node, {}});
  }
}

}  // namespace stationer::fs
