#include "server/protocol/lpd.h"

#include <algorithm>
#include <map>
#include <set>
#include <stdexcept>

#include "server/protocol/clean_text.h"
#include "server/protocol/encoder.h"

namespace stationer::server {
namespace {

constexpr char positive = '\x00';
constexpr char failed = '\x01';
constexpr char later = '\x02';
constexpr std::string_view white = " \t\v\f";  // §3.1
constexpr std::string_view too_many_files =
    "The sending machine sent more than 52 files in one job. Print them in parts.";
constexpr char zero_octet[] = {'\0'};

std::string_view next_word(std::string_view& rest) {
  rest.remove_prefix(std::min(rest.find_first_not_of(white), rest.size()));
  const std::string_view word = rest.substr(0, rest.find_first_of(white));
  rest.remove_prefix(word.size());
  return word;
}

// Without digits nothing; too large a number is as good as the largest.
std::optional<std::uint64_t> count_of(std::string_view digits) {
  constexpr std::uint64_t largest = UINT64_MAX;
  std::uint64_t value = 0;
  if (digits.empty()) return {};
  for (const char c : digits) {
    if (c < '0' || c > '9') return {};
    const auto digit = static_cast<std::uint64_t>(c - '0');
    value = value > (largest - digit) / 10 ? largest : value * 10 + digit;
  }
  return value;
}

Lpd::Selection selection(std::string_view rest) {
  Lpd::Selection out;
  for (auto word = next_word(rest); !word.empty(); word = next_word(rest)) {
    // §2: the name of a user does not begin with a digit.
    const bool job = word.front() >= '0' && word.front() <= '9';
    (job ? out.jobs : out.users).push_back(clean_text(word));
  }
  return out;
}

// For each listing the index of its file among those that came, or nothing while some are missing.
// By name; some clients call a file differently in the two places, hence otherwise by order.
std::optional<std::vector<std::size_t>> match(const std::vector<LpdListing>& listings,
                                              const std::vector<std::string>& came) {
  std::map<std::string_view, std::optional<std::size_t>> chosen;
  for (const LpdListing& listing : listings) chosen[listing.data_file];
  if (came.size() < chosen.size()) return {};
  std::vector<std::size_t> unlisted;
  for (std::size_t i = 0; i < came.size(); ++i) {
    const auto at = chosen.find(came[i]);
    if (at != chosen.end()) {
      at->second = i;
    } else {
      unlisted.push_back(i);
    }
  }
  auto spare = unlisted.begin();
  std::vector<std::size_t> files;
  for (const LpdListing& listing : listings) {
    auto& file = chosen[listing.data_file];
    if (!file) file = *spare++;
    files.push_back(*file);
  }
  return files;
}

}  // namespace

Lpd::Step Lpd::feed(std::string_view octets, Time now) {
  Step step;
  if (!octets.empty()) active_ = now;
  if (state_ == State::over) step.used = octets.size();
  while (step.used < octets.size() && waits_ == Waits::no && !step.request &&
         state_ != State::over) {
    const std::string_view rest = octets.substr(step.used);
    switch (state_) {
      case State::command:
      case State::job: line(rest, step); break;
      case State::control: octets_of_control(rest, step); break;
      case State::data: octets_of_data(rest, step); break;
      case State::closing:
        ++step.used;
        closing(static_cast<unsigned char>(rest.front()), step);
        break;
      case State::over: break;
    }
  }
  return step;
}

void Lpd::line(std::string_view octets, Step& step) {
  // An octet 00 between files is a closing one that came after we had stopped waiting for it.
  if (state_ == State::job && line_.empty() && octets.front() == '\0') {
    ++step.used;
    return;
  }
  if (after_take_back_) {
    after_take_back_ = false;
    if (octets.front() == '\n') line_ = "\x01";
  }
  const auto end = octets.find('\n');
  const std::string_view part = octets.substr(0, end);
  if (line_.size() + part.size() > longest_line) {
    return drop(
        "The other end sent a command longer than 1,024 characters, which no print client "
        "does.",
        step);
  }
  line_ += part;
  step.used += part.size();
  if (end == std::string_view::npos) return;
  ++step.used;
  std::string whole;
  whole.swap(line_);
  if (!whole.empty() && whole.back() == '\r') whole.pop_back();
  if (state_ == State::command) {
    command(whole, step);
  } else {
    subcommand(whole, step);
  }
}

void Lpd::command(std::string_view line, Step& step) {
  const auto code = line.empty() ? '\0' : line.front();
  std::string_view rest = line.substr(line.empty() ? 0 : 1);
  // White space before it means that there is no name: the default queue.
  const bool unnamed = rest.empty() || white.find(rest.front()) != std::string_view::npos;
  std::string queue = unnamed ? "" : clean_text(next_word(rest));
  switch (code) {
    case 1: return ask(StartPrinting{std::move(queue)}, Waits::start, step);
    case 2: return ask(ReceiveJob{std::move(queue)}, Waits::receive, step);
    case 3:
    case 4: return ask(ListQueue{std::move(queue), code == 4, selection(rest)}, Waits::text, step);
    case 5: {
      std::string agent = clean_text(next_word(rest));
      return ask(RemoveJobs{std::move(queue), std::move(agent), selection(rest)}, Waits::text,
                 step);
    }
    default:
      return drop(
          "The other end did not speak as a print client does. Something else may have "
          "called at the printing door.",
          step);
  }
}

void Lpd::subcommand(std::string_view line, Step& step) {
  const auto code = line.empty() ? '\0' : line.front();
  if (line == "\x01") {  // §6.1
    new_job();
    step.request = Dropped{"The sending machine withdrew the job."};
    step.send += positive;
    return;
  }
  if (code != 2 && code != 3) {
    return drop(
        "The sending machine broke off in the middle of a job with something that is not a "
        "print command.",
        step);
  }
  is_control_ = code == 2;
  std::string_view rest = line.substr(1);
  const auto count = count_of(next_word(rest));
  const std::string_view name = next_word(rest);
  if (!count || name.empty()) {
    return drop("The sending machine announced a file without its size or its name.", step);
  }
  count_ = *count;
  left_ = count_;
  name_ = name;
  if (is_control_) {
    if (control_) return drop("The sending machine sent two control files for one job.", step);
    if (count_ == 0 || count_ > largest_control) {
      return drop("The sending machine announced a control file of " + std::to_string(count_) +
                      " bytes; between 1 and 65,536 are possible.",
                  step);
    }
    control_octets_.clear();
    state_ = State::control;
    step.send += positive;
    return;
  }
  if (names_.size() == most_files) {
    return drop(std::string(too_many_files), step);
  }
  if (std::find(names_.begin(), names_.end(), name_) != names_.end()) {
    return drop("The sending machine sent the same file of a job twice.", step);
  }
  to_the_end_ = count_ == 0;
  untouched_ = true;
  zero_held_ = false;
  const bool believable = count_ > 0 && count_ < huge_count;
  ask(OpenFile{believable ? std::optional(count_) : std::nullopt}, Waits::open, step);
}

void Lpd::octets_of_control(std::string_view octets, Step& step) {
  const std::string_view part = octets.substr(0, static_cast<std::size_t>(left_));
  control_octets_ += part;
  step.used += part.size();
  left_ -= part.size();
  if (left_ == 0) state_ = State::closing;
}

void Lpd::octets_of_data(std::string_view octets, Step& step) {
  if (zero_held_) {  // more came after it: it was data
    zero_held_ = false;
    step.request = Piece{{zero_octet, 1}};
    untouched_ = false;
    return;
  }
  if (to_the_end_) {
    step.used += octets.size();
    if (untouched_ && octets == std::string_view(zero_octet, 1)) {
      zero_held_ = true;
      return;
    }
    step.request = Piece{octets};
    untouched_ = false;
    return;
  }
  const auto size = static_cast<std::size_t>(std::min<std::uint64_t>(left_, octets.size()));
  step.used += size;
  left_ -= size;
  step.request = Piece{octets.substr(0, size)};
  if (left_ == 0) state_ = State::closing;
}

void Lpd::closing(unsigned char octet, Step& step) {
  if (octet == 0) return file_complete(step);
  if (octet == 1) {
    state_ = State::job;
    after_take_back_ = true;
    if (!is_control_) step.request = DropFile{};
    return;
  }
  drop("The sending machine sent more of a file than it had announced.", step);
}

void Lpd::file_complete(Step& step) {
  if (!is_control_) return ask(CloseFile{}, Waits::close, step);
  control_ = parse_lpd_control(control_octets_);
  control_octets_ = {};
  std::set<std::string_view> listed;
  for (const LpdListing& file : control_->files) listed.insert(file.data_file);
  if (listed.empty()) {
    return drop("The sending machine sent a job that names nothing to print.", step);
  }
  if (listed.size() > most_files) return drop(std::string(too_many_files), step);
  next(step);
}

// A file has been taken in. Is the job whole?
void Lpd::next(Step& step) {
  state_ = State::job;
  if (control_) {
    if (auto files = match(control_->files, names_)) {
      return ask(JobReady{std::move(*control_), std::move(*files)}, Waits::ready, step);
    }
  }
  step.send += positive;
  if (input_over_) input_ended(step);
}

void Lpd::new_job() {
  control_.reset();
  names_.clear();
}

Lpd::Step Lpd::end_of_input(Time now) {
  Step step;
  active_ = now;
  input_over_ = true;
  if (waits_ == Waits::no) input_ended(step);
  return step;
}

void Lpd::input_ended(Step& step) {
  switch (state_) {
    case State::closing: return file_complete(step);
    case State::data:
      if (to_the_end_ || count_ >= huge_count) return file_complete(step);
      return drop("The sending machine broke off after " + std::to_string(count_ - left_) + " of " +
                      std::to_string(count_) + " bytes. Nothing was printed; send it again.",
                  step);
    case State::control:
      return drop(
          "The sending machine broke off in the middle of a control file. Nothing was "
          "printed; send it again.",
          step);
    case State::job:
      if (control_ || !names_.empty() || !line_.empty()) {
        return drop(
            "The sending machine broke off before the job was complete. Nothing was "
            "printed; send it again.",
            step);
      }
      break;
    case State::command:
    case State::over: break;
  }
  state_ = State::over;
  step.close = true;
}

Lpd::Step Lpd::lost() {
  Step step;
  const bool in_job = state_ == State::control || state_ == State::data ||
                      state_ == State::closing || control_ || !names_.empty() ||
                      waits_ == Waits::open || waits_ == Waits::ready;
  waits_ = Waits::no;
  state_ = State::over;
  step.close = true;
  if (in_job) {
    step.request = Dropped{
        "The connection to the sending machine broke. Nothing was printed; send "
        "it again."};
  }
  return step;
}

std::optional<Time> Lpd::deadline() const {
  if (waits_ != Waits::no || state_ == State::over) return {};
  if (state_ == State::closing) return active_ + closing_wait;
  if (state_ == State::data && zero_held_) return active_ + empty_wait;
  return active_ + idle_wait;
}

Lpd::Step Lpd::tick(Time now) {
  Step step;
  const auto due = deadline();
  if (!due || now < *due) return step;
  if (state_ == State::closing || (state_ == State::data && zero_held_)) {
    active_ = now;
    file_complete(step);
  } else {
    drop("The other end was silent for five minutes in the middle of its business.", step);
  }
  return step;
}

void Lpd::ask(Request request, Waits waits, Step& step) {
  step.request = std::move(request);
  waits_ = waits;
}

Lpd::Waits Lpd::take_wait(bool wants_text) {
  const bool text = waits_ == Waits::text;
  if (waits_ == Waits::no || text != wants_text) {
    throw std::logic_error("an answer that the LPD machine does not wait for");
  }
  return std::exchange(waits_, Waits::no);
}

Lpd::Step Lpd::accept(Time now) {
  Step step;
  active_ = now;
  switch (take_wait(false)) {
    case Waits::start:
      step.send += positive;
      step.close = true;
      state_ = State::over;
      return step;
    case Waits::receive: state_ = State::job; break;
    case Waits::open: state_ = State::data; break;
    case Waits::close:
      names_.push_back(std::move(name_));
      next(step);
      return step;
    case Waits::ready:
      new_job();
      state_ = State::job;
      break;
    case Waits::no:
    case Waits::text: break;
  }
  step.send += positive;
  if (input_over_) input_ended(step);
  return step;
}

Lpd::Step Lpd::refuse(const fs::Error& error) {
  take_wait(false);
  Step step;
  step.send += error.code == fs::Code::no_space || error.code == fs::Code::busy ? later : failed;
  step.close = true;
  state_ = State::over;
  return step;
}

Lpd::Step Lpd::answer(std::string_view text) {
  take_wait(true);
  Step step;
  const Encoder ascii(print::Charset::ascii);
  for (const char32_t c : decode(text)) {
    if (c == U'\n' || c == U'\t') {
      step.send += static_cast<char>(c);
    } else {
      ascii.append(ascii.shown(c), step.send);
    }
  }
  step.close = true;
  state_ = State::over;
  return step;
}

void Lpd::drop(std::string reason, Step& step) {
  step.send += failed;
  step.request = Dropped{std::move(reason)};
  step.close = true;
  state_ = State::over;
}

}  // namespace stationer::server
