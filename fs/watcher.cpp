#include "fs/watcher.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/path.h"

namespace stationer::fs {

Watcher::Watcher(HostFiles& files, Adoption& adoption, const std::string& directory, bool watching,
                 Then then)
    : files_(files), adoption_(adoption), then_(std::move(then)) {
  if (watching) {
    auto opened = HostWatch::open(directory);
    if (opened) {
      watch_ = std::move(*opened);
    } else {
      out_of_watches(opened.error());
    }
  }
  thread_ = std::thread([this] { run(); });
}

Watcher::~Watcher() {
  stopping_ = true;
  if (watch_) watch_->wake();
  {
    const std::lock_guard lock(mutex_);
    stopped_.notify_all();
  }
  thread_.join();
}

std::vector<std::string> Watcher::troubles() const {
  const std::lock_guard lock(mutex_);
  if (trouble_.empty()) return {};
  return {trouble_};
}

void Watcher::out_of_watches(const Error& why) {
  comparing_ = true;
  const std::lock_guard lock(mutex_);
  trouble_ = fmt::format(
      "What is done in files/ on the host is noticed only every {} minutes. {} Allow more watches "
      "(the host's setting fs.inotify.max_user_watches) and start the service again.",
      compare_every.count(), why.message);
}

void Watcher::run() {
  // Watched first, so that nothing falls between the comparison and the watch.
  if (watch_) watch_below(HostPath() / "files", 0);
  while (!stopping_) {
    const auto now = Clock::now();
    const auto next = next_look();
    if (next <= now) {
      look();
      if (!watch_ && !comparing_ && !all_) return;
      continue;
    }
    const auto longest = std::chrono::duration_cast<std::chrono::milliseconds>(next - now) +
                         std::chrono::milliseconds(1);
    if (watch_) {
      take(watch_->wait(longest));
    } else {
      std::unique_lock lock(mutex_);
      stopped_.wait_for(lock, longest, [this] { return stopping_.load(); });
    }
  }
}

Watcher::Clock::time_point Watcher::next_look() const {
  auto next = Clock::now() + std::chrono::hours(1);
  if (comparing_) next = std::min(next, next_comparison_);
  if (all_ || !touched_.empty())
    next = std::min(next, std::min(last_ + quiet, first_ + longest_wait));
  return next;
}

void Watcher::take(const HostWatch::Seen& seen) {
  const auto now = Clock::now();
  for (const auto& folder : seen.touched) touch(folder, now);
  for (const auto& folder : seen.new_folders) watch_below(folder, 0);
  if (seen.lost) {
    watch_below(HostPath() / "files", 0);
    touch_all(now);
  }
}

void Watcher::touch(const HostPath& folder, Clock::time_point now) {
  if (!all_ && touched_.empty()) first_ = now;
  last_ = now;
  touched_.insert(folder);
  if (touched_.size() > most_touched) touch_all(now);
}

void Watcher::touch_all(Clock::time_point now) {
  if (!all_ && touched_.empty()) first_ = now;
  last_ = now;
  all_ = true;
  touched_.clear();
}

// What came into a folder before it was watched was not told, so each counts as touched.
void Watcher::watch_below(const HostPath& folder, int depth) {
  if (stopping_ || depth > static_cast<int>(Path::deepest)) return;
  if (auto added = watch_->add(folder); !added) {
    if (added.error().code == Code::no_space) out_of_watches(added.error());
    return;
  }
  touch(folder, Clock::now());
  auto entries = files_.list(folder);
  if (!entries) return;
  for (const auto& entry : *entries) {
    if (entry.type == HostEntry::Type::folder) watch_below(folder / entry.name, depth + 1);
  }
}

void Watcher::look() {
  const std::vector<HostPath> folders(touched_.begin(), touched_.end());
  const bool all = all_ || (comparing_ && next_comparison_ <= Clock::now());
  touched_.clear();
  all_ = false;
  AdoptOptions options;
  options.stopping = [this] { return stopping_.load(); };
  const auto looked = all ? adoption_.look_at_all(options) : adoption_.look_at(folders, options);
  if (all) next_comparison_ = Clock::now() + compare_every;
  const auto later = Clock::now() + again_after - quiet;
  if (looked) {
    for (const auto& folder : looked->again) touch(folder, later);
    if (looked->more) touch_all(later);
  } else {
    for (const auto& folder : folders) touch(folder, later);
    if (all) touch_all(later);
  }
  first_ = later;
  if (then_) then_(looked);
}

}  // namespace stationer::fs
