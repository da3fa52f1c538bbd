#include "fs/volume.h"

#include <tuple>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/catalog.h"
#include "fs/engine.h"

namespace stationer::fs {
namespace {

constexpr std::uint64_t longest_settings = 1u << 20;
constexpr const char* folders[] = {"files",     "bin",      "versions", "spool",
                                   "printouts", "incoming", "log"};

void complete(Surroundings& surroundings) {
  if (!surroundings.clock) {
    surroundings.clock = [] {
      return std::chrono::time_point_cast<std::chrono::milliseconds>(
          std::chrono::system_clock::now());
    };
  }
}

// The name table's seed, and the secret of the journal's salts.
std::pair<std::uint64_t, Hash> randomness(const Surroundings& surroundings) {
  if (surroundings.seed == 0) return {random_number(), random_hash()};
  return {surroundings.seed, hash_of(fmt::format("{}", surroundings.seed))};
}

Result<std::unique_ptr<HostFiles>> host_files_for(const std::string& directory,
                                                  const Surroundings& surroundings) {
  auto host = open_host_files(directory, surroundings.patience);
  if (!host) return host;
  if (surroundings.wrap_files) return surroundings.wrap_files(std::move(*host));
  return host;
}

// The nodes every volume starts with.
Status add_starting_tree(HostFiles& host, Catalog& catalog, Time now) {
  constexpr unsigned reading = Access::class_read | Access::everyone_read;
  constexpr unsigned writing = Access::class_write | Access::everyone_write;
  constexpr unsigned owner = Access::owner_read | Access::owner_write;
  std::vector<Change> changes;
  const auto add = [&](std::uint32_t id, NodeId parent, std::string name, unsigned bits) {
    Node node;
    node.id = NodeId{id};
    node.parent = parent;
    node.name = std::move(name);
    node.folder = true;
    node.access = Access(bits);
    node.created = node.modified = now;
    changes.push_back(put(std::move(node)));
  };
  add(number(files_root), no_node, "", owner | reading);
  add(number(bin_root), no_node, "", owner);
  add(3, files_root, "programs", owner | reading);
  add(4, files_root, "classes", owner | reading);
  add(5, files_root, "members", owner | reading);
  add(6, files_root, "public", owner | reading | writing);
  for (const char* name : {"programs", "classes", "members", "public"}) {
    auto made = host.make_folder(HostPath() / "files" / name);
    if (!made) return made;
  }
  if (auto synced = host.sync_everything(); !synced) return synced;
  std::vector<const Change*> pointers;
  for (const auto& change : changes) pointers.push_back(&change);
  return catalog.apply(pointers, 0);
}

}  // namespace

Volume::Volume() = default;

Volume::~Volume() = default;

Result<std::unique_ptr<Volume>> Volume::create(const std::string& directory, std::string_view name,
                                               Surroundings surroundings,
                                               std::string_view more_settings) {
  complete(surroundings);
  if (auto fine = check_line(name, 60, "The volume's name"); !fine) return fine.error();
  if (auto free = check_outside_folder_is_free(directory); !free) return free.error();
  if (auto made = make_outside_folder(directory); !made) return made.error();
  auto host = host_files_for(directory, surroundings);
  if (!host) return host.error();
  for (const char* folder : folders) {
    if (auto made = (*host)->make_folder(HostPath() / folder); !made) return made.error();
  }
  auto catalog = Catalog::create(directory + "/catalog.db");
  if (!catalog) return catalog.error();
  auto started = add_starting_tree(**host, **catalog, surroundings.clock());
  if (!started) return started.error();
  catalog->reset();
  // Written last: a directory without it is no volume yet.
  auto written =
      write_durably(**host, HostPath() / "volume.toml",
                    new_volume_file(name, surroundings.clock()) + std::string(more_settings));
  if (!written) return written.error();
  return open_with(directory, std::move(*host), std::move(surroundings));
}

Result<std::unique_ptr<Volume>> Volume::open(const std::string& directory,
                                             Surroundings surroundings) {
  complete(surroundings);
  auto host = host_files_for(directory, surroundings);
  if (!host && host.error().code == Code::not_found) {
    return Error{Code::not_found,
                 fmt::format("There is no folder \"{}\". Is the volume's name as it should be, and "
                             "its disk mounted? A new volume is made with: stationer init",
                             directory)};
  }
  if (!host) return host.error();
  return open_with(directory, std::move(*host), std::move(surroundings));
}

Result<std::unique_ptr<Volume>> Volume::open_with(const std::string& directory,
                                                  std::unique_ptr<HostFiles> host,
                                                  Surroundings surroundings) {
  auto text = read_whole(*host, HostPath() / "volume.toml", longest_settings);
  if (!text) {
    if (text.error().code != Code::not_found) return text.error();
    return Error{
        Code::not_found,
        fmt::format("\"{}\" is not a volume: it has no volume.toml. To make a new one, run "
                    "stationer init with the name of an empty folder.",
                    directory)};
  }
  auto settings = parse_volume_file(*text);
  if (!settings) return settings.error();
  auto plan = read_snapshot_plan(*text);
  if (!plan) return plan.error();
  auto visitors = read_visitor_plan(*text);
  if (!visitors) return visitors.error();
  for (const char* folder : folders) {
    if (auto made = make_folders(*host, HostPath() / folder); !made) return made.error();
  }
  auto catalog = Catalog::open(directory + "/catalog.db");
  if (!catalog) return catalog.error();

  Engine::Parts parts;
  parts.files = std::move(host);
  parts.catalog = std::move(*catalog);
  parts.clock = std::move(surroundings.clock);
  std::tie(parts.seed, parts.secret) = randomness(surroundings);
  parts.reserve = settings->reserve;
  parts.accept_loss = surroundings.accept_loss;
  auto engine = Engine::open(std::move(parts));
  if (!engine) return engine.error();

  std::unique_ptr<Volume> volume(new Volume);
  volume->directory_ = directory;
  volume->settings_text_ = std::move(*text);
  volume->settings_ = std::move(*settings);
  volume->engine_ = std::move(*engine);
  volume->files_ = std::make_unique<Files>(*volume->engine_, volume->settings_.grace);
  volume->people_ = std::make_unique<People>(*volume->engine_, surroundings.password_cost,
                                             volume->settings_.new_account);
  volume->desk_ = std::make_unique<Desk>(*volume->engine_, volume->settings_.journal);
  volume->stations_ = std::make_unique<Stations>(*volume->engine_);
  volume->snapshots_ =
      std::make_unique<Snapshots>(*volume->engine_, directory, volume->name(), std::move(*plan),
                                  std::move(surroundings.wrap_files));
  volume->history_ =
      std::make_unique<History>(*volume->engine_, *volume->files_, volume->settings_.retention);
  volume->hand_ins_ = std::make_unique<HandIns>(*volume->engine_, *volume->files_);
  volume->leavers_ = std::make_unique<Leavers>(*volume->engine_, *volume->files_, *volume->desk_);
  volume->years_ = std::make_unique<Years>(*volume->engine_);
  volume->adoption_ = std::make_unique<Adoption>(*volume->engine_);
  volume->visitors_ = std::make_unique<Visitors>(*volume->engine_, std::move(*visitors));
  return volume;
}

Status Volume::do_what_is_due() {
  if (auto done = leavers_->do_what_is_due(); !done) return done;
  return desk_->shorten_journal();
}

void Volume::watch(Watcher::Then then) {
  watcher_ = std::make_unique<Watcher>(engine_->files(), *adoption_, directory_, settings_.watch,
                                       std::move(then));
}

std::vector<std::string> Volume::troubles() const {
  auto out = engine_->troubles();
  for (auto& each : adoption_->troubles()) out.push_back(std::move(each));
  if (watcher_) {
    for (auto& each : watcher_->troubles()) out.push_back(std::move(each));
  }
  return out;
}

std::size_t Volume::nodes() const {
  return engine_->read([](const State& state) { return state.tree.size(); });
}

Time Volume::now() const {
  return engine_->now();
}

HostFiles& Volume::host_files() {
  return engine_->files();
}

Status Volume::check_space(std::uint64_t bytes) {
  return engine_->check_space(bytes);
}

Result<HostSpace> Volume::space() {
  return engine_->space();
}

Result<CheckReport> Volume::check(const CheckOptions& options) {
  return fs::check(*engine_, options);
}

Status Volume::drain() {
  return engine_->drain();
}

}  // namespace stationer::fs
