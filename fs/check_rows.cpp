#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/check_part.h"
#include "fs/desk.h"
#include "fs/engine.h"
#include "fs/limits.h"
#include "fs/mend.h"
#include "fs/node_name.h"
#include "fs/text.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

using Kind = Finding::Kind;

// The state is looked at in slices of so many nodes, so that saves get their turn in between.
constexpr std::size_t slice = 4096;

class Rows {
 public:
  Rows(Engine& engine, const Caller& caller)
      : engine_(engine), caller_(caller), problems_(engine, caller) {}

  Result<Problems> run() {
    check_log();
    check_lost();
    check_nodes();
    check_shared_contents();
    engine_.read([&](const State& state) {
      check_bin(state);
      check_people_rows(state, problems_);
      check_station_rows(state, problems_);
      check_usage(state);
      check_history(state);
      return 0;
    });
    if (auto done = check_memory(); !done) return done.error();
    // A hash or a receipt may be of what nobody can see yet.
    if (!unseen_) {
      engine_.read([&](const State& state) {
        check_hand_in_rows(state, problems_);
        return 0;
      });
      if (auto done = check_digests(); !done) return done.error();
    }
    if (auto done = check_journal(); !done) return done.error();
    return std::move(problems_.all);
  }

 private:
  // Changes the row of a node that is still there.
  static Status amend(Transaction& change, NodeId id, const std::function<void(Node&)>& edit) {
    if (!change.state().tree.has(id)) return {};
    Node node = change.state().tree.get(id);
    edit(node);
    change.put(std::move(node));
    return {};
  }

  static std::string shown(const State& state, NodeId id) {
    return Engine::host_path(state, id).text();
  }

  // use(State, NodeId) for every node there is, in slices.
  template <class Use>
  void each_node(Use use) {
    std::vector<NodeId> all;
    engine_.read([&](const State& state) {
      for (const NodeId root : {files_root, bin_root}) {
        state.tree.each_below(root, [&](NodeId id) { all.push_back(id); });
      }
      return 0;
    });
    for (std::size_t at = 0; at < all.size(); at += slice) {
      engine_.read([&](const State& state) {
        for (std::size_t i = at; i < std::min(at + slice, all.size()); ++i) {
          if (state.tree.has(all[i])) use(state, all[i]);
        }
        return 0;
      });
    }
  }

  // The log was read from end to end when the volume was opened; here, that the disk still gives
  // it.
  void check_log() {
    const HostPath folder = HostPath() / "log";
    auto entries = engine_.files().list(folder);
    if (!entries) {
      problems_.all.emplace_back(Kind::catalogue, folder.text(), entries.error().message,
                                 "make a copy of the volume now, and look at the disk");
      return;
    }
    for (const auto& entry : *entries) {
      auto read = read_through(engine_.files(), folder / entry.name);
      if (read || read.error().code == Code::not_found) continue;
      problems_.all.emplace_back(Kind::catalogue, "log/" + entry.name, read.error().message,
                                 "make a copy of the volume now, and look at the disk");
    }
  }

  // Nodes without a place, each before what hangs below it; a circle is cut where it is met first.
  void check_lost() {
    const auto lost = engine_.read([](const State& state) { return state.lost; });
    std::map<NodeId, std::vector<const Node*>> below;
    std::map<NodeId, const Node*> waiting;
    for (const Node& node : lost) {
      waiting[node.id] = &node;
      below[node.parent].push_back(&node);
    }
    const auto tell = [&](const Node* top) {
      std::vector<const Node*> next{top};
      while (!next.empty()) {
        const Node* node = next.back();
        next.pop_back();
        if (waiting.erase(node->id) == 0) continue;
        problems_.add(node->name.empty() || !is_utf8(node->name) ? "catalog.db" : node->name,
                      fmt::format("This {} (node {}) hangs in no folder, so nobody can see it.",
                                  node->folder ? "folder" : "file", number(node->id)),
                      "it goes back to its folder, or else to /found",
                      [lost = *node](Transaction& change) { return put_back(change, lost); });
        for (const Node* child : below[node->id]) next.push_back(child);
      }
    };
    for (const Node& node : lost) {
      if (waiting.count(node.id) != 0 && waiting.count(node.parent) == 0) tell(&node);
    }
    while (!waiting.empty()) tell(waiting.begin()->second);
  }

  static Status put_back(Transaction& change, Node node) {
    const State& state = change.state();
    if (state.tree.has(node.id)) return {};
    if (node.id == no_node || number(node.id) > (1u << 24)) {
      change.drop(Node(node));  // a number that nothing can have
      node.id = change.free_node();
    }
    const bool has_folder = node.parent != bin_root && state.tree.has(node.parent) &&
                            state.tree.get(node.parent).folder;
    const NodeId folder = has_folder ? node.parent : found_folder(change);
    node.name = free_name(state, folder, is_utf8(node.name) ? node.name : "nameless");
    node.alias = alias_for(state, folder, node.name, node.id);
    node.parent = folder;
    change.put(node);
    track_soft_limit(change, node.owner);
    if (node.folder) change.deed(MakeFolder{Engine::host_path(state, node.id)});
    return {};
  }

  void check_nodes() {
    each_node([&](const State& state, NodeId id) {
      if (id == files_root || id == bin_root) return;
      const Node node = state.tree.get(id);
      check_owner(state, node);
      if (node.folder && (node.size != 0 || node.content != ContentId{})) {
        problems_.add(shown(state, id), "This folder has a size, as only files have.",
                      "its size is set to none", [id](Transaction& change) {
                        return amend(change, id, [](Node& now) {
                          if (!now.folder) return;
                          now.size = 0;
                          now.content = ContentId{};
                        });
                      });
      }
      if (node.parent == bin_root) {
        if (state.bin.count(id) == 0) {
          problems_.add(shown(state, id), "This is in the bin, but nothing tells where it was.",
                        "taking it from the bin leads to the top folder",
                        [id](Transaction& change) { return note_removal(change, id); });
        }
      } else {
        check_names(state, node);
      }
    });
  }

  static Status note_removal(Transaction& change, NodeId id) {
    const State& state = change.state();
    if (!state.tree.has(id) || state.tree.parent(id) != bin_root || state.bin.count(id) != 0) {
      return {};
    }
    const Node node = state.tree.get(id);
    // In the bin a name begins with the node's number.
    std::string name = node.name;
    if (const auto space = name.find(' '); space != std::string::npos) name.erase(0, space + 1);
    change.put(BinEntry{id, node.owner, no_account, change.now(),
                        "/" + free_name(state, files_root, name)});
    return {};
  }

  void check_owner(const State& state, const Node& node) {
    if (node.owner != no_account && state.account(node.owner) == nullptr) {
      problems_.add(shown(state, node.id), "Its owner's account is not there.",
                    "it belongs to the room until a manager gives it to somebody",
                    [id = node.id](Transaction& change) {
                      return amend(change, id, [&](Node& now) {
                        if (change.state().account(now.owner) == nullptr) now.owner = no_account;
                      });
                    });
    }
    if (node.klass != no_class && state.class_of(node.klass) == nullptr) {
      problems_.add(shown(state, node.id), "Its class is not there.", "it belongs to no class",
                    [id = node.id](Transaction& change) {
                      return amend(change, id, [&](Node& now) {
                        if (change.state().class_of(now.klass) == nullptr) now.klass = no_class;
                      });
                    });
    }
  }

  void check_names(const State& state, const Node& node) {
    const std::string wanted = fold(node.name);
    const auto found = state.tree.child(node.parent, node.name);
    // Found under another's alias, it is the alias that is wrong.
    const bool clashes = found && *found != node.id && fold(state.tree.get(*found).name) == wanted;
    if (const auto fine = check_name(node.name); !fine || clashes) {
      const std::string remedy = "it gets a name of its own";
      problems_.all.emplace_back(
          Kind::catalogue, shown(state, node.id),
          clashes ? "Something else in this folder has the same name." : fine.error().message,
          remedy,
          [this_engine = &engine_, caller = caller_, id = node.id, path = shown(state, node.id),
           remedy] {
            const bool in_place = lies_in_place(*this_engine, id);
            return change_now(*this_engine, [&](Transaction& change) -> Status {
              change.journal(caller, "repaired", path, remedy);
              return rename(change, id, in_place);
            });
          });
    }
    const bool is_short = is_short_name(node.name);
    const auto by_alias = state.tree.child(node.parent, node.alias);
    const bool fits = is_short ? node.alias.empty()
                               : is_short_name(node.alias) &&
                                     node.alias == ascii_upper(node.alias) && by_alias == node.id;
    const bool hides_another = !node.alias.empty() && hides(state, node);
    if (!fits || hides_another) {
      problems_.add(shown(state, node.id), "Its short name is wrong, or another's too.",
                    "its short name is made anew", [id = node.id](Transaction& change) -> Status {
                      // Cleared first, so that it is in nobody's way, not even in its own.
                      static_cast<void>(amend(change, id, [](Node& now) { now.alias.clear(); }));
                      return amend(change, id, [&](Node& now) {
                        now.alias = alias_for(change.state(), now.parent, now.name, id);
                      });
                    });
    }
  }

  // Whether another's name is this one's alias.
  static bool hides(const State& state, const Node& node) {
    bool found = false;
    if (const auto other = state.tree.child(node.parent, node.alias); other && *other != node.id) {
      found = ascii_lower(state.tree.get(*other).name) == ascii_lower(node.alias);
    }
    return found;
  }

  // Whether the host has a file's contents in its place, asked outside all locks.
  static bool lies_in_place(Engine& engine, NodeId id) {
    ContentId content{};
    const auto path = engine.read([&](const State& state) {
      if (!state.tree.has(id)) return HostPath();
      content = state.tree.get(id).content;
      return Engine::host_path(state, id);
    });
    if (path.is_volume()) return false;
    auto saved = engine.catalog().digest(content);
    auto there = read_through(engine.files(), path);
    return saved && *saved && there && *there && (*there)->hash == **saved;
  }

  // Of two that have one name, the one whose contents lie there keeps it.
  static Status rename(Transaction& change, NodeId id, bool in_place) {
    const State& state = change.state();
    if (!state.tree.has(id)) return {};
    const Node node = state.tree.get(id);
    const auto other = state.tree.child(node.parent, node.name);
    const bool clashes = other && *other != id;
    if (!clashes && check_name(node.name)) return {};
    const bool shares_place = clashes && state.tree.get(*other).name == node.name;
    const Node yielding = shares_place && in_place ? state.tree.get(*other) : node;
    put_elsewhere(change, yielding, yielding.parent,
                  free_name(state, yielding.parent, yielding.name), !shares_place);
    if (shares_place && yielding.folder) {
      change.deed(MakeFolder{Engine::host_path(state, yielding.id)});
    }
    return {};
  }

  // A content number names one file's contents only.
  void check_shared_contents() {
    std::vector<std::pair<ContentId, NodeId>> contents;
    each_node([&](const State& state, NodeId id) {
      const Node node = state.tree.get(id);
      if (!node.folder && node.content != ContentId{}) contents.emplace_back(node.content, id);
    });
    std::sort(contents.begin(), contents.end());
    for (std::size_t i = 1; i < contents.size(); ++i) {
      if (contents[i].first != contents[i - 1].first) continue;
      const NodeId id = contents[i].second;
      const std::string path = engine_.read([&](const State& state) {
        return state.tree.has(id) ? shown(state, id) : std::string();
      });
      if (path.empty()) continue;
      problems_.add(
          path, "Another file has the same content number.", "it gets a number of its own",
          [this_engine = &engine_, id, shared = contents[i].first](Transaction& change) -> Status {
            if (!change.state().tree.has(id)) return {};
            Node now = change.state().tree.get(id);
            if (now.content != shared) return {};
            now.content = this_engine->new_content();
            change.put(std::move(now));
            return {};
          });
    }
  }

  Status check_journal() {
    auto verified = Desk(engine_).verify_journal();
    if (!verified) return verified.error();
    for (auto& sentence : verified->signs) {
      problems_.all.emplace_back(Kind::journal, "the journal", std::move(sentence),
                                 "nobody can undo it; a snapshot has the journal as it was");
    }
    return {};
  }

  void check_bin(const State& state) {
    for (const auto& [id, entry] : state.bin) {
      const bool there = state.tree.has(id) && state.tree.parent(id) == bin_root;
      if (!there) {
        problems_.add(entry.path, "The bin's record of this leads to nothing.", "the record goes",
                      [key = id](Transaction& change) -> Status {
                        change.drop(BinEntry{key, {}, {}, {}, {}});
                        return {};
                      });
      } else if (entry.owner != no_account && state.account(entry.owner) == nullptr) {
        problems_.add(entry.path, "This is in the bin of an account that is not there.",
                      "managers find it in the bin", [key = id](Transaction& change) -> Status {
                        const auto found = change.state().bin.find(key);
                        if (found == change.state().bin.end()) return {};
                        BinEntry now = found->second;
                        now.owner = no_account;
                        change.put(std::move(now));
                        return {};
                      });
      }
    }
  }

  // Invariant 4, counted afresh.
  void check_usage(const State& state) {
    auto sums = state.tree.counted();
    for (const auto& [id, account] : state.accounts) {
      const Usage counted = state.tree.usage(id);
      const Usage there = sums[number(id)];
      if (counted == there) continue;
      problems_.all.emplace_back(
          Kind::usage, account.name,
          fmt::format("{} bytes in {} files are counted, {} bytes in {} files are there.",
                      counted.bytes, counted.files, there.bytes, there.files),
          "it is counted afresh", [this_engine = &engine_]() -> Status {
            this_engine->recount();
            return {};
          });
    }
  }

  // Everybody sees the memory; the catalogue must say the same once all is settled.
  Status check_memory() {
    std::map<NodeId, Node> differ;
    for (int look = 0; look < 2; ++look) {
      if (auto settled = engine_.drain(); !settled) return settled;
      std::map<NodeId, Node> now;
      auto loaded = engine_.catalog().load([&](Record record) {
        const auto* row = std::get_if<Node>(&record);
        if (row == nullptr || (look > 0 && differ.count(row->id) == 0)) return;
        const bool same = engine_.read([&](const State& state) {
          if (state.tree.has(row->id)) return same_row(state.tree.get(row->id), *row);
          return std::any_of(state.lost.begin(), state.lost.end(),
                             [&](const Node& each) { return each.id == row->id; });
        });
        if (!same) now.emplace(row->id, *row);
      });
      if (!loaded) return loaded;
      differ = std::move(now);
      if (differ.empty()) return {};
    }
    for (const auto& [id, row] : differ) {
      const std::string path = engine_.read([id = id](const State& state) {
        return state.tree.has(id) ? shown(state, id) : std::string();
      });
      if (path.empty()) {
        // As after a mend that failed.
        unseen_ = true;
        problems_.add(fmt::format("node {}", number(id)),
                      "The catalogue has this, and nobody can see it.",
                      "it goes back to its folder, or else to /found",
                      [row = row](Transaction& change) { return put_back(change, row); });
        continue;
      }
      problems_.add(path, "The catalogue says something else of it than what is shown.",
                    "what is shown is written to the catalogue",
                    [id = id](Transaction& change) { return amend(change, id, [](Node&) {}); });
    }
    return {};
  }

  static bool same_row(const Node& a, const Node& b) {
    return a.parent == b.parent && a.name == b.name && a.alias == b.alias && a.folder == b.folder &&
           a.kind == b.kind && a.owner == b.owner && a.klass == b.klass && a.access == b.access &&
           a.load_address == b.load_address && a.entry_point == b.entry_point && a.size == b.size &&
           a.content == b.content && a.created == b.created && a.modified == b.modified;
  }

  // Former contents of files that are gone.
  void check_history(const State& state) {
    for (const auto& [key, row] : state.versions) {
      if (state.tree.has(row.node) || is_lost(state, row.node)) continue;
      const HostPath path = version_path(row.content, row.name);
      problems_.add(path.text(), "This is a former content of a file that is gone.",
                    "the history is without it, and what is there goes to rescued/",
                    [row = row](Transaction& change) -> Status {
                      if (change.state().versions.count({row.node, row.content}) == 0) return {};
                      change.drop(row);
                      change.drop(Digest{row.content, {}});
                      return {};
                    });
    }
  }

  // Hashes of what is no more. Missing ones are found where contents are read.
  Status check_digests() {
    std::vector<ContentId> orphans;
    for (int look = 0; look < 2; ++look) {
      if (auto settled = engine_.drain(); !settled) return settled;
      orphans.clear();
      auto read = engine_.catalog().each_digest(
          [&](const Digest& digest) { orphans.push_back(digest.content); });
      if (!read) return read;
      // Asked after the hashes were read, so that what is saved meanwhile is not among them.
      const auto wanted = engine_.read([](const State& state) { return contents_of(state); });
      std::erase_if(orphans, [&](ContentId each) {
        return std::binary_search(wanted.begin(), wanted.end(), each);
      });
      if (orphans.empty()) return {};
    }
    for (const ContentId each : orphans) {
      problems_.add("catalog.db",
                    fmt::format("A hash is kept for content {}, which no file has.", number(each)),
                    "the hash goes", [each](Transaction& change) -> Status {
                      change.drop(Digest{each, {}});
                      return {};
                    });
    }
    return {};
  }

  // All contents there are, in order.
  static std::vector<ContentId> contents_of(const State& state) {
    std::vector<ContentId> all;
    for (const NodeId root : {files_root, bin_root}) {
      state.tree.each_below(root, [&](NodeId id) {
        if (const Node node = state.tree.get(id); !node.folder) all.push_back(node.content);
      });
    }
    for (const Node& node : state.lost) all.push_back(node.content);
    for (const auto& [key, version] : state.versions) all.push_back(version.content);
    std::sort(all.begin(), all.end());
    return all;
  }

  Engine& engine_;
  const Caller caller_;
  RowProblems problems_;
  bool unseen_ = false;  // the catalogue has nodes that the memory has not
};

}  // namespace

Result<Problems> check_rows(Engine& engine, const Caller& caller) {
  return Rows(engine, caller).run();
}

}  // namespace stationer::fs
