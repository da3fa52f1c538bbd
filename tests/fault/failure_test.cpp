// Every call that the store makes to the disk fails, its own and SQLite's, the first, the second,
// the third … until an operation passes untouched; and so for every operation there is, on a
// simulated disk. Whatever fails, the volume is afterwards as before the operation or as after it,
// as the operation said; nothing else has changed, and all works again once the fault is gone.
//
// Operations that mend what was damaged, or take over what the host's owner did, start from a
// volume where that is so (tests/support/mends.h). None of them ever loses a content that is there.
//
//   failure_test [all|operations|mends|slice] [PART OF AN OPERATION'S NAME]
//
// Each call fails in four ways: once with a fault of the disk, once because it is full, once for
// lack of descriptors, and for good from that call on until the operation has given up.
#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <memory>
#include <mutex>
#include <set>
#include <sstream>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "tests/support/mends.h"
#include "tests/support/operations.h"
#include "tests/support/rows.h"
#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using test::DiskCall;
using test::SimulatedDisk;

namespace {

struct Way {
  const char* name;
  fs::Code code;
  bool for_good;
};
// No operation has so many calls.
constexpr long never = std::numeric_limits<long>::max();
// Of an operation with many more calls than this most are alike: each fails, but not in each way.
constexpr long many_calls = 40;

constexpr Way ways[] = {{"I/O error", fs::Code::io, false},
                        {"disk full", fs::Code::no_space, false},
                        {"too many open files", fs::Code::busy, false},
                        {"disk gone", fs::Code::io, true}};

// Makes the disk fail at the Nth call from now.
class Fault {
 public:
  Fault(std::shared_ptr<SimulatedDisk> disk, long at, const Way& way) : disk_(std::move(disk)) {
    auto shared = shared_;
    disk_->set_hook([shared, at, way](const DiskCall& call) -> std::optional<fs::Code> {
      const long number = ++shared->calls;
      if (way.for_good ? number < at : number != at) return std::nullopt;
      const std::lock_guard lock(shared->mutex);
      if (shared->where.empty()) shared->where = fmt::format("{} \"{}\"", call.name(), call.path);
      return way.code;
    });
  }
  ~Fault() { end(); }
  void end() { disk_->set_hook({}); }
  long calls() const { return shared_->calls; }
  // The first call that failed; empty when none did.
  std::string where() const {
    const std::lock_guard lock(shared_->mutex);
    return shared_->where;
  }

 private:
  struct Shared {
    std::atomic<long> calls{0};
    mutable std::mutex mutex;
    std::string where;
  };
  std::shared_ptr<SimulatedDisk> disk_;
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
};

struct State {
  std::string seen;      // by the keeper
  std::string findings;  // of the check
  std::string rows;      // in the catalogue
  std::string files;     // on the host
  bool operator==(const State&) const = default;
};

std::string findings_of(fs::Volume& volume) {
  auto report = volume.check();
  if (!report) return report.error().message + '\n';
  std::string out;
  for (const auto& each : report->findings) out += each.path + ": " + each.sentence + '\n';
  return out;
}

// What contents there are, wherever they lie.
std::set<std::string> contents_of(const std::string& files) {
  std::set<std::string> out;
  std::istringstream in(files);
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with("file ")) out.insert(line.substr(line.rfind(' ') + 1));
  }
  return out;
}

std::string difference(const State& was, const State& is) {
  return test::difference(was.seen, is.seen) + test::difference(was.findings, is.findings) +
         test::difference(was.rows, is.rows) + test::difference(was.files, is.files);
}

class Trial {
 public:
  using Operation = test::Operation;

  Trial(test::MountPoint& place, std::shared_ptr<SimulatedDisk> start)
      : place_(place), start_(std::move(start)) {}

  long tried() const { return tried_; }

  // Runs an operation through all its failures. False when something is wrong.
  bool through(const Operation& operation, long stride) {
    if (!choose(operation)) {
      fmt::print("{}: it never works\n", operation.name);
      return false;
    }
    stride = std::max(stride, std::min(calls_ / many_calls, long{std::ssize(ways)}));
    long first = 0;  // between the ways, every call has its turn
    for (const Way& way : ways) {
      bool struck = true;
      for (long n = 1 + first / std::ssize(ways); struck; n += stride) {
        const std::string words = once(operation, n, way, struck);
        ++tried_;
        if (words.empty()) continue;
        fmt::print("{}, {} at call {}: {}\n", operation.name, way.name, n, words);
        return false;
      }
      first += stride;
    }
    return true;
  }

 private:
  std::unique_ptr<fs::Volume> open(const std::shared_ptr<SimulatedDisk>& disk) {
    auto opened = place_.open(disk);
    if (!opened) throw std::runtime_error("it does not open: " + opened.error().message);
    return std::move(*opened);
  }

  // What is on a disk whose volume is closed. The check reads everything, and finds no more than
  // the rest of it tells.
  State look(const std::shared_ptr<SimulatedDisk>& disk, bool check = true) {
    State out;
    {
      const auto volume = open(disk);
      out.seen = test::picture(*volume);
      if (check) out.findings = findings_of(*volume);
    }
    disk->mount(place_.path());
    out.rows = test::all_rows(place_.path() + "/catalog.db");
    out.files = test::all_files(*disk->files());
    return out;
  }

  // Finds choices with which the operation works and changes something, and what that is.
  bool choose(const Operation& operation) {
    before_ = look(start_->copy());
    for (seed_ = 1; seed_ < 200; ++seed_) {
      auto disk = start_->copy();
      auto volume = open(disk);
      const Fault count(disk, never, ways[0]);
      {
        test::Hand hand(*volume, seed_);
        if (!operation.begin(hand).wait() || !volume->drain()) continue;
      }
      calls_ = count.calls();
      volume.reset();
      after_ = look(disk);
      if (after_ == before_) continue;
      if (!after_.findings.empty()) fmt::print("afterwards: {}", after_.findings);
      return after_.findings.empty();
    }
    return false;
  }

  // One failure; says what is wrong, or nothing.
  std::string once(const Operation& operation, long n, const Way& way, bool& struck) {
    auto disk = start_->copy();
    auto volume = open(disk);
    Fault fault(disk, n, way);
    fs::Status status;
    {
      test::Hand hand(*volume, seed_);
      status = operation.begin(hand).wait();
    }
    const auto drained = volume->drain();
    const std::string where = fault.where();
    struck = !where.empty();
    fault.end();
    if (!status && !struck) return "it failed without a fault: " + status.error().message;
    for (const fs::Status& each : {status, drained}) {
      if (!each && each.error().message.empty()) return where + ": it fails without a word";
    }
    const auto words =
        operation.sort == Operation::Sort::steps || operation.sort == Operation::Sort::resumed
            ? again(operation, std::move(volume), disk)
            : before_or_after(status, std::move(volume), disk, n % 2 == 0);
    return words.empty() ? "" : where + ": " + words;
  }

  std::string before_or_after(const fs::Status& status, std::unique_ptr<fs::Volume> volume,
                              const std::shared_ptr<SimulatedDisk>& disk, bool work_on) {
    const State& expected = status ? after_ : before_;
    const std::string told =
        status ? "it said it was done" : "it said \"" + status.error().message + "\"";
    if (const auto seen = test::picture(*volume); seen != expected.seen) {
      return fmt::format("{}, but\n{}", told, test::difference(expected.seen, seen));
    }
    // The fault is gone: everything works, whether settling has been tried again already or not.
    if (work_on) {
      const auto path = *fs::Path::parse("/public/afterwards");
      auto upload = volume->files().save(fs::keeper_at_the_box(), path, {});
      if (!upload) return "nothing can be saved after it: " + upload.error().message;
      if (!upload->write("still at work") || !upload->finish().wait())
        return "nothing can be saved after it";
      volume.reset();
      volume = open(disk);
      if (!volume->files().look(fs::keeper_at_the_box(), path))
        return "what was saved after it is lost";
      if (const auto found = findings_of(*volume); found != expected.findings) {
        return "the check finds\n" + test::difference(expected.findings, found);
      }
      return "";
    }
    volume.reset();
    auto found = look(disk, false);
    found.findings = expected.findings;
    if (!(found == expected)) {
      return fmt::format("{}, but after opening again\n{}", told, difference(expected, found));
    }
    return "";
  }

  // What is made of several commits may have been cut short between two of them. Then nothing is by
  // half or lost, and it can be done again.
  std::string again(const Operation& operation, std::unique_ptr<fs::Volume> volume,
                    const std::shared_ptr<SimulatedDisk>& disk) {
    volume.reset();
    volume = open(disk);
    if (auto lost = contents_lost(*disk); !lost.empty()) return "cut short: " + lost;
    const bool mends = !before_.findings.empty();
    for (const char* when : {"cut short", "done again"}) {
      if (!mends) {
        if (const auto found = findings_of(*volume); !found.empty())
          return fmt::format("{}: the check finds {}", when, found);
      }
      test::Hand hand(*volume, seed_);
      const fs::Status status = operation.begin(hand).wait();
      if (!status &&
          (status.error().code == fs::Code::io || status.error().code == fs::Code::damaged)) {
        return fmt::format("then again: \"{}\"", status.error().message);
      }
      if (mends) break;
    }
    if (auto settled = volume->drain(); !settled) return "then again: " + settled.error().message;
    if (auto lost = contents_lost(*disk); mends && !lost.empty()) return "done again: " + lost;
    if (const auto found = findings_of(*volume); found != after_.findings) {
      return "done again: the check finds " + found;
    }
    if (operation.sort == Operation::Sort::steps) return "";
    return test::difference(after_.seen, test::picture(*volume));
  }

  // Contents that are gone, though the operation takes none away.
  std::string contents_lost(SimulatedDisk& disk) const {
    const std::string files = test::all_files(*disk.files());
    std::set<std::string> stay = contents_of(before_.files);
    const auto left = contents_of(after_.files);
    std::erase_if(stay, [&](const std::string& each) { return left.count(each) == 0; });
    const auto there = contents_of(files);
    for (const auto& each : stay) {
      if (there.count(each) == 0) {
        return "a content is lost:\n" + test::difference(before_.files, files);
      }
    }
    return "";
  }

  test::MountPoint& place_;
  std::shared_ptr<SimulatedDisk> start_;
  std::uint64_t seed_ = 1;
  State before_;
  State after_;
  long calls_ = 0;  // that the operation makes
  long tried_ = 0;
};

// A volume whose log holds changes that are not settled yet.
std::shared_ptr<SimulatedDisk> with_waiting_log(test::MountPoint& place,
                                                const std::shared_ptr<SimulatedDisk>& start) {
  auto waiting = start->copy();
  auto volume = place.open(waiting);
  if (!volume) throw std::runtime_error(volume.error().message);
  // What is acknowledged stays in the log, because settling is kept from the disk.
  waiting->set_hook([](const DiskCall& call) -> std::optional<fs::Code> {
    if (call.kind == DiskCall::Kind::sync_everything) return fs::Code::io;
    return std::nullopt;
  });
  {
    test::Hand hand(**volume, 5);
    for (const auto& operation : test::operations())
      static_cast<void>(operation.begin(hand).wait());
  }
  volume->reset();
  waiting->set_hook({});
  return waiting;
}

const std::string log_path = "log/000001";

std::string log_of(SimulatedDisk& disk) {
  auto file = disk.open(log_path);
  if (!file) throw std::runtime_error(file.error().message);
  std::string bytes(static_cast<std::size_t>(disk.size(*file)), '\0');
  static_cast<void>(disk.read(*file, log_path, 0, bytes.data(), bytes.size()));
  return bytes;
}

// Turns a byte over amid what was written to the log since.
void damage_log(SimulatedDisk& disk, SimulatedDisk& before) {
  const std::string log = log_of(disk);
  std::string was = log_of(before);
  was.resize(log.size());
  const auto first = std::mismatch(log.begin(), log.end(), was.begin()).first - log.begin();
  const auto last = log.rend() - std::mismatch(log.rbegin(), log.rend(), was.rbegin()).first;
  const auto middle = static_cast<std::size_t>(first + (last - first) / 2);
  const char turned = static_cast<char>(~log[middle]);
  auto file = disk.open(log_path);
  if (!file || !disk.write(*file, log_path, middle, {&turned, 1})) {
    throw std::runtime_error("the log could not be damaged");
  }
}

// Opening itself: refused with a sentence or done, and unharmed either way. With `accept_loss` the
// log is damaged, and the volume is opened without what can't be read any more.
bool opening_through_failures(test::MountPoint& place,
                              const std::shared_ptr<SimulatedDisk>& waiting, bool accept_loss,
                              long stride, long& tried) {
  const char* what = accept_loss ? "opening with a loss" : "opening";
  std::string expected;
  std::string expected_findings;  // such as the PDF of a printout that is lost with the log
  {
    auto disk = waiting->copy();
    if (accept_loss) {
      auto refused = place.open(disk);
      if (refused || refused.error().code != fs::Code::damaged) {
        fmt::print("a damaged log is not told of: {}\n",
                   refused ? "it opens" : refused.error().message);
        return false;
      }
    }
    auto volume = place.open(disk, accept_loss);
    if (!volume) {
      fmt::print("{}: {}\n", what, volume.error().message);
      return false;
    }
    expected = test::picture(**volume);
    volume->reset();
    volume = place.open(disk);
    if (volume) expected_findings = findings_of(**volume);
  }
  for (const Way& way : ways) {
    bool struck = true;
    for (long n = 1 + tried % stride; struck; n += stride, ++tried) {
      auto disk = waiting->copy();
      {
        Fault fault(disk, n, way);
        auto volume = place.open(disk, accept_loss);
        struck = !fault.where().empty();
        if (!volume && (!struck || volume.error().message.empty())) {
          fmt::print("{}, {} at call {}: \"{}\"\n", what, way.name, n, volume.error().message);
          return false;
        }
        fault.end();
      }
      if (accept_loss) static_cast<void>(place.open(disk, true));
      auto volume = place.open(disk);
      const std::string found = volume ? test::picture(**volume) : volume.error().message;
      const std::string wrong = volume ? findings_of(**volume) : "";
      if (found == expected && wrong == expected_findings) continue;
      fmt::print("{}, {} at call {}: it is different afterwards\n{}{}", what, way.name, n,
                 test::difference(expected, found), wrong);
      return false;
    }
  }
  return true;
}

// Making a volume: there is one afterwards, or none.
bool making_through_failures(test::MountPoint& place, long stride, long& tried) {
  for (const Way& way : ways) {
    bool struck = true;
    for (long n = 1 + tried % stride; struck; n += stride, ++tried) {
      auto disk = SimulatedDisk::create();
      bool made = false;
      std::string words;
      {
        Fault fault(disk, n, way);
        auto volume = place.create(disk);
        struck = !fault.where().empty();
        made = volume.has_value();
        if (!made) words = volume.error().message;
      }
      auto volume = place.open(disk);
      const bool none = !volume && volume.error().code == fs::Code::not_found;
      const bool whole = volume && findings_of(**volume).empty();
      if (whole || (none && !made && struck && !words.empty())) continue;
      fmt::print("making a volume, {} at call {}: it said \"{}\", then {}\n", way.name, n, words,
                 volume ? findings_of(**volume) : volume.error().message);
      return false;
    }
  }
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  // A run that is cut off tells how far it came.
  std::setvbuf(stdout, nullptr, _IOLBF, 0);
  const std::string_view part = argc > 1 ? argv[1] : "all";
  const bool slice = part == "slice";
  const std::string_view only = argc > 2 ? argv[2] : "";
  const long stride = slice ? 9 : 1;
  // The check reads everything there is, so there are many calls.
  const long mend_stride = slice ? 97 : 1;
  test::MountPoint place;
  auto disk = SimulatedDisk::create();
  {
    auto made = place.create(disk);
    if (!made) {
      fmt::print("{}\n", made.error().message);
      return 1;
    }
    test::furnish(**made);
  }
  *place.now += std::chrono::hours(25);  // all that there is belongs to a day that has ended
  bool fine = true;
  long tried = 0;
  std::size_t operations = 0;
  const auto through = [&](const test::Operation& operation, std::shared_ptr<SimulatedDisk> start,
                           long step) {
    Trial trial(place, std::move(start));
    const auto began = std::chrono::steady_clock::now();
    const bool passed = trial.through(operation, step);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - began;
    fmt::print("{}: {} failures, {:.1f} s\n", operation.name, trial.tried(), took.count());
    tried += trial.tried();
    ++operations;
    return passed;
  };
  const auto wanted = [&](std::string_view name) {
    return name.find(only) != std::string_view::npos;
  };
  for (const auto& operation : test::operations()) {
    if (part != "mends" && wanted(operation.name)) fine = through(operation, disk, stride) && fine;
  }
  long others = 0;
  if (part != "mends" && wanted("opening")) {
    const auto waiting = with_waiting_log(place, disk);
    fine = opening_through_failures(place, waiting, false, stride, others) && fine;
    damage_log(*waiting, *disk);
    fine = opening_through_failures(place, waiting, true, stride, others) && fine;
    fine = making_through_failures(place, stride, others) && fine;
  }
  const auto small = test::furnish_for_mends(place);
  for (const auto& mend : test::mends()) {
    if (part == "operations" || !wanted(mend.operation.name)) continue;
    auto start = small->copy();
    mend.need(place, start);
    fine = through(mend.operation, std::move(start), mend_stride) && fine;
  }
  if (!fine) return 1;
  fmt::print(
      "{} failures in {} operations, {} while opening and making a volume: as before or as after, "
      "every time\n",
      tried, operations, others);
  return 0;
}
