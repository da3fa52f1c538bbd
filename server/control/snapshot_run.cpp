#include "server/control/snapshot_run.h"

#include <fmt/format.h>

#include "fs/local_time.h"

namespace stationer::server {
namespace {

fs::Time newest(const std::vector<fs::SnapshotFile>& files) {
  return files.empty() ? fs::Time{} : files.front().taken;
}

}  // namespace

bool SnapshotRun::begin() {
  const std::lock_guard lock(mutex_);
  if (under_way_) return false;
  under_way_ = true;
  outcome_ = nullptr;
  done_ = 0;
  all_ = 0;
  return true;
}

bool SnapshotRun::tell(std::uint64_t done, std::uint64_t all) {
  done_ = done;
  all_ = all;
  return !stopping_;
}

void SnapshotRun::take(const fs::Caller& caller, const std::string& path) {
  auto taken = volume_.snapshots().take(
      path, [this](std::uint64_t done, std::uint64_t all) { return tell(done, all); });
  fs::Status thinned;
  if (taken) {
    if (path.empty()) thinned = volume_.snapshots().thin(fs::zone_at(volume_.now()));
    static_cast<void>(volume_.desk().note(caller, "snapshot taken", taken->path));
  }
  if (path.empty()) {
    const std::lock_guard lock(mutex_);
    failed_ = volume_.now();
    failure_ = !taken    ? "The last snapshot could not be taken: " + taken.error().message
               : thinned ? ""
                         : "Old snapshots could not be removed: " + thinned.error().message;
  }
  if (!taken) return end(taken.error());
  end(Outcome{std::move(*taken), {}});
}

void SnapshotRun::give_back(const fs::Caller& caller, const std::string& path,
                            const fs::ReturnWish& wish) {
  auto returned = fs::return_from_snapshot(
      volume_, caller, path, wish,
      [this](std::uint64_t done, std::uint64_t all) { return tell(done, all); });
  if (!returned) return end(returned.error());
  end(Outcome{{}, std::move(*returned)});
}

void SnapshotRun::end(Result outcome) {
  const std::lock_guard lock(mutex_);
  under_way_ = false;
  outcome_ = std::make_shared<const Result>(std::move(outcome));
}

bool SnapshotRun::under_way() const {
  const std::lock_guard lock(mutex_);
  return under_way_;
}

std::shared_ptr<const SnapshotRun::Result> SnapshotRun::outcome() const {
  const std::lock_guard lock(mutex_);
  return outcome_;
}

bool SnapshotRun::is_due() {
  const fs::Time now = volume_.now();
  {
    const std::lock_guard lock(mutex_);
    if (under_way_ || (!failure_.empty() && now - failed_ < retry_after)) return false;
  }
  auto there = volume_.snapshots().list();
  // One that can't even be looked for can't be taken either; trying says why.
  return volume_.snapshots().is_due(there ? newest(*there) : fs::Time{}, fs::zone_at(now));
}

std::vector<std::string> SnapshotRun::troubles() {
  std::vector<std::string> out;
  {
    const std::lock_guard lock(mutex_);
    if (!failure_.empty()) out.push_back(failure_);
  }
  auto there = volume_.snapshots().list();
  if (!there) {
    out.push_back("The folder of the snapshots can't be read: " + there.error().message);
  } else if (const fs::Time last = newest(*there); volume_.snapshots().is_overdue(last)) {
    out.push_back(
        last == fs::Time{}
            ? "No snapshot was ever taken. Take one with: stationer snapshot take"
            : fmt::format(
                  "The last snapshot is {} days old. Take one with: stationer snapshot take",
                  std::chrono::floor<std::chrono::days>(volume_.now() - last).count()));
  }
  return out;
}

}  // namespace stationer::server
