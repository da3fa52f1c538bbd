#include "print/finder.h"

#include <map>
#include <utility>

#include <fmt/format.h>

#include "fs/settings_table.h"
#include "print/pdf_text.h"

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;

constexpr std::chrono::seconds retry_after{60};
constexpr std::chrono::hours look_after{1};
constexpr std::chrono::hours between_wipes{1};
constexpr std::size_t most_text = std::size_t{64} << 20;  // bytes of one printout that are read
constexpr std::int64_t default_index_mib = 1024;

// Tells a printout from another that had its number in a volume put back by hand.
std::uint64_t mark_of(const fs::PrintoutView& printout) {
  return static_cast<std::uint64_t>(printout.printed.time_since_epoch().count()) * 1'000'003 +
         printout.bytes;
}

}  // namespace

Finder::Finder(fs::Volume& volume, std::uint64_t most_bytes)
    : volume_(volume), most_bytes_(most_bytes) {}

// ---- the index ----

Status Finder::try_with_index(const std::function<Status(fs::TextIndex&)>& use) {
  if (!index_) {
    auto opened = fs::TextIndex::open(volume_.host_files(), volume_.directory(), most_bytes_);
    if (!opened) return opened.error();
    index_ = std::move(*opened);
    auto wrong = index_->check();
    if (!wrong) return wrong.error();
    if (!wrong->empty()) return Error{Code::damaged, wrong->front()};
  }
  return use(*index_);
}

// A damaged index is thrown away; what it had is read again.
Status Finder::with_index(const std::function<Status(fs::TextIndex&)>& use) {
  const std::lock_guard lock(index_mutex_);
  auto status = try_with_index(use);
  if (status || status.error().code != Code::damaged) return status;
  index_.reset();
  if (auto gone = fs::TextIndex::discard(volume_.host_files()); !gone) return gone;
  made_anew_ = true;
  nudge();
  return try_with_index(use);
}

Status Finder::take_out_gone(fs::TextIndex& index) {
  auto known = index.documents();
  if (!known) return known.error();
  for (const auto& printout : volume_.desk().printouts(fs::stationer_itself(), true)) {
    const auto found = known->find(printout.job);
    if (found != known->end() && found->second == mark_of(printout)) known->erase(found);
  }
  std::vector<std::uint32_t> gone;
  for (const auto& [document, mark] : *known) gone.push_back(document);
  return index.remove(gone);
}

Status Finder::read_in(const fs::PrintoutView& printout) {
  auto path = fs::HostPath::from_record(printout.path);
  if (!path) return path.error();
  std::vector<std::string> pages;
  std::size_t size = 0;
  const auto open = [&]() -> fs::Result<fs::Content> {
    auto file = volume_.host_files().open(*path);
    if (!file) return file.error();
    return fs::Content(std::move(*file));
  };
  auto read = each_page_text(open, [&](std::string_view text) -> Status {
    if (worker_.stopping()) return Error{Code::busy, "The service stops."};
    size += text.size();
    if (size <= most_text) pages.emplace_back(text);
    return {};
  });
  if (!read) {
    if (read.error().code == Code::not_found) return {};  // the check tells of it
    if (read.error().code != Code::damaged) return read;
    // Not to be read again each time; it is found by its title.
    pages.clear();
  }
  if (pages.empty()) pages.emplace_back();
  if (auto room = volume_.check_space(2 * size); !room) return room;
  return with_index([&](fs::TextIndex& index) -> Status {
    auto now = volume_.desk().printout(fs::stationer_itself(), printout.job);
    if (!now || mark_of(*now) != mark_of(printout)) return {};  // discarded meanwhile
    return index.add(printout.job, mark_of(printout), printout.title, pages);
  });
}

Status Finder::read_new() {
  for (int round = 0;; ++round) {
    if (auto done = read_unknown(); !done) return done;
    const std::lock_guard lock(index_mutex_);
    if (!std::exchange(made_anew_, false) || round == 1) return {};
  }
}

Status Finder::read_unknown() {
  std::map<std::uint32_t, std::uint64_t> known;
  auto looked = with_index([&](fs::TextIndex& index) -> Status {
    if (auto gone = take_out_gone(index); !gone) return gone;
    auto documents = index.documents();
    if (!documents) return documents.error();
    known = std::move(*documents);
    return {};
  });
  if (!looked) return looked;
  for (const auto& printout : volume_.desk().printouts(fs::stationer_itself(), true)) {
    if (worker_.stopping()) return {};
    if (known.count(printout.job) != 0) continue;
    if (auto done = read_in(printout); !done) return done;
  }
  return {};
}

Status Finder::catch_up() {
  auto status = read_new();
  note_trouble(status);
  return status;
}

Status Finder::forget() {
  auto status = with_index([&](fs::TextIndex& index) -> Status {
    if (auto gone = take_out_gone(index); !gone) return gone;
    wiped_ = volume_.now();
    return index.wipe_remains();
  });
  note_trouble(status);
  return status;
}

// What was discarded stands in the file for an hour at most.
Status Finder::wipe_when_due() {
  return with_index([&](fs::TextIndex& index) -> Status {
    auto remains = index.has_remains();
    if (!remains) return remains.error();
    if (!*remains || volume_.now() - wiped_ < between_wipes) return {};
    wiped_ = volume_.now();
    return index.wipe_remains();
  });
}

// ---- finding ----

fs::Result<Found> Finder::find(const fs::Caller& caller, const fs::PrintoutFilter& filter,
                               std::string_view words, std::size_t most) {
  auto meant = fs::meant_printouts(volume_, caller, filter);
  if (!meant) return meant.error();
  Found found;
  if (words.find_first_not_of(' ') == words.npos) {
    found.more = meant->size() > most;
    if (found.more) meant->resize(most);
    for (auto& printout : *meant) found.items.push_back({std::move(printout), 0, {}});
    return found;
  }
  if (!worker_.started()) {
    if (auto caught_up = catch_up(); !caught_up) return caught_up.error();
  }
  std::map<std::uint32_t, const fs::PrintoutView*> by_number;
  for (const auto& printout : *meant) by_number.emplace(printout.job, &printout);
  auto searched = with_index([&](fs::TextIndex& index) -> Status {
    auto documents = index.documents();
    if (!documents) return documents.error();
    found = {};
    for (const auto& [number, printout] : by_number) found.unread += 1 - documents->count(number);
    auto hits = index.find(
        words, [&](std::uint32_t number) { return by_number.count(number) != 0; }, most + 1);
    if (!hits) return hits.error();
    found.more = hits->size() > most;
    if (found.more) hits->resize(most);
    for (auto& hit : *hits) {
      found.items.push_back({*by_number.at(hit.document), hit.page, std::move(hit.line)});
    }
    return {};
  });
  if (!searched) return searched.error();
  return found;
}

// ---- the thread ----

void Finder::start() {
  worker_.start([this]() -> std::optional<std::chrono::seconds> {
    auto status = catch_up();
    if (status) {
      status = wipe_when_due();
      note_trouble(status);
    }
    return status ? std::chrono::seconds(look_after) : retry_after;
  });
}

void Finder::note_trouble(const Status& status) {
  const std::lock_guard lock(mutex_);
  trouble_.clear();
  if (status || worker_.stopping()) return;
  if (status.error().code == Code::no_space) {
    trouble_ = fmt::format(
        "Not every printout can be found by its words: the index of printouts has no more room. It "
        "may take {} MiB of the disk: see index_mib in volume.toml, and what is free.",
        most_bytes_ >> 20);
  } else {
    trouble_ =
        fmt::format("Not every printout can be found by its words. {}", status.error().message);
  }
}

std::string Finder::trouble() const {
  const std::lock_guard lock(mutex_);
  return trouble_;
}

// ---- settings ----

fs::Result<std::uint64_t> read_index_size(std::string_view settings_text) {
  auto file = fs::parse_settings(settings_text);
  if (!file) return file.error();
  auto print = fs::settings_table(*file, "print");
  if (!print) return print.error();
  auto mib = fs::number_setting(**print, "index_mib", default_index_mib, 1, 1 << 20);
  if (!mib) return mib.error();
  return static_cast<std::uint64_t>(*mib) << 20;
}

}  // namespace stationer::print
