#include "fs/settle.h"

#include <algorithm>
#include <deque>
#include <set>
#include <string>
#include <tuple>
#include <unordered_map>

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

  Status operator()(const PlaceFile& deed) { return place(deed, deed.path); }

  // Puts the content of a deed at `path`, which is not the deed's own when it has been overtaken.
  Status place(const PlaceFile& deed, const HostPath& path) {
    const HostPath waiting = incoming_path(deed.content);
    if (deed.bytes) {
      // Always written anew: after a failed sync what was written before can't be trusted.
      auto file = files_.create(waiting);
      if (!file) return file.error();
      if (auto written = (*file)->write_at(0, *deed.bytes); !written) return written;
      tell_time(**file, deed);
    } else {
      auto there = files_.look(waiting);
      if (!there) return there.error();
      if (!*there) return {};  // placed before the crash; the check compares its hash
      if (auto file = files_.open_write(waiting)) tell_time(**file, deed);
    }
    auto placed = files_.rename(waiting, path, true);
    if (placed || !is_local(placed)) return placed;
    if (auto folder = make_folders(files_, path.folder()); !folder && !is_local(folder)) {
      return folder;
    }
    placed = files_.rename(waiting, path, true);
    if (placed || !is_local(placed)) return placed;
    return rescue(waiting, deed.content, path);
  }

  // Nothing hangs on it: a file whose time is not the catalogue's is read once by adoption.
  static void tell_time(HostFile& file, const PlaceFile& deed) {
    static_cast<void>(file.set_modified(deed.modified));
  }

  // Throws away a content that was overtaken and that nobody asked to keep.
  Status drop(const PlaceFile& deed) {
    if (deed.bytes) return {};
    auto gone = files_.remove_file(incoming_path(deed.content));
    return gone || gone.error().code == Code::not_found ? Status() : gone;
  }

  // An overtaken content that was put in its place before a crash, when nothing had overtaken it
  // yet, lies there still.
  Status set_overtaken_aside(const PlaceFile& deed, const HostPath& to) {
    if (deed.bytes) return {};
    auto waiting = files_.look(incoming_path(deed.content));
    if (!waiting) return waiting.error();
    return *waiting ? Status() : set_aside({deed.path, to});
  }

  // Gives what lies at aside.from its name among the versions.
  Status set_aside(const MovePath& aside) {
    auto linked = files_.link(aside.from, aside.to);
    if (linked || linked.error().code == Code::exists) return {};
    if (linked.error().code == Code::not_found) return {};  // the check tells
    if (!is_local(linked)) return linked;
    return copy(aside.from, aside.to);
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
  Status rescue(const HostPath& waiting, ContentId content, const HostPath& path) {
    const HostPath folder = HostPath() / "rescued";
    if (auto made = make_folders(files_, folder); !made) return made;
    const HostPath kept =
        folder / fmt::format("{} {}", number(content), clip(path.name(), longest_name - 24));
    if (auto renamed = files_.rename(waiting, kept, true); !renamed) return renamed;
    events_.trouble(
        fmt::format("\"{}\" could not be put in place, because something else is there on "
                    "the host. Its contents are in \"{}\".",
                    path.text(), kept.text()));
    return {};
  }

  // For file systems without second names.
  Status copy(const HostPath& from, const HostPath& to) {
    const HostPath aside = HostPath() / "incoming" / "version";
    auto source = files_.open(from);
    if (!source) return is_local(source) ? odd(from) : Status(source.error());
    auto target = files_.create(aside);
    if (!target) return target.error();
    std::string piece(256 * 1024, '\0');
    for (std::uint64_t at = 0;;) {
      auto got = (*source)->read_at(at, piece);
      if (!got) return got.error();
      if (*got == 0) break;
      auto written = (*target)->write_at(at, std::string_view(piece).substr(0, *got));
      if (!written) return written;
      at += *got;
    }
    target->reset();
    auto renamed = files_.rename(aside, to, false);
    return renamed || renamed.error().code == Code::exists ? Status() : renamed;
  }

  HostFiles& files_;
  const SettleEvents& events_;
};

// What kind of row, its keys that are numbers, and those that are text.
using Key = std::tuple<std::size_t, std::uint64_t, std::string>;

Key key_of(const Record& record) {
  Key key{record.index(), 0, ""};
  std::visit(
      [&]<class Row>(const Row& row) {
        int n = 0;
        Row::fields(row, [&]<class Field>(const char*, const Field& field) {
          if (n++ >= Row::keys) return;
          if constexpr (std::is_same_v<Field, std::string>) {
            std::get<2>(key) += field + '\0';
          } else if constexpr (std::is_integral_v<Field> || std::is_enum_v<Field>) {
            std::get<1>(key) = std::get<1>(key) << 32 | static_cast<std::uint64_t>(field);
          }
        });
      },
      record);
  return key;
}

// The rows of the group, each key's last change only. Journal entries have keys of their own.
std::vector<const Change*> last_changes(const std::vector<const Commit*>& group) {
  std::vector<const Change*> changes;
  std::set<Key> seen;
  for (auto commit = group.rbegin(); commit != group.rend(); ++commit) {
    for (auto change = (*commit)->changes.rbegin(); change != (*commit)->changes.rend(); ++change) {
      if (seen.insert(key_of(change->record)).second) changes.push_back(&*change);
    }
  }
  std::reverse(changes.begin(), changes.end());
  return changes;
}

// Takes the hashes that were left for now (Digest); `taken` holds what `changes` then refers to.
void take_digests(const std::vector<const Commit*>& group, std::vector<const Change*>& changes,
                  std::deque<Change>& taken) {
  std::unordered_map<ContentId, const std::string*> contents;
  for (const Commit* commit : group) {
    for (const auto& deed : commit->deeds) {
      const auto* placed = std::get_if<PlaceFile>(&deed);
      if (placed != nullptr && placed->bytes) contents[placed->content] = placed->bytes.get();
    }
  }
  for (const Change*& change : changes) {
    const auto* digest = std::get_if<Digest>(&change->record);
    if (digest == nullptr || change->drop || digest->hash != Hash{}) continue;
    const auto found = contents.find(digest->content);
    if (found == contents.end()) continue;
    change = &taken.emplace_back(put(Digest{digest->content, hash_of(*found->second)}));
  }
}

// Places several contents that one name had one after another: the last goes there, the others to
// where the next one's deed keeps them.
Status place_all(Doer& doer, const std::vector<const Deed*>& deeds) {
  for (std::size_t i = 0; i < deeds.size(); ++i) {
    const auto& placed = std::get<PlaceFile>(*deeds[i]);
    const auto* next = i + 1 < deeds.size() ? &std::get<PlaceFile>(*deeds[i + 1]) : nullptr;
    const Status done = next == nullptr ? doer(placed)
                        : next->aside   ? doer.place(placed, next->aside->to)
                                        : doer.drop(placed);
    if (!done) return done;
  }
  return {};
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
  Doer doer(files, events);
  // All placings under one name, in order; and first of all the folders they may need.
  std::unordered_map<std::string, std::vector<const Deed*>> placings;
  bool any_folder = false;
  bool any_large = false;
  for (const Commit* commit : group) {
    for (const auto& deed : commit->deeds) {
      if (const auto* placed = std::get_if<PlaceFile>(&deed)) {
        placings[placed->path.text()].push_back(&deed);
        any_large = any_large || !placed->bytes;
      } else if (const auto* folder = std::get_if<MakeFolder>(&deed)) {
        any_folder = true;
        const Deed* const one[] = {&deed};
        auto made = events.while_deeds(one, [&] { return doer(*folder); });
        if (!made) return made;
      }
    }
  }
  bool any_aside = false;
  for (const auto& [path, deeds] : placings) {
    if (const auto& first = std::get<PlaceFile>(*deeds.front()); first.aside) {
      if (auto kept = doer.set_aside(*first.aside); !kept) return kept;
      any_aside = true;
    }
    for (std::size_t i = 0; i + 1 < deeds.size(); ++i) {
      const auto& next = std::get<PlaceFile>(*deeds[i + 1]);
      if (!next.aside) continue;
      auto kept = doer.set_overtaken_aside(std::get<PlaceFile>(*deeds[i]), next.aside->to);
      if (!kept) return kept;
      any_aside = true;
    }
  }
  if (any_aside || (any_folder && any_large)) {
    if (auto synced = files.sync_everything(); !synced) return synced;
  }

  bool any = false;
  for (const Commit* commit : group) {
    for (const auto& deed : commit->deeds) {
      any = true;
      if (std::holds_alternative<MakeFolder>(deed)) continue;
      Status done;
      if (const auto* placed = std::get_if<PlaceFile>(&deed)) {
        const auto& deeds = placings[placed->path.text()];
        if (deeds.front() != &deed) continue;  // done with the first
        done = events.while_deeds(deeds, [&] { return place_all(doer, deeds); });
      } else {
        const Deed* const one[] = {&deed};
        done = events.while_deeds(one, [&] { return std::visit(doer, deed); });
      }
      if (!done) return done;
    }
  }
  if (any) {
    if (auto synced = files.sync_everything(); !synced) return synced;
  }
  auto changes = last_changes(group);
  std::deque<Change> taken;
  take_digests(group, changes, taken);
  return catalog.apply(changes, group.back()->number);
}

}  // namespace stationer::fs
