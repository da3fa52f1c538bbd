#include "fs/committer.h"

#include <algorithm>

namespace stationer::fs {
namespace {

constexpr std::size_t most_logged_at_once = 2u << 20;  // bytes
constexpr std::size_t most_troubles = 50;
constexpr std::chrono::seconds retry_after{1};

// About what a commit takes in memory and in the log.
std::size_t weight(const Commit& commit) {
  std::size_t bytes = 64 + 256 * commit.changes.size() + 128 * commit.deeds.size();
  for (const auto& deed : commit.deeds) {
    const auto* placed = std::get_if<PlaceFile>(&deed);
    if (placed != nullptr && placed->bytes) bytes += placed->bytes->size();
  }
  return bytes;
}

}  // namespace

Committer::Committer(HostFiles& files, Catalog& catalog, std::unique_ptr<CommitLog> log,
                     Hooks hooks)
    : files_(files), catalog_(catalog), log_(std::move(log)), hooks_(std::move(hooks)) {
  log_thread_ = std::thread([this] { log_loop(); });
  settle_thread_ = std::thread([this] { settle_loop(); });
}

Committer::~Committer() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  to_log_.notify_all();
  to_settle_.notify_all();
  log_thread_.join();
  settle_thread_.join();
}

void Committer::submit(SubmissionPtr submission) {
  const std::lock_guard lock(mutex_);
  queue_.push_back(std::move(submission));
  ++submitted_;
  to_log_.notify_one();
}

std::vector<SubmissionPtr> Committer::take_queue() {
  const std::lock_guard lock(mutex_);
  std::vector<SubmissionPtr> taken(queue_.begin(), queue_.end());
  queue_.clear();
  ended_ += taken.size();
  progress_.notify_all();
  return taken;
}

Status Committer::drain() {
  std::unique_lock lock(mutex_);
  ++draining_;
  to_settle_.notify_all();
  progress_.wait(lock, [&, wanted = submitted_] { return ended_ >= wanted || !settle_status_; });
  --draining_;
  return settle_status_;
}

std::vector<std::string> Committer::troubles() const {
  const std::lock_guard lock(mutex_);
  std::vector<std::string> out(troubles_.begin(), troubles_.end());
  if (!settle_status_) out.push_back(settle_status_.error().message);
  return out;
}

std::size_t Committer::unsettled_bytes() const {
  const std::lock_guard lock(mutex_);
  return unsettled_bytes_;
}

void Committer::add_trouble(std::string words) {
  const std::lock_guard lock(mutex_);
  if (std::find(troubles_.begin(), troubles_.end(), words) != troubles_.end()) return;
  troubles_.push_back(std::move(words));
  if (troubles_.size() > most_troubles) troubles_.pop_front();
}

void Committer::log_loop() {
  std::unique_lock lock(mutex_);
  for (;;) {
    to_log_.wait(lock, [&] { return stopping_ || !queue_.empty(); });
    if (queue_.empty()) break;
    log_some(lock);
  }
  log_stopped_ = true;
  to_settle_.notify_all();
}

// Logs what is queued with one wait for the disk. Leaves and takes the lock again.
bool Committer::log_some(std::unique_lock<std::mutex>& lock) {
  progress_.wait(
      lock, [&] { return unsettled_bytes_ < most_unsettled || !settle_status_ || queue_.empty(); });
  std::vector<SubmissionPtr> batch;
  std::size_t bytes = 0;
  while (!queue_.empty() && bytes < most_logged_at_once) {
    bytes += weight(queue_.front()->commit);
    batch.push_back(std::move(queue_.front()));
    queue_.pop_front();
  }
  if (batch.empty()) return false;
  logging_ += batch.size();
  // While settling fails and the log is as full as it may get, there is no safe place for more.
  Status status = unsettled_bytes_ < most_unsettled ? Status() : settle_status_;
  lock.unlock();

  if (status) {
    const std::lock_guard log_lock(log_mutex_);
    frame_.assign(log_frame_head, '\0');
    std::uint64_t number = log_->next_number();
    for (const auto& each : batch) {
      each->commit.number = number++;
      encode(each->commit, frame_);
    }
    status = log_->append(frame_, batch.size());
  }
  if (status) {
    lock.lock();
    last_logged_ = std::chrono::steady_clock::now();
    // Not at every turn: it looks again by itself when its time has come.
    if (unsettled_.empty() || unsettled_bytes_ + bytes >= eager_settling) to_settle_.notify_one();
    if (unsettled_.empty()) oldest_unsettled_ = last_logged_;
    unsettled_.insert(unsettled_.end(), batch.begin(), batch.end());
    unsettled_bytes_ += bytes;
    logging_ -= batch.size();
    lock.unlock();
    for (const auto& each : batch) each->ticket.settle({});
    lock.lock();
    return true;
  }
  const std::size_t count = batch.size();
  hooks_.failed(std::move(batch), status.error());
  lock.lock();
  logging_ -= count;
  ended_ += count;
  progress_.notify_all();
  return false;
}

void Committer::settle_loop() {
  std::unique_lock lock(mutex_);
  for (;;) {
    to_settle_.wait(lock, [&] { return !unsettled_.empty() || log_stopped_; });
    if (unsettled_.empty()) break;
    const auto time_to_settle = [&] {
      return std::min(last_logged_ + quiet, oldest_unsettled_ + longest_wait);
    };
    while (!stopping_ && draining_ == 0 && unsettled_bytes_ < eager_settling &&
           std::chrono::steady_clock::now() < time_to_settle()) {
      to_settle_.wait_until(lock, time_to_settle());
    }
    if (settle_some(lock)) continue;
    if (log_stopped_) break;  // what is logged is safe; the next start settles it
    to_settle_.wait_for(lock, retry_after, [&] { return stopping_; });
  }
  progress_.notify_all();
}

// Settles one group. Leaves and takes the lock again.
bool Committer::settle_some(std::unique_lock<std::mutex>& lock) {
  std::vector<const Commit*> commits;
  for (const auto& each : unsettled_) commits.push_back(&each->commit);
  lock.unlock();
  commits.resize(group_length(commits));
  SettleEvents events;
  events.while_deeds = hooks_.while_deeds;
  events.trouble = [this](std::string words) { add_trouble(std::move(words)); };
  Status status = settle_group(files_, catalog_, commits, events);
  lock.lock();
  settle_status_ = status;
  if (!status) {
    progress_.notify_all();
    return false;
  }
  const auto end = unsettled_.begin() + static_cast<std::ptrdiff_t>(commits.size());
  std::vector<SubmissionPtr> settled(unsettled_.begin(), end);
  unsettled_.erase(unsettled_.begin(), end);
  for (const auto& each : settled) unsettled_bytes_ -= weight(each->commit);
  oldest_unsettled_ = std::chrono::steady_clock::now();
  lock.unlock();
  {
    const std::lock_guard log_lock(log_mutex_);
    log_->release(settled.back()->commit.number);
  }
  hooks_.settled(settled);
  lock.lock();
  ended_ += settled.size();
  progress_.notify_all();
  return true;
}

}  // namespace stationer::fs
