#include "fs/tree.h"

#include <map>
#include <random>
#include <string>

#include <catch2/catch.hpp>

#include "fs/state.h"
#include "fs/text.h"

using namespace stationer::fs;

namespace {

Node node(NodeId id, NodeId parent, std::string name, bool folder = false, std::uint64_t size = 0,
          AccountId owner = AccountId{1}) {
  Node out;
  out.id = id;
  out.parent = parent;
  out.name = std::move(name);
  out.folder = folder;
  out.size = size;
  out.owner = owner;
  return out;
}

Tree with_roots() {
  Tree tree(42);
  tree.put(node(files_root, no_node, "", true, 0, no_account));
  tree.put(node(bin_root, no_node, "", true, 0, no_account));
  return tree;
}

}  // namespace

TEST_CASE("nodes are found by name and alias in any case") {
  Tree tree = with_roots();
  Node letter = node(tree.free_id(), files_root, "Letter to the bank.doc");
  letter.alias = "LETTER~1.DOC";
  tree.put(letter);
  CHECK(tree.child(files_root, "letter TO the Bank.DOC") == letter.id);
  CHECK(tree.child(files_root, "letter~1.doc") == letter.id);
  CHECK_FALSE(tree.child(files_root, "letter"));
  CHECK_FALSE(tree.child(bin_root, "letter~1.doc"));

  tree.put(node(tree.free_id(), files_root, "Stra\u00dfe"));
  CHECK(tree.child(files_root, "STRASSE"));
  CHECK(tree.child(files_root, "stra\u00dfe"));
}

TEST_CASE("a node comes back as it was put") {
  Tree tree = with_roots();
  Node full = node(tree.free_id(), files_root, "game", false, 16384, AccountId{9});
  full.kind = Kind::program;
  full.klass = ClassId{4};
  full.access = Access(0x55);
  full.load_address = 0x1900;
  full.entry_point = 0x801F;
  full.content = ContentId{123456789012};
  full.created = Time(std::chrono::milliseconds(1));
  full.modified = Time(std::chrono::milliseconds(2));
  tree.put(full);
  const Node back = tree.get(full.id);
  CHECK(back.kind == Kind::program);
  CHECK(back.klass == ClassId{4});
  CHECK(back.access == Access(0x55));
  CHECK(back.load_address == 0x1900);
  CHECK(back.entry_point == 0x801F);
  CHECK(back.content == ContentId{123456789012});
  CHECK(back.modified == full.modified);
  Node bare = full;
  bare.load_address.reset();
  const auto before = tree.put(bare);
  REQUIRE(before);
  CHECK(before->load_address == 0x1900);
  CHECK_FALSE(tree.get(full.id).load_address);
}

TEST_CASE("invariant 4: usage follows every change, and leaves the bin out") {
  Tree tree = with_roots();
  const NodeId folder = tree.free_id();
  tree.put(node(folder, files_root, "work", true));
  const NodeId file = tree.free_id();
  tree.put(node(file, folder, "a", false, 100));
  const NodeId other = tree.free_id();
  tree.put(node(other, folder, "b", false, 7, AccountId{2}));
  CHECK(tree.usage(AccountId{1}) == Usage{100, 2});
  CHECK(tree.usage(AccountId{2}) == Usage{7, 1});

  tree.put(node(file, folder, "a", false, 40));
  CHECK(tree.usage(AccountId{1}) == Usage{40, 2});
  tree.put(node(folder, bin_root, "3 work", true));
  CHECK(tree.usage(AccountId{1}) == Usage{0, 0});
  CHECK(tree.usage(AccountId{2}) == Usage{0, 0});
  tree.put(node(folder, files_root, "work", true));
  CHECK(tree.usage(AccountId{1}) == Usage{40, 2});
  tree.put(node(file, folder, "a", false, 40, AccountId{2}));  // given away
  CHECK(tree.usage(AccountId{1}) == Usage{0, 1});
  CHECK(tree.usage(AccountId{2}) == Usage{47, 2});
  tree.drop(other);
  CHECK(tree.usage(AccountId{2}) == Usage{40, 1});
}

TEST_CASE("loading takes rows in any order and leaves out what hangs nowhere") {
  Tree tree(1);
  tree.load(node(NodeId{9}, NodeId{8}, "leaf", false, 5));
  tree.load(node(NodeId{8}, files_root, "folder", true));
  tree.load(node(NodeId{30}, NodeId{31}, "circle", true));
  tree.load(node(NodeId{31}, NodeId{30}, "circle", true));
  tree.load(node(NodeId{40}, NodeId{99}, "orphan"));
  tree.load(node(bin_root, no_node, "", true, 0, no_account));
  tree.load(node(files_root, no_node, "", true, 0, no_account));
  const auto lost = tree.link_all();
  REQUIRE(lost.size() == 3);
  CHECK(lost[2].name == "orphan");
  CHECK(tree.size() == 4);
  CHECK(tree.child(NodeId{8}, "LEAF") == NodeId{9});
  CHECK(tree.usage(AccountId{1}) == Usage{5, 2});
  for (int i = 0; i < 100; ++i) {
    const NodeId fresh = tree.free_id();
    CHECK_FALSE(tree.has(fresh));
    for (const auto& each : lost) CHECK(fresh != each.id);
    tree.put(node(fresh, files_root, "n" + std::to_string(i)));
  }
}

// The tree against a plain model, step by step.
TEST_CASE("random changes agree with a plain model") {
  const auto seed = static_cast<std::uint32_t>(GENERATE(1, 2, 3));
  INFO("seed " << seed);
  std::mt19937 random(seed);
  Tree tree = with_roots();
  std::map<std::uint32_t, Node> model;
  const auto pick = [&]() {
    return std::next(model.begin(), static_cast<long>(random() % model.size()));
  };
  const auto name = [&] {
    static const char* words[] = {"alder", "Birch", "\u00e9lm", "FIR", "gorse", "hazel"};
    return std::string(words[random() % 6]) + std::to_string(random() % 40);
  };
  for (int step = 0; step < 6000; ++step) {
    const auto choice = random() % 10;
    if (choice < 5 || model.empty()) {
      Node fresh = node(tree.free_id(), files_root, name(), random() % 3 == 0, random() % 1000,
                        AccountId{static_cast<std::uint32_t>(1 + random() % 3)});
      if (fresh.folder) fresh.size = 0;
      if (!model.empty() && random() % 2 == 0) {
        const auto into = pick();
        if (into->second.folder) fresh.parent = into->second.id;
      }
      if (tree.child(fresh.parent, fresh.name)) continue;
      tree.put(fresh);
      model[number(fresh.id)] = fresh;
    } else if (choice < 8) {
      auto which = pick();
      Node changed = which->second;
      if (random() % 2 == 0) changed.name = name();
      if (random() % 3 == 0) changed.parent = files_root;
      if (!changed.folder) changed.size = random() % 1000;
      if (random() % 4 == 0) changed.load_address.emplace(random() % 3);
      if (random() % 4 == 0) changed.entry_point.emplace(random() % 3);
      if (random() % 4 == 0) changed.entry_point.reset();
      const auto there = tree.child(changed.parent, changed.name);
      if (there && *there != changed.id) continue;
      if (tree.is_within(changed.parent, changed.id)) continue;
      tree.put(changed);
      which->second = changed;
    } else {
      auto which = pick();
      if (tree.has_children(which->second.id)) continue;
      tree.drop(which->second.id);
      model.erase(which);
    }
  }
  CHECK(tree.size() == model.size() + 2);
  std::map<std::uint32_t, Usage> usage;
  for (const auto& [id, row] : model) {
    CHECK(tree.child(row.parent, fold(row.name)) == row.id);
    const Node found = tree.get(row.id);
    CHECK(found.name == row.name);
    CHECK(found.load_address == row.load_address);
    CHECK(found.entry_point == row.entry_point);
    usage[number(row.owner)] = usage[number(row.owner)] + Usage{row.size, 1};
  }
  for (std::uint32_t owner = 1; owner <= 3; ++owner)
    CHECK(tree.usage(AccountId{owner}) == usage[owner]);
}

TEST_CASE("names that were given up make room, and the others are found all the same") {
  Tree tree = with_roots();
  Node busy = node(tree.free_id(), files_root, "busy");
  busy.load_address = 0x1900;
  tree.put(busy);
  std::vector<Node> all;
  for (int i = 0; i < 300; ++i) {
    Node each = node(tree.free_id(), files_root, "Stone number " + std::to_string(i));
    each.alias = "STONE~" + std::to_string(i);
    if (i % 3 == 0) each.entry_point = static_cast<std::uint32_t>(i);
    tree.put(each);
    all.push_back(each);
  }
  for (int i = 0; i < 6000; ++i) {
    busy.name = "busy " + std::to_string(i);
    tree.put(busy);
    CHECK(tree.child(files_root, busy.name) == busy.id);
  }
  CHECK(tree.get(busy.id).load_address == 0x1900);
  CHECK_FALSE(tree.child(files_root, "busy 5998"));
  for (const Node& each : all) {
    CHECK(tree.child(files_root, each.name) == each.id);
    CHECK(tree.child(files_root, each.alias) == each.id);
    CHECK(tree.get(each.id).entry_point == each.entry_point);
  }
}

TEST_CASE("a node costs at most 100 bytes beside its name") {
  Tree tree = with_roots();
  constexpr std::size_t many = 200'000;
  NodeId folder = files_root;
  for (std::size_t i = 0; i < many; ++i) {
    const NodeId id = tree.free_id();
    tree.put(node(id, folder, "name" + std::to_string(i), i % 100 == 0));
    if (i % 100 == 0) folder = id;
  }
  CHECK(tree.overhead() / many <= 100);
}

TEST_CASE("rows that no node can have are kept apart from a damaged catalogue's tree") {
  State state(1);
  state.load(node(files_root, no_node, "", true, 0, no_account));
  state.load(node(NodeId{9}, files_root, "fine"));
  std::size_t bad = 0;
  const auto refused = [&](const Node& row) {
    state.load(row);
    CHECK(state.lost.size() == ++bad);
  };
  refused(node(no_node, files_root, "nobody"));
  refused(node(NodeId{(1u << 24) + 1}, files_root, "far away"));
  for (const std::string& name : {std::string(), std::string(".."), std::string("a/b"),
                                  std::string("a\0b", 3), std::string(256, 'n')}) {
    refused(node(NodeId{10}, files_root, name));
  }
  Node odd = node(NodeId{10}, files_root, "odd");
  odd.kind = static_cast<Kind>(7);
  refused(odd);
  state.finish_loading();
  CHECK(state.lost.size() == bad);
  CHECK(state.tree.size() == 2);
}
