#include "fs/settle.h"

#include <algorithm>
#include <set>
#include <string>
#include <unordered_map>
#include <unordered_set>

#include <fmt/format.h>

#include "fs/node_name.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::size_t most_commits = 4096;
constexpr std::size_t most_moves = 64;

enum class Sort { none, create, remove, move, mixed };

Sort sort_of(const Deed& deed) {
  if (std::holds_alternative<RemovePath>(deed)) return Sort::remove;
  if (std::holds_alternative<MovePath>(deed)) return Sort::move;
  return Sort::create;
}

Sort sort_of(const Commit& commit) {
  Sort sort = Sort::none;
  for (const auto& deed : commit.deeds) {
    const Sort each = sort_of(deed);
    if (sort != Sort::none && (sort != each || each == Sort::move)) return Sort::mixed;
    sort = each;
  }
  return sort;
}

bool touch(const HostPath& a, const HostPath& b) {
  return a.is_within(b) || b.is_within(a);
}

bool touch(const MovePath& a, const MovePath& b) {
  return touch(a.from, b.from) || touch(a.from, b.to) || touch(a.to, b.from) || touch(a.to, b.to);
}

class Doer {
 public:
  Doer(HostFiles& files, const SettleEvents& events) : files_(files), events_(events) {}

  Status operator()(const MakeFolder& deed) {
    auto made = files_.make_folder(deed.path);
    if (made || made.error().code == Code::exists) return {};
    if (!is_local(made)) return made;
    made = make_folders(files_, deed.path);
    return made || !is_local(made) ? made : odd(deed.path);
  }

  Status operator()(const PlaceFile& deed) {
    const HostPath waiting = incoming_path(deed.content);
    if (deed.bytes) {
      // Always written anew: after a failed sync what was written before can't be trusted.
      auto file = files_.create(waiting);
      if (!file) return file.error();
      if (auto written = (*file)->write_at(0, *deed.bytes); !written) return written;
    } else {
      auto there = files_.look(waiting);
      if (!there) return there.error();
      if (!*there) return {};  // placed before the crash; the check compares its hash
    }
    auto placed = files_.rename(waiting, deed.path, true);
    if (placed || !is_local(placed)) return placed;
    if (auto folder = make_folders(files_, deed.path.folder()); !folder && !is_local(folder)) {
      return folder;
    }
    placed = files_.rename(waiting, deed.path, true);
    if (placed || !is_local(placed)) return placed;
    return rescue(waiting, deed);
  }

  Status operator()(const MovePath& deed) {
    auto moved = files_.rename(deed.from, deed.to, false);
    if (moved || moved.error().code == Code::exists) return {};
    if (!is_local(moved)) return moved;
    auto there = files_.look(deed.to);
    if (!there && !is_local(there)) return there.error();
    if (there && *there) return {};
    if (auto folder = make_folders(files_, deed.to.folder()); !folder && !is_local(folder)) {
      return folder;
    }
    moved = files_.rename(deed.from, deed.to, false);
    return moved || !is_local(moved) ? moved : odd(deed.from);
  }

  Status operator()(const RemovePath& deed) {
    auto removed = deed.folder ? files_.remove_folder(deed.path) : files_.remove_file(deed.path);
    if (removed || removed.error().code == Code::not_found) return {};
    return is_local(removed) ? odd(deed.path) : removed;
  }

 private:
  // Whether a failure lies in what somebody did to this one place on the host, so that trying again
  // would not help and everybody else's saves must go on.
  template <class T>
  static bool is_local(const Result<T>& failed) {
    switch (failed.error().code) {
      case Code::not_found:
      case Code::exists:
      case Code::denied:
      case Code::bad_name:
      case Code::not_a_folder:
      case Code::is_a_folder:
      case Code::damaged: return true;
      default: return false;
    }
  }

  Status odd(const HostPath& path) {
    events_.trouble(fmt::format(
        "\"{}\" on the host is not as Stationer left it; the check tells more.", path.text()));
    return {};
  }

  // Something stands where the file should be, and it is not ours to remove. What was acknowledged
  // is kept all the same.
  Status rescue(const HostPath& waiting, const PlaceFile& deed) {
    const HostPath folder = HostPath() / "rescued";
    if (auto made = make_folders(files_, folder); !made) return made;
    const HostPath kept = folder / fmt::format("{} {}", number(deed.content),
                                               clip(deed.path.name(), longest_name - 24));
    if (auto renamed = files_.rename(waiting, kept, true); !renamed) return renamed;
    events_.trouble(
        fmt::format("\"{}\" could not be put in place, because something else is there on "
                    "the host. Its contents are in \"{}\".",
                    deed.path.text(), kept.text()));
    return {};
  }

  HostFiles& files_;
  const SettleEvents& events_;
};

// The rows of the group, each key's last change only. Journal entries have keys of their own.
std::vector<const Change*> last_changes(const std::vector<const Commit*>& group) {
  std::vector<const Change*> changes;
  std::set<std::pair<std::size_t, std::uint64_t>> seen;
  for (auto commit = group.rbegin(); commit != group.rend(); ++commit) {
    for (auto change = (*commit)->changes.rbegin(); change != (*commit)->changes.rend(); ++change) {
      const std::uint64_t key = std::visit(
          []<class Row>(const Row& row) {
            std::uint64_t value = 0;
            int n = 0;
            Row::fields(row, [&](const char*, const auto& field) {
              if constexpr (std::is_integral_v<std::decay_t<decltype(field)>> ||
                            std::is_enum_v<std::decay_t<decltype(field)>>) {
                if (n < Row::keys) value = value << 32 | static_cast<std::uint64_t>(field);
              }
              ++n;
            });
            return value;
          },
          change->record);
      if (seen.emplace(change->record.index(), key).second) changes.push_back(&*change);
    }
  }
  std::reverse(changes.begin(), changes.end());
  return changes;
}

}  // namespace

std::size_t group_length(const std::vector<const Commit*>& commits) {
  Sort sort = Sort::none;
  std::vector<const MovePath*> moves;
  std::size_t length = 0;
  for (const Commit* commit : commits) {
    const Sort each = sort_of(*commit);
    if (each == Sort::mixed) return std::max<std::size_t>(length, 1);
    if (each != Sort::none) {
      if (sort != Sort::none && sort != each) return length;
      sort = each;
    }
    if (each == Sort::move) {
      const auto* move = std::get_if<MovePath>(&commit->deeds.front());
      const bool touches = std::any_of(moves.begin(), moves.end(),
                                       [&](const MovePath* other) { return touch(*move, *other); });
      if (touches || moves.size() == most_moves) return length;
      moves.push_back(move);
    }
    if (++length == most_commits) return length;
  }
  return length;
}

Status settle_group(HostFiles& files, Catalog& catalog, const std::vector<const Commit*>& group,
                    const SettleEvents& events) {
  if (group.empty()) return {};
  // Where one name is placed several times, the last placing stands for all.
  std::unordered_map<std::string, const Deed*> last_placing;
  std::unordered_set<std::uint64_t> large;
  for (const Commit* commit : group) {
    for (const auto& deed : commit->deeds) {
      if (const auto* placed = std::get_if<PlaceFile>(&deed))
        last_placing[placed->path.text()] = &deed;
    }
  }
  bool any = false;
  for (const Commit* commit : group) {
    for (const auto& deed : commit->deeds) {
      any = true;
      const auto* placed = std::get_if<PlaceFile>(&deed);
      if (placed != nullptr && last_placing[placed->path.text()] != &deed) {
        // Overtaken before it was ever placed: only a large one has left anything behind.
        if (!placed->bytes) {
          if (auto gone = files.remove_file(incoming_path(placed->content));
              !gone && gone.error().code != Code::not_found) {
            return gone;
          }
        }
        continue;
      }
      auto done = events.while_deed(deed, [&] { return std::visit(Doer(files, events), deed); });
      if (!done) return done;
    }
  }
  if (any) {
    if (auto synced = files.sync_everything(); !synced) return synced;
  }
  return catalog.apply(last_changes(group), group.back()->number);
}

}  // namespace stationer::fs
