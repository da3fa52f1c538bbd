#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/adopt.h"
#include "fs/check_part.h"
#include "fs/compare.h"
#include "fs/engine.h"
#include "fs/hash_content.h"
#include "fs/limits.h"
#include "fs/mend.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

using Kind = Finding::Kind;
using Sort = Difference::Sort;

constexpr std::size_t piece = 256 * 1024;
constexpr std::size_t most_candidates = 100'000;  // strays looked at for what is missing
constexpr std::size_t deepest = 64;
// When more than so many are missing at once, and more than are there, it is not the files that are
// gone but their disk.
constexpr std::size_t least_vanishing = 10;
constexpr std::string_view look_first =
    "nothing, because something that may hold what was saved can't be read; see to that first";

class Host {
 public:
  Host(Engine& engine, const CheckOptions& options, CheckReport& report)
      : engine_(engine), options_(options), report_(report) {}

  Result<Problems> run() {
    const auto all = engine_.read([](const State& state) { return state.tree.size(); });
    std::uint64_t done = 0;
    std::vector<NodeId> folders{bin_root, files_root};
    while (!folders.empty()) {
      const NodeId folder = folders.back();
      folders.pop_back();
      if (auto walked = walk(folder, folders, done, all); !walked) return walked.error();
    }
    if (auto known = find_candidates(); !known) return known.error();
    Problems out;
    vanished_ = !options_.accept_loss &&
                missing_.size() + missing_folders_.size() > least_vanishing &&
                missing_.size() + missing_folders_.size() > report_.files;
    for (const NodeId id : missing_folders_) tell_missing_folder(id, out);
    for (const NodeId id : missing_) tell_missing(id, out);
    for (const Changed& each : changed_) tell_changed(each, out);
    for (auto& each : others_) out.push_back(std::move(each));
    for (const auto& each : strays_) tell_stray(each, out);
    if (auto kept = check_versions(engine_, options_.caller, vanished_, report_, out); !kept) {
      return kept.error();
    }
    if (auto printed = check_printouts(engine_, options_.caller, out); !printed) {
      return printed.error();
    }
    return out;
  }

 private:
  struct Changed {
    NodeId id{};
    std::uint64_t size = 0;  // that is there
  };
  struct Stray {
    NodeId folder{};
    Difference there;
  };
  struct File {  // what is known of one before it is read
    Node node;
    HostPath path;
  };

  std::optional<File> file(NodeId id) {
    return engine_.read([&](const State& state) -> std::optional<File> {
      if (!state.tree.has(id)) return std::nullopt;
      return File{state.tree.get(id), Engine::host_path(state, id)};
    });
  }

  Status journalled(NodeId id, std::string_view what,
                    const std::function<Status(Transaction&, Node)>& make) {
    return change_now(engine_, [&](Transaction& change) -> Status {
      const State& state = change.state();
      if (!state.tree.has(id)) return {};
      change.journal(options_.caller, "repaired", Engine::host_path(state, id).text(),
                     std::string(what));
      return make(change, state.tree.get(id));
    });
  }

  // ---- looking ----

  Status walk(NodeId folder, std::vector<NodeId>& folders, std::uint64_t& done, std::uint64_t all) {
    auto differences = compare_folder(engine_, folder);
    if (!differences) {
      unsure_ = true;
      const auto known = file(folder);
      others_.emplace_back(Kind::missing, known ? known->path.text() : "files",
                           differences.error().message,
                           "nothing, because it can't be read; look at its rights and at the disk");
      return {};
    }
    std::set<NodeId> absent;
    for (auto& each : *differences) {
      switch (each.sort) {
        case Sort::missing:
        case Sort::blocked:
          absent.insert(each.node);
          tell_absent(each);
          break;
        case Sort::stray: strays_.push_back({folder, std::move(each)}); break;
        case Sort::strange:
          others_.emplace_back(
              Kind::strange, each.path.text(),
              "This is a link or a device; stations can't see it, and it is never followed.",
              "it is left alone; take it away yourself");
          break;
        case Sort::changed:
          if (each.entry.size > 0 && is_marked_lost(each.node)) {
            absent.insert(each.node);
            changed_.push_back({each.node, each.entry.size});
          }
          break;
      }
    }
    ++report_.folders;
    std::vector<NodeId> files;
    engine_.read([&](const State& state) {
      if (!state.tree.has(folder)) return 0;
      state.tree.each_child(
          folder, [&](NodeId id) { (state.tree.get(id).folder ? folders : files).push_back(id); });
      return 0;
    });
    for (const NodeId id : files) {
      if (absent.count(id) == 0) {
        if (auto checked = check_file(id); !checked) return checked;
      }
      if (options_.progress) options_.progress(std::min(++done, all), all);
    }
    return {};
  }

  bool is_marked_lost(NodeId id) {
    const auto known = file(id);
    return known && !known->node.folder && known->node.content == ContentId{};
  }

  void tell_absent(const Difference& each) {
    const auto known = file(each.node);
    if (!known) return;
    if (each.sort == Sort::blocked) {
      others_.emplace_back(Kind::missing, each.path.text(),
                           fmt::format("On the host something else is where this {} should be.",
                                       known->node.folder ? "folder" : "file"),
                           "what is in the way goes to rescued/, and then it is looked for",
                           [this, id = each.node, path = each.path] {
                             return move_to_rescued(engine_, options_.caller, id, path);
                           });
    } else if (known->node.folder) {
      missing_folders_.push_back(each.node);
    } else {
      missing_.push_back(each.node);
    }
  }

  void tell_missing_folder(NodeId id, Problems& out) {
    const auto known = file(id);
    if (!known) return;
    const std::string sentence = "This folder is not on the host.";
    if (vanished_) {
      out.emplace_back(Kind::missing, known->path.text(), sentence, std::string(mount_it));
      return;
    }
    out.emplace_back(Kind::missing, known->path.text(), sentence, "it is made again", [this, id] {
      return journalled(id, "folder made again", [id](Transaction& change, const Node&) -> Status {
        change.deed(MakeFolder{Engine::host_path(change.state(), id)});
        return {};
      });
    });
  }

  // What changes while it is looked at is looked at once more; after that it is busy, not wrong.
  Status check_file(NodeId id) {
    for (int attempt = 0; attempt < 3; ++attempt) {
      const auto before = file(id);
      if (!before) return {};
      if (before->node.content == ContentId{}) {
        ++report_.lost;
        return {};
      }
      Problems found;
      std::vector<Changed> changed;
      if (auto compared = compare(*before, found, changed); !compared) return compared;
      const auto after = file(id);
      if (!after || after->node.content != before->node.content) continue;
      ++report_.files;
      for (auto& each : found) others_.push_back(std::move(each));
      for (auto& each : changed) changed_.push_back(each);
      return {};
    }
    return {};
  }

  Status compare(const File& known, Problems& found, std::vector<Changed>& changed) {
    const NodeId id = known.node.id;
    auto content = engine_.open_content([&](const State& state) -> Result<NodeId> {
      if (!state.tree.has(id)) return Error{Code::not_found, ""};
      return id;
    });
    const auto unreadable = [&](const Error& why) {
      found.emplace_back(Kind::missing, known.path.text(), why.message,
                         "nothing, because it can't be read; look at its rights and at the disk");
    };
    if (!content) {
      if (content.error().code != Code::not_found) unreadable(content.error());
      return {};
    }
    const auto hashed = hash_content(*content);
    if (!hashed) {
      unreadable(hashed.error());
      return {};
    }
    const Hash hash = hashed->hash;
    const std::uint64_t size = hashed->size;
    report_.bytes += size;
    auto saved = engine_.catalog().digest(known.node.content);
    if (!saved) return saved.error();
    if (size == known.node.size && *saved && **saved == hash) return {};
    // The digest of a save that is not settled yet is not in the catalogue yet.
    if (auto settled = engine_.drain(); !settled) return settled;
    saved = engine_.catalog().digest(known.node.content);
    if (!saved) return saved.error();
    if (size == known.node.size && *saved && **saved == hash) return {};
    if (size == known.node.size && !*saved) {
      found.emplace_back(Kind::catalogue, known.path.text(),
                         "No hash is kept for it, so nobody can tell damage.",
                         "its hash is computed from what is there",
                         [this, id, hash, content_id = known.node.content] {
                           return journalled(id, "hash computed",
                                             [&](Transaction& change, const Node& now) -> Status {
                                               if (now.content == content_id)
                                                 change.put(Digest{content_id, hash});
                                               return {};
                                             });
                         });
      return {};
    }
    changed.push_back({id, size});
    return {};
  }

  // The hash of what a file should hold, if it is known.
  Result<std::optional<Hash>> digest_of(NodeId id) {
    const auto known = file(id);
    if (!known) return std::optional<Hash>();
    return engine_.catalog().digest(known->node.content);
  }

  // ---- where contents could be had from ----

  struct Source {
    HostPath path;
    bool stray = false;  // moved; else copied
  };

  // Strays and other files that may be what is wanted: of its size, and known by its hash.
  Status find_candidates() {
    std::set<std::uint64_t> sizes;
    std::set<Hash> hashes;
    for (const NodeId id : wanted()) {
      const auto known = file(id);
      auto saved = digest_of(id);
      if (!saved) return saved.error();
      if (!known || !*saved) continue;
      sizes.insert(known->node.size);
      hashes.insert(**saved);
    }
    if (hashes.empty()) return {};
    const auto offer = [&](const HostPath& path, bool stray) {
      auto reading = read_through(engine_.files(), path);
      if (!reading) unsure_ = true;
      if (!reading || !*reading || hashes.count((*reading)->hash) == 0) return;
      sources_.emplace((*reading)->hash, Source{path, stray});
    };
    std::vector<std::pair<HostPath, std::uint64_t>> files;
    for (const auto& each : strays_) collect(each.there.path, each.there.entry, 0, files);
    for (const auto& [path, size] : files) {
      if (sizes.count(size) != 0) offer(path, true);
    }
    std::vector<NodeId> alike;
    std::vector<Version> former;
    engine_.read([&](const State& state) {
      for (const NodeId root : {files_root, bin_root}) {
        state.tree.each_below(root, [&](NodeId id) {
          const Node node = state.tree.get(id);
          if (!node.folder && sizes.count(node.size) != 0) alike.push_back(id);
        });
      }
      for (const auto& [key, version] : state.versions) {
        if (sizes.count(version.size) != 0) former.push_back(version);
      }
      return 0;
    });
    for (const Version& each : former) {
      auto saved = engine_.catalog().digest(each.content);
      if (!saved) return saved.error();
      if (*saved && hashes.count(**saved) != 0) offer(version_path(each.content, each.name), false);
    }
    for (const NodeId id : alike) {
      auto saved = digest_of(id);
      if (!saved) return saved.error();
      const auto known = file(id);
      if (known && *saved && hashes.count(**saved) != 0) offer(known->path, false);
    }
    return {};
  }

  std::vector<NodeId> wanted() const {
    std::vector<NodeId> out = missing_;
    for (const auto& each : changed_) out.push_back(each.id);
    return out;
  }

  void collect(const HostPath& path, const HostEntry& entry, std::size_t depth,
               std::vector<std::pair<HostPath, std::uint64_t>>& files) {
    if (files.size() >= most_candidates || depth > deepest) {
      unsure_ = true;
      return;
    }
    if (entry.type == HostEntry::Type::file) files.emplace_back(path, entry.size);
    if (entry.type != HostEntry::Type::folder) return;
    auto entries = engine_.files().list(path);
    if (!entries) unsure_ = true;
    if (!entries) return;
    for (const auto& each : *entries) collect(path / each.name, each, depth + 1, files);
  }

  // A source of what a file should hold; none when its hash is not known.
  std::optional<Source> source_for(NodeId id) {
    auto saved = digest_of(id);
    if (!saved || !*saved) return std::nullopt;
    const auto found = sources_.find(**saved);
    if (found == sources_.end()) return std::nullopt;
    return found->second;
  }

  // ---- telling, and what is done about it ----

  void tell_missing(NodeId id, Problems& out) {
    const auto known = file(id);
    if (!known) return;
    const auto source = source_for(id);
    const std::string sentence = "Its contents are not on the host.";
    if (!source && (vanished_ || unsure_)) {
      out.emplace_back(Kind::missing, known->path.text(), sentence,
                       std::string(unsure_ ? look_first : mount_it));
    } else if (!source) {
      out.emplace_back(Kind::missing, known->path.text(), sentence,
                       "it is marked as lost, with its name and nothing in it; put its contents "
                       "back from a copy",
                       [this, id] { return mark_lost(id); });
    } else {
      out.emplace_back(Kind::missing, known->path.text(), sentence,
                       fmt::format("the same contents are {} from \"{}\"",
                                   source->stray ? "brought back" : "copied", source->path.text()),
                       [this, id, source = *source] { return bring_back(id, source); });
    }
  }

  void tell_changed(const Changed& each, Problems& out) {
    const auto known = file(each.id);
    if (!known) return;
    const bool lost = known->node.content == ContentId{};
    std::string sentence =
        lost ? "Its contents were lost, and now the host has some."
             : fmt::format(
                   "Its contents are not what was saved ({} bytes are there, {} were "
                   "saved). Somebody changed it on the host, or the disk is failing.",
                   each.size, known->node.size);
    const auto source = lost ? std::nullopt : source_for(each.id);
    if (source) {
      out.emplace_back(Kind::changed, known->path.text(), std::move(sentence),
                       fmt::format("what is there goes to rescued/, and what was saved is brought "
                                   "back from \"{}\"",
                                   source->path.text()),
                       [this, id = each.id, path = known->path, source = *source] {
                         auto moved = move_to_rescued(engine_, options_.caller, id, path);
                         return moved ? bring_back(id, source) : moved;
                       });
    } else if (unsure_) {
      out.emplace_back(Kind::changed, known->path.text(), std::move(sentence),
                       std::string(look_first));
    } else {
      out.emplace_back(Kind::changed, known->path.text(), std::move(sentence),
                       "what is there now becomes its contents", [this, id = each.id] {
                         const auto taken = take_contents(engine_, options_.caller, id);
                         return taken ? Status() : Status(taken.error());
                       });
    }
  }

  void tell_stray(const Stray& each, Problems& out) {
    const auto can = engine_.read([&](const State& state) {
      return can_take_in(state, each.folder, each.there.path.name());
    });
    const std::string what = each.there.entry.type == HostEntry::Type::folder ? "folder" : "file";
    std::string sentence = fmt::format(
        "This {} is on the host, but the catalogue does not know it, so stations can't see it.{}{}",
        what, can || can.error().code == Code::not_found ? "" : " ",
        can || can.error().code == Code::not_found ? "" : can.error().message);
    if (unsure_) {
      // It may be what is missing elsewhere, in a folder that could not be read, too.
      out.emplace_back(Kind::stray, each.there.path.text(), std::move(sentence),
                       std::string(look_first));
    } else if (can) {
      out.emplace_back(Kind::stray, each.there.path.text(), std::move(sentence),
                       "it becomes part of the tree", [this, each] { return adopt(each); });
    } else {
      out.emplace_back(Kind::stray, each.there.path.text(), std::move(sentence),
                       "it goes to rescued/ in the volume", [this, path = each.there.path] {
                         return move_to_rescued(engine_, options_.caller, no_node, path);
                       });
    }
  }

  Status adopt(const Stray& each) {
    auto there = engine_.files().look(each.there.path);
    if (!there) return there.error();
    if (!*there) return {};  // it was what something missing needed
    return take_in(engine_, options_.caller, each.folder, each.there);
  }

  Status bring_back(NodeId id, const Source& source) {
    const auto known = file(id);
    if (!known) return {};
    auto there = engine_.files().open(source.path);
    if (!there) return there.error();
    const auto is_right = [&](Transaction& change) {
      return change.state().tree.has(id) && Engine::host_path(change.state(), id) == known->path &&
             change.state().tree.get(id).content == known->node.content;
    };
    const std::string words = "contents brought back from " + source.path.text();
    if (source.stray) {
      if (auto synced = (*there)->sync(); !synced) return synced;
      if (auto made = make_folders(engine_.files(), known->path.folder()); !made) return made;
      auto done = change_now(engine_, [&](Transaction& change) -> Status {
        if (!is_right(change)) return {};
        change.deed(MovePath{source.path, known->path});
        change.journal(options_.caller, "repaired", known->path.text(), words);
        return {};
      });
      return in_place(engine_, done);
    }
    const ContentId content = engine_.new_content();
    if (auto copied = copy(**there, content); !copied) return copied;
    auto digest = digest_of(id);
    if (!digest) return digest.error();
    return change_now(engine_, [&](Transaction& change) -> Status {
      if (!is_right(change) || !*digest) return {};
      Node node = change.state().tree.get(id);
      node.content = content;
      change.put(node);
      change.drop(Digest{known->node.content, {}});
      change.put(Digest{content, **digest});
      change.deed(PlaceFile{known->path, content, nullptr, {}, node.modified});
      change.journal(options_.caller, "repaired", known->path.text(), words);
      return {};
    });
  }

  // Durably to where large contents wait to be placed.
  Status copy(HostFile& from, ContentId content) {
    const HostPath path = incoming_path(content);
    auto to = engine_.files().create(path);
    if (!to) return to.error();
    std::string buffer(piece, '\0');
    for (std::uint64_t at = 0;;) {
      auto got = from.read_at(at, buffer);
      if (!got) return got.error();
      if (*got == 0) break;
      auto written = (*to)->write_at(at, std::string_view(buffer).substr(0, *got));
      if (!written) return written;
      at += *got;
    }
    if (auto synced = (*to)->sync(); !synced) return synced;
    return engine_.files().sync_folder(path.folder());
  }

  // The node stays, so that its owner sees what was there, with no content and an empty file on the
  // host; no bytes are counted that are not there.
  Status mark_lost(NodeId id) {
    const auto known = file(id);
    if (!known) return {};
    auto digest = digest_of(id);
    if (!digest) return digest.error();
    const auto empty = std::make_shared<const std::string>();
    return journalled(
        id,
        fmt::format("marked as lost: {} bytes, SHA-256 {}", known->node.size,
                    *digest ? hex(**digest) : "not known"),
        [&](Transaction& change, Node now) -> Status {
          if (now.content != known->node.content ||
              Engine::host_path(change.state(), id) != known->path) {
            return {};
          }
          now.content = ContentId{};
          now.size = 0;
          change.put(now);
          change.drop(Digest{known->node.content, {}});
          change.deed(PlaceFile{known->path, engine_.new_content(), empty, {}, now.modified});
          track_soft_limit(change, now.owner);
          return {};
        });
  }

  Engine& engine_;
  const CheckOptions& options_;
  CheckReport& report_;
  std::vector<NodeId> missing_;
  std::vector<NodeId> missing_folders_;
  bool vanished_ = false;
  bool unsure_ = false;  // something that could be what is missing could not be read
  std::vector<Changed> changed_;
  std::vector<Stray> strays_;
  Problems others_;
  std::map<Hash, Source> sources_;
};

}  // namespace

Status check_host(Engine& engine, const CheckOptions& options, CheckReport& report,
                  const std::function<void(Problems)>& use) {
  Host host(engine, options, report);
  auto problems = host.run();
  if (!problems) return problems.error();
  use(std::move(*problems));
  return {};
}

}  // namespace stationer::fs
