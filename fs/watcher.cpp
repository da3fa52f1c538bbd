#include "fs/watcher.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/path.h"

namespace stationer::fs {
namespace {

const HostPath top = HostPath() / "files";

}  // namespace

Watcher::Watcher(HostFiles& files, Adoption& adoption, const std::string& directory, bool watching,
                 Then then)
    : files_(files), adoption_(adoption), then_(std::move(then)), watching_(watching) {
  if (watching_) {
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
  unwatched_ = true;
  const std::lock_guard lock(mutex_);
  trouble_ = fmt::format(
      "What is done in files/ on the host is noticed only every {} minutes. {} Allow more watches "
      "(the host's setting fs.inotify.max_user_watches) and start the service again.",
      compare_unwatched_every.count(), why.message);
}

void Watcher::run() {
  while (!stopping_) {
    const auto now = Clock::now();
    const auto next = next_look();
    if (next <= now) {
      look();
      if (!watching_ && !all_ && touched_.empty()) return;
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
  auto next = next_comparison_;
  if (all_ || !touched_.empty())
    next = std::min(next, std::min(last_ + quiet, first_ + longest_wait));
  return next;
}

void Watcher::take(const HostWatch::Seen& seen) {
  const auto now = Clock::now();
  for (const auto& folder : seen.touched) {
    touch(folder.is_within(top) ? folder : top, now);
  }
  for (const auto& folder : seen.new_folders) {
    if (folder.is_within(top)) watch_below(folder, 0);
  }
  if (seen.lost) {
    watch_all();
    touch_all(now);
  }
}

// The volume itself, too, where files/ may be taken away and put back.
void Watcher::watch_all() {
  if (!watch_) return;
  static_cast<void>(watch_->add(HostPath()));
  watch_below(top, 0);
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
  // Watched first, so that nothing falls between the comparison and the watch.
  const bool due = next_comparison_ <= Clock::now();
  if (due) watch_all();
  const std::vector<HostPath> folders(touched_.begin(), touched_.end());
  const bool all = all_ || due;
  touched_.clear();
  all_ = false;
  AdoptOptions options;
  options.stopping = [this] { return stopping_.load(); };
  const auto looked = all ? adoption_.look_at_all(options) : adoption_.look_at(folders, options);
  if (all) next_comparison_ = Clock::now() + (unwatched_ ? compare_unwatched_every : compare_every);
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
