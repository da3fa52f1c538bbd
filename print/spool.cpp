#include "print/spool.h"

#include <algorithm>
#include <array>
#include <charconv>

#include <fmt/chrono.h>
#include <fmt/format.h>

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::HostPath;
using fs::Status;

constexpr std::array states = {JobState::receiving, JobState::waiting, JobState::printing,
                               JobState::held, JobState::refused};
constexpr std::chrono::seconds retry_after{5};
constexpr std::uint64_t space_step = 1u << 20;
constexpr std::size_t start_size = 16;
constexpr std::uint64_t longest_description = 64 * 1024;
constexpr std::size_t longest_slug = 40;

HostPath spool_folder() {
  return HostPath() / "spool";
}

// Languages that look like nothing on paper when taken for text. The signatures are the formats'
// own: PostScript Language Reference 3rd ed. §3.3, ISO 32000-1 §7.5.2; the third is common practice
// of printer drivers, no source.
std::string foreign_language(std::string_view start) {
  if (start.starts_with("%!") || start.starts_with("\x04%!")) return "PostScript";
  if (start.starts_with("%PDF-")) return "PDF";
  if (start.starts_with("\x1b%-12345X")) return "a page printer's own language";
  return "";
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

// printouts/2026/11/25/000042-a-letter.pdf: the same for the same job, so that printing it again
// after a crash ends in the same place.
HostPath printout_path(const Job& job) {
  const auto day = fmt::gmtime(std::chrono::system_clock::to_time_t(job.received));
  return HostPath() / "printouts" / fmt::format("{:%Y}", day) / fmt::format("{:%m}", day) /
         fmt::format("{:%d}", day) / fmt::format("{:06}-{}.pdf", job.number, slug(job.title));
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

}  // namespace

const char* state_name(JobState state) {
  switch (state) {
    case JobState::receiving: return "receiving";
    case JobState::waiting: return "waiting";
    case JobState::printing: return "printing";
    case JobState::held: return "held";
    case JobState::refused: return "refused";
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
  if (start_.size() < start_size) start_ += bytes.substr(0, start_size - start_.size());
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
  const std::uint32_t number = job_.number;
  const Queue* queue = spool_->queues_.find(job_.queue);
  JobState state = JobState::waiting;
  if (refused_) {
    state = JobState::refused;
  } else if (const std::string language = foreign_language(start_); !language.empty()) {
    state = JobState::refused;
    job_.reason = fmt::format(
        "The job is in {}, and this queue prints plain text. Choose a text-only "
        "printer on the machine that sent it.",
        language);
  } else if (queue != nullptr && queue->policy != Policy::straight) {
    state = JobState::held;
    job_.reason = queue->policy == Policy::owner ? "It waits for its owner to release it."
                                                 : "It waits for a leader to release it.";
  }
  if (auto numbered = numbered_.wait(); !numbered) return numbered.error();
  auto accepted = spool_->accept(job_, *data_, state);
  if (!accepted) return accepted.error();
  spool_ = nullptr;
  return number;
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
  if (auto moved = move(job, from, to); !moved) return moved;
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

Spool::~Spool() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  if (thread_.joinable()) thread_.join();
}

// ---- looking ----

std::vector<JobView> Spool::jobs(std::string_view queue) const {
  const std::lock_guard lock(mutex_);
  std::vector<JobView> out;
  for (const auto& [number, view] : jobs_) {
    if (queue.empty() || view.job.queue == queue) out.push_back(view);
  }
  return out;
}

std::optional<JobView> Spool::job(std::uint32_t number) const {
  const std::lock_guard lock(mutex_);
  const auto found = jobs_.find(number);
  if (found == jobs_.end()) return std::nullopt;
  return found->second;
}

std::string Spool::trouble() const {
  const std::lock_guard lock(mutex_);
  return trouble_;
}

// ---- handling ----

Status Spool::may_handle(const fs::Caller& caller, const Job& job, bool owner_may) const {
  if (caller.account != fs::no_account && caller.account == job.owner && owner_may) return {};
  if (volume_.people().looks_after(caller, job.owner)) return {};
  return Error{Code::denied, fmt::format("Job {} is not yours to handle.", job.number)};
}

fs::Result<JobView> Spool::handled(const fs::Caller& caller, std::uint32_t number,
                                   bool owner_may) const {
  auto view = job(number);
  if (!view)
    return Error{Code::not_found, fmt::format("There is no job {} in the queues.", number)};
  if (auto allowed = may_handle(caller, view->job, owner_may); !allowed) return allowed.error();
  return *view;
}

Status Spool::hold(const fs::Caller& caller, std::uint32_t number, std::string reason) {
  const std::lock_guard moving(moving_mutex_);
  auto view = handled(caller, number, true);
  if (!view) return view.error();
  if (view->state != JobState::waiting) {
    return Error{Code::bad_input, fmt::format("Job {} is {}, so it can't be held.", number,
                                              state_name(view->state))};
  }
  return move_with_reason(view->job, view->state, JobState::held, std::move(reason));
}

Status Spool::release(const fs::Caller& caller, std::uint32_t number) {
  const std::lock_guard moving(moving_mutex_);
  const auto known = job(number);
  const Queue* queue = known ? queues_.find(known->job.queue) : nullptr;
  auto view = handled(caller, number, queue != nullptr && queue->policy != Policy::leader);
  if (!view) return view.error();
  if (view->state != JobState::held) {
    return Error{Code::bad_input, fmt::format("Job {} is {}, so there is nothing to release.",
                                              number, state_name(view->state))};
  }
  auto moved = move_with_reason(view->job, view->state, JobState::waiting, "");
  wake_.notify_all();
  return moved;
}

Status Spool::refuse(const fs::Caller& caller, std::uint32_t number, std::string reason) {
  const std::lock_guard moving(moving_mutex_);
  auto view = handled(caller, number, false);
  if (!view) return view.error();
  if (view->state == JobState::refused) return {};
  if (view->state == JobState::printing) {
    return Error{Code::busy, fmt::format("Job {} is being printed already.", number)};
  }
  auto moved = move_with_reason(view->job, view->state, JobState::refused, std::move(reason));
  if (moved) told(*job(number), false);
  return moved;
}

Status Spool::cancel(const fs::Caller& caller, std::uint32_t number) {
  const std::lock_guard moving(moving_mutex_);
  auto view = handled(caller, number, true);
  if (!view) return view.error();
  if (view->state == JobState::printing) {
    return Error{Code::busy, fmt::format("Job {} is being printed already.", number)};
  }
  if (auto gone = discard(view->job, view->state); !gone) return gone;
  return volume_.desk()
      .note(caller, "print job cancelled", fmt::format("{}", number), view->job.title)
      .wait();
}

// Out of its state in one step; what is left of it then is given up as an unfinished upload is.
Status Spool::discard(const Job& job, JobState state) {
  if (auto moved = move(job, state, JobState::receiving); !moved) return moved;
  {
    const std::lock_guard lock(mutex_);
    jobs_.erase(job.number);
  }
  abandon(job.number);
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
    if (auto gone = discard(**job, JobState::printing); !gone) return gone.error();
    told({**job, JobState::printing}, true);
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

Status Spool::print(const Job& job, const Queue& queue) {
  const HostPath place = folder(JobState::printing, job.number);
  auto data = files_.open(place / "data");
  if (!data) return data.error();
  auto pdf = files_.create(place / "printout.pdf");
  if (!pdf) return pdf.error();
  std::uint64_t read = 0;
  std::uint64_t written = 0;
  const ByteSource source = [&](std::span<char> into) -> fs::Result<std::size_t> {
    auto got = (*data)->read_at(read, into);
    if (got) read += *got;
    return got;
  };
  const ByteSink sink = [&](std::string_view bytes) -> Status {
    if (written / space_step != (written + bytes.size()) / space_step) {
      if (auto space = volume_.check_space(bytes.size()); !space) return space;
    }
    auto done = (*pdf)->write_at(written, bytes);
    written += bytes.size();
    return done;
  };
  Order order{queue.name, queue.settings.text.most_pages, {}};
  Metadata& metadata = order.metadata;
  metadata.title = job.title.empty() ? fmt::format("Printout {}", job.number) : job.title;
  metadata.owner = job.owner_name;
  metadata.origin = fmt::format("{}, queue {}", job.source, job.queue);
  metadata.job = fmt::format("{}", job.number);
  metadata.created = std::chrono::floor<std::chrono::seconds>(job.received);
  auto report = renderer_->render(order, source, sink);
  if (!report) return report.error();
  if (report->pages == 0) return Error{Code::bad_input, "There was nothing to print in it."};
  if (auto synced = (*pdf)->sync(); !synced) return synced;

  const HostPath path = printout_path(job);
  if (auto made = fs::make_folders(files_, path.folder()); !made) return made;
  if (auto moved = files_.rename(place / "printout.pdf", path, true); !moved) return moved;
  if (auto synced = files_.sync_folder(path.folder()); !synced) return synced;
  fs::Printout printout;
  printout.job = job.number;
  printout.owner = job.owner;
  printout.queue = job.queue;
  printout.title = metadata.title;
  printout.source = job.source;
  printout.pages = static_cast<std::uint32_t>(report->pages);
  printout.bytes = written;
  printout.printed = volume_.now();
  printout.path = path.text();
  return volume_.desk().add_printout(printout).wait();
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
