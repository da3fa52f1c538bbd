#include "server/terminal/cargo.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr std::size_t piece_size = 16 * 1024;

// What a station says a file is called, without the folders it has it in.
std::string_view last_part(std::string_view name) {
  return name.substr(name.find_last_of("/\\:") + 1);
}

}  // namespace

// ---- to the station ----

// No blanks: YMODEM's header and many a system's names end at one.
std::string Cargo::wire_name(const fs::Path& file) const {
  std::string name = shown_name(session_, file);
  std::replace(name.begin(), name.end(), ' ', '_');
  return name;
}

fs::Status Cargo::find(std::string_view name) {
  const auto path = session_.path(name);
  if (!path) return path.error();
  const auto there = session_.look(*path);
  if (!there) return there.error();
  if (there->folder) {
    return fs::Error{fs::Code::is_a_folder,
                     fmt::format("{} is a folder.", shown_name(session_, *path))};
  }
  to_send_.assign(1, *path);
  next_ = 0;
  return {};
}

Task<std::optional<FileFacts>> Cargo::next() {
  while (next_ < to_send_.size()) {
    const fs::Path& path = to_send_[next_++];
    const auto there = session_.look(path);
    auto content = session_.open(path);
    if (!there || !content) {
      report_.push_back(there ? content.error().message : there.error().message);
      continue;
    }
    content_ = std::move(*content);
    offset_ = 0;
    converted_.clear();
    ended_ = false;
    FileFacts facts;
    facts.name = wire_name(path);
    facts.text = there->kind == fs::Kind::text && !rules_.exact;
    facts.modified = std::chrono::floor<std::chrono::seconds>(there->modified);
    facts.size = there->size;
    to_station_.reset();
    if (*facts.text) {
      // How long it will be is only known once it has been turned into the station's own.
      std::uint64_t size = 0;
      std::uint64_t offset = 0;
      TextToStation measured(rules_.screen, rules_.text_ending);
      for (bool ended = false; !ended;) {
        auto piece = co_await converted(offset, measured, ended);
        if (!piece) break;  // reading it in earnest will say why
        size += piece->size();
      }
      facts.size = size;
      to_station_.emplace(rules_.screen, rules_.text_ending);
    }
    co_return facts;
  }
  co_return std::nullopt;
}

Task<fs::Result<std::string>> Cargo::converted(std::uint64_t& offset, TextToStation& text,
                                               bool& ended) {
  auto piece = co_await session_.read(*content_, offset, piece_size);
  if (!piece) co_return piece;
  offset += piece->size();
  ended = piece->empty();
  co_return ended ? text.finish() : text.feed(*piece);
}

Task<fs::Result<std::string>> Cargo::read(std::size_t most) {
  if (!to_station_) {
    std::string bytes;
    while (bytes.size() < most) {
      auto piece = co_await session_.read(*content_, offset_, most - bytes.size());
      if (!piece) co_return piece;
      if (piece->empty()) break;
      offset_ += piece->size();
      bytes += *piece;
    }
    co_return bytes;
  }
  while (converted_.size() < most && !ended_) {
    auto piece = co_await converted(offset_, *to_station_, ended_);
    if (!piece) co_return piece;
    converted_ += *piece;
  }
  std::string bytes = converted_.substr(0, most);
  converted_.erase(0, bytes.size());
  co_return bytes;
}

void Cargo::sent(const std::string& refusal) {
  const std::string name = shown_name(session_, to_send_[next_ - 1]);
  if (refusal.empty()) {
    ++carried_;
    report_.push_back(fmt::format("{} was sent.", name));
  } else {
    report_.push_back(fmt::format("{} was not sent. {}", name, refusal));
  }
}

// ---- from the station ----

fs::Status Cargo::open(const FileFacts& facts) {
  if (rules_.target) {
    upload_path_ = *rules_.target;
  } else {
    const std::string_view name = last_part(facts.name);
    auto path = session_.path(name);
    if (path && !name.empty() && !path->is_top()) path = rules_.folder / path->last();
    if (!path || name.empty() || path->is_top()) {
      return fs::Error{fs::Code::bad_name,
                       fmt::format("A file can't be called \"{}\" here.", name)};
    }
    upload_path_ = *path;
  }
  const bool text = facts.text.value_or(rules_.text) && !rules_.exact;
  fs::SaveOptions options;
  options.replace = rules_.replace;
  if (const auto there = session_.look(upload_path_); there && !there->folder) {
    // It stays what it was, unless it is text now.
    options.kind = there->kind;
    options.load_address = there->load_address;
    options.entry_point = there->entry_point;
  }
  if (text) options.kind = fs::Kind::text;
  auto upload = session_.save(upload_path_, options);
  if (!upload) {
    report_.push_back(upload.error().message);
    return upload.error();
  }
  upload_ = std::move(*upload);
  from_station_.reset();
  if (text) from_station_.emplace(rules_.screen.charset);
  return {};
}

Task<fs::Status> Cargo::write(std::string bytes) {
  if (from_station_) bytes = from_station_->feed(bytes);
  auto written = co_await session_.write(upload_, std::move(bytes));
  if (!written) report_.push_back(written.error().message);
  co_return written;
}

Task<fs::Status> Cargo::close() {
  if (from_station_) {
    const auto written = co_await session_.write(upload_, from_station_->finish());
    if (!written) co_return written;
  }
  const std::uint64_t size = upload_->size();
  const auto finished = co_await session_.finish(std::exchange(upload_, nullptr));
  if (!finished) {
    report_.push_back(finished.error().message);
    co_return finished;
  }
  ++carried_;
  report_.push_back(
      fmt::format("{} is saved: {}.", shown_from_here(session_, upload_path_), short_size(size)));
  co_return fs::Status();
}

void Cargo::abandon() {
  upload_ = nullptr;
  report_.push_back(fmt::format("{} was not saved.", shown_from_here(session_, upload_path_)));
}

}  // namespace stationer::server
