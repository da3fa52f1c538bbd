// Former contents against the host.
#include <set>

#include <fmt/format.h>

#include "fs/check_part.h"
#include "fs/hash_content.h"
#include "fs/mend.h"

namespace stationer::fs {
namespace {

using Kind = Finding::Kind;

class Versions {
 public:
  Versions(Engine& engine, const Caller& caller, bool vanished, CheckReport& report, Problems& out)
      : engine_(engine), caller_(caller), vanished_(vanished), report_(report), out_(out) {}

  Status check() {
    const auto versions = engine_.read([](const State& state) { return state.versions; });
    for (const auto& [key, row] : versions) {
      if (auto checked = check_version(row); !checked) return checked;
    }
    const HostPath folder = HostPath() / "versions";
    auto entries = engine_.files().list(folder);
    if (!entries) return entries.error();
    const auto known = engine_.read([](const State& state) {
      std::set<std::string> names;
      for (const auto& [key, row] : state.versions) {
        names.emplace(version_path(row.content, row.name).name());
      }
      return names;
    });
    for (const auto& entry : *entries) {
      const HostPath path = folder / entry.name;
      // One that was thinned out since it was listed is gone once all is settled.
      if (known.count(entry.name) != 0) continue;
      if (auto settled = engine_.drain(); !settled) return settled;
      auto there = engine_.files().look(path);
      if (!there) return there.error();
      if (!*there) continue;
      if (entry.type == HostEntry::Type::other) {
        out_.emplace_back(Kind::strange, path.text(), "This is a link or a device.",
                          "it is left alone; take it away yourself");
        continue;
      }
      out_.emplace_back(Kind::stray, path.text(), "No file had this as a former content.",
                        "it goes to rescued/ in the volume",
                        [engine = &engine_, caller = caller_, path] {
                          return move_to_rescued(*engine, caller, no_node, path);
                        });
    }
    return {};
  }

 private:
  Status check_version(const Version& row) {
    const HostPath path = version_path(row.content, row.name);
    const auto is_there = [&] {
      return engine_.read([&](const State& state) {
        return state.versions.count({row.node, row.content}) != 0;
      });
    };
    std::string sentence;
    bool has_file = false;
    auto content = engine_.open_version([&](const State& state) -> Result<Version> {
      const auto found = state.versions.find({row.node, row.content});
      if (found == state.versions.end()) return Error{Code::not_found, ""};
      return found->second;
    });
    if (!content) {
      if (content.error().code == Code::not_found) return {};
      auto there = engine_.files().look(path);
      if (!there) return there.error();
      has_file = there->has_value();
      if (has_file) {
        out_.emplace_back(Kind::missing, path.text(), content.error().message,
                          "nothing, because it can't be read; look at its rights and at the disk");
        return {};
      }
      sentence = "This former content of a file is not on the host.";
    } else {
      auto saved = engine_.catalog().digest(row.content);
      if (!saved) return saved.error();
      const auto hashed = hash_content(*content);
      if (!hashed) {
        out_.emplace_back(Kind::missing, path.text(), hashed.error().message,
                          "nothing, because it can't be read; look at its rights and at the disk");
        return {};
      }
      const Hash hash = hashed->hash;
      const std::uint64_t size = hashed->size;
      report_.bytes += size;
      if (size == row.size && *saved && **saved == hash) return {};
      if (auto settled = engine_.drain(); !settled) return settled;
      saved = engine_.catalog().digest(row.content);
      if (!saved) return saved.error();
      if (size == row.size && *saved && **saved == hash) return {};
      if (size == row.size && !*saved) {
        if (!is_there()) return {};
        out_.emplace_back(Kind::catalogue, path.text(),
                          "No hash is kept for it, so nobody can tell damage.",
                          "its hash is computed from what is there",
                          [engine = &engine_, caller = caller_, row, hash, path] {
                            return change_now(*engine, [&](Transaction& change) -> Status {
                              if (change.state().versions.count({row.node, row.content}) == 0) {
                                return {};
                              }
                              change.put(Digest{row.content, hash});
                              change.journal(caller, "repaired", path.text(), "hash computed");
                              return {};
                            });
                          });
        return {};
      }
      has_file = true;
      sentence = "This former content of a file is not what was saved.";
    }
    if (!is_there()) return {};
    const std::string remedy = has_file
                                   ? "it goes to rescued/, and the file's history is without it"
                                   : "the file's history is without it";
    std::function<Status()> mend;
    if (!vanished_) {
      mend = [engine = &engine_, caller = caller_, row, path, has_file] {
        if (has_file) {
          if (auto moved = move_to_rescued(*engine, caller, no_node, path); !moved) return moved;
        }
        return change_now(*engine, [&](Transaction& change) -> Status {
          if (change.state().versions.count({row.node, row.content}) == 0) return {};
          change.drop(row);
          change.drop(Digest{row.content, {}});
          change.journal(caller, "repaired", path.text(),
                         fmt::format("a former content of {} bytes left the history", row.size));
          return {};
        });
      };
    }
    out_.emplace_back(has_file ? Kind::changed : Kind::missing, path.text(), std::move(sentence),
                      vanished_ ? std::string(mount_it) : remedy, std::move(mend));
    return {};
  }

  Engine& engine_;
  const Caller& caller_;
  const bool vanished_;
  CheckReport& report_;
  Problems& out_;
};

}  // namespace

Status check_versions(Engine& engine, const Caller& caller, bool vanished, CheckReport& report,
                      Problems& out) {
  return Versions(engine, caller, vanished, report, out).check();
}

}  // namespace stationer::fs
