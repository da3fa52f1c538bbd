#include "fs/files.h"

#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/hand_ins.h"
#include "fs/history.h"
#include "fs/limits.h"
#include "fs/node_name.h"
#include "fs/rights.h"
#include "fs/text.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

constexpr std::uint64_t space_step = 1u << 20;  // the disk's room is asked for this often

Error denied(std::string message) {
  return {Code::denied, std::move(message)};
}

Error kept(const Path& path) {
  return {Code::kept,
          fmt::format("{} is kept: it can't be changed or removed until its keep bit is "
                      "cleared.",
                      path.text())};
}

Error taken(const Path& path) {
  return {Code::exists, fmt::format("There is already something called {}.", path.text())};
}

std::string account_name_of(const State& state, AccountId id) {
  const Account* account = state.account(id);
  return account == nullptr ? "" : account->name;
}

NodeView view_of(const State& state, const Caller& caller, NodeId id) {
  Node node = state.tree.get(id);
  const Standing stand = standing(state, caller, node);
  NodeView view;
  view.id = id;
  view.alias = node.alias.empty() ? ascii_upper(node.name) : std::move(node.alias);
  view.name = std::move(node.name);
  view.folder = node.folder;
  view.kind = node.kind;
  view.owner = account_name_of(state, node.owner);
  const Class* klass = state.class_of(node.klass);
  view.klass = klass == nullptr ? "" : klass->name;
  view.access = node.access;
  view.load_address = node.load_address;
  view.entry_point = node.entry_point;
  view.size = node.size;
  view.created = node.created;
  view.modified = node.modified;
  view.may_read = may_read(node.access, stand);
  view.may_write = may_write(node.access, stand);
  return view;
}

// Whether a caller may take a node out of its folder: both to rename and to remove it.
Status check_taking_out(const State& state, const Caller& caller, const Node& node,
                        const Path& path) {
  const Node folder = state.tree.get(node.parent);
  if (node.access.has(Access::keep)) return kept(path);
  if (!may_write(state, caller, folder)) {
    return denied(fmt::format("You may not change what is in {}.", path.parent().text()));
  }
  if (!is_as_owner(state, caller, node) && !is_as_owner(state, caller, folder)) {
    return denied(
        fmt::format("{} belongs to {}.", path.text(),
                    node.owner == no_account ? "the room" : account_name_of(state, node.owner)));
  }
  return {};
}

// Whether everything below a node may go with it.
Status check_all_below(const State& state, const Caller& caller, NodeId top, const Path& path) {
  Status status;
  state.tree.each_below(top, [&](NodeId id) {
    if (!status) return;
    const Node node = state.tree.get(id);
    if (node.access.has(Access::keep)) {
      status = kept(Files::path_of(state, id));
    } else if (id != top && !is_as_owner(state, caller, node)) {
      status =
          denied(fmt::format("{} holds {}, which is not yours to remove.", path.text(), node.name));
    }
  });
  return status;
}

// Hand-in folders take files, and copies only: nothing that keeps its owner gets in, and nobody
// learns what names are taken there.
Status check_not_handed_in(const State& state, const Caller& caller, NodeId folder) {
  if (!handing_in(state, caller, folder)) return {};
  if (is_as_owner(state, caller, state.tree.get(folder))) return {};
  return denied("Only files can be handed in, and by copying them: one by one.");
}

std::vector<AccountId> owners_below(const State& state, NodeId top) {
  std::vector<AccountId> owners;
  state.tree.each_below(top, [&](NodeId id) {
    const AccountId owner = state.tree.get(id).owner;
    if (std::find(owners.begin(), owners.end(), owner) == owners.end()) owners.push_back(owner);
  });
  return owners;
}

// Whether it may be brought back as it was.
Status check_former(const State& state, const Caller& caller, const std::optional<Former>& former) {
  if (!former || is_manager(state, caller)) return {};
  return denied("Only a manager may bring things back as they were.");
}

AccountId owner_of(const State& state, const Former& former) {
  const Account* account = state.account(former.owner);
  return account == nullptr ? no_account : account->id;
}

ClassId class_of(const State& state, const Former& former) {
  const Class* klass = state.class_of(former.klass);
  return klass == nullptr ? no_class : klass->id;
}

void dress(const State& state, Node& node, const Former& former) {
  node.owner = owner_of(state, former);
  node.klass = class_of(state, former);
  node.access = former.access;
}

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

Path Files::path_of(const State& state, NodeId node) {
  if (node == files_root) return {};
  return path_of(state, state.tree.parent(node)) / std::string(state.tree.name(node));
}

Result<NodeView> Files::look(const Caller& caller, const Path& path) const {
  return engine_.read([&](const State& state) -> Result<NodeView> {
    auto id = find(state, caller, path);
    if (!id) return id.error();
    return view_of(state, caller, *id);
  });
}

Result<std::vector<NodeView>> Files::list(const Caller& caller, const Path& folder) const {
  using Views = std::vector<NodeView>;
  auto views = engine_.read([&](const State& state) -> Result<Views> {
    auto id = find(state, caller, folder);
    if (!id) return id.error();
    const Node node = state.tree.get(*id);
    if (!node.folder) {
      return Error{Code::not_a_folder, fmt::format("{} is a file, not a folder.", folder.text())};
    }
    if (!may_read(state, caller, node)) {
      return denied(fmt::format("You may not look into {}.", folder.text()));
    }
    Views out;
    state.tree.each_child(*id, [&](NodeId child) {
      NodeView view = view_of(state, caller, child);
      if (view.may_read || view.may_write) out.push_back(std::move(view));
    });
    return out;
  });
  if (!views) return views;
  std::vector<std::string> folded;
  folded.reserve(views->size());
  for (const auto& view : *views) folded.push_back(fold(view.name));
  // Sorted by what is light to move.
  std::vector<std::pair<std::string_view, NodeView*>> by_name;
  by_name.reserve(views->size());
  for (auto& view : *views) by_name.emplace_back(folded[by_name.size()], &view);
  std::sort(by_name.begin(), by_name.end(),
            [](const auto& a, const auto& b) { return a.first < b.first; });
  Views sorted;
  sorted.reserve(views->size());
  for (const auto& [name, view] : by_name) sorted.push_back(std::move(*view));
  return sorted;
}

Result<Content> Files::read(const Caller& caller, const Path& file) const {
  return engine_.open_content([&](const State& state) -> Result<NodeId> {
    auto found = find(state, caller, file);
    if (!found) return found;
    if (state.tree.is_folder(*found)) {
      return Error{Code::is_a_folder, fmt::format("{} is a folder, not a file.", file.text())};
    }
    if (!may_read(state, caller, *found))
      return denied(fmt::format("You may not read {}.", file.text()));
    return found;
  });
}

// ---- saving ----

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
  const std::uint64_t before = size_;
  const std::uint64_t after = size_ + bytes.size();
  auto allowed = files_->engine_.read([&](const State& state) {
    return files_->check_save(state, caller_, path_, options_, after, files_->engine_.now());
  });
  if (!allowed) return allowed;
  if (before / space_step != after / space_step || before == 0) {
    if (auto space = files_->engine_.check_space(bytes.size()); !space) return space;
  }
  size_ = after;
  if (!large_) {
    small_ += bytes;
    return small_.size() > small_content ? spill() : Status();
  }
  hasher_->add(bytes);
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
    return denied(fmt::format("You may not save in {}.", file.parent().text()));
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
    return denied(fmt::format("You may not change {}.", file.text()));
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
      node.alias = alias_for(state, parent, node.name, node.id);
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

// ---- changing the tree ----

Ticket Files::make_folder(const Caller& caller, const Path& path,
                          const std::optional<Former>& former) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (path.is_top()) return taken(path);
    if (auto fine = check_former(state, caller, former); !fine) return fine;
    auto parent = find_parent(state, caller, path);
    if (!parent) return parent.error();
    const Node folder = state.tree.get(*parent);
    if (!may_write(state, caller, folder)) {
      return denied(fmt::format("You may not make a folder in {}.", path.parent().text()));
    }
    if (auto fine = check_not_handed_in(state, caller, *parent); !fine) return fine;
    if (state.tree.child(*parent, path.last())) return taken(path);
    if (auto fits = check_place(path_of(state, *parent) / path.last()); !fits) return fits;
    if (!former) {
      const Usage before = state.tree.usage(caller.account);
      auto allowed = check_growth(state, caller.account, caller.account, before,
                                  before + Usage{0, 1}, change.now(), grace_);
      if (!allowed) return allowed;
    }
    Node node;
    node.id = change.free_node();
    node.parent = *parent;
    node.name = path.last();
    node.alias = alias_for(state, *parent, node.name, node.id);
    node.folder = true;
    node.owner = caller.account;
    node.klass = folder.klass;
    node.access = folder.access.for_new_node();
    node.created = node.modified = change.now();
    if (former) {
      dress(state, node, *former);
      change.journal(caller, "brought back", path.text(), "from " + former->from);
    }
    change.put(node);
    track_soft_limit(change, node.owner);
    change.deed(MakeFolder{Engine::host_path(state, node.id)});
    return {};
  });
}

Ticket Files::move(const Caller& caller, const Path& from, const Path& to) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (from.is_top() || to.is_top()) return denied("The top folder stays where it is.");
    auto id = find(state, caller, from);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (auto allowed = check_taking_out(state, caller, node, from); !allowed) return allowed;
    auto parent = find_parent(state, caller, to);
    if (!parent) return parent.error();
    if (!may_write(state, caller, state.tree.get(*parent))) {
      return denied(fmt::format("You may not save in {}.", to.parent().text()));
    }
    if (auto fine = check_not_handed_in(state, caller, *parent); !fine) return fine;
    if (state.tree.is_within(*parent, *id)) {
      return Error{Code::bad_input, fmt::format("{} can't be moved into itself.", from.text())};
    }
    const auto existing = state.tree.child(*parent, to.last());
    if (existing && *existing != *id) return taken(to);
    // The deepest and longest path below must fit in the new place too.
    const Path target = path_of(state, *parent) / to.last();
    const std::size_t old_names = path_of(state, *id).names().size();
    Status fits = check_place(target);
    state.tree.each_below(*id, [&](NodeId below) {
      Path moved = target;
      const Path path = path_of(state, below);
      for (std::size_t i = old_names; i < path.names().size(); ++i) moved = moved / path.names()[i];
      if (fits) fits = check_place(moved);
    });
    if (!fits) return fits;
    const HostPath before = Engine::host_path(state, *id);
    if (node.name == to.last() && node.parent == *parent) return {};
    node.name = to.last();
    node.parent = *parent;
    node.alias = alias_for(state, *parent, node.name, node.id);
    change.put(node);
    change.deed(MovePath{before, Engine::host_path(state, *id)});
    return {};
  });
}

Ticket Files::remove(const Caller& caller, const Path& path) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (path.is_top()) return denied("The top folder can't be removed.");
    auto id = find(state, caller, path);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (auto allowed = check_taking_out(state, caller, node, path); !allowed) return allowed;
    if (auto allowed = check_all_below(state, caller, *id, path); !allowed) return allowed;
    const HostPath before = Engine::host_path(state, *id);
    const Path was = path_of(state, *id);
    const auto owners = owners_below(state, *id);
    change.put(BinEntry{*id, node.owner, caller.account, change.now(), was.text()});
    node.name = bin_name(*id, node.name);
    node.alias.clear();
    node.parent = bin_root;
    change.put(node);
    for (const AccountId owner : owners) track_soft_limit(change, owner);
    change.deed(MovePath{before, Engine::host_path(state, *id)});
    change.journal(caller, node.folder ? "folder removed" : "file removed", was.text());
    return {};
  });
}

Ticket Files::set_access(const Caller& caller, const Path& path, std::string_view changes) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto id = find(state, caller, path);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (!is_as_owner(state, caller, node)) {
      return denied(fmt::format("Only its owner may change the access of {}.", path.text()));
    }
    auto access = node.access.changed(changes);
    if (!access) return access.error();
    if (*access == node.access) return {};
    change.journal(caller, "access changed", path_of(state, *id).text(),
                   fmt::format("{} to {}", node.access.text(), access->text()));
    node.access = *access;
    change.put(node);
    return {};
  });
}

Ticket Files::set_details(const Caller& caller, const Path& file, Kind kind,
                          std::optional<std::uint32_t> load_address,
                          std::optional<std::uint32_t> entry_point) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto id = find(state, caller, file);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (node.folder) return Error{Code::is_a_folder, fmt::format("{} is a folder.", file.text())};
    if (!may_write(state, caller, node))
      return denied(fmt::format("You may not change {}.", file.text()));
    if (node.access.has(Access::keep)) return kept(file);
    node.kind = kind;
    node.load_address = load_address;
    node.entry_point = entry_point;
    change.put(node);
    return {};
  });
}

Ticket Files::set_owner(const Caller& caller, const Path& path, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller))
      return denied("Only a manager may give files to somebody else.");
    auto id = find(state, caller, path);
    if (!id) return id.error();
    AccountId owner = no_account;
    if (!name.empty()) {
      const Account* account = state.account(ascii_lower(name));
      if (account == nullptr) {
        return Error{Code::not_found, fmt::format("There is no account {}.", clip(name, 40))};
      }
      owner = account->id;
    }
    Node node = state.tree.get(*id);
    const AccountId before = node.owner;
    change.journal(
        caller, "owner changed", path_of(state, *id).text(),
        fmt::format("{} to {}", before == no_account ? "nobody" : account_name_of(state, before),
                    owner == no_account ? "nobody" : ascii_lower(name)));
    node.owner = owner;
    change.put(node);
    track_soft_limit(change, before);
    track_soft_limit(change, owner);
    return {};
  });
}

Ticket Files::set_class(const Caller& caller, const Path& path, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return denied("Only a manager may give files to a class.");
    auto id = find(state, caller, path);
    if (!id) return id.error();
    ClassId klass = no_class;
    if (!name.empty()) {
      const Class* found = state.class_of(ascii_lower(name));
      if (found == nullptr) {
        return Error{Code::not_found, fmt::format("There is no class {}.", clip(name, 40))};
      }
      klass = found->id;
    }
    Node node = state.tree.get(*id);
    change.journal(caller, "class changed", path_of(state, *id).text(),
                   klass == no_class ? "no class" : ascii_lower(name));
    node.klass = klass;
    change.put(node);
    return {};
  });
}

// ---- the bin ----

std::vector<BinView> Files::bin(const Caller& caller) const {
  auto views = engine_.read([&](const State& state) {
    std::vector<BinView> out;
    const bool manager = is_manager(state, caller);
    for (const auto& [id, entry] : state.bin) {
      if (!state.tree.has(id)) continue;  // a damaged catalogue; the check tells
      const bool own = caller.account != no_account && entry.owner == caller.account;
      if (!manager && !own && !state.leads(caller.account, entry.owner)) continue;
      BinView view;
      view.id = id;
      view.path = entry.path;
      view.folder = state.tree.get(id).folder;
      state.tree.each_below(id, [&](NodeId below) { view.size += state.tree.get(below).size; });
      view.owner = account_name_of(state, entry.owner);
      view.removed = entry.removed;
      out.push_back(std::move(view));
    }
    return out;
  });
  std::stable_sort(views.begin(), views.end(),
                   [](const BinView& a, const BinView& b) { return a.removed > b.removed; });
  return views;
}

Ticket Files::restore(const Caller& caller, NodeId removal) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    const auto entry = state.bin.find(removal);
    if (entry == state.bin.end() || !state.tree.has(removal))
      return Error{Code::not_found, "That is not in the bin any more."};
    Node node = state.tree.get(removal);
    if (!is_as_owner(state, caller, node))
      return denied("Only its owner may take it from the bin.");
    auto path = Path::parse(entry->second.path);
    if (!path) return path.error();
    auto parent = find_parent(state, caller, *path);
    if (!parent) return parent.error();
    if (!may_write(state, caller, state.tree.get(*parent))) {
      return denied(fmt::format("You may not save in {}.", path->parent().text()));
    }
    if (state.tree.child(*parent, path->last())) return taken(*path);
    // What comes back counts again, for everybody who owns something in it.
    std::map<AccountId, Usage> coming;
    state.tree.each_below(removal, [&](NodeId id) {
      const Node below = state.tree.get(id);
      coming[below.owner] = coming[below.owner] + Usage{below.size, 1};
    });
    for (const auto& [owner, more] : coming) {
      const Usage before = state.tree.usage(owner);
      auto allowed =
          check_growth(state, caller.account, owner, before, before + more, change.now(), grace_);
      if (!allowed) return allowed;
    }
    const HostPath from = Engine::host_path(state, removal);
    node.parent = *parent;
    node.name = path->last();
    node.alias = alias_for(state, *parent, node.name, node.id);
    change.drop(BinEntry{removal, {}, {}, {}, {}});
    change.put(node);
    for (const AccountId owner : owners_below(state, removal)) track_soft_limit(change, owner);
    change.deed(MovePath{from, Engine::host_path(state, removal)});
    change.journal(caller, "restored from the bin", path->text());
    return {};
  });
}

Ticket Files::empty_bin(const Caller& caller, bool all) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (all && !is_manager(state, caller))
      return denied("Only a manager may empty everybody's bin.");
    std::vector<NodeId> tops;
    for (const auto& [id, entry] : state.bin) {
      if (all || (caller.account != no_account && entry.owner == caller.account))
        tops.push_back(id);
    }
    for (const NodeId top : tops) purge_removal(change, top);
    if (!tops.empty()) {
      change.journal(caller, "bin emptied", all ? "everybody's" : "their own",
                     fmt::format("{} removals", tops.size()));
    }
    return {};
  });
}

Result<Files::Space> Files::space(const Caller& caller) const {
  auto disk = engine_.space();
  if (!disk) return disk.error();
  return engine_.read([&](const State& state) -> Result<Space> {
    Space space;
    space.free_bytes = disk->free_bytes;
    const Account* account = state.account(caller.account);
    if (account == nullptr) return space;
    space.usage = state.tree.usage(caller.account);
    space.quota = quota_of(state, *account);
    space.over_since = over_since(*account, engine_.now());
    space.fullness = fullness(space.quota, space.usage);
    space.grace = grace_;
    const auto left = bytes_left(space.quota, space.usage, space.over_since, engine_.now(), grace_);
    if (left) space.free_bytes = std::min(space.free_bytes, *left);
    return space;
  });
}

}  // namespace stationer::fs
