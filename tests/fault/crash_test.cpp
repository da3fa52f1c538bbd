// The power is cut at any call to the disk while the store is at work, on a simulated disk that
// then forgets what was not synced, or a part of it (tests/support/simulated_disk.h). The volume is
// opened again, the power sometimes cut once more meanwhile, and must then be exactly as it was
// after some operation: none that was acknowledged is missing, none that was not is there by half.
//
//   crash_test [CUTS] [SEED]
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdlib>
#include <future>
#include <memory>
#include <mutex>
#include <random>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include <fmt/format.h>

#include "tests/support/operations.h"
#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using test::DiskCall;
using test::SimulatedDisk;

namespace {

constexpr int steps_in_a_run = 30;
constexpr std::size_t most_in_a_burst = 7;

// Holds up one of the store's threads at a chosen call, so that others get ahead of it.
class Gate {
 public:
  using Chosen = std::function<bool(const DiskCall&)>;

  void close(Chosen chosen) {
    const std::lock_guard lock(mutex_);
    chosen_ = std::move(chosen);
    held_ = false;
  }
  void open() {
    const std::lock_guard lock(mutex_);
    chosen_ = nullptr;
    changed_.notify_all();
  }
  // Whether somebody came to the gate before `done`, or before it took too long.
  bool wait_for_somebody(const std::function<bool()>& done) {
    std::unique_lock lock(mutex_);
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(20);
    while (!held_ && !done() && std::chrono::steady_clock::now() < end) {
      changed_.wait_for(lock, std::chrono::milliseconds(1));
    }
    return held_;
  }
  void pass(const DiskCall& call) {
    std::unique_lock lock(mutex_);
    if (!chosen_ || !chosen_(call)) return;
    held_ = true;
    changed_.notify_all();
    changed_.wait(lock, [&] { return !chosen_; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  Chosen chosen_;
  bool held_ = false;
};

// The disk at one call, and what was promised by then.
struct Moment {
  std::shared_ptr<SimulatedDisk> disk;
  std::size_t acknowledged = 0;  // this many operations are
  std::size_t begun = 0;
  bool amid_steps = false;  // of an operation that is made of several commits
};

class Run {
 public:
  Run(test::MountPoint& place, std::uint64_t seed) : place_(place), seed_(seed), random_(seed) {}

  // Works for a while; moments() are then the instants at which the power might have gone.
  void work() {
    auto made = place_.create(disk_);
    if (!made) throw std::runtime_error(made.error().message);
    volume_ = std::move(*made);
    test::furnish(*volume_);
    hand_ = std::make_unique<test::Hand>(*volume_, seed_);
    pictures_.push_back(test::picture(*volume_));
    jobs_.push_back(test::jobs_of(*volume_));
    disk_->set_hook([this](const DiskCall& call) { return at_call(call); });
    for (int step = 0; step < steps_in_a_run; ++step) {
      *place_.now += std::chrono::seconds(1 + random_() % 1000);
      switch (random_() % 9) {
        case 0:
        case 1:
        case 2: one(); break;
        case 3:
        case 4: burst(); break;
        case 5: keep(volume_->drain()); break;
        case 6: settle_while_saving(); break;
        case 7:
          if (random_() % 3 == 0) reopen();
          break;
        case 8: long_one(); break;
      }
    }
    volume_.reset();
    disk_->set_hook({});
  }

  const std::vector<Moment>& moments() const { return moments_; }
  const std::string& picture(std::size_t after) const { return pictures_[after]; }
  const std::string& operation(std::size_t number) const { return names_[number - 1]; }
  // The print jobs that are there whichever of these operations was the last.
  std::set<std::uint32_t> jobs(std::size_t first, std::size_t last) const {
    std::set<std::uint32_t> out = jobs_[first];
    for (std::size_t i = first + 1; i <= last; ++i) {
      std::erase_if(out, [&](std::uint32_t job) { return jobs_[i].count(job) == 0; });
    }
    return out;
  }

 private:
  std::optional<fs::Code> at_call(const DiskCall& call) {
    if (call.matters()) {
      const std::size_t acknowledged = acknowledged_;
      auto copy = disk_->copy();
      const std::lock_guard lock(moments_mutex_);
      moments_.push_back({std::move(copy), acknowledged, begun_, amid_steps_});
    }
    gate_.pass(call);
    return std::nullopt;
  }

  static void keep(const fs::Status& status) {
    if (!status) throw std::runtime_error("a sound disk failed: " + status.error().message);
  }

  // Any operation that does not wait for the disk, which may be held up.
  fs::Ticket begin() {
    const auto& all = test::operations();
    const auto* operation = &all[hand_->below(all.size())];
    while (operation->sort != test::Operation::Sort::begun) {
      operation = &all[hand_->below(all.size())];
    }
    return begin(*operation);
  }

  fs::Ticket begin(const test::Operation& operation) {
    names_.push_back(operation.name);
    ++begun_;
    auto ticket = operation.begin(*hand_);
    pictures_.push_back(test::picture(*volume_));
    jobs_.push_back(test::jobs_of(*volume_));
    return ticket;
  }

  // A refusal changed nothing, so that its picture is the one before, and it counts all the same.
  void one() {
    static_cast<void>(begin().wait());
    acknowledged_ = names_.size();
  }

  // One that waits, and may be made of several commits.
  void long_one() {
    const auto& all = test::operations();
    const auto* operation = &all[hand_->below(all.size())];
    while (operation->sort == test::Operation::Sort::begun) {
      operation = &all[hand_->below(all.size())];
    }
    amid_steps_ = operation->sort == test::Operation::Sort::steps;
    static_cast<void>(begin(*operation).wait());
    // What was refused on the way may have done a part.
    pictures_.back() = test::picture(*volume_);
    jobs_.back() = test::jobs_of(*volume_);
    acknowledged_ = names_.size();
    amid_steps_ = false;
  }

  void wait_for(const std::vector<fs::Ticket>& tickets) {
    for (const auto& ticket : tickets) static_cast<void>(ticket.wait());
    acknowledged_ = names_.size();
  }

  // Several operations that reach the log together.
  void burst() {
    gate_.close([](const DiskCall& call) {
      return call.kind == DiskCall::Kind::write && call.path.starts_with("log/");
    });
    const auto answered = std::make_shared<std::atomic<bool>>(false);
    std::vector<fs::Ticket> tickets{begin()};
    tickets[0].then([answered](const fs::Status&) { *answered = true; });
    gate_.wait_for_somebody([&] { return answered->load(); });
    const std::size_t more = random_() % most_in_a_burst;
    for (std::size_t i = 0; i < more; ++i) tickets.push_back(begin());
    gate_.open();
    wait_for(tickets);
  }

  // Operations that are logged while others are on their way from the log to their places.
  void settle_while_saving() {
    one();
    auto calls = std::make_shared<std::atomic<int>>(static_cast<int>(random_() % 6));
    gate_.close([calls](const DiskCall& call) {
      const bool settling = call.kind == DiskCall::Kind::sync_everything ||
                            (call.matters() && call.path.starts_with("catalog.db"));
      return settling && (*calls)-- <= 0;
    });
    std::atomic<bool> settled{false};
    auto settling = std::async(std::launch::async, [&] {
      auto status = volume_->drain();
      settled = true;
      return status;
    });
    gate_.wait_for_somebody([&] { return settled.load(); });
    const std::size_t many = 1 + random_() % 3;
    for (std::size_t i = 0; i < many; ++i) one();
    gate_.open();
    keep(settling.get());
  }

  void reopen() {
    hand_.reset();
    volume_.reset();
    auto opened = place_.open(disk_);
    if (!opened) throw std::runtime_error(opened.error().message);
    volume_ = std::move(*opened);
    hand_ = std::make_unique<test::Hand>(*volume_, random_());
  }

  test::MountPoint& place_;
  std::uint64_t seed_;
  std::mt19937_64 random_;
  std::shared_ptr<SimulatedDisk> disk_ = SimulatedDisk::create();
  std::unique_ptr<fs::Volume> volume_;
  std::unique_ptr<test::Hand> hand_;
  Gate gate_;
  std::vector<std::string> names_;             // of the operations
  std::vector<std::string> pictures_;          // before any, after the first, after the second, …
  std::vector<std::set<std::uint32_t>> jobs_;  // the same
  std::atomic<std::size_t> acknowledged_{0};
  std::atomic<std::size_t> begun_{0};
  std::atomic<bool> amid_steps_{false};
  std::mutex moments_mutex_;
  std::vector<Moment> moments_;
};

// What is wrong with the volume on a disk whose power was cut; empty when nothing is.
std::string wrong_with(test::MountPoint& place, const Run& run, const Moment& moment,
                       std::shared_ptr<SimulatedDisk> disk, std::mt19937_64& random,
                       long& second_cuts) {
  // One time in three the power goes again while the volume is being put right.
  if (random() % 3 == 0) {
    const auto when = random() % 40;
    std::shared_ptr<SimulatedDisk> then;
    std::uint64_t calls = 0;
    std::mutex mutex;
    disk->set_hook([&, on = disk.get()](const DiskCall& call) -> std::optional<fs::Code> {
      const std::lock_guard lock(mutex);
      if (call.matters() && calls++ == when) then = on->copy();
      return std::nullopt;
    });
    auto opened = place.open(disk);
    if (!opened) return "the volume does not open: " + opened.error().message;
    opened->reset();
    disk->set_hook({});
    if (then) {
      disk = then->after_power_cut(random());
      ++second_cuts;
    }
  }
  auto opened = place.open(disk);
  if (!opened) return "the volume does not open: " + opened.error().message;
  fs::Volume& volume = **opened;
  for (const auto& words : volume.troubles()) return "trouble: " + words;
  const std::string found = test::picture(volume);
  std::size_t at = moment.acknowledged;
  while (at <= moment.begun && run.picture(at) != found) ++at;
  if (at > moment.begun && !moment.amid_steps) {
    std::string words = fmt::format("{} operations are acknowledged, {} begun; it is not so:\n",
                                    moment.acknowledged, moment.begun);
    words += test::difference(run.picture(moment.acknowledged), found);
    for (std::size_t i = moment.acknowledged + 1; i <= moment.begun; ++i) {
      words += fmt::format("after \"{}\" it should be\n{}", run.operation(i),
                           test::difference(run.picture(i - 1), run.picture(i)));
    }
    return words;
  }
  const auto jobs = test::jobs_of(volume);
  for (const std::uint32_t job : run.jobs(moment.acknowledged, moment.begun)) {
    if (jobs.count(job) == 0) return fmt::format("print job {} is lost", job);
  }
  // Whatever waits can be printed.
  if (random() % 8 == 0) {
    test::Hand hand(volume, 1);
    auto spool = hand.spool();
    if (!spool) return "the spool does not open: " + spool.error().message;
    for (;;) {
      auto printed = (*spool)->print_next();
      if (!printed) return "it does not print: " + printed.error().message;
      if (!*printed) break;
    }
  }
  auto report = volume.check();
  if (!report) return "the check fails: " + report.error().message;
  for (const auto& each : report->findings) return "the check: " + each.path + ": " + each.sentence;
  // It goes on as if nothing had been.
  if (random() % 4 == 0) {
    test::Hand hand(volume, random());
    for (int i = 0; i < 3; ++i) {
      const auto& all = test::operations();
      static_cast<void>(all[hand.below(all.size())].begin(hand).wait());
    }
    const std::string after = test::picture(volume);
    opened->reset();
    opened = place.open(disk);
    if (!opened) return "it does not open a second time: " + opened.error().message;
    if (test::picture(**opened) != after) return "what was done after the cut is not there";
  }
  return "";
}

}  // namespace

int main(int argc, char** argv) {
  const long cuts = argc > 1 ? std::atol(argv[1]) : 9000;
  const std::uint64_t seed =
      argc > 2 ? std::strtoull(argv[2], nullptr, 10) : std::random_device()();
  fmt::print("{} cuts, seed {}\n", cuts, seed);
  std::fflush(stdout);
  std::mt19937_64 random(seed);
  test::MountPoint place;
  long done = 0;
  long second_cuts = 0;
  long runs = 0;
  long moments = 0;
  while (done < cuts) {
    const std::uint64_t run_seed = random();
    Run run(place, run_seed);
    run.work();
    ++runs;
    moments += static_cast<long>(run.moments().size());
    for (const auto& moment : run.moments()) {
      if (done == cuts) break;
      // Enough runs that a single one's choices don't decide.
      if (random() % 4 != 0) continue;
      ++done;
      const std::uint64_t cut_seed = random();
      std::mt19937_64 own(cut_seed);
      const auto words =
          wrong_with(place, run, moment, moment.disk->after_power_cut(cut_seed), own, second_cuts);
      if (words.empty()) continue;
      fmt::print("cut {} (seed {}, run {}): {}\n", done, seed, runs, words);
      return 1;
    }
  }
  fmt::print(
      "{} cuts at {} calls in {} runs, {} of them followed by another: every acknowledged change "
      "was there, and every other wholly or not at all\n",
      done, moments, runs, second_cuts);
  return 0;
}
