#include "print/spool.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <set>
#include <utility>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/crypto.h"
#include "print/banner.h"
#include "print/foreign.h"

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::HostPath;
using fs::Status;

constexpr std::array states = {JobState::receiving, JobState::waiting, JobState::printing,
                               JobState::held,      JobState::refused, JobState::printed};
constexpr std::chrono::seconds retry_after{5};
constexpr std::uint64_t space_step = 1u << 20;
constexpr std::size_t copied_at_once = std::size_t{256} << 10;
constexpr std::uint64_t longest_key = 1024;
constexpr std::uint64_t longest_description = 64 * 1024;
constexpr std::size_t longest_slug = 40;

HostPath spool_folder() {
  return HostPath() / "spool";
}

// A part of a file name that people recognise: letters and digits of the title.
std::string slug(std::string_view title) {
  std::string out;
  for (const char c : title) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (plain) {
      out += c;
    } else if (!out.empty() && out.back() != '-') {
      out += '-';
    }
    if (out.size() == longest_slug) break;
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out.empty() ? "untitled" : out;
}

// printouts/2026/11/25/000042-a-letter.pdf, its second part 000042-2-a-letter.pdf: the same for the
// same job, so that printing it again after a crash ends in the same place.
HostPath printout_path(const Job& job, std::size_t part) {
  const auto day = fmt::gmtime(std::chrono::system_clock::to_time_t(job.received));
  const std::string number = part == 0 ? "" : fmt::format("-{}", part + 1);
  return HostPath() / "printouts" / fmt::format("{:%Y}", day) / fmt::format("{:%m}", day) /
         fmt::format("{:%d}", day) /
         fmt::format("{:06}{}-{}.pdf", job.number, number, slug(job.title));
}

std::string folder_name(std::uint32_t number) {
  return fmt::format("{:06}", number);
}
// Nothing for what is no job's folder.
std::optional<std::uint32_t> job_number(const fs::HostEntry& entry) {
  std::uint32_t number = 0;
  const char* end = entry.name.data() + entry.name.size();
  const auto read = std::from_chars(entry.name.data(), end, number);
  const bool is_job = entry.type == fs::HostEntry::Type::folder && read.ec == std::errc() &&
                      read.ptr == end && entry.name == folder_name(number);
  return is_job ? std::optional(number) : std::nullopt;
}

// The PDFs of a job as they are written, in its folder.
class PartFiles {
 public:
  PartFiles(fs::Volume& volume, HostPath folder) : volume_(volume), folder_(std::move(folder)) {}

  HostPath path(std::size_t part) const {
    return folder_ / (part == 0 ? "printout.pdf" : fmt::format("printout-{}.pdf", part + 1));
  }

  Status write(std::size_t part, std::string_view bytes) {
    while (sizes_.size() <= part) {
      if (auto done = finish(); !done) return done;
      auto made = volume_.host_files().create(path(sizes_.size()));
      if (!made) return made.error();
      file_ = std::move(*made);
      sizes_.push_back(0);
    }
    std::uint64_t& size = sizes_.back();
    if (size / space_step != (size + bytes.size()) / space_step) {
      if (auto space = volume_.check_space(bytes.size()); !space) return space;
    }
    auto done = file_->write_at(size, bytes);
    size += bytes.size();
    return done;
  }

  // The last one is complete, and durable.
  Status finish() {
    if (!file_) return {};
    return std::exchange(file_, nullptr)->sync();
  }

  const std::vector<std::uint64_t>& sizes() const { return sizes_; }

 private:
  fs::Volume& volume_;
  const HostPath folder_;
  std::unique_ptr<fs::HostFile> file_;
  std::vector<std::uint64_t> sizes_;
};

}  // namespace

const char* state_name(JobState state) {
  switch (state) {
    case JobState::receiving: return "receiving";
    case JobState::waiting: return "waiting";
    case JobState::printing: return "printing";
    case JobState::held: return "held";
    case JobState::refused: return "refused";
    case JobState::printed: return "printed";
  }
  return "unknown";
}

// ---- receiving ----

Incoming::Incoming(Spool& spool, Job job, fs::Ticket numbered, std::unique_ptr<fs::HostFile> data)
    : spool_(&spool),
      job_(std::move(job)),
      numbered_(std::move(numbered)),
      data_(std::move(data)) {}

Incoming::Incoming(Incoming&& other) noexcept
    : spool_(std::exchange(other.spool_, nullptr)),
      job_(std::move(other.job_)),
      numbered_(std::move(other.numbered_)),
      data_(std::move(other.data_)),
      start_(std::move(other.start_)),
      refused_(other.refused_) {}

Incoming::~Incoming() {
  if (spool_ == nullptr) return;
  data_.reset();
  spool_->abandon(job_.number);
}

Status Incoming::write(std::string_view bytes) {
  if (job_.bytes + bytes.size() > Spool::largest_job) {
    return Error{Code::over_quota,
                 fmt::format("The job is larger than the {} MiB that are allowed.",
                             Spool::largest_job >> 20)};
  }
  if (job_.bytes == 0 || job_.bytes / space_step != (job_.bytes + bytes.size()) / space_step) {
    if (auto space = spool_->volume_.check_space(bytes.size()); !space) return space;
  }
  if (auto written = data_->write_at(job_.bytes, bytes); !written) return written;
  if (start_.size() < foreign_beginning) {
    start_ += bytes.substr(0, foreign_beginning - start_.size());
  }
  job_.bytes += bytes.size();
  return {};
}

void Incoming::describe(std::string title, fs::AccountId owner, std::string owner_name) {
  job_.title = std::move(title);
  job_.owner = owner;
  job_.owner_name = std::move(owner_name);
}

void Incoming::refuse(std::string reason) {
  job_.reason = std::move(reason);
  refused_ = true;
}

fs::Result<std::uint32_t> Incoming::finish() {
  return finish_as(refused_ ? JobState::refused : spool_->admit(job_, start_));
}

fs::Result<std::uint32_t> Incoming::finish_as(JobState state) {
  const std::uint32_t number = job_.number;
  if (auto numbered = numbered_.wait(); !numbered) return numbered.error();
  auto accepted = spool_->accept(job_, *data_, state);
  if (!accepted) return accepted.error();
  spool_ = nullptr;
  return number;
}

Status Incoming::copy(fs::HostFile& from) {
  std::string piece(copied_at_once, '\0');
  for (std::uint64_t offset = 0;;) {
    const auto size = from.read_at(offset, piece);
    if (!size) return size.error();
    if (*size == 0) return {};
    if (auto written = write(std::string_view(piece).substr(0, *size)); !written) return written;
    offset += *size;
  }
}

// Where a job goes that is complete, and why.
JobState Spool::admit(Job& job, std::string_view start) const {
  job.reason.clear();
  const Queue* queue = queues_.find(job.queue);
  if (const std::string_view what = foreign_job(start); !what.empty()) {
    const Language language = queue == nullptr ? Language::text : queue->settings.language;
    job.reason = why_refused(what, language);
    return JobState::refused;
  }
  if (queue == nullptr || queue->policy == Policy::straight) return JobState::waiting;
  job.reason = queue->policy == Policy::owner ? "It waits for its owner to release it."
                                              : "It waits for a leader to release it.";
  return JobState::held;
}

fs::Result<Incoming> Spool::receive(std::string_view queue_name, std::string title,
                                    fs::AccountId owner, std::string owner_name,
                                    std::string source) {
  const Queue* queue = queues_.find(queue_name);
  if (queue == nullptr) {
    return Error{Code::not_found, fmt::format("There is no print queue \"{}\".", queue_name)};
  }
  if (auto space = volume_.check_space(0); !space) return space.error();
  Job job;
  job.queue = queue->name;
  job.title = std::move(title);
  job.owner = owner;
  job.owner_name = std::move(owner_name);
  job.source = std::move(source);
  job.received = volume_.now();
  {
    const std::lock_guard lock(mutex_);
    job.number = ++last_number_;
  }
  auto numbered = volume_.desk().take_job_number(job.number);
  const HostPath place = folder(JobState::receiving, job.number);
  if (auto made = files_.make_folder(place); !made) return made.error();
  auto data = files_.create(place / "data");
  if (!data) {
    abandon(job.number);
    return data.error();
  }
  return Incoming(*this, std::move(job), std::move(numbered), std::move(*data));
}

Status Spool::accept(Job& job, fs::HostFile& data, JobState state) {
  const HostPath place = folder(JobState::receiving, job.number);
  if (auto synced = data.sync(); !synced) return synced;
  if (auto written = fs::write_durably(files_, place / "job.json", write_job(job)); !written) {
    return written;
  }
  if (auto moved = move(job, JobState::receiving, state); !moved) return moved;
  const JobView view{job, state};
  {
    const std::lock_guard lock(mutex_);
    jobs_[job.number] = view;
  }
  wake_.notify_all();
  if (state == JobState::refused) {
    told(view, false);
    const std::lock_guard moving(moving_mutex_);
    drop_old_refusals();
  }
  return {};
}

// The caller holds moving_mutex_.
void Spool::drop_old_refusals() {
  std::vector<Job> too_many;
  {
    const std::lock_guard lock(mutex_);
    std::size_t count = 0;
    std::uint64_t bytes = 0;
    for (auto each = jobs_.rbegin(); each != jobs_.rend(); ++each) {
      if (each->second.state != JobState::refused) continue;
      bytes += each->second.job.bytes;
      if (++count > most_refused || bytes > most_refused_bytes)
        too_many.push_back(each->second.job);
    }
  }
  for (const Job& job : too_many) static_cast<void>(discard(job, JobState::refused));
}

void Spool::abandon(std::uint32_t number) {
  // What can't be taken away now is at the next start.
  static_cast<void>(remove_files(folder(JobState::receiving, number)));
}

// ---- where jobs lie ----

HostPath Spool::folder(JobState state, std::uint32_t number) const {
  return spool_folder() / state_name(state) / folder_name(number);
}

Status Spool::move(const Job& job, JobState from, JobState to) {
  return move_folder(folder(from, job.number), folder(to, job.number));
}

Status Spool::move_folder(const HostPath& from, const HostPath& to) {
  auto moved = files_.rename(from, to, false);
  if (!moved) return moved;
  moved = files_.sync_folder(to.folder());
  if (moved) moved = files_.sync_folder(from.folder());
  // Whoever is told that it failed must find the job where it was.
  if (!moved) static_cast<void>(files_.rename(to, from, false));
  return moved;
}

Status Spool::move_with_reason(Job job, JobState from, JobState to, std::string reason) {
  job.reason = std::move(reason);
  auto written = fs::write_durably(files_, folder(from, job.number) / "job.json", write_job(job));
  if (!written) return written;
  if (from != to) {
    if (auto moved = move(job, from, to); !moved) return moved;
  }
  const std::lock_guard lock(mutex_);
  jobs_[job.number] = {std::move(job), to};
  return {};
}

Status Spool::remove_files(const HostPath& place) {
  auto entries = files_.list(place);
  if (!entries) return entries.error().code == Code::not_found ? Status() : Status(entries.error());
  for (const auto& entry : *entries) {
    if (auto removed = files_.remove_file(place / entry.name); !removed) return removed;
  }
  if (auto removed = files_.remove_folder(place); !removed) return removed;
  return files_.sync_folder(place.folder());
}

// ---- starting ----

Spool::Spool(fs::Volume& volume, Queues queues, std::unique_ptr<Renderer> renderer)
    : volume_(volume),
      files_(volume.host_files()),
      queues_(std::move(queues)),
      renderer_(std::move(renderer)) {}

fs::Result<std::unique_ptr<Spool>> Spool::open(fs::Volume& volume, Queues queues,
                                               std::unique_ptr<Renderer> renderer) {
  std::unique_ptr<Spool> spool(new Spool(volume, std::move(queues), std::move(renderer)));
  if (auto recovered = spool->recover(); !recovered) return recovered.error();
  return spool;
}

// A job as it was found: it may be in another state than that in which it lies.
struct Spool::Found {
  JobView view;
  JobState lies_in;
};

Status Spool::recover() {
  last_number_ = volume_.desk().last_job();
  std::vector<Found> firsts;
  std::vector<Found> doubles;
  for (const JobState state : states) {
    const HostPath place = spool_folder() / state_name(state);
    if (auto made = fs::make_folders(files_, place); !made) return made;
    auto entries = files_.list(place);
    if (!entries) return entries.error();
    for (const auto& entry : *entries) {
      const auto number = job_number(entry);
      if (!number) continue;  // not ours; left alone
      last_number_ = std::max(last_number_, *number);
      if (state == JobState::receiving) {  // nobody was told it was taken
        if (auto gone = remove_files(place / entry.name); !gone) return gone;
        continue;
      }
      Found found = read_found(state, *number);
      if (state == JobState::printed) {
        // Only bytes to print again: nothing without a description, or with a job in their place.
        if (found.view.state == state && jobs_.count(*number) == 0) {
          kept_[*number] = std::move(found.view.job);
        } else if (auto gone = remove_files(place / entry.name); !gone) {
          return gone;
        }
        continue;
      }
      const bool first = jobs_.emplace(*number, found.view).second;
      (first ? firsts : doubles).push_back(std::move(found));
    }
  }
  std::stable_sort(doubles.begin(), doubles.end(), [](const Found& a, const Found& b) {
    return a.view.job.number < b.view.job.number;
  });
  for (Found& each : doubles) {
    if (auto done = renumber(std::move(each)); !done) return done;
  }
  for (const Found& each : firsts) {
    if (each.view.state == each.lies_in) continue;
    if (auto moved = move(each.view.job, each.lies_in, each.view.state); !moved) return moved;
  }
  // What was joined into another job is that one's now (forget_joined).
  std::set<std::uint64_t> joined;
  for (const auto& [number, view] : jobs_) {
    joined.insert(view.job.joined.begin(), view.job.joined.end());
  }
  std::erase_if(jobs_, [&](const auto& each) { return joined.count(each.first) != 0; });
  if (auto key = recover_claim_key(); !key) return key;
  // A snapshot may hold a job that is newer than its rows.
  if (last_number_ == volume_.desk().last_job()) return {};
  return volume_.desk().take_job_number(last_number_).wait();
}

Spool::Found Spool::read_found(JobState state, std::uint32_t number) {
  auto text = fs::read_whole(files_, folder(state, number) / "job.json", longest_description);
  auto job = text ? read_job(*text) : fs::Result<Job>(text.error());
  Found out{{job ? *job : Job(), state}, state};
  out.view.job.number = number;  // its folder's name decides
  if (!job) {
    out.view.job.reason = "Its description was lost, so it can't be printed. Its bytes are kept.";
    out.view.state = JobState::refused;
  } else if (state == JobState::printing) {
    out.view.state = JobState::waiting;
  }
  return out;
}

// The second gets a number of its own, and people decide whether it is to be printed, too.
Status Spool::renumber(Found second) {
  Job& job = second.view.job;
  const HostPath from = folder(second.lies_in, job.number);
  const std::uint32_t number = ++last_number_;
  if (auto taken = volume_.desk().take_job_number(number).wait(); !taken) return taken;
  if (second.view.state != JobState::refused) {
    second.view.state = JobState::held;
    job.reason = fmt::format(
        "Two jobs had the number {}, so this one has another now. If it is not printed yet, it can "
        "be released.",
        job.number);
  }
  job.number = number;
  if (auto written = fs::write_durably(files_, from / "job.json", write_job(job)); !written) {
    return written;
  }
  if (auto moved = move_folder(from, folder(second.view.state, number)); !moved) return moved;
  jobs_[number] = std::move(second.view);
  return {};
}

Status Spool::recover_claim_key() {
  const HostPath place = spool_folder() / "claim.key";
  auto key = fs::read_whole(files_, place, longest_key);
  if (key && !key->empty()) {
    claim_key_ = std::move(*key);
    return {};
  }
  if (!key && key.error().code != Code::not_found) return key.error();
  claim_key_ = fs::hex(fs::random_hash());
  return fs::write_durably(files_, place, claim_key_);
}

Spool::~Spool() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  if (thread_.joinable()) thread_.join();
}

// ---- looking ----

// With what is known of a job only while it is being printed.
JobView Spool::as_it_is(JobView view) const {
  if (view.state == JobState::printing) {
    view.page = page_;
    view.read = read_;
  }
  return view;
}

std::vector<JobView> Spool::jobs(std::string_view queue) const {
  const std::lock_guard lock(mutex_);
  std::vector<JobView> out;
  for (const auto& [number, view] : jobs_) {
    if (queue.empty() || view.job.queue == queue) out.push_back(as_it_is(view));
  }
  return out;
}

std::optional<JobView> Spool::job(std::uint32_t number) const {
  const std::lock_guard lock(mutex_);
  const auto found = jobs_.find(number);
  if (found == jobs_.end()) return std::nullopt;
  return as_it_is(found->second);
}

std::string Spool::trouble() const {
  const std::lock_guard lock(mutex_);
  return trouble_;
}

// Out of its state in one step; what is left of it then is given up as an unfinished upload is.
Status Spool::discard(const Job& job, JobState state) {
  if (auto gone = forget_joined(job); !gone) return gone;
  if (auto moved = move(job, state, JobState::receiving); !moved) return moved;
  {
    const std::lock_guard lock(mutex_);
    jobs_.erase(job.number);
    kept_.erase(job.number);
  }
  abandon(job.number);
  return {};
}

// A job that others were joined into is told of by its description alone, which is durable before
// they go. So they have to be gone before it is.
Status Spool::forget_joined(const Job& job) {
  for (const std::uint64_t joined : job.joined) {
    Job old;
    old.number = static_cast<std::uint32_t>(joined);
    for (const JobState state : {JobState::waiting, JobState::held}) {
      auto there = files_.look(folder(state, old.number));
      if (!there) return there.error();
      if (!*there) continue;
      if (auto moved = move(old, state, JobState::receiving); !moved) return moved;
      abandon(old.number);
    }
  }
  return {};
}

// ---- printing ----

fs::Result<std::optional<Job>> Spool::take_waiting() {
  const std::lock_guard moving(moving_mutex_);
  std::optional<Job> next;
  {
    const std::lock_guard lock(mutex_);
    const auto found = std::find_if(jobs_.begin(), jobs_.end(), [](const auto& each) {
      return each.second.state == JobState::waiting;
    });
    if (found == jobs_.end()) return next;
    next = found->second.job;
  }
  if (auto moved = move(*next, JobState::waiting, JobState::printing); !moved) return moved.error();
  page_ = 0;
  read_ = 0;
  const std::lock_guard lock(mutex_);
  jobs_[next->number].state = JobState::printing;
  return next;
}

fs::Result<std::optional<std::uint32_t>> Spool::print_next() {
  auto job = take_waiting();
  if (!job) return job.error();
  if (!*job) return std::optional<std::uint32_t>();
  const std::uint32_t number = (*job)->number;
  const Queue* queue = queues_.find((*job)->queue);
  const Status printed =
      queue == nullptr
          ? Status(Error{Code::bad_input,
                         fmt::format("The queue \"{}\" is not there any more.", (*job)->queue)})
          : print(**job, *queue);

  const std::lock_guard moving(moving_mutex_);
  if (printed) {
    // Before the job goes: if this is the end of us, it is printed, and told of, once more.
    told({**job, JobState::printing}, true);
    if (auto gone = lay_aside(**job); !gone) return gone.error();
    return std::optional(number);
  }
  const Code code = printed.error().code;
  if (code == Code::over_quota || code == Code::bad_input) {
    auto refused =
        move_with_reason(**job, JobState::printing, JobState::refused, printed.error().message);
    if (!refused) return refused.error();
    told(*this->job(number), false);
    return std::optional(number);
  }
  // The host's fault: the job waits for a better time.
  if (auto moved = move(**job, JobState::printing, JobState::waiting); moved) {
    const std::lock_guard lock(mutex_);
    jobs_[number].state = JobState::waiting;
  }
  return printed.error();
}

Status Spool::print(Job& job, const Queue& queue) {
  if (auto gone = forget_joined(job); !gone) return gone;
  if (volume_.desk().has_printout(job.number)) return {};  // a run that was cut short came that far
  const auto allowed = allowance(job.owner, queue);
  const auto decided_by = [&](std::string_view setting, std::string_view more) {
    job.rule =
        fmt::format("{} under [queue.{}] in volume.toml decided.{}", setting, queue.name, more);
  };
  if (allowed && allowed->left == 0) {
    decided_by(allowed->setting, "");
    return Error{Code::over_quota, allowed->words};
  }

  const HostPath place = folder(JobState::printing, job.number);
  auto data = files_.open(place / "data");
  if (!data) return data.error();
  std::uint64_t read = 0;
  const ByteSource source = [&](std::span<char> into) -> fs::Result<std::size_t> {
    auto got = (*data)->read_at(read, into);
    if (got) read_ = read += *got;
    return got;
  };
  PartFiles parts(volume_, place);
  const PartSink sink = [&](std::size_t part, std::string_view bytes) {
    return parts.write(part, bytes);
  };
  Order order;
  order.queue = queue.name;
  order.most_pages = queue.settings.text.most_pages;
  order.starts = job.starts;
  if (allowed) order.most_pages = std::min(order.most_pages, allowed->left);
  Metadata& metadata = order.metadata;
  metadata.title = job.title.empty() ? fmt::format("Printout {}", job.number) : job.title;
  metadata.owner = job.owner_name;
  metadata.origin = fmt::format("{}, queue {}", job.source, job.queue);
  metadata.job = fmt::format("{}", job.number);
  metadata.created = std::chrono::floor<std::chrono::seconds>(job.received);
  auto report =
      renderer_->render(order, source, sink, [this](std::uint64_t page) { page_ = page; });
  if (!report) {
    const bool by_account = report.error().code == Code::over_quota &&
                            order.most_pages < queue.settings.text.most_pages;
    const std::string at =
        fmt::format(" {} of the job's {} bytes were read then.", read, job.bytes);
    if (report.error().code == Code::over_quota) {
      decided_by(by_account ? allowed->setting : "most_pages", at);
    } else {
      job.rule = at.substr(1);
    }
    if (!by_account) return report.error();
    return Error{Code::over_quota, allowed->words + " This job has more pages than that."};
  }
  if (report->pages == 0) return Error{Code::bad_input, "There was nothing to print in it."};
  if (auto synced = parts.finish(); !synced) return synced;
  if (parts.sizes().empty() || parts.sizes().size() != report->parts.size()) {
    return Error{Code::bad_input, "The pages that came of it are not what was said of them."};
  }
  if (auto numbered = number_parts(job, report->parts.size()); !numbered) return numbered;

  const HostPath folder = printout_path(job, 0).folder();
  if (auto made = fs::make_folders(files_, folder); !made) return made;
  std::vector<fs::Printout> printouts;
  for (std::size_t part = 0; part < report->parts.size(); ++part) {
    const HostPath path = printout_path(job, part);
    if (auto moved = files_.rename(parts.path(part), path, true); !moved) return moved;
    fs::Printout printout;
    printout.job = part == 0 ? job.number : static_cast<std::uint32_t>(job.parts[part - 1]);
    printout.owner = job.owner;
    printout.queue = job.queue;
    printout.title = part == 0 ? metadata.title : part_title(metadata.title, part);
    printout.source = job.source;
    printout.pages = static_cast<std::uint32_t>(report->parts[part]);
    printout.bytes = parts.sizes()[part];
    printout.printed = volume_.now();
    printout.path = path.text();
    printouts.push_back(std::move(printout));
  }
  if (auto synced = files_.sync_folder(folder); !synced) return synced;
  return volume_.desk().add_printouts(printouts).wait();
}

// Numbers for the printouts of a job that was split, noted with it so that a run cut short takes no
// others.
Status Spool::number_parts(Job& job, std::size_t count) {
  if (job.parts.size() + 1 >= count) return {};
  Job numbered = job;
  {
    const std::lock_guard lock(mutex_);
    while (numbered.parts.size() + 1 < count) numbered.parts.push_back(++last_number_);
  }
  const auto last = static_cast<std::uint32_t>(numbered.parts.back());
  if (auto taken = volume_.desk().take_job_number(last).wait(); !taken) return taken;
  const HostPath place = folder(JobState::printing, job.number) / "job.json";
  if (auto written = fs::write_durably(files_, place, write_job(numbered)); !written) {
    return written;
  }
  job.parts = numbered.parts;
  const std::lock_guard lock(mutex_);
  jobs_[job.number].job.parts = std::move(numbered.parts);
  return {};
}

void Spool::on_done(std::function<void(const JobView&, bool)> tell) {
  const std::lock_guard lock(mutex_);
  tell_ = std::move(tell);
}

void Spool::told(const JobView& view, bool printed) {
  std::function<void(const JobView&, bool)> tell;
  {
    const std::lock_guard lock(mutex_);
    tell = tell_;
  }
  if (tell) tell(view, printed);
}

void Spool::start() {
  thread_ = std::thread([this] { print_loop(); });
}

void Spool::print_loop() {
  for (;;) {
    auto printed = print_next();
    std::unique_lock lock(mutex_);
    trouble_ = printed ? "" : printed.error().message;
    const auto waits = [&] {
      return std::any_of(jobs_.begin(), jobs_.end(),
                         [](const auto& each) { return each.second.state == JobState::waiting; });
    };
    if (printed) {
      wake_.wait(lock, [&] { return stopping_ || waits(); });
    } else {
      wake_.wait_for(lock, retry_after, [&] { return stopping_; });
    }
    if (stopping_) return;
  }
}

}  // namespace stationer::print
