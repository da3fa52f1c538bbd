#include "tests/support/simulated_disk.h"

#include <algorithm>
#include <cstring>
#include <random>
#include <set>
#include <unordered_map>

#include "tests/support/simulated_sqlite.h"

namespace stationer::test {
namespace {

constexpr std::size_t sector = 512;

fs::Error missing(const std::string& path) {
  return {fs::Code::not_found, "There is no \"" + path + "\" on the simulated disk."};
}

std::string_view last_name(std::string_view path) {
  return path.substr(path.rfind('/') + 1);  // npos + 1 is 0
}

}  // namespace

// ---- contents ----

void SparseBytes::write(std::uint64_t offset, std::string_view bytes) {
  size_ = std::max(size_, offset + bytes.size());
  while (!bytes.empty()) {
    const std::uint64_t number = offset / page_size;
    const auto at = static_cast<std::size_t>(offset % page_size);
    const auto part = bytes.substr(0, page_size - at);
    const auto found = pages_.find(number);
    if (found != pages_.end() || part.find_first_not_of('\0') != std::string_view::npos) {
      auto page = std::make_shared<std::string>(found != pages_.end() ? *found->second
                                                                      : std::string(page_size, 0));
      page->replace(at, part.size(), part);
      pages_[number] = std::move(page);
    }
    offset += part.size();
    bytes.remove_prefix(part.size());
  }
}

void SparseBytes::resize(std::uint64_t size) {
  if (size < size_) {
    const std::uint64_t first = (size + page_size - 1) / page_size;
    pages_.erase(pages_.lower_bound(first), pages_.end());
    if (size % page_size != 0) {
      // What is cut off must not come back when the file grows again.
      const auto last = pages_.find(size / page_size);
      if (last != pages_.end()) {
        auto page = std::make_shared<std::string>(*last->second);
        std::fill(page->begin() + static_cast<std::ptrdiff_t>(size % page_size), page->end(), '\0');
        last->second = std::move(page);
      }
    }
  }
  size_ = size;
}

std::size_t SparseBytes::read(std::uint64_t offset, char* into, std::size_t size) const {
  if (offset >= size_) return 0;
  const auto total = static_cast<std::size_t>(std::min<std::uint64_t>(size, size_ - offset));
  std::memset(into, 0, total);
  for (auto page = pages_.lower_bound(offset / page_size); page != pages_.end(); ++page) {
    const std::uint64_t start = page->first * page_size;
    if (start >= offset + total) break;
    const std::uint64_t from = std::max(start, offset);
    const std::uint64_t to = std::min<std::uint64_t>(start + page_size, offset + total);
    std::memcpy(into + (from - offset), page->second->data() + (from - start),
                static_cast<std::size_t>(to - from));
  }
  return total;
}

bool DiskCall::matters() const {
  switch (kind) {
    case Kind::open:
    case Kind::read:
    case Kind::look:
    case Kind::list:
    case Kind::space: return false;
    default: return true;
  }
}

const char* DiskCall::name() const {
  switch (kind) {
    case Kind::open: return "open";
    case Kind::create: return "create";
    case Kind::write: return "write";
    case Kind::truncate: return "truncate";
    case Kind::read: return "read";
    case Kind::sync: return "sync";
    case Kind::rename: return "rename";
    case Kind::link: return "link";
    case Kind::remove: return "remove";
    case Kind::make_folder: return "make the folder";
    case Kind::look: return "look at";
    case Kind::list: return "list";
    case Kind::sync_folder: return "sync the folder";
    case Kind::sync_everything: return "sync everything";
    case Kind::space: return "measure the space";
  }
  return "unknown";
}

// ---- the disk ----

struct SimulatedDisk::Inode {
  struct Write {
    std::uint64_t offset = 0;
    std::shared_ptr<const std::string> bytes;  // null: cut or grown to `offset`
  };
  bool folder = false;
  // Of a file.
  SparseBytes now;
  SparseBytes durable;
  std::vector<Write> pending;
  fs::Time modified{};  // as set; a power cut that lost it would cost no more than a hash
  // Of a folder.
  std::map<std::string, InodePtr, std::less<>> names;
  std::map<std::string, InodePtr, std::less<>> durable_names;
};

// A name made, removed or renamed.
struct SimulatedDisk::Event {
  struct Place {
    InodePtr folder;  // null: none
    std::string name;
    bool operator==(const Place&) const = default;
  };
  Place from;   // emptied
  Place to;     // filled
  InodePtr it;  // what lies there

  // Whether the two must stay in order.
  bool concerns(const Event& earlier) const {
    for (const Place& mine : {from, to}) {
      if (mine.folder && (mine == earlier.from || mine == earlier.to)) return true;
    }
    // A folder goes after what was in it.
    return !to.folder && (earlier.from.folder == it || earlier.to.folder == it);
  }
};

namespace {

// Which events are kept, such that none is kept whose forerunner is not.
template <class Events, class Kept>
std::vector<bool> closed(const Events& events, Kept kept) {
  std::vector<bool> out(events.size());
  for (std::size_t i = 0; i < events.size(); ++i) {
    out[i] = kept(i);
    for (std::size_t j = 0; j < i && out[i]; ++j) {
      if (!out[j] && events[i].concerns(events[j])) out[i] = false;
    }
  }
  return out;
}

}  // namespace

SimulatedDisk::SimulatedDisk() : root_(std::make_shared<Inode>()) {
  root_->folder = true;
}

SimulatedDisk::~SimulatedDisk() {
  unmount_for_sqlite(*this);
}

std::shared_ptr<SimulatedDisk> SimulatedDisk::create() {
  return std::shared_ptr<SimulatedDisk>(new SimulatedDisk);
}

void SimulatedDisk::mount(const std::string& directory) {
  mount_for_sqlite(directory, weak_from_this());
}

void SimulatedDisk::set_hook(Hook hook) {
  const std::lock_guard lock(hook_mutex_);
  hook_ = std::move(hook);
}

std::shared_ptr<SimulatedDisk> SimulatedDisk::copy() const {
  const std::lock_guard lock(mutex_);
  std::shared_ptr<SimulatedDisk> out(new SimulatedDisk);
  std::unordered_map<const Inode*, InodePtr> copies;
  const std::function<InodePtr(const InodePtr&)> copy_of = [&](const InodePtr& from) -> InodePtr {
    if (!from) return nullptr;
    auto& into = copies[from.get()];
    if (into) return into;
    into = std::make_shared<Inode>();
    const InodePtr made = into;
    made->folder = from->folder;
    made->now = from->now;
    made->durable = from->durable;
    made->pending = from->pending;
    made->modified = from->modified;
    for (const auto& [name, below] : from->names) made->names[name] = copy_of(below);
    for (const auto& [name, below] : from->durable_names)
      made->durable_names[name] = copy_of(below);
    return made;
  };
  out->root_ = copy_of(root_);
  for (const Event& event : events_) {
    out->events_.push_back({{copy_of(event.from.folder), event.from.name},
                            {copy_of(event.to.folder), event.to.name},
                            copy_of(event.it)});
  }
  out->free_bytes_ = free_bytes_;
  return out;
}

std::shared_ptr<SimulatedDisk> SimulatedDisk::after_power_cut(std::uint64_t seed) const {
  auto out = copy();
  std::mt19937_64 random(seed);
  // How much of it comes through: now and then all or nothing, else some part.
  const auto chance = std::array<std::uint64_t, 5>{0, 100, 20, 50, 80}[random() % 5];
  const auto lucky = [&] { return random() % 100 < chance; };
  const auto kept = closed(out->events_, [&](std::size_t) { return lucky(); });
  for (std::size_t i = 0; i < kept.size(); ++i) {
    if (kept[i]) apply(out->events_[i]);
  }
  out->events_.clear();

  std::set<const Inode*> seen;
  const std::function<void(Inode&)> settle = [&](Inode& inode) {
    if (!seen.insert(&inode).second) return;
    for (const auto& write : inode.pending) {
      if (!write.bytes) {
        if (lucky()) inode.durable.resize(write.offset);
        continue;
      }
      const bool torn = random() % 2 == 0;
      const bool whole = lucky();
      const std::string_view bytes = *write.bytes;
      for (std::size_t at = 0; at < bytes.size();) {
        const auto next =
            std::min<std::size_t>(bytes.size(), at + sector - (write.offset + at) % sector);
        if (torn ? lucky() : whole)
          inode.durable.write(write.offset + at, bytes.substr(at, next - at));
        at = next;
      }
    }
    inode.pending.clear();
    inode.now = inode.durable;
    inode.names = inode.durable_names;
    for (const auto& [name, below] : inode.names) settle(*below);
  };
  settle(*out->root_);
  return out;
}

fs::Status SimulatedDisk::ask(DiskCall::Kind kind, const std::string& path) const {
  Hook hook;
  {
    const std::lock_guard lock(hook_mutex_);
    hook = hook_;
  }
  if (!hook) return {};
  if (const auto code = hook({kind, path})) {
    return fs::Error{*code, "The simulated disk failed at \"" + path + "\"."};
  }
  return {};
}

fs::Result<SimulatedDisk::InodePtr> SimulatedDisk::walk(std::string_view path) const {
  InodePtr at = root_;
  std::string_view rest = path;
  while (!rest.empty()) {
    const auto slash = rest.find('/');
    if (!at->folder) {
      return fs::Error{fs::Code::not_a_folder, "A simulated file is in the way."};
    }
    const auto found = at->names.find(rest.substr(0, slash));
    if (found == at->names.end()) return missing(std::string(path));
    at = found->second;
    rest = slash == std::string_view::npos ? "" : rest.substr(slash + 1);
  }
  return at;
}

fs::Result<SimulatedDisk::InodePtr> SimulatedDisk::folder_of(std::string_view path) const {
  const auto slash = path.rfind('/');
  auto found = walk(slash == std::string_view::npos ? "" : path.substr(0, slash));
  if (found && !(*found)->folder) {
    return fs::Error{fs::Code::not_a_folder, "A simulated file is in the way."};
  }
  return found;
}

void SimulatedDisk::apply(const Event& event) {
  if (event.from.folder) event.from.folder->durable_names.erase(event.from.name);
  if (event.to.folder) event.to.folder->durable_names[event.to.name] = event.it;
}

void SimulatedDisk::note(Event event) {
  if (event.from.folder) event.from.folder->names.erase(event.from.name);
  if (event.to.folder) event.to.folder->names[event.to.name] = event.it;
  events_.push_back(std::move(event));
}

void SimulatedDisk::make_durable(const std::function<bool(const Event&)>& wanted) {
  // With each event that is wanted, those before it that it must not overtake.
  std::vector<bool> goes(events_.size());
  for (std::size_t i = events_.size(); i-- > 0;) {
    if (!goes[i]) goes[i] = wanted(events_[i]);
    if (!goes[i]) continue;
    for (std::size_t j = 0; j < i; ++j) {
      if (events_[i].concerns(events_[j])) goes[j] = true;
    }
  }
  std::vector<Event> left;
  for (std::size_t i = 0; i < events_.size(); ++i) {
    if (goes[i]) {
      apply(events_[i]);
    } else {
      left.push_back(std::move(events_[i]));
    }
  }
  events_ = std::move(left);
}

// ---- calls ----

fs::Result<SimulatedDisk::InodePtr> SimulatedDisk::open(const std::string& path) {
  if (auto fine = ask(DiskCall::Kind::open, path); !fine) return fine.error();
  const std::lock_guard lock(mutex_);
  auto found = walk(path);
  if (found && (*found)->folder) return fs::Error{fs::Code::is_a_folder, "A simulated folder."};
  return found;
}

fs::Result<SimulatedDisk::InodePtr> SimulatedDisk::create(const std::string& path, bool empty_it) {
  if (auto fine = ask(DiskCall::Kind::create, path); !fine) return fine.error();
  const std::lock_guard lock(mutex_);
  auto folder = folder_of(path);
  if (!folder) return folder;
  const std::string name(last_name(path));
  const auto there = (*folder)->names.find(name);
  if (there != (*folder)->names.end()) {
    if (there->second->folder) return fs::Error{fs::Code::is_a_folder, "A simulated folder."};
    if (empty_it && there->second->now.size() > 0) {
      there->second->now.resize(0);
      there->second->pending.push_back({0, nullptr});
    }
    return there->second;
  }
  auto made = std::make_shared<Inode>();
  note({{}, {*folder, name}, made});
  return made;
}

fs::Status SimulatedDisk::write(const InodePtr& file, const std::string& path, std::uint64_t offset,
                                std::string_view bytes) {
  const auto fine = ask(DiskCall::Kind::write, path);
  // A write that fails may have done a part of its work.
  if (!fine) bytes = bytes.substr(0, bytes.size() / 2);
  const std::lock_guard lock(mutex_);
  file->now.write(offset, bytes);
  file->pending.push_back({offset, std::make_shared<const std::string>(bytes)});
  return fine;
}

fs::Status SimulatedDisk::truncate(const InodePtr& file, const std::string& path,
                                   std::uint64_t size) {
  if (auto fine = ask(DiskCall::Kind::truncate, path); !fine) return fine;
  const std::lock_guard lock(mutex_);
  file->now.resize(size);
  file->pending.push_back({size, nullptr});
  return {};
}

fs::Result<std::size_t> SimulatedDisk::read(const InodePtr& file, const std::string& path,
                                            std::uint64_t offset, char* into, std::size_t size) {
  if (auto fine = ask(DiskCall::Kind::read, path); !fine) return fine.error();
  const std::lock_guard lock(mutex_);
  return file->now.read(offset, into, size);
}

fs::Status SimulatedDisk::sync(const InodePtr& file, const std::string& path) {
  if (auto fine = ask(DiskCall::Kind::sync, path); !fine) return fine;
  const std::lock_guard lock(mutex_);
  file->durable = file->now;
  file->pending.clear();
  return {};
}

std::uint64_t SimulatedDisk::size(const InodePtr& file) const {
  const std::lock_guard lock(mutex_);
  return file->now.size();
}

void SimulatedDisk::set_modified(const InodePtr& file, fs::Time modified) {
  const std::lock_guard lock(mutex_);
  file->modified = modified;
}

fs::Status SimulatedDisk::rename(const std::string& from, const std::string& to, bool replace) {
  if (auto fine = ask(DiskCall::Kind::rename, from); !fine) return fine;
  const std::lock_guard lock(mutex_);
  auto what = walk(from);
  if (!what) return what.error();
  auto source = folder_of(from);
  if (!source) return source.error();
  auto target = folder_of(to);
  if (!target) return target.error();
  const std::string name(last_name(to));
  const auto there = (*target)->names.find(name);
  if (there != (*target)->names.end()) {
    if (there->second == *what) return {};
    if (!replace) return fs::Error{fs::Code::exists, "\"" + to + "\" is there already."};
    if (there->second->folder != (*what)->folder) {
      return fs::Error{there->second->folder ? fs::Code::is_a_folder : fs::Code::not_a_folder,
                       "\"" + to + "\" is something else."};
    }
    if (!there->second->names.empty()) return fs::Error{fs::Code::exists, "It is not empty."};
  }
  note({{*source, std::string(last_name(from))}, {*target, name}, *what});
  return {};
}

fs::Status SimulatedDisk::link(const std::string& from, const std::string& to) {
  if (auto fine = ask(DiskCall::Kind::link, from); !fine) return fine;
  const std::lock_guard lock(mutex_);
  auto what = walk(from);
  if (!what) return what.error();
  if ((*what)->folder) return fs::Error{fs::Code::denied, "A simulated folder has one name only."};
  auto target = folder_of(to);
  if (!target) return target.error();
  const std::string name(last_name(to));
  if ((*target)->names.count(name) != 0) {
    return fs::Error{fs::Code::exists, "\"" + to + "\" is there already."};
  }
  note({{}, {*target, name}, *what});
  return {};
}

fs::Status SimulatedDisk::remove(const std::string& path, bool folder) {
  if (auto fine = ask(DiskCall::Kind::remove, path); !fine) return fine;
  const std::lock_guard lock(mutex_);
  auto what = walk(path);
  if (!what) return what.error();
  if ((*what)->folder != folder) {
    return fs::Error{folder ? fs::Code::not_a_folder : fs::Code::is_a_folder, "It is not that."};
  }
  if (!(*what)->names.empty()) return fs::Error{fs::Code::exists, "It is not empty."};
  note({{*folder_of(path), std::string(last_name(path))}, {}, *what});
  return {};
}

fs::Status SimulatedDisk::make_folder(const std::string& path) {
  if (auto fine = ask(DiskCall::Kind::make_folder, path); !fine) return fine;
  const std::lock_guard lock(mutex_);
  auto folder = folder_of(path);
  if (!folder) return folder.error();
  const std::string name(last_name(path));
  if ((*folder)->names.count(name) != 0) {
    return fs::Error{fs::Code::exists, "\"" + path + "\" is there already."};
  }
  auto made = std::make_shared<Inode>();
  made->folder = true;
  note({{}, {*folder, name}, made});
  return {};
}

fs::Result<std::optional<fs::HostEntry>> SimulatedDisk::look(const std::string& path) {
  if (auto fine = ask(DiskCall::Kind::look, path); !fine) return fine.error();
  const std::lock_guard lock(mutex_);
  auto found = walk(path);
  if (!found) {
    if (found.error().code == fs::Code::not_found) return std::optional<fs::HostEntry>();
    return found.error();
  }
  using Type = fs::HostEntry::Type;
  return std::optional(fs::HostEntry{std::string(last_name(path)),
                                     (*found)->folder ? Type::folder : Type::file,
                                     (*found)->now.size(), (*found)->modified});
}

fs::Result<std::vector<fs::HostEntry>> SimulatedDisk::list(const std::string& path) {
  if (auto fine = ask(DiskCall::Kind::list, path); !fine) return fine.error();
  const std::lock_guard lock(mutex_);
  auto found = walk(path);
  if (!found) return found.error();
  if (!(*found)->folder) return fs::Error{fs::Code::not_a_folder, "It is a simulated file."};
  using Type = fs::HostEntry::Type;
  std::vector<fs::HostEntry> out;
  for (const auto& [name, below] : (*found)->names) {
    out.push_back(
        {name, below->folder ? Type::folder : Type::file, below->now.size(), below->modified});
  }
  return out;
}

fs::Status SimulatedDisk::sync_folder(const std::string& path) {
  if (auto fine = ask(DiskCall::Kind::sync_folder, path); !fine) return fine;
  const std::lock_guard lock(mutex_);
  auto found = walk(path);
  if (!found) return found.error();
  make_durable(
      [&](const Event& event) { return event.from.folder == *found || event.to.folder == *found; });
  return {};
}

fs::Status SimulatedDisk::sync_everything() {
  if (auto fine = ask(DiskCall::Kind::sync_everything, ""); !fine) return fine;
  const std::lock_guard lock(mutex_);
  for (const Event& event : events_) apply(event);
  events_.clear();
  const std::function<void(Inode&)> settle = [&](Inode& inode) {
    if (!inode.folder && !inode.pending.empty()) {
      inode.durable = inode.now;
      inode.pending.clear();
    }
    for (const auto& [name, below] : inode.names) settle(*below);
  };
  settle(*root_);
  return {};
}

fs::Result<fs::HostSpace> SimulatedDisk::space() {
  if (auto fine = ask(DiskCall::Kind::space, ""); !fine) return fine.error();
  return fs::HostSpace{free_bytes_, std::uint64_t{64} << 30};
}

// ---- as the host's files ----

namespace {

class SimulatedFile : public fs::HostFile {
 public:
  SimulatedFile(std::shared_ptr<SimulatedDisk> disk, SimulatedDisk::InodePtr file, std::string path)
      : disk_(std::move(disk)), file_(std::move(file)), path_(std::move(path)) {}

  fs::Status write_at(std::uint64_t offset, std::string_view bytes) override {
    return disk_->write(file_, path_, offset, bytes);
  }
  fs::Result<std::size_t> read_at(std::uint64_t offset, std::span<char> into) override {
    return disk_->read(file_, path_, offset, into.data(), into.size());
  }
  fs::Status sync() override { return disk_->sync(file_, path_); }
  fs::Result<std::uint64_t> size() override { return disk_->size(file_); }
  fs::Status set_modified(fs::Time modified) override {
    disk_->set_modified(file_, modified);
    return {};
  }
  fs::Result<bool> has_writer() override { return false; }

 private:
  std::shared_ptr<SimulatedDisk> disk_;
  SimulatedDisk::InodePtr file_;
  std::string path_;
};

class SimulatedFiles : public fs::HostFiles {
 public:
  explicit SimulatedFiles(std::shared_ptr<SimulatedDisk> disk) : disk_(std::move(disk)) {}

  using Opened = fs::Result<std::unique_ptr<fs::HostFile>>;
  Opened open(const fs::HostPath& path) override { return as_file(disk_->open(path.text()), path); }
  Opened open_write(const fs::HostPath& path) override { return open(path); }
  Opened create(const fs::HostPath& path) override {
    return as_file(disk_->create(path.text(), true), path);
  }
  fs::Status rename(const fs::HostPath& from, const fs::HostPath& to, bool replace) override {
    return disk_->rename(from.text(), to.text(), replace);
  }
  fs::Status link(const fs::HostPath& from, const fs::HostPath& to) override {
    return disk_->link(from.text(), to.text());
  }
  fs::Status remove_file(const fs::HostPath& path) override {
    return disk_->remove(path.text(), false);
  }
  fs::Status remove_folder(const fs::HostPath& path) override {
    return disk_->remove(path.text(), true);
  }
  fs::Status make_folder(const fs::HostPath& path) override {
    return disk_->make_folder(path.text());
  }
  fs::Result<std::optional<fs::HostEntry>> look(const fs::HostPath& path) override {
    return disk_->look(path.text());
  }
  fs::Result<std::vector<fs::HostEntry>> list(const fs::HostPath& folder) override {
    return disk_->list(folder.text());
  }
  fs::Status sync_folder(const fs::HostPath& folder) override {
    return disk_->sync_folder(folder.text());
  }
  fs::Status sync_everything() override { return disk_->sync_everything(); }
  fs::Result<fs::HostSpace> space() override { return disk_->space(); }

 private:
  Opened as_file(fs::Result<SimulatedDisk::InodePtr> found, const fs::HostPath& path) {
    if (!found) return found.error();
    return std::unique_ptr<fs::HostFile>(
        std::make_unique<SimulatedFile>(disk_, std::move(*found), path.text()));
  }

  std::shared_ptr<SimulatedDisk> disk_;
};

}  // namespace

std::unique_ptr<fs::HostFiles> SimulatedDisk::files() {
  return std::make_unique<SimulatedFiles>(shared_from_this());
}

}  // namespace stationer::test
