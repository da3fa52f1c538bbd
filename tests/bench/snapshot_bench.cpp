// How fast a snapshot is taken, beside the ordinary way of packing the same volume while nobody
// uses it: tar piped into zstd with the level and the one thread that snapshots have. A snapshot
// also compares every content with the hash it was saved with, lists the hash of each, and may be
// taken while saves go on; the last line tells how fast it is with one saver at work, and how fast
// that saver is then.
//
// Medians of five rounds, each way in turn. Both files are synced before the clock is stopped.
//
//   snapshot_bench [FOLDER] [FILES] [KIB]
//
// FOLDER is on the disk to be measured; the default is here. FILES of KIB each: 4,000 of 64.
#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <thread>
#include <vector>

#include "fs/volume.h"

using namespace stationer;
using Steady = std::chrono::steady_clock;

namespace {

constexpr int rounds = 5;

double seconds_since(Steady::time_point start) {
  return std::chrono::duration<double>(Steady::now() - start).count();
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

[[noreturn]] void give_up(const std::string& why) {
  std::fprintf(stderr, "snapshot_bench: %s\n", why.c_str());
  std::exit(1);
}

// About what old machines keep: half of it like listings, half like programs.
std::string content(std::size_t size, std::uint32_t& state) {
  static const char* const words[] = {"PRINT ", "GOTO ", "\"TIDES\"", "DATA ", "REM ", "NEXT "};
  std::string out;
  while (out.size() < size) {
    state = state * 1664525u + 1013904223u;
    if (out.size() % 8192 < 4096) {
      out += words[(state >> 24) % 6];
      out += std::to_string(state >> 20);
    } else {
      out += static_cast<char>(state >> 24);
    }
  }
  out.resize(size);
  return out;
}

fs::Status save(fs::Volume& volume, const std::string& path, const std::string& bytes) {
  fs::SaveOptions options;
  options.replace = true;
  auto upload = volume.files().save(fs::keeper_at_the_box(), *fs::Path::parse(path), options);
  if (!upload) return upload.error();
  if (auto written = upload->write(bytes); !written) return written;
  return upload->finish().wait();
}

double take(fs::Volume& volume, const std::string& file) {
  std::filesystem::remove(file);
  const auto start = Steady::now();
  auto taken = volume.snapshots().take(file);
  if (!taken) give_up(taken.error().message);
  return seconds_since(start);
}

}  // namespace

int main(int argc, char** argv) {
  const std::string folder = std::string(argc > 1 ? argv[1] : ".") + "/snapshot-bench";
  const int files = argc > 2 ? std::atoi(argv[2]) : 4000;
  const auto size = static_cast<std::size_t>(argc > 3 ? std::atoi(argv[3]) : 64) * 1024;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  auto made = fs::Volume::create(folder + "/volume", "Bench");
  if (!made) give_up(made.error().message);
  fs::Volume& volume = **made;
  std::uint32_t state = 1;
  for (int n = 0; n < files; ++n) {
    auto saved = save(volume, "/public/file" + std::to_string(n), content(size, state));
    if (!saved) give_up(saved.error().message);
  }
  if (auto drained = volume.drain(); !drained) give_up(drained.error().message);
  const double mib = static_cast<double>(files) * static_cast<double>(size) / (1 << 20);

  const std::string snapshot = folder + "/snapshot.tar.zst";
  const std::string plain = folder + "/plain.tar.zst";
  const std::string command =
      "cd '" + folder + "' && tar -cf - -C volume files catalog.db | " +
      "zstd -q -3 --single-thread -f -o plain.tar.zst && sync -d plain.tar.zst";
  std::vector<double> ours;
  std::vector<double> theirs;
  std::vector<double> ratios;
  for (int round = 0; round < rounds; ++round) {
    const auto start = Steady::now();
    if (std::system(command.c_str()) != 0) give_up("tar and zstd could not pack the volume.");
    theirs.push_back(seconds_since(start));
    ours.push_back(take(volume, snapshot));
    ratios.push_back(theirs.back() / ours.back());
  }
  std::printf("%d files, %.0f MiB\n", files, mib);
  std::printf("tar | zstd     %7.0f MiB/s, %.1f MiB\n", mib / median(theirs),
              static_cast<double>(std::filesystem::file_size(plain)) / (1 << 20));
  std::printf("snapshot       %7.0f MiB/s, %.1f MiB: %.2f times the rate\n", mib / median(ours),
              static_cast<double>(std::filesystem::file_size(snapshot)) / (1 << 20),
              median(ratios));

  // A saver alone, then beside snapshots.
  const std::string bytes = content(4096, state);
  const auto saves_in = [&](const std::function<double()>& meanwhile, double& lasted) {
    std::atomic<bool> stop = false;
    long saves = 0;
    std::thread saver([&] {
      while (!stop && save(volume, "/public/busy" + std::to_string(saves % 64), bytes)) ++saves;
    });
    lasted = meanwhile();
    stop = true;
    saver.join();
    return static_cast<double>(saves) / lasted;
  };
  double lasted = 0;
  const double alone = saves_in(
      [] {
        std::this_thread::sleep_for(std::chrono::seconds(2));
        return 2.0;
      },
      lasted);
  const double beside = saves_in([&] { return take(volume, snapshot); }, lasted);
  std::printf("with one saver %7.0f MiB/s; saves %.0f/s beside it, %.2f times those without\n",
              mib / lasted, beside, beside / alone);
  made->reset();
  std::filesystem::remove_all(folder);
  return 0;
}
