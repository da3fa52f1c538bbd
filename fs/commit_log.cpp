#include "fs/commit_log.h"

#include <algorithm>
#include <optional>

#include <fmt/format.h>
#include <libdeflate.h>

namespace stationer::fs {
namespace {

constexpr std::string_view magic = "STNRLOG1";
constexpr std::size_t header_size = 8 + 8 + 8 + 4;
constexpr std::size_t frame_head = 4 + 8 + 4;

HostPath log_folder() {
  return HostPath() / "log";
}

template <class T>
void put_number(std::string& out, T value) {
  for (std::size_t i = 0; i < sizeof value; ++i) out += static_cast<char>(value >> (8 * i) & 0xFF);
}

template <class T>
T get_number(std::string_view bytes) {
  T value = 0;
  for (std::size_t i = 0; i < sizeof value; ++i) {
    value |= static_cast<T>(static_cast<T>(static_cast<unsigned char>(bytes[i])) << (8 * i));
  }
  return value;
}

std::uint32_t crc(std::uint32_t start, std::string_view bytes) {
  return libdeflate_crc32(start, bytes.data(), bytes.size());
}

struct Header {
  std::uint64_t serial = 0;
  std::uint64_t first = 0;
};

std::string write_header(const Header& header) {
  std::string out(magic);
  put_number(out, header.serial);
  put_number(out, header.first);
  put_number(out, crc(0, out));
  return out;
}

std::optional<Header> read_header(std::string_view segment) {
  if (segment.size() < header_size || !segment.starts_with(magic)) return std::nullopt;
  if (get_number<std::uint32_t>(segment.substr(24)) != crc(0, segment.substr(0, 24))) {
    return std::nullopt;
  }
  return Header{get_number<std::uint64_t>(segment.substr(8)),
                get_number<std::uint64_t>(segment.substr(16))};
}

std::string frame_for(std::string_view payload, std::uint64_t first) {
  std::string out;
  out.reserve(frame_head + payload.size());
  put_number(out, static_cast<std::uint32_t>(payload.size()));
  put_number(out, first);
  put_number(out, crc(crc(0, out), payload));
  out += payload;
  return out;
}

// The payload of the frame at the front of `bytes`, if it checks and starts with `number`.
std::optional<std::string_view> payload_of(std::string_view bytes, std::uint64_t number) {
  if (bytes.size() < frame_head) return std::nullopt;
  const auto length = get_number<std::uint32_t>(bytes);
  if (length == 0 || length > bytes.size() - frame_head) return std::nullopt;
  if (get_number<std::uint64_t>(bytes.substr(4)) != number) return std::nullopt;
  const auto payload = bytes.substr(frame_head, length);
  if (get_number<std::uint32_t>(bytes.substr(12)) != crc(crc(0, bytes.substr(0, 12)), payload)) {
    return std::nullopt;
  }
  return payload;
}

}  // namespace

Result<std::unique_ptr<CommitLog>> CommitLog::open(HostFiles& files, std::uint64_t settled,
                                                   const std::function<void(Commit)>& use) {
  if (auto made = make_folders(files, log_folder()); !made) return made.error();
  auto entries = files.list(log_folder());
  if (!entries) return entries.error();

  struct Found {
    Segment segment;
    std::string bytes;
  };
  std::vector<Found> found;
  std::unique_ptr<CommitLog> log(new CommitLog(files, settled + 1));
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
    const auto header = read_header(*bytes);
    if (!header) {
      log->free_.push_back(each.segment);  // being made, or being reused, when the power went
      continue;
    }
    each.segment.serial = header->serial;
    each.segment.first = header->first;
    log->next_serial_ = std::max(log->next_serial_, header->serial + 1);
    each.bytes = std::move(*bytes);
    found.push_back(std::move(each));
  }
  std::sort(found.begin(), found.end(),
            [](const Found& a, const Found& b) { return a.segment.serial < b.segment.serial; });

  for (std::size_t i = 0; i < found.size(); ++i) {
    auto& [segment, bytes] = found[i];
    const std::uint64_t end = i + 1 < found.size() ? found[i + 1].segment.first : ~std::uint64_t{0};
    std::uint64_t number = segment.first;
    std::string_view rest = std::string_view(bytes).substr(header_size);
    while (number < end) {
      const auto payload = payload_of(rest, number);
      if (!payload) break;
      rest.remove_prefix(frame_head + payload->size());
      std::string_view left = *payload;
      while (!left.empty()) {
        auto commit = decode(left);
        if (!commit) return commit.error();
        if (commit->number != number) {
          return Error{Code::damaged, "The commit log holds commits in the wrong order."};
        }
        if (number > settled) {
          if (number != log->next_number_) {
            return Error{
                Code::damaged,
                fmt::format("The commit log has lost commits {} to {}: its segment in "
                            "\"log\" is missing or damaged. Restore the volume from a copy, "
                            "or ask for help before you start the service.",
                            log->next_number_, number - 1)};
          }
          ++log->next_number_;
          use(std::move(*commit));
        }
        ++number;
      }
    }
    segment.last = number - 1;
    bytes.clear();
    if (segment.last <= settled) {
      log->free_.push_back(segment);
    } else {
      log->segments_.push_back(segment);
    }
  }
  if (log->segments_.empty() && log->free_.empty()) {
    auto made = log->make_segment(segment_size);
    if (!made) return made.error();
    log->free_.push_back(*made);
  }
  return log;
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
  auto segment = take_free(header_size + room);
  if (!segment) return segment.error();
  auto file = files_.open_write(segment->path);
  if (!file) {
    free_.push_back(*segment);
    return file.error();
  }
  segment->serial = next_serial_++;
  segment->first = next_number_;
  segment->last = next_number_ - 1;
  if (auto written = (*file)->write_at(0, write_header({segment->serial, segment->first}));
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
  position_ = header_size;
  return {};
}

Status CommitLog::append(std::string_view encoded, std::uint64_t count) {
  const std::string frame = frame_for(encoded, next_number_);
  if (!file_ || position_ + frame.size() > segments_.back().size) {
    if (auto started = start_segment(frame.size()); !started) return started;
  }
  Status status = file_->write_at(position_, frame);
  if (status) status = file_->sync();
  if (!status) {
    file_.reset();
    revoke();
    return status;
  }
  must_revoke_ = false;
  position_ += frame.size();
  next_number_ += count;
  segments_.back().last = next_number_ - 1;
  return {};
}

// A new segment that starts at the number of what was refused makes it void for every later reader.
void CommitLog::revoke() {
  must_revoke_ = true;
  if (start_segment(frame_head) && file_->sync()) must_revoke_ = false;
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
