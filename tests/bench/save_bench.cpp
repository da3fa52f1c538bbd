// Durable saves of 4 KiB a second, beside the bare loop that a careful program without a store
// would run: write a temporary file, fsync, rename, fsync the folder. Two ways of saving are
// measured: the same few files again and again, as people at work do, and ever new ones, which also
// have to be placed under names of their own sooner or later ("with settling": until the last one
// is).
//
// Medians of five rounds, each beside a bare loop of the same moment. The processor's time that the
// thread of all clients takes for a save is told too: it bounds the rate where the disk does not,
// and a busy machine changes it less.
//
//   save_bench [FOLDER] [SECONDS] [CLIENTS…]
//
// FOLDER is on the disk to be measured; the default is here. CLIENTS: 1, 64 and 1,000.
#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <cstdio>
#include <ctime>
#include <deque>
#include <filesystem>
#include <functional>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include <fcntl.h>
#include <unistd.h>

#include "fs/volume.h"

using namespace stationer;
using Steady = std::chrono::steady_clock;

namespace {

constexpr std::size_t content_size = 4096;

double seconds_since(Steady::time_point start) {
  return std::chrono::duration<double>(Steady::now() - start).count();
}

// One loop of write, fsync, rename, fsync.
double bare_loop(const std::string& folder, double seconds, bool new_files) {
  static long series = 0;
  ++series;
  const std::string bytes(content_size, 'b');
  const int directory = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY);
  long done = 0;
  const auto start = Steady::now();
  while (seconds_since(start) < seconds) {
    const std::string aside = folder + "/aside";
    const int file = ::open(aside.c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
    if (::write(file, bytes.data(), bytes.size()) != static_cast<ssize_t>(bytes.size())) return 0;
    ::fsync(file);
    ::close(file);
    const std::string name = new_files ? "new" + std::to_string(series) + "-" + std::to_string(done)
                                       : "file" + std::to_string(done % 640);
    ::rename(aside.c_str(), (folder + "/" + name).c_str());
    ::fsync(directory);
    ++done;
  }
  const double rate = static_cast<double>(done) / seconds_since(start);
  ::close(directory);
  return rate;
}

struct Rates {
  double acknowledged = 0;
  double settled = 0;   // until every file was under its name
  double own_time = 0;  // of the processor, microseconds a save, on the clients' thread
};

double thread_seconds() {
  timespec time{};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &time);
  return static_cast<double>(time.tv_sec) + static_cast<double>(time.tv_nsec) / 1e9;
}

// Each client saves, waits for the acknowledgement, and saves again, as a session does. All of them
// run on one thread, which the tickets wake, as the service's do.
Rates stationer_saves(fs::Volume& volume, int clients, double seconds, bool new_files) {
  const std::string bytes(content_size, 's');
  std::mutex mutex;
  std::condition_variable wake;
  std::deque<int> ready;
  long done = 0;
  long failed = 0;
  std::vector<long> turn(static_cast<std::size_t>(clients));
  static int series = 0;
  ++series;
  for (int client = 0; client < clients; ++client) {
    auto path =
        fs::Path::parse("/public/s" + std::to_string(series) + "c" + std::to_string(client));
    static_cast<void>(volume.files().make_folder(fs::keeper_at_the_box(), *path).wait());
    ready.push_back(client);
  }
  static_cast<void>(volume.drain());
  const auto start = Steady::now();
  const double own_start = thread_seconds();
  int running = clients;
  while (running > 0) {
    int client = 0;
    {
      std::unique_lock lock(mutex);
      wake.wait(lock, [&] { return !ready.empty(); });
      client = ready.front();
      ready.pop_front();
    }
    if (seconds_since(start) >= seconds) {
      --running;
      continue;
    }
    const long n = turn[static_cast<std::size_t>(client)]++;
    auto path =
        fs::Path::parse("/public/s" + std::to_string(series) + "c" + std::to_string(client) +
                        "/file" + std::to_string(new_files ? n : n % 10));
    fs::SaveOptions options;
    options.replace = true;
    auto upload = volume.files().save(fs::keeper_at_the_box(), *path, options);
    if (!upload || !upload->write(bytes)) {
      ++failed;
      --running;
      continue;
    }
    upload->finish().then([&, client](const fs::Status& status) {
      const std::lock_guard lock(mutex);
      ++(status ? done : failed);
      ready.push_back(client);
      wake.notify_one();
    });
  }
  Rates rates;
  rates.acknowledged = static_cast<double>(done) / seconds_since(start);
  rates.own_time = (thread_seconds() - own_start) * 1e6 / static_cast<double>(done);
  static_cast<void>(volume.drain());
  rates.settled = static_cast<double>(done) / seconds_since(start);
  if (failed > 0) std::printf("%ld saves failed\n", failed);
  return rates;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
  const std::string base =
      std::string(argc > 1 ? argv[1] : ".") + "/save-bench." + std::to_string(::getpid());
  const double seconds = argc > 2 ? std::atof(argv[2]) : 2.0;
  std::vector<int> all_clients;
  for (int i = 3; i < argc; ++i) all_clients.push_back(std::atoi(argv[i]));
  if (all_clients.empty()) all_clients = {1, 64, 1000};
  std::filesystem::create_directories(base + "/bare");
  auto volume = fs::Volume::create(base + "/volume", "bench");
  if (!volume) {
    std::printf("%s\n", volume.error().message.c_str());
    return 1;
  }
  // Shared disks are not the same from one moment to the next: each round has a bare loop of its
  // own. New files come first: ext4 is slow to make files for a minute after many were removed.
  constexpr int rounds = 5;
  std::printf("%-34s %10s %10s %7s %15s %7s %12s\n", "durable saves of 4 KiB", "bare/s", "saves/s",
              "ratio", "with settling/s", "ratio", "us of thread");
  for (const bool new_files : {true, false}) {
    for (const int clients : all_clients) {
      std::vector<double> bare, acknowledged, settled, ratio, settled_ratio, own_time;
      for (int round = 0; round < rounds; ++round) {
        bare.push_back(bare_loop(base + "/bare", seconds, new_files));
        const Rates rates = stationer_saves(**volume, clients, seconds, new_files);
        acknowledged.push_back(rates.acknowledged);
        settled.push_back(rates.settled);
        own_time.push_back(rates.own_time);
        ratio.push_back(rates.acknowledged / bare.back());
        settled_ratio.push_back(rates.settled / bare.back());
      }
      const std::string label = std::to_string(clients) +
                                (clients == 1 ? " client, " : " clients, ") +
                                (new_files ? "new files" : "the same files");
      std::printf("%-34s %10.0f %10.0f %7.1f %15.0f %7.1f %12.1f\n", label.c_str(), median(bare),
                  median(acknowledged), median(ratio), median(settled), median(settled_ratio),
                  median(own_time));
      std::fflush(stdout);
    }
  }
  volume->reset();
  std::filesystem::remove_all(base);
}
