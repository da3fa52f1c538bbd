#include "fs/snapshot_return.h"

#include <algorithm>
#include <set>
#include <unordered_map>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/catalog.h"
#include "fs/engine.h"
#include "fs/hash_content.h"
#include "fs/node_name.h"
#include "fs/snapshot_restore.h"
#include "fs/text.h"
#include "fs/volume.h"

namespace stationer::fs {
namespace {

constexpr std::size_t piece = 256 * 1024;
constexpr std::size_t most_told = 50;
constexpr int most_beside = 99;

HostPath copy_path() {
  return HostPath() / "incoming" / "returned.db";
}

class Returning {
 public:
  Returning(Volume& volume, const Caller& caller, const ReturnWish& wish, std::string taken)
      : volume_(volume), caller_(caller), wish_(wish), taken_(std::move(taken)) {}

  ~Returning() {
    rows_.reset();
    static_cast<void>(volume_.host_files().remove_file(copy_path()));
  }
  Returning(const Returning&) = delete;
  Returning& operator=(const Returning&) = delete;

  Status operator()(const ArchiveEntry& entry, ArchiveReader& reader) {
    if (entry.path.text() == "catalog.db") return read_rows(reader);
    const auto found = wanted_.find(entry.path.text());
    if (found == wanted_.end()) return {};
    const NodeId id = found->second;
    if (!entry.folder) return bring(id, reader);
    if (auto made = ensure_folder(id); !made) fail(Files::path_of(state_, id), made.error());
    return {};
  }

  Result<Returned> finish() {
    if (!rows_) return Error{Code::damaged, "The snapshot holds no catalogue."};
    return std::move(out_);
  }

 private:
  // ---- what is wanted ----

  Status read_rows(ArchiveReader& reader) {
    {
      auto copy = volume_.host_files().create(copy_path());
      if (!copy) return copy.error();
      for (std::uint64_t at = 0;;) {
        auto got = reader.read(buffer_);
        if (!got) return got.error();
        if (*got == 0) break;
        auto written = (*copy)->write_at(at, std::string_view(buffer_).substr(0, *got));
        if (!written) return written;
        at += *got;
      }
    }
    auto rows = Catalog::open_copy(volume_.directory() + "/" + copy_path().text());
    if (!rows) return rows.error();
    rows_ = std::move(*rows);
    auto loaded = rows_->load([&](Record record) { state_.load(std::move(record)); });
    if (!loaded) return loaded;
    static_cast<void>(state_.finish_loading());
    return choose();
  }

  Status choose() {
    for (const Path& path : wish_.paths) {
      NodeId at = files_root;
      for (const auto& name : path.names()) {
        const auto child = state_.tree.child(at, name);
        if (!child) {
          return Error{Code::not_found,
                       fmt::format("There is no {} in the snapshot of {}.", path.text(), taken_)};
        }
        at = *child;
      }
      state_.tree.each_below(at, [&](NodeId id) { want(id); });
    }
    if (wish_.account.empty()) return {};
    const Account* account = state_.account(ascii_lower(wish_.account));
    if (account == nullptr) {
      return Error{Code::not_found, fmt::format("There is no account {} in the snapshot of {}.",
                                                clip(wish_.account, 40), taken_)};
    }
    state_.tree.each_below(files_root, [&](NodeId id) {
      if (id != files_root && state_.tree.get(id).owner == account->id) want(id);
    });
    return {};
  }

  void want(NodeId id) { wanted_.emplace(Engine::host_path(state_, id).text(), id); }

  // ---- bringing it back ----

  Status bring(NodeId id, ArchiveReader& reader) {
    const Node node = state_.tree.get(id);
    const Path path = Files::path_of(state_, id);
    if (auto folder = ensure_folder(node.parent); !folder) return fail(path, folder.error());
    const auto there = volume_.files().look(caller_, path);
    const bool is_file = there && !there->folder;
    if (is_file && there->size == node.size) {
      auto same = is_same(path, node);
      if (!same) return fail(path, same.error());
      if (*same) {
        ++out_.same;
        return {};
      }
    }
    SaveOptions options{true, node.kind, node.load_address, node.entry_point, former(node)};
    for (int attempt = 0; attempt <= most_beside; ++attempt) {
      const Path place = attempt == 0 ? path : path.parent() / beside_name(node.name, attempt);
      auto upload = volume_.files().save(caller_, place, options);
      options.replace = false;
      if (!upload) {
        const Code code = upload.error().code;
        if (code == Code::exists || code == Code::kept || code == Code::is_a_folder) continue;
        return fail(path, upload.error());
      }
      if (auto saved = fill(*upload, reader); !saved) return saved;
      ++out_.files;
      if (attempt > 0) {
        told(out_.beside, out_.beside_count, place.text());
      } else if (is_file && there->size > 0) {
        told(out_.replaced, out_.replaced_count, place.text());
      }
      return {};
    }
    return fail(path, {Code::exists, "There are too many like it beside it already."});
  }

  // Whether the file at `path`, which is as large, is what it was.
  Result<bool> is_same(const Path& path, const Node& node) {
    auto content = volume_.files().read(caller_, path);
    if (!content) return content.error();
    auto saved = rows_->digest(node.content);
    if (!saved) return saved.error();
    const auto hashed = hash_content(*content);
    if (!hashed) return hashed.error();
    return *saved && **saved == hashed->hash;
  }

  // An error here is of the snapshot or of the disk: it ends everything.
  Status fill(Upload& upload, ArchiveReader& reader) {
    for (;;) {
      auto got = reader.read(buffer_);
      if (!got) return got.error();
      if (*got == 0) return upload.finish().wait();
      auto written = upload.write(std::string_view(buffer_).substr(0, *got));
      if (!written) return written;
    }
  }

  std::string beside_name(const std::string& name, int attempt) const {
    const auto dot = name.rfind('.');
    const bool has_ending = dot != std::string::npos && dot > 0 && name.size() - dot <= 16;
    const std::string ending = has_ending ? name.substr(dot) : "";
    const std::string mark = attempt == 1 ? fmt::format(" from {}", taken_)
                                          : fmt::format(" from {} {}", taken_, attempt);
    const std::string stem = name.substr(0, name.size() - ending.size());
    return std::string(clip(stem, longest_name - mark.size() - ending.size())) + mark + ending;
  }

  // The folder as it was in the snapshot is there, or is made.
  Status ensure_folder(NodeId id) {
    if (id == files_root || ensured_.count(id) != 0) return {};
    const Path path = Files::path_of(state_, id);
    auto there = volume_.files().look(caller_, path);
    if (there && !there->folder) {
      return Error{Code::not_a_folder, fmt::format("{} is a file now.", path.text())};
    }
    if (!there) {
      if (there.error().code != Code::not_found) return there.error();
      const Node node = state_.tree.get(id);
      if (auto above = ensure_folder(node.parent); !above) return above;
      auto made = volume_.files().make_folder(caller_, path, former(node)).wait();
      if (!made && made.error().code != Code::exists) return made;
    }
    ensured_.insert(id);
    return {};
  }

  // By names, because an account that was removed by mistake is made again with another number.
  Former former(const Node& node) const {
    const Account* owner = state_.account(node.owner);
    const Class* klass = state_.class_of(node.klass);
    return {owner == nullptr ? "" : owner->name, klass == nullptr ? "" : klass->name, node.access,
            "the snapshot of " + taken_};
  }

  // What goes wrong with one file does not keep the others away.
  Status fail(const Path& path, const Error& why) {
    told(out_.failures, out_.failed, fmt::format("{}: {}", path.text(), why.message));
    return {};
  }

  static void told(std::vector<std::string>& list, std::uint64_t& count, std::string words) {
    if (++count <= most_told) list.push_back(std::move(words));
  }

  Volume& volume_;
  const Caller& caller_;
  const ReturnWish& wish_;
  const std::string taken_;  // the day
  std::unique_ptr<Catalog> rows_;
  State state_{random_number()};
  std::unordered_map<std::string, NodeId> wanted_;  // by where they lie in the archive
  std::set<NodeId> ensured_;
  Returned out_;
  std::string buffer_ = std::string(piece, '\0');
};

}  // namespace

Result<Returned> return_from_snapshot(Volume& volume, const Caller& caller, const std::string& file,
                                      const ReturnWish& wish, const SnapshotProgress& progress) {
  if (wish.paths.empty() && wish.account.empty()) {
    return Error{Code::bad_input, "Say what is to be brought back: paths, or an account."};
  }
  const auto account = volume.people().account(caller.account);
  if (!caller.keeper && (!account || account->role != Role::manager)) {
    return Error{Code::denied, "Only a manager may bring work back out of a snapshot."};
  }
  auto place = split_outside_path(file);
  if (!place) return place.error();
  auto folder = open_host_folder(place->folder);
  if (!folder) return folder.error();
  auto opened = (*folder)->open(place->name);
  if (!opened) return opened.error();
  auto info = describe_snapshot(**opened);
  if (!info) return info.error();
  const auto taken = fmt::gmtime(std::chrono::system_clock::to_time_t(info->taken));
  Returning returning(volume, caller, wish, fmt::format("{:%Y-%m-%d}", taken));
  const SnapshotUse use = [&](const ArchiveEntry& entry, ArchiveReader& reader) {
    return returning(entry, reader);
  };
  auto read = read_snapshot(**opened, use, progress);
  if (!read) return read.error();
  return returning.finish();
}

}  // namespace stationer::fs
