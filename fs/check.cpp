#include "fs/check.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/desk.h"
#include "fs/files.h"

namespace stationer::fs {
namespace {

constexpr std::size_t piece = 256 * 1024;

class Checker {
 public:
  Checker(Engine& engine, const std::function<void(std::uint64_t, std::uint64_t)>& progress)
      : engine_(engine), progress_(progress) {}

  Result<CheckReport> run() {
    if (auto settled = engine_.drain(); !settled) return settled.error();
    auto integrity = engine_.catalog().integrity();
    if (!integrity) return integrity.error();
    for (auto& words : *integrity) {
      report(Finding::Kind::catalogue, "catalog.db",
             fmt::format("SQLite reports: {}. Restore the volume from a copy.", words));
    }
    check_rows();
    check_usage();
    if (auto done = check_contents(); !done) return done.error();
    for (const char* root : {"files", "bin"}) {
      if (auto done = check_host(HostPath() / root); !done) return done.error();
    }
    if (auto done = check_printouts(); !done) return done.error();
    if (auto done = check_journal(); !done) return done.error();
    return std::move(report_);
  }

 private:
  void report(Finding::Kind kind, std::string path, std::string sentence) {
    report_.findings.push_back({kind, std::move(path), std::move(sentence)});
  }

  std::string shown(const State& state, NodeId id) { return Engine::host_path(state, id).text(); }

  // Rows that contradict each other, read in one look.
  void check_rows() {
    engine_.read([&](const State& state) {
      state.tree.each_below(bin_root, [&](NodeId id) {
        if (id == bin_root || state.tree.parent(id) != bin_root || state.bin.count(id) != 0) return;
        report(Finding::Kind::catalogue, shown(state, id),
               "This is in the bin, but nothing tells where it was.");
      });
      for (const auto& [id, entry] : state.bin) {
        if (state.tree.has(id) && state.tree.parent(id) == bin_root) continue;
        report(Finding::Kind::catalogue, entry.path, "The bin's record of this leads to nothing.");
      }
      const auto check_owner = [&](NodeId id) {
        const Node node = state.tree.get(id);
        if (node.owner != no_account && state.account(node.owner) == nullptr) {
          report(Finding::Kind::catalogue, shown(state, id),
                 "Its owner's account is not there. Give it to somebody.");
        }
        if (node.klass != no_class && state.class_of(node.klass) == nullptr) {
          report(Finding::Kind::catalogue, shown(state, id), "Its class is not there.");
        }
      };
      state.tree.each_below(files_root, check_owner);
      state.tree.each_below(bin_root, check_owner);
      for (const auto& [key, row] : state.memberships) {
        if (state.account(row.account) != nullptr && state.class_of(row.klass) != nullptr) continue;
        report(Finding::Kind::catalogue, "catalog.db",
               fmt::format("Membership of account {} in class {} leads to nothing.",
                           number(row.account), number(row.klass)));
      }
      return 0;
    });
  }

  // Invariant 4, counted afresh from the catalogue's own rows.
  void check_usage() {
    std::map<NodeId, Node> rows;
    auto loaded = engine_.catalog().load([&](Record record) {
      if (auto* node = std::get_if<Node>(&record)) rows.emplace(node->id, std::move(*node));
    });
    if (!loaded) {
      report(Finding::Kind::catalogue, "catalog.db", loaded.error().message);
      return;
    }
    std::map<AccountId, Usage> sums;
    for (const auto& [id, node] : rows) {
      NodeId top = id;
      for (std::size_t depth = 0; depth < 4096 && rows.count(top) != 0; ++depth) {
        const NodeId up = rows.at(top).parent;
        if (up == no_node) break;
        top = up;
      }
      if (top == files_root) sums[node.owner] = sums[node.owner] + Usage{node.size, 1};
    }
    // Changes made since the rows were read would look like differences.
    if (!engine_.drain()) return;
    engine_.read([&](const State& state) {
      for (const auto& [id, account] : state.accounts) {
        const Usage counted = state.tree.usage(id);
        if (counted == sums[id] || changed_since(state, rows)) continue;
        report(
            Finding::Kind::usage, account.name,
            fmt::format("{} bytes in {} files are counted, {} bytes in {} files are there. Restart "
                        "the service to count afresh.",
                        counted.bytes, counted.files, sums[id].bytes, sums[id].files));
      }
      return 0;
    });
  }

  static bool changed_since(const State& state, const std::map<NodeId, Node>& rows) {
    if (state.tree.size() != rows.size()) return true;
    return std::any_of(rows.begin(), rows.end(), [&](const auto& row) {
      if (!state.tree.has(row.first)) return true;
      const Node node = state.tree.get(row.first);
      return node.size != row.second.size || node.owner != row.second.owner ||
             node.parent != row.second.parent;
    });
  }

  Status check_contents() {
    std::vector<NodeId> all;
    engine_.read([&](const State& state) {
      for (const NodeId root : {files_root, bin_root}) {
        state.tree.each_below(root, [&](NodeId id) { all.push_back(id); });
      }
      return 0;
    });
    std::uint64_t done = 0;
    for (const NodeId id : all) {
      if (auto checked = check_node(id); !checked) return checked;
      if (progress_) progress_(++done, all.size());
    }
    return {};
  }

  Status check_node(NodeId id) {
    // What changes while it is looked at is looked at once more; after that it is busy, not wrong.
    for (int attempt = 0; attempt < 3; ++attempt) {
      const auto before = engine_.read([&](const State& state) -> std::optional<Node> {
        if (!state.tree.has(id)) return std::nullopt;
        expected_.insert(Engine::host_path(state, id).text());
        return state.tree.get(id);
      });
      if (!before) return {};
      if (before->folder) {
        ++report_.folders;
        return {};
      }
      std::optional<Finding> finding;
      if (auto compared = compare(*before, finding); !compared) return compared;
      const bool changed = engine_.read([&](const State& state) {
        return !state.tree.has(id) || state.tree.get(id).content != before->content;
      });
      if (changed) continue;
      ++report_.files;
      if (finding) report_.findings.push_back(std::move(*finding));
      return {};
    }
    return {};
  }

  Status compare(const Node& node, std::optional<Finding>& finding) {
    const std::string path = engine_.read([&](const State& state) {
      return state.tree.has(node.id) ? shown(state, node.id) : std::string();
    });
    auto content = engine_.open_content([&](const State& state) -> Result<NodeId> {
      if (!state.tree.has(node.id)) return Error{Code::not_found, ""};
      return node.id;
    });
    if (!content) {
      if (content.error().code == Code::damaged) {
        finding = Finding{Finding::Kind::missing, path,
                          "Its contents are not on the host. Restore them from a copy."};
      }
      return {};
    }
    Hasher hasher;
    std::uint64_t size = 0;
    std::string buffer(piece, '\0');
    for (;;) {
      auto got = content->read_at(size, buffer);
      if (!got) {
        finding = Finding{Finding::Kind::missing, path, got.error().message};
        return {};
      }
      if (*got == 0) break;
      hasher.add(std::string_view(buffer).substr(0, *got));
      size += *got;
    }
    report_.bytes += size;
    auto saved = engine_.catalog().digest(node.content);
    if (!saved) return saved.error();
    if (size != node.size || !*saved || **saved != hasher.finish()) {
      // The digest of a save that is not settled yet is not in the catalogue yet.
      if (auto settled = engine_.drain(); !settled) return settled;
      auto again = engine_.catalog().digest(node.content);
      if (!again) return again.error();
      if (*again == *saved) {
        finding =
            Finding{Finding::Kind::changed, path,
                    fmt::format("Its contents are not what was saved ({} bytes are there, {} "
                                "were saved). Somebody changed it on the host, or the disk is "
                                "failing.",
                                size, node.size)};
      }
    }
    return {};
  }

  Status check_host(const HostPath& folder) {
    auto entries = engine_.files().list(folder);
    if (!entries) {
      if (entries.error().code == Code::not_found) {
        report(Finding::Kind::missing, folder.text(), "This folder is not on the host.");
        return {};
      }
      return entries.error();
    }
    for (const auto& entry : *entries) {
      const HostPath path = folder / entry.name;
      if (entry.type == HostEntry::Type::other) {
        report(Finding::Kind::strange, path.text(),
               "This is a link or a device; stations can't see it, and it is never followed.");
      } else if (!is_known(path)) {
        report(
            Finding::Kind::stray, path.text(),
            "This is on the host, but the catalogue does not know it, so stations can't see it.");
      } else if (entry.type == HostEntry::Type::folder) {
        if (auto below = check_host(path); !below) return below;
      }
    }
    return {};
  }

  // Known when the contents were compared, or since.
  bool is_known(const HostPath& path) {
    if (expected_.count(path.text()) != 0) return true;
    return engine_.read([&](const State& state) {
      NodeId at = path.is_within(HostPath() / "bin") ? bin_root : files_root;
      std::string_view rest = std::string_view(path.text());
      rest.remove_prefix(rest.find('/') + 1);
      while (!rest.empty()) {
        const auto slash = rest.find('/');
        const auto child = state.tree.child(at, rest.substr(0, slash));
        if (!child || state.tree.get(*child).name != rest.substr(0, slash)) return false;
        at = *child;
        rest = slash == std::string_view::npos ? "" : rest.substr(slash + 1);
      }
      return true;
    });
  }

  Status check_journal() {
    auto verified = Desk(engine_).verify_journal();
    if (!verified) return verified.error();
    for (auto& sentence : verified->signs) {
      report(Finding::Kind::journal, "the journal", std::move(sentence));
    }
    return {};
  }

  Status check_printouts() {
    const auto paths = engine_.read([](const State& state) {
      std::vector<std::string> out;
      for (const auto& [job, printout] : state.printouts) out.push_back(printout.path);
      return out;
    });
    for (const auto& text : paths) {
      auto path = HostPath::from_record(text);
      if (!path) return path.error();
      auto there = engine_.files().look(*path);
      if (!there) return there.error();
      if (!*there) report(Finding::Kind::missing, text, "This printout's PDF is not on the host.");
    }
    return {};
  }

  Engine& engine_;
  const std::function<void(std::uint64_t, std::uint64_t)>& progress_;
  CheckReport report_;
  std::set<std::string> expected_;
};

}  // namespace

const char* finding_name(Finding::Kind kind) {
  switch (kind) {
    case Finding::Kind::catalogue: return "catalogue";
    case Finding::Kind::missing: return "missing";
    case Finding::Kind::changed: return "changed";
    case Finding::Kind::stray: return "stray";
    case Finding::Kind::usage: return "usage";
    case Finding::Kind::journal: return "journal";
    case Finding::Kind::strange: return "strange";
  }
  return "unknown";
}

Result<CheckReport> check(Engine& engine,
                          const std::function<void(std::uint64_t, std::uint64_t)>& progress) {
  return Checker(engine, progress).run();
}

}  // namespace stationer::fs
