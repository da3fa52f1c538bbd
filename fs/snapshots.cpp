#include "fs/snapshots.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::string_view unfinished = ".part";

}  // namespace

Result<OutsidePath> split_outside_path(const std::string& path) {
  const auto slash = path.rfind('/');
  OutsidePath out;
  out.folder = slash == std::string::npos ? "." : slash == 0 ? "/" : path.substr(0, slash);
  auto name = HostPath::from_record(slash == std::string::npos ? path : path.substr(slash + 1));
  if (!name || name->is_volume()) {
    return Error{Code::bad_input, fmt::format("\"{}\" names no file.", clip(path, 200))};
  }
  out.name = *name;
  return out;
}

Snapshots::Snapshots(Engine& engine, std::string directory, std::string volume_name,
                     SnapshotPlan plan, Wrap wrap)
    : engine_(engine),
      directory_(std::move(directory)),
      volume_name_(std::move(volume_name)),
      plan_(std::move(plan)),
      wrap_(std::move(wrap)),
      folder_(plan_.folder.empty() ? directory_ + "/snapshots" : plan_.folder),
      created_(engine.read([](const State& state) { return state.tree.get(files_root).created; })) {
}

Result<std::unique_ptr<HostFiles>> Snapshots::open(const std::string& folder) {
  auto opened = open_host_folder(folder);
  if (!opened || !wrap_) return opened;
  return wrap_(std::move(*opened));
}

Result<Snapshots::Taken> Snapshots::take(const std::string& path,
                                         const SnapshotProgress& progress) {
  const HostPath own_name = HostPath() / snapshot_name(volume_name_, engine_.now());
  // Only the volume's own is made: a missing one elsewhere is a disk that is not mounted.
  if (path.empty() && plan_.folder.empty()) {
    if (auto made = make_outside_folder(folder_); !made) return made.error();
  }
  OutsidePath place{path.empty() ? folder_ : path, own_name};
  auto folder = open(place.folder);
  if (!folder && !path.empty()) {
    auto split = split_outside_path(path);
    if (!split) return split.error();
    place = std::move(*split);
    folder = open(place.folder);
  }
  if (!folder) return folder.error();
  auto taken = take_snapshot(engine_, directory_, volume_name_, **folder, place.name, progress);
  if (!taken) return taken.error();
  return Taken{std::move(*taken), fmt::format("{}/{}", place.folder, place.name.text())};
}

Result<std::vector<SnapshotFile>> Snapshots::list() {
  std::vector<SnapshotFile> out;
  auto folder = open(folder_);
  if (!folder) {
    // The volume's own is made when the first is taken.
    if (plan_.folder.empty() && folder.error().code == Code::not_found) return out;
    return folder.error();
  }
  auto entries = (*folder)->list(HostPath());
  if (!entries) return entries.error();
  for (const auto& entry : *entries) {
    const auto taken = snapshot_time(volume_name_, entry.name);
    if (entry.type != HostEntry::Type::file || !taken) continue;
    out.push_back({fmt::format("{}/{}", folder_, entry.name), *taken, entry.size});
  }
  std::sort(out.begin(), out.end(),
            [](const SnapshotFile& a, const SnapshotFile& b) { return a.taken > b.taken; });
  return out;
}

Status Snapshots::thin(std::chrono::seconds zone) {
  auto folder = open(folder_);
  if (!folder) return folder.error();
  auto entries = (*folder)->list(HostPath());
  if (!entries) return entries.error();
  std::vector<Time> taken;
  for (const auto& entry : *entries) {
    std::string_view name = entry.name;
    const auto time = snapshot_time(volume_name_, name);
    if (time) taken.push_back(*time);
    if (!name.ends_with(unfinished)) continue;
    name.remove_suffix(unfinished.size());
    if (!snapshot_time(volume_name_, name)) continue;
    if (auto gone = (*folder)->remove_file(HostPath() / entry.name); !gone) return gone;
  }
  for (const Time each : superfluous_snapshots(plan_, taken, zone)) {
    auto gone = (*folder)->remove_file(HostPath() / snapshot_name(volume_name_, each));
    if (!gone && gone.error().code != Code::not_found) return gone;
  }
  return {};
}

bool Snapshots::is_due(Time last, std::chrono::seconds zone) const {
  return snapshot_is_due(plan_, std::max(last, created_), engine_.now(), zone);
}

bool Snapshots::is_overdue(Time last) const {
  return plan_.daily_at && engine_.now() - std::max(last, created_) > std::chrono::hours(48);
}

}  // namespace stationer::fs
