// Every call that the store makes to the disk fails, its own and SQLite's, the first, the second,
// the third … until an operation passes untouched; and so for every operation there is, on a
// simulated disk. Whatever fails, the volume is afterwards as before the operation or as after it,
// as the operation said; nothing else has changed, and all works again once the fault is gone.
//
//   failure_test [all|slice]
//
// Each call fails in four ways: once with a fault of the disk, once because it is full, once for
// lack of descriptors, and for good from that call on until the operation has given up.
#include <atomic>
#include <cstdlib>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include <fmt/format.h>

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
  std::string seen;   // by the keeper
  std::string rows;   // in the catalogue
  std::string files;  // on the host
  bool operator==(const State&) const = default;
};

std::string difference(const State& was, const State& is) {
  return test::difference(was.seen, is.seen) + test::difference(was.rows, is.rows) +
         test::difference(was.files, is.files);
}

class Trial {
 public:
  Trial(test::MountPoint& place, std::shared_ptr<SimulatedDisk> start)
      : place_(place), start_(std::move(start)) {}

  long tried() const { return tried_; }

  // Runs an operation through all its failures. False when something is wrong.
  bool through(const test::Operation& operation, long stride) {
    if (!choose(operation)) {
      fmt::print("{}: it never works\n", operation.name);
      return false;
    }
    for (const Way& way : ways) {
      bool struck = true;
      for (long n = 1 + tried_ % stride; struck; n += stride) {
        const std::string words = once(operation, n, way, struck);
        ++tried_;
        if (words.empty()) continue;
        fmt::print("{}, {} at call {}: {}\n", operation.name, way.name, n, words);
        return false;
      }
    }
    return true;
  }

  State before() {
    auto disk = start_->copy();
    return look(disk);
  }

 private:
  std::unique_ptr<fs::Volume> open(const std::shared_ptr<SimulatedDisk>& disk) {
    auto opened = place_.open(disk);
    if (!opened) throw std::runtime_error("it does not open: " + opened.error().message);
    return std::move(*opened);
  }

  // What is on a disk whose volume is closed.
  State look(const std::shared_ptr<SimulatedDisk>& disk) {
    State out;
    out.seen = test::picture(*open(disk));
    disk->mount(place_.path());
    out.rows = test::all_rows(place_.path() + "/catalog.db");
    out.files = test::all_files(*disk->files());
    return out;
  }

  // Finds choices with which the operation works and changes something, and what that is.
  bool choose(const test::Operation& operation) {
    before_ = before();
    for (seed_ = 1; seed_ < 200; ++seed_) {
      auto disk = start_->copy();
      auto volume = open(disk);
      test::Hand hand(*volume, seed_);
      if (!operation.begin(hand).wait()) continue;
      volume.reset();
      after_ = look(disk);
      if (!(after_ == before_)) return true;
    }
    return false;
  }

  // One failure; says what is wrong, or nothing.
  std::string once(const test::Operation& operation, long n, const Way& way, bool& struck) {
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
    if (operation.sort == test::Operation::Sort::steps) {
      volume.reset();
      return again(operation, *open(disk), where);
    }
    const State& expected = status ? after_ : before_;
    const std::string told =
        status ? "it said it was done" : "it said \"" + status.error().message + "\"";
    if (const auto seen = test::picture(*volume); seen != expected.seen) {
      return fmt::format("{}: {}, but\n{}", where, told, test::difference(expected.seen, seen));
    }
    // The fault is gone: everything works, whether settling has been tried again already or not.
    if (n % 2 == 0) {
      const auto path = *fs::Path::parse("/public/afterwards");
      auto upload = volume->files().save(fs::keeper_at_the_box(), path, {});
      if (!upload) return where + ": nothing can be saved after it: " + upload.error().message;
      if (!upload->write("still at work") || !upload->finish().wait())
        return where + ": nothing can be saved after it";
      volume.reset();
      volume = open(disk);
      if (!volume->files().look(fs::keeper_at_the_box(), path))
        return where + ": what was saved after it is lost";
      if (auto report = volume->check(); !report || !report->findings.empty()) {
        return where + ": the check finds " +
               (report ? report->findings[0].path + ": " + report->findings[0].sentence
                       : report.error().message);
      }
      return "";
    }
    volume.reset();
    if (const auto found = look(disk); !(found == expected)) {
      return fmt::format("{}: {}, but after opening again\n{}", where, told,
                         difference(expected, found));
    }
    return "";
  }

  // What is made of several commits may have been cut short between two of them. Then nothing is by
  // half, and it can be done again.
  std::string again(const test::Operation& operation, fs::Volume& volume,
                    const std::string& where) {
    for (const char* when : {"cut short", "done again"}) {
      if (auto report = volume.check(); !report || !report->findings.empty()) {
        return fmt::format("{}, {}: the check finds {}", where, when,
                           report ? report->findings[0].path + ": " + report->findings[0].sentence
                                  : report.error().message);
      }
      test::Hand hand(volume, seed_);
      const fs::Status status = operation.begin(hand).wait();
      if (!status &&
          (status.error().code == fs::Code::io || status.error().code == fs::Code::damaged)) {
        return fmt::format("{}, then again: \"{}\"", where, status.error().message);
      }
    }
    return "";
  }

  test::MountPoint& place_;
  std::shared_ptr<SimulatedDisk> start_;
  std::uint64_t seed_ = 1;
  State before_;
  State after_;
  long tried_ = 0;
};

// Opening itself: refused with a sentence or done, and unharmed either way. The log holds changes.
bool opening_through_failures(test::MountPoint& place, const std::shared_ptr<SimulatedDisk>& start,
                              long stride, long& tried) {
  auto waiting = start->copy();
  {
    auto volume = place.open(waiting);
    if (!volume) return false;
    // What is acknowledged stays in the log, because settling is kept from the disk.
    waiting->set_hook([](const DiskCall& call) -> std::optional<fs::Code> {
      if (call.kind == DiskCall::Kind::sync_everything) return fs::Code::io;
      return std::nullopt;
    });
    test::Hand hand(**volume, 5);
    for (const auto& operation : test::operations())
      static_cast<void>(operation.begin(hand).wait());
    volume->reset();
  }
  waiting->set_hook({});
  std::string expected;
  {
    auto disk = waiting->copy();
    auto volume = place.open(disk);
    if (!volume) return false;
    expected = test::picture(**volume);
  }
  for (const Way& way : ways) {
    bool struck = true;
    for (long n = 1 + tried % stride; struck; n += stride, ++tried) {
      auto disk = waiting->copy();
      {
        Fault fault(disk, n, way);
        auto volume = place.open(disk);
        struck = !fault.where().empty();
        if (!volume && (!struck || volume.error().message.empty())) {
          fmt::print("opening, {} at call {}: \"{}\"\n", way.name, n, volume.error().message);
          return false;
        }
        fault.end();
      }
      auto volume = place.open(disk);
      const std::string found = volume ? test::picture(**volume) : volume.error().message;
      const auto report = volume ? (*volume)->check() : volume.error();
      if (found != expected || !report || !report->findings.empty()) {
        fmt::print("opening, {} at call {}: it is different afterwards\n{}", way.name, n,
                   test::difference(expected, found));
        return false;
      }
    }
  }
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  const bool slice = argc > 1 && std::string_view(argv[1]) == "slice";
  const long stride = slice ? 9 : 1;
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
  Trial trial(place, disk);
  for (const auto& operation : test::operations()) {
    if (!trial.through(operation, stride)) return 1;
  }
  long openings = 0;
  if (!opening_through_failures(place, disk, stride, openings)) return 1;
  fmt::print("{} failures in {} operations, {} while opening: as before or as after, every time\n",
             trial.tried(), test::operations().size(), openings);
  return 0;
}
