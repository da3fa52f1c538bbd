#include "fs/adoption.h"

#include <algorithm>
#include <set>
#include <thread>

#include <fmt/format.h>

#include "fs/adopt.h"
#include "fs/compare.h"
#include "fs/engine.h"

namespace stationer::fs {
namespace {

using Sort = Difference::Sort;

constexpr std::size_t most_left = 1000;            // remembered
constexpr std::size_t most_told = 10;              // of those, as troubles
constexpr std::size_t most_folder_pairs = 20'000;  // compared to find where folders went
constexpr std::size_t most_at_once = 100'000;      // differences; the rest at the next look
constexpr std::chrono::milliseconds moment{50};
constexpr std::size_t least_vanishing = 10;

struct Missing {
  NodeId node{};
  HostPath path;
};
struct Stray {
  NodeId folder{};
  Difference there;
};

// One comparison from its beginning to its end.
class Looking {
 public:
  Looking(Engine& engine, const AdoptOptions& options) : engine_(engine), options_(options) {}

  Adopted out;
  std::vector<HostPath> looked_at;
  std::vector<HostPath> not_there;  // folders
  std::map<HostPath, std::string> left;

  Status run(std::vector<NodeId> folders, bool deep) {
    compare(std::move(folders), deep);
    place_folders();
    find_moved_files();
    for (const Missing& each : changed_) {
      if (!stopped()) change(each);
    }
    // Of two that stations could not tell apart it is always the same one that gets in.
    std::sort(stray_files_.begin(), stray_files_.end(),
              [](const Stray& a, const Stray& b) { return a.there.path < b.there.path; });
    for (const Stray& each : stray_files_) {
      if (!stopped()) take_file(each);
    }
    if (deep) compare_former();
    return take_away_gone();
  }

 private:
  // ---- looking ----

  void compare(std::vector<NodeId> todo, bool deep) {
    while (!todo.empty() && !stopped()) {
      const NodeId folder = todo.back();
      todo.pop_back();
      const HostPath path = path_of(folder);
      if (path.is_volume()) continue;
      const auto there = engine_.files().look(path);
      if (there && folder != files_root && (!*there || (*there)->type != HostEntry::Type::folder)) {
        if (!*there) miss(folder, path, true);  // what else is there is told with the folder above
        continue;
      }
      auto look = look_at_folder(engine_, folder);
      if (!look) {
        leave(path, look.error().message);
        not_sure(path, look.error());
        continue;
      }
      ++out.folders;
      looked_at.push_back(path);
      if (look->under_way) out.again.push_back(path);
      for (auto& each : look->differences) sort_out(folder, std::move(each));
      if (deep) todo.insert(todo.end(), look->folders.begin(), look->folders.end());
    }
  }

  void miss(NodeId node, const HostPath& path, bool is_folder) {
    if (!known_missing_.insert(node).second) return;
    if (is_folder) not_there.push_back(path);
    (is_folder ? missing_folders_ : missing_files_).push_back({node, path});
  }

  void sort_out(NodeId folder, Difference each) {
    if (++differences_ > most_at_once) {
      out.more = true;
      return;
    }
    const bool is_folder = each.entry.type == HostEntry::Type::folder;
    switch (each.sort) {
      case Sort::missing: miss(each.node, each.path, is_folder_node(each.node)); break;
      case Sort::changed: changed_.push_back({each.node, each.path}); break;
      case Sort::stray:
        (is_folder ? stray_folders_ : stray_files_).push_back({folder, std::move(each)});
        break;
      case Sort::blocked:
        leave(each.path, fmt::format("The tree has a {} here, and on the host something else is in "
                                     "its place. Take it away, or see what the check would do.",
                                     is_folder_node(each.node) ? "folder" : "file"));
        break;
      case Sort::strange:
        leave(each.path,
              "It is a link or a device. Stations can't see it, and it is not followed.");
        break;
    }
  }

  bool stopped() { return stopped_ = stopped_ || options_.stopping(); }

  HostPath path_of(NodeId node) {
    return engine_.read([&](const State& state) {
      const bool there = state.tree.has(node) && state.tree.is_within(node, files_root);
      return there ? Engine::host_path(state, node) : HostPath();
    });
  }

  bool is_folder_node(NodeId node) {
    return engine_.read(
        [&](const State& state) { return state.tree.has(node) && state.tree.get(node).folder; });
  }

  // ---- telling ----

  void tell(Adopted::Sort sort, std::uint64_t& counter, const HostPath& path,
            std::string sentence) {
    ++counter;
    if (out.items.size() < Adopted::most_items) {
      out.items.push_back({sort, path.text(), std::move(sentence)});
    }
  }

  void leave(const HostPath& path, const std::string& why) {
    tell(Adopted::Sort::left, out.left, path, why);
    if (left.size() < most_left) left[path] = why;
  }

  // What could not be done: left alone, or waiting for another look.
  void not_done(const HostPath& path, const Error& why) {
    switch (why.code) {
      case Code::busy:
      case Code::not_found: out.again.push_back(path.folder()); break;
      default: leave(path, why.message); break;
    }
  }

  // Where something may have gone can't be seen for now, because the host failed. Then nothing is
  // taken for gone, and what is new waits, because it may be what went.
  void not_sure(const HostPath& folder, const Error& why) {
    if (why.code != Code::io && why.code != Code::no_space && why.code != Code::busy) return;
    unsure_ = true;
    out.again.push_back(folder);
  }

  void wait_with_what_is_gone() {
    for (const auto* all : {&missing_files_, &missing_folders_}) {
      for (const Missing& each : *all) out.again.push_back(each.path.folder());
    }
  }

  // ---- folders ----

  void place_folders() {
    std::map<HostPath, std::vector<HostEntry>> contents;
    std::size_t pairs = 0;
    while (!stray_folders_.empty() && !stopped()) {
      const Stray stray = std::move(stray_folders_.back());
      stray_folders_.pop_back();
      const auto from =
          std::find_if(missing_folders_.begin(), missing_folders_.end(), [&](const Missing& each) {
            return ++pairs <= most_folder_pairs &&
                   is_same_folder(each.node, stray.there.path, contents);
          });
      if (from != missing_folders_.end()) {
        const Missing missing = *from;
        const auto moved = take_move(engine_, options_.caller, missing.node, stray.folder,
                                     stray.there.path, std::nullopt);
        if (moved) {
          missing_folders_.erase(from);
          tell(Adopted::Sort::moved, out.moved, missing.path,
               fmt::format("It is \"{}\" now.", stray.there.path.text()));
          compare({missing.node}, true);
        } else {
          not_done(stray.there.path, moved.error());
          not_sure(stray.there.path.folder(), moved.error());
        }
        continue;
      }
      if (unsure_) {
        out.again.push_back(stray.there.path.folder());
        continue;
      }
      auto made = take_in_one(engine_, options_.caller, stray.folder, stray.there);
      if (!made) {
        not_done(stray.there.path, made.error());
        not_sure(stray.there.path.folder(), made.error());
        continue;
      }
      tell(Adopted::Sort::taken_in, out.taken_in, stray.there.path, "A folder.");
      compare({*made}, true);
    }
    // What was in folders that are gone is gone with them, until it is found elsewhere.
    const auto gone = std::exchange(missing_folders_, {});
    for (const Missing& top : gone) {
      engine_.read([&](const State& state) {
        if (!state.tree.has(top.node)) return 0;
        missing_folders_.push_back(top);
        state.tree.each_below(top.node, [&](NodeId id) {
          miss(id, Engine::host_path(state, id), state.tree.get(id).folder);
        });
        return 0;
      });
    }
  }

  bool is_same_folder(NodeId node, const HostPath& stray,
                      std::map<HostPath, std::vector<HostEntry>>& contents) {
    auto known = contents.find(stray);
    if (known == contents.end()) {
      auto list = engine_.files().list(stray);
      if (!list) not_sure(stray.folder(), list.error());
      known = contents.emplace(stray, list ? std::move(*list) : std::vector<HostEntry>()).first;
    }
    std::map<std::string_view, const HostEntry*> there;
    for (const auto& entry : known->second) there.emplace(entry.name, &entry);
    std::size_t all = 0;
    std::size_t found = 0;
    engine_.read([&](const State& state) {
      if (!state.tree.has(node)) return 0;
      state.tree.each_child(node, [&](NodeId id) {
        ++all;
        const Node child = state.tree.get(id);
        const auto at = there.find(child.name);
        if (at == there.end()) return;
        const HostEntry& entry = *at->second;
        const bool same = child.folder
                              ? entry.type == HostEntry::Type::folder
                              : entry.type == HostEntry::Type::file && entry.size == child.size &&
                                    is_time_of(entry.modified, child.modified);
        if (same) ++found;
      });
      return 0;
    });
    return found != 0 && 2 * found >= all;
  }

  // ---- files ----

  void find_moved_files() {
    std::multimap<std::uint64_t, Stray*> by_size;
    for (Stray& each : stray_files_) by_size.emplace(each.there.entry.size, &each);
    std::set<const Stray*> taken;
    std::map<HostPath, std::optional<Reading>> readings;
    std::erase_if(missing_files_, [&](const Missing& missing) {
      const auto known = engine_.read([&](const State& state) {
        return state.tree.has(missing.node) ? state.tree.get(missing.node) : Node();
      });
      if (known.content == ContentId{}) return false;
      const auto [first, last] = by_size.equal_range(known.size);
      if (first == last) return false;
      auto saved = engine_.catalog().digest(known.content);
      if (!saved) not_sure(missing.path.folder(), saved.error());
      if (!saved || !*saved) return false;
      for (auto each = first; each != last; ++each) {
        const Stray& stray = *each->second;
        // Nothing is all alike: an empty file has to have its name or its time left.
        if (known.size == 0 && known.name != stray.there.path.name() &&
            !is_time_of(stray.there.entry.modified, known.modified)) {
          continue;
        }
        if (taken.count(&stray) != 0) continue;
        auto read = readings.find(stray.there.path);
        if (read == readings.end()) {
          auto reading = read_durably(engine_.files(), stray.there.path);
          if (!reading) not_sure(stray.there.path.folder(), reading.error());
          read =
              readings.emplace(stray.there.path, reading ? std::optional(*reading) : std::nullopt)
                  .first;
        }
        if (!read->second || read->second->hash != **saved) continue;
        const auto moved = take_move(engine_, options_.caller, missing.node, stray.folder,
                                     stray.there.path, read->second);
        if (!moved) {
          not_sure(stray.there.path.folder(), moved.error());
          continue;
        }
        tell(Adopted::Sort::moved, out.moved, missing.path,
             fmt::format("It is \"{}\" now.", stray.there.path.text()));
        taken.insert(&stray);
        return true;
      }
      return false;
    });
    std::vector<Stray> rest;
    for (Stray& each : stray_files_) {
      if (taken.count(&each) == 0) rest.push_back(std::move(each));
    }
    stray_files_ = std::move(rest);
  }

  void change(const Missing& each) {
    const auto changed = take_contents(engine_, options_.caller, each.node);
    if (!changed) return not_done(each.path, changed.error());
    if (*changed) {
      tell(Adopted::Sort::changed, out.changed, each.path,
           "What is there now became its contents.");
    }
  }

  // Whoever saves a file that the owner has just changed sets aside what the owner made of it.
  void compare_former() {
    const HostPath folder = HostPath() / "versions";
    const auto entries = engine_.files().list(folder);
    if (!entries) return leave(folder, entries.error().message);
    std::map<std::string_view, const HostEntry*> there;
    for (const auto& entry : *entries) there.emplace(entry.name, &entry);
    std::vector<Version> others;
    engine_.read([&](const State& state) {
      for (const auto& [key, row] : state.versions) {
        const auto at = there.find(version_path(row.content, row.name).name());
        if (at == there.end() || at->second->type != HostEntry::Type::file) continue;
        if (at->second->size != row.size || !is_time_of(at->second->modified, row.saved)) {
          others.push_back(row);
        }
      }
      return 0;
    });
    for (const Version& each : others) {
      if (stopped()) return;
      const HostPath path = version_path(each.content, each.name);
      const auto changed = take_former(engine_, options_.caller, each);
      if (!changed) {
        not_done(path, changed.error());
      } else if (*changed) {
        tell(Adopted::Sort::changed, out.changed, path,
             "It was changed on the host before it was replaced; the history says so.");
      }
    }
  }

  void take_file(const Stray& each) {
    if (unsure_) return out.again.push_back(each.there.path.folder());
    const auto made = take_in_one(engine_, options_.caller, each.folder, each.there);
    if (!made) return not_done(each.there.path, made.error());
    tell(Adopted::Sort::taken_in, out.taken_in, each.there.path,
         fmt::format("{} bytes.", each.there.entry.size));
  }

  // ---- what is gone ----

  Status take_away_gone() {
    // Among what was not looked at may be where it went.
    if (out.more || stopped()) return {};
    if (missing_files_.empty() && missing_folders_.empty()) return {};
    if (unsure_) {
      wait_with_what_is_gone();
      return {};
    }
    for (auto slept = options_.patience.zero(); slept < options_.patience; slept += moment) {
      std::this_thread::sleep_for(moment);
      if (stopped()) return {};
    }
    // What we still had to put there is there now.
    if (auto settled = engine_.drain(); !settled) return settled;
    const auto is_back = [&](const Missing& each) {
      if (path_of(each.node) != each.path) return true;
      const auto there = engine_.files().look(each.path);
      if (!there) fail_to_see(each.path, there.error());
      return there && there->has_value();
    };
    std::erase_if(missing_files_, is_back);
    std::erase_if(missing_folders_, is_back);
    if (missing_files_.empty() && missing_folders_.empty()) return {};
    const auto top = engine_.files().list(HostPath() / "files");
    const bool none = top ? top->empty() : top.error().code == Code::not_found;
    if (!top && !none) fail_to_see(HostPath() / "files", top.error());
    if (unsure_) {
      wait_with_what_is_gone();
      return {};
    }
    if (!options_.accept_loss && vanished(none)) {
      out.vanished = missing_files_.size() + missing_folders_.size();
      return {};
    }
    for (const Missing& each : missing_files_) {
      if (!unsure_) take_away_one(each);
    }
    // Folders after what is in them.
    std::sort(missing_folders_.begin(), missing_folders_.end(),
              [](const Missing& a, const Missing& b) { return a.path > b.path; });
    for (const Missing& each : missing_folders_) {
      if (!unsure_) take_away_one(each);
    }
    if (unsure_) wait_with_what_is_gone();
    return {};
  }

  void fail_to_see(const HostPath& path, const Error& why) {
    leave(path, why.message);
    unsure_ = true;
  }

  void take_away_one(const Missing& each) {
    auto sentence = take_away(engine_, options_.caller, each.node);
    if (!sentence) {
      not_done(each.path, sentence.error());
      not_sure(each.path.folder(), sentence.error());
      return;
    }
    tell(Adopted::Sort::gone, out.gone, each.path, std::move(*sentence));
  }

  // Whether so much is gone that it may not be the files that went but their disk:
  //   - nothing is left at the top;
  //   - more than ten files, and more than a quarter of all;
  //   - more than ten files of a folder that is there and empty, as a mount point is.
  bool vanished(bool nothing_left) {
    if (nothing_left) return true;
    if (missing_files_.size() <= least_vanishing) return false;
    const std::size_t all = engine_.read([](const State& state) {
      std::size_t count = 0;
      state.tree.each_below(files_root,
                            [&](NodeId id) { count += state.tree.get(id).folder ? 0 : 1; });
      return count;
    });
    if (4 * missing_files_.size() > all) return true;
    std::map<HostPath, std::size_t> below;  // the nearest folder above each that is there
    for (const Missing& each : missing_files_) {
      HostPath folder = each.path.folder();
      while (is_missing_folder(folder)) folder = folder.folder();
      ++below[folder];
    }
    return std::any_of(below.begin(), below.end(), [&](const auto& each) {
      if (each.second <= least_vanishing) return false;
      const auto left_there = engine_.files().list(each.first);
      return left_there && left_there->empty();
    });
  }

  bool is_missing_folder(const HostPath& path) const {
    return std::any_of(missing_folders_.begin(), missing_folders_.end(),
                       [&](const Missing& each) { return each.path == path; });
  }

  Engine& engine_;
  const AdoptOptions& options_;
  bool stopped_ = false;
  bool unsure_ = false;  // see not_sure()
  std::size_t differences_ = 0;
  std::set<NodeId> known_missing_;
  std::vector<Missing> missing_files_;
  std::vector<Missing> missing_folders_;
  std::vector<Missing> changed_;  // of which the host has something else
  std::vector<Stray> stray_files_;
  std::vector<Stray> stray_folders_;
};

// The folder of the tree at `path`, or the nearest one above it that is one.
NodeId folder_at(const State& state, const HostPath& path) {
  if (path == HostPath() / "files" || path.is_volume()) return files_root;
  const NodeId above = folder_at(state, path.folder());
  const auto child = state.tree.child(above, path.name());
  if (!child) return above;
  const Node node = state.tree.get(*child);
  return node.folder && node.name == path.name() ? *child : above;
}

}  // namespace

const char* adopted_name(Adopted::Sort sort) {
  switch (sort) {
    case Adopted::Sort::taken_in: return "taken in";
    case Adopted::Sort::changed: return "changed";
    case Adopted::Sort::moved: return "moved";
    case Adopted::Sort::gone: return "gone";
    case Adopted::Sort::left: return "left alone";
  }
  return "unknown";
}

Result<Adopted> Adoption::look_at_all(const AdoptOptions& options) {
  return look({files_root}, true, options);
}

Result<Adopted> Adoption::look_at(const std::vector<HostPath>& folders,
                                  const AdoptOptions& options) {
  std::set<NodeId> nodes;
  engine_.read([&](const State& state) {
    for (const auto& path : folders) nodes.insert(folder_at(state, path));
    return 0;
  });
  return look({nodes.begin(), nodes.end()}, false, options);
}

Result<Adopted> Adoption::look(const std::vector<NodeId>& folders, bool deep,
                               const AdoptOptions& options) {
  const std::lock_guard one_at_a_time(looking_);
  Looking looking(engine_, options);
  const Status status = looking.run(folders, deep);
  const std::lock_guard lock(mutex_);
  const std::set<HostPath> again(looking.looked_at.begin(), looking.looked_at.end());
  std::erase_if(left_, [&](const auto& each) {
    return deep || again.count(each.first.folder()) != 0 || again.count(each.first) != 0 ||
           std::any_of(looking.not_there.begin(), looking.not_there.end(),
                       [&](const HostPath& folder) { return each.first.is_within(folder); });
  });
  for (auto& each : looking.left) {
    if (left_.size() < most_left) left_.insert(std::move(each));
  }
  if (deep || looking.out.vanished != 0) {
    vanished_ = looking.out.vanished;
  } else if (vanished_ != 0) {
    looking.out.more = true;  // what was gone may be back
  }
  if (!status) return status.error();
  return std::move(looking.out);
}

std::vector<std::string> Adoption::troubles() const {
  const std::lock_guard lock(mutex_);
  std::vector<std::string> out;
  if (vanished_ != 0) {
    out.push_back(fmt::format(
        "So much under files/ is gone at once ({} files and folders) that nothing was taken away "
        "in "
        "the tree: see that the disk is mounted, and run: stationer adopt. If it is meant to be "
        "gone, run: stationer adopt --accept-loss",
        vanished_));
  }
  std::size_t told = 0;
  for (const auto& [path, why] : left_) {
    if (++told > most_told) break;
    out.push_back(fmt::format("\"{}\" on the host is left alone. {}", path.text(), why));
  }
  if (left_.size() > most_told) {
    out.push_back(fmt::format("{} more on the host are left alone; stationer adopt tells of all.",
                              left_.size() - most_told));
  }
  return out;
}

}  // namespace stationer::fs
