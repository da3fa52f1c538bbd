// Saving a file: what comes in, and the one commit that makes it the file.
#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/files_part.h"
#include "fs/hand_ins.h"
#include "fs/history.h"
#include "fs/limits.h"
#include "fs/rights.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

constexpr std::uint64_t space_step = 1u << 20;  // the disk's room is asked for this often

// The bits that both give, to the same people.
Access common_access(const State& state, const Node& now, const Former& former) {
  unsigned bits = now.access.bits() & former.access.bits();
  if (now.klass != class_of(state, former))
    bits &= ~unsigned{Access::class_read | Access::class_write};
  return Access(bits);
}

// Makes a version of what a file has now, which is about to be replaced. Nothing is lost with an
// empty file.
std::optional<MovePath> set_aside(Transaction& change, const Caller& caller, const Node& node) {
  if (node.size == 0) {
    change.drop(Digest{node.content, {}});
    return std::nullopt;
  }
  Version version;
  version.content = node.content;
  version.node = node.id;
  version.name = node.name;
  version.kind = node.kind;
  version.load_address = node.load_address;
  version.entry_point = node.entry_point;
  version.size = node.size;
  version.saved = node.modified;
  version.replaced = change.now();
  version.replaced_by = caller.account;
  change.put(version);
  return MovePath{Engine::host_path(change.state(), node.id),
                  version_path(node.content, node.name)};
}

}  // namespace

// A finished upload.
struct Files::Draft {
  ContentId content{};
  std::shared_ptr<const std::string> bytes;  // null: it lies in incoming/
  std::uint64_t size = 0;
  Hash hash{};  // of a large one
};

struct Files::Saved {
  bool accepted = false;
  std::optional<std::uint32_t> receipt;
};

Upload::Upload(Files& files, Caller caller, Path path, SaveOptions options)
    : files_(&files),
      caller_(std::move(caller)),
      path_(std::move(path)),
      options_(std::move(options)) {}

Upload::Upload(Upload&&) noexcept = default;

Upload::~Upload() {
  if (!large_) return;
  large_.reset();
  static_cast<void>(files_->engine_.files().remove_file(incoming_path(content_)));
}

Status Upload::write(std::string_view bytes) {
  if (is_streamed()) digest(bytes);
  return store(bytes);
}

void Upload::digest(std::string_view bytes) {
  hasher_->add(bytes);
}

Status Upload::store(std::string_view bytes) {
  const std::uint64_t before = size_;
  const std::uint64_t after = size_ + bytes.size();
  auto allowed = files_->engine_.read([&](const State& state) {
    return files_->check_save(state, caller_, path_, options_, after, files_->engine_.now());
  });
  if (!allowed) return allowed;
  if (before / space_step != after / space_step || before == 0) {
    if (auto space = files_->engine_.check_space(bytes.size(), caller_.keeper); !space)
      return space;
  }
  size_ = after;
  if (!large_) {
    small_ += bytes;
    return small_.size() > small_content ? spill() : Status();
  }
  return large_->write_at(before, bytes);
}

Status Upload::spill() {
  content_ = files_->engine_.new_content();
  auto file = files_->engine_.files().create(incoming_path(content_));
  if (!file) return file.error();
  large_ = std::move(*file);
  hasher_.emplace().add(small_);
  auto written = large_->write_at(0, small_);
  small_ = std::string();
  return written;
}

Ticket Upload::finish() {
  std::shared_ptr<const std::string> bytes;
  if (large_) {
    // Durable before the log speaks of it.
    if (auto synced = large_->sync(); !synced) return synced.error();
    auto named = files_->engine_.files().sync_folder(incoming_path(content_).folder());
    if (!named) return named.error();
  } else {
    content_ = files_->engine_.new_content();
    bytes = std::make_shared<const std::string>(std::move(small_));
  }
  const Files::Draft draft{content_, std::move(bytes), size_, hasher_ ? hasher_->finish() : Hash{}};
  Files::Saved saved;
  auto ticket = files_->commit_save(caller_, path_, options_, draft, saved);
  receipt_ = saved.receipt;
  if (saved.accepted) large_.reset();  // the commit's now, to place or to throw away
  return ticket;
}

// What commit_save() will ask, as far as it can be told now.
Status Files::check_save(const State& state, const Caller& caller, const Path& file,
                         const SaveOptions& options, std::uint64_t size, Time now) const {
  if (file.is_top()) return Error{Code::is_a_folder, "The top folder is not a file."};
  if (auto fine = check_former(state, caller, options.former); !fine) return fine;
  auto parent = find_parent(state, caller, file);
  if (!parent) return parent.error();
  if (const auto hand_in = handing_in(state, caller, *parent); hand_in && !options.former) {
    return check_hand_in(state, caller, *hand_in, size, now);
  }
  const auto existing = state.tree.child(*parent, file.last());
  // Whoever may neither look into the folder nor save in it does not learn what is there.
  if (!may_write(state, caller, *parent) && (!existing || !may_read(state, caller, *parent))) {
    return lacks_writing(state, caller, *parent,
                         fmt::format("You may not save in {}.", file.parent().text()));
  }
  if (!existing) {
    if (options.former) return {};
    const Usage before = state.tree.usage(caller.account);
    return check_growth(state, caller.account, caller.account, before, before + Usage{size, 1}, now,
                        grace_);
  }
  const Node node = state.tree.get(*existing);
  if (node.folder) return Error{Code::is_a_folder, fmt::format("{} is a folder.", file.text())};
  if (!options.replace) return taken(file);
  // Whoever may not look into the folder may not replace what they put in either.
  if (!may_read(state, caller, *parent)) return taken(file);
  if (!may_write(state, caller, node)) {
    return lacks_writing(state, caller, *existing,
                         fmt::format("You may not change {}.", file.text()));
  }
  if (node.access.has(Access::keep)) return kept(file);
  if (options.former) {
    return node.owner == owner_of(state, *options.former) ? Status() : taken(file);
  }
  const Usage before = state.tree.usage(node.owner);
  Usage after = before;
  after.bytes = before.bytes - node.size + size;
  return check_growth(state, caller.account, node.owner, before, after, now, grace_);
}

Result<Upload> Files::save(const Caller& caller, const Path& file, const SaveOptions& options) {
  auto allowed = engine_.read([&](const State& state) {
    return check_save(state, caller, file, options, 0, engine_.now());
  });
  if (!allowed) return allowed.error();
  return Upload(*this, caller, file, options);
}

Ticket Files::commit_save(const Caller& caller, const Path& file, const SaveOptions& options,
                          const Draft& draft, Saved& saved) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto allowed = check_save(state, caller, file, options, draft.size, change.now());
    if (!allowed) return allowed;
    const NodeId parent = *find_parent(state, caller, file);
    const auto hand_in = options.former ? std::nullopt : handing_in(state, caller, parent);
    const auto existing = hand_in ? std::nullopt : state.tree.child(parent, file.last());
    Node node;
    std::optional<MovePath> aside;
    if (hand_in) {
      auto filed = file_hand_in(change, caller, *hand_in, file.last());
      if (!filed) return filed.error();
      node = std::move(*filed);
    } else if (existing) {
      node = state.tree.get(*existing);
      aside = set_aside(change, caller, node);
      if (options.former) node.access = common_access(state, node, *options.former);
    } else {
      if (auto fits = check_place(path_of(state, parent) / file.last()); !fits) return fits;
      const Node folder = state.tree.get(parent);
      node.id = change.free_node();
      node.parent = parent;
      node.name = file.last();
      node.alias =
          alias_for(state, parent, node.name, node.id, options.former ? options.former->alias : "");
      node.owner = caller.account;
      node.klass = folder.klass;
      node.access = folder.access.for_new_node();
      if (options.former) dress(state, node, *options.former);
      node.created = change.now();
    }
    node.kind = options.kind;
    node.load_address = options.load_address;
    node.entry_point = options.entry_point;
    node.size = draft.size;
    node.content = draft.content;
    node.modified = change.now();
    change.put(node);
    change.put(Digest{draft.content, draft.hash});
    if (!hand_in) note_work(change, node, options.work_of);
    track_soft_limit(change, node.owner);
    if (options.former) {
      change.journal(caller, "brought back", path_of(state, node.id).text(),
                     fmt::format("from {}{}", options.former->from,
                                 aside ? "; what was there is a version now" : ""));
    }
    change.deed(PlaceFile{Engine::host_path(state, node.id), draft.content, draft.bytes,
                          std::move(aside), node.modified});
    if (hand_in) saved.receipt = give_receipt(change, caller, *hand_in, file.last(), node);
    saved.accepted = true;
    return {};
  });
}

}  // namespace stationer::fs
