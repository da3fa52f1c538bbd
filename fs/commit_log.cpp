#include "fs/commit_log.h"

#include <algorithm>
#include <optional>

#include <fmt/format.h>

#include "fs/log_format.h"

namespace stationer::fs {
namespace {

HostPath log_folder() {
  return HostPath() / "log";
}

}  // namespace

std::string CommitLog::Loss::words() const {
  return first == last ? fmt::format("change {}", first)
                       : fmt::format("changes {} to {}", first, last);
}

Result<std::unique_ptr<CommitLog>> CommitLog::open(HostFiles& files, const Opening& opening,
                                                   const std::function<void(Commit)>& use) {
  if (auto made = make_folders(files, log_folder()); !made) return made.error();
  auto entries = files.list(log_folder());
  if (!entries) return entries.error();

  struct Found {
    Segment segment;
    std::string bytes;
    std::vector<LogFrame> frames;
  };
  std::vector<Found> found;
  std::unique_ptr<CommitLog> log(new CommitLog(files, opening.settled + 1));
  for (const auto& entry : *entries) {
    std::uint64_t name = 0;
    const bool is_number = !entry.name.empty() && entry.name.size() < 18 &&
                           entry.name.find_first_not_of("0123456789") == std::string::npos;
    if (is_number) name = std::stoull(entry.name);
    if (entry.type != HostEntry::Type::file || name == 0) {
      return Error{
          Code::damaged,
          fmt::format("\"log/{}\" does not belong in the volume. Move it away.", entry.name)};
    }
    log->next_name_ = std::max(log->next_name_, name + 1);
    Found each;
    each.segment.path = log_folder() / entry.name;
    each.segment.size = entry.size;
    auto bytes = read_whole(files, each.segment.path, std::uint64_t{1} << 32);
    if (!bytes) return bytes.error();
    each.bytes = std::move(*bytes);
    auto segment = read_log_segment(each.bytes);
    if (!segment) {
      log->free_.push_back(each.segment);  // being made, or being reused, when the power went
      continue;
    }
    each.segment.serial = segment->header.serial;
    each.segment.first = segment->header.first;
    each.segment.last = segment->header.first - 1;
    each.frames = std::move(segment->frames);
    log->next_serial_ = std::max(log->next_serial_, segment->header.serial + 1);
    found.push_back(std::move(each));
  }
  log->next_serial_ += opening.salt >> 32;
  std::sort(found.begin(), found.end(),
            [](const Found& a, const Found& b) { return a.segment.serial < b.segment.serial; });

  std::optional<std::uint64_t> beyond;  // the first change that is there after some that are not
  for (std::size_t i = 0; i < found.size() && !beyond; ++i) {
    auto& [segment, bytes, frames] = found[i];
    const std::uint64_t end = i + 1 < found.size() ? found[i + 1].segment.first : ~std::uint64_t{0};
    if (segment.first > log->next_number_) beyond = segment.first;
    for (const LogFrame& frame : frames) {
      if (frame.first >= end || beyond) break;
      std::uint64_t number = frame.first;
      for (std::string_view left = frame.payload; !left.empty(); ++number) {
        auto commit = decode(left);
        if (!commit) return commit.error();
        if (commit->number != number) {
          return Error{Code::damaged, "The commit log holds changes in the wrong order."};
        }
        segment.last = number;
        if (number <= opening.settled) continue;
        if (number > log->next_number_) {
          beyond = number;
          break;
        }
        if (number < log->next_number_) {
          return Error{Code::damaged,
                       fmt::format("\"{}\" holds changes that are in the commit log already. If "
                                   "it is a copy, move it away.",
                                   segment.path.text())};
        }
        ++log->next_number_;
        use(std::move(*commit));
      }
    }
  }
  if (beyond && !opening.accept_loss) {
    return Error{
        Code::damaged,
        fmt::format("The log of what was saved last is damaged: {} can't be read, but later ones "
                    "can, so it is not just a write that was cut. Restore the newest snapshot; or "
                    "go on without these changes and all later ones: stationer check --repair "
                    "--accept-loss. The log is then kept in rescued/.",
                    Loss{log->next_number_, *beyond - 1}.words())};
  }
  for (const auto& each : found) {
    if (each.segment.last <= opening.settled) {
      log->free_.push_back(each.segment);
    } else {
      log->segments_.push_back(each.segment);
    }
  }
  if (beyond) {
    log->loss_ = Loss{log->next_number_, *beyond - 1};
    // What lies in which can't be told for sure any more.
    for (const auto& each : log->free_) log->damaged_.push_back(each);
    for (const auto& each : log->segments_) log->damaged_.push_back(each);
    log->free_.clear();
    log->segments_.clear();
  }
  if (log->segments_.empty() && log->free_.empty()) {
    auto made = log->make_segment(segment_size);
    if (!made) return made.error();
    log->free_.push_back(*made);
  }
  return log;
}

Status CommitLog::set_damaged_aside() {
  if (damaged_.empty()) return {};
  while (!damaged_.empty()) {
    const HostPath& path = damaged_.front().path;
    auto moved = move_to_rescued(files_, path, fmt::format("log {}", path.name()));
    if (!moved) return moved;
    damaged_.pop_front();
  }
  return files_.sync_everything();
}

Result<CommitLog::Segment> CommitLog::make_segment(std::uint64_t size) {
  Segment segment;
  segment.path = log_folder() / fmt::format("{:06}", next_name_);
  segment.size = size;
  auto file = files_.create(segment.path);
  if (!file) return file.error();
  const std::string zeros(1u << 20, '\0');
  Status status;
  for (std::uint64_t at = 0; at < size && status; at += zeros.size()) {
    status = (*file)->write_at(
        at, std::string_view(zeros).substr(
                0, static_cast<std::size_t>(std::min<std::uint64_t>(zeros.size(), size - at))));
  }
  if (status) status = (*file)->sync();
  if (status) status = files_.sync_folder(log_folder());
  if (!status) {
    file->reset();
    static_cast<void>(files_.remove_file(segment.path));
    return status.error();
  }
  ++next_name_;
  return segment;
}

Result<CommitLog::Segment> CommitLog::take_free(std::uint64_t size) {
  const auto fits = std::find_if(free_.begin(), free_.end(),
                                 [&](const Segment& each) { return each.size >= size; });
  if (fits != free_.end()) {
    Segment segment = *fits;
    free_.erase(fits);
    return segment;
  }
  if (segments_.size() + free_.size() >= most_segments) {
    return Error{Code::busy, "Too much is waiting for the disk. Try again in a moment."};
  }
  return make_segment(std::max(size, segment_size));
}

Status CommitLog::start_segment(std::uint64_t room) {
  auto segment = take_free(log_header_size + room);
  if (!segment) return segment.error();
  auto file = files_.open_write(segment->path);
  if (!file) {
    free_.push_back(*segment);
    return file.error();
  }
  segment->serial = next_serial_++;
  segment->first = next_number_;
  segment->last = next_number_ - 1;
  if (auto written = (*file)->write_at(0, write_log_header({segment->serial, segment->first}));
      !written) {
    free_.push_back(*segment);
    return written;
  }
  // A segment that was given up before anything was written to it.
  if (!segments_.empty() && segments_.back().last < segments_.back().first) {
    free_.push_back(segments_.back());
    segments_.pop_back();
  }
  segments_.push_back(*segment);
  file_ = std::move(*file);
  position_ = log_header_size;
  return {};
}

Status CommitLog::append(std::string& frame, std::uint64_t count) {
  const std::size_t size = frame.size();
  if (!file_ || position_ + size > segments_.back().size) {
    if (auto started = start_segment(size); !started) return started;
  }
  write_log_frame_head(frame, segments_.back().serial, next_number_);
  Status status = file_->write_at(position_, frame);
  if (status) status = file_->sync();
  if (!status) {
    file_.reset();
    revoke();
    return status;
  }
  must_revoke_ = false;
  position_ += size;
  next_number_ += count;
  segments_.back().last = next_number_ - 1;
  return {};
}

// A new segment that starts at the number of what was refused makes it void for every later reader.
void CommitLog::revoke() {
  must_revoke_ = true;
  if (start_segment(log_frame_head) && file_->sync()) must_revoke_ = false;
}

CommitLog::~CommitLog() {
  if (must_revoke_) revoke();
}

void CommitLog::release(std::uint64_t number) {
  // The one being written stays.
  while (segments_.size() > 1 && segments_.front().last <= number) {
    free_.push_back(segments_.front());
    segments_.pop_front();
  }
  // Once a flood is over, what it needed goes back to the disk bit by bit; the next may come soon.
  if (next_number_ == number + 1 && free_.size() > most_free) {
    static_cast<void>(files_.remove_file(free_.back().path));
    free_.pop_back();
  }
}

}  // namespace stationer::fs
