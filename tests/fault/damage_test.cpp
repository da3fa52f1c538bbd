// What a failing disk or a careless hand does to a volume: bits flipped in the catalogue, the
// commit log and the settings, pieces cut off or zeroed. Opening it, looking at it, checking it and
// working with it may refuse or complain, in a sentence; none may crash or hang.
//
//   damage_test [TRIALS] [SEED]
#include <cstdlib>
#include <map>
#include <random>
#include <string>

#include <fmt/format.h>

#include "tests/support/operations.h"
#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using test::SimulatedDisk;

namespace {

// Damages a file a little, and says how.
std::string damage(SimulatedDisk& disk, const std::string& path, std::mt19937_64& random) {
  auto file = disk.open(path);
  if (!file) return "";
  const std::uint64_t size = disk.size(*file);
  if (size == 0) return "";
  // Where something is: most of the log is zeros.
  const std::uint64_t at = random() % std::min<std::uint64_t>(size, 64 * 1024);
  switch (random() % 4) {
    case 0:
      static_cast<void>(disk.truncate(*file, path, at));
      return fmt::format("{} cut off at {}", path, at);
    case 1:
      static_cast<void>(disk.write(*file, path, at, std::string(512, '\0')));
      return fmt::format("512 zeros in {} at {}", path, at);
    case 2: {
      std::string noise(1 + random() % 64, '\0');
      for (char& c : noise) c = static_cast<char>(random());
      static_cast<void>(disk.write(*file, path, at, noise));
      return fmt::format("{} bytes of noise in {} at {}", noise.size(), path, at);
    }
    default: {
      const std::uint64_t flips = 1 + random() % 8;
      for (std::uint64_t i = 0; i < flips; ++i) {
        const std::uint64_t where = random() % size;
        char byte = 0;
        static_cast<void>(disk.read(*file, path, where, &byte, 1));
        byte = static_cast<char>(byte ^ (1 << random() % 8));
        static_cast<void>(disk.write(*file, path, where, std::string_view(&byte, 1)));
      }
      return fmt::format("{} bits flipped in {}", flips, path);
    }
  }
}

bool is_sentence(const std::string& words) {
  return words.size() > 20 && words.find(' ') != std::string::npos &&
         (words.back() == '.' || words.find(". ") != std::string::npos);
}

}  // namespace

int main(int argc, char** argv) {
  const long trials = argc > 1 ? std::atol(argv[1]) : 2000;
  const std::uint64_t seed =
      argc > 2 ? std::strtoull(argv[2], nullptr, 10) : std::random_device()();
  fmt::print("{} trials, seed {}\n", trials, seed);
  std::fflush(stdout);
  std::mt19937_64 random(seed);
  test::MountPoint place;
  auto settled = SimulatedDisk::create();
  {
    auto made = place.create(settled);
    if (!made) return 1;
    test::furnish(**made);
  }
  // One more with commits that are only in the log.
  std::shared_ptr<SimulatedDisk> logged;
  {
    auto busy = settled->copy();
    auto volume = place.open(busy);
    if (!volume) return 1;
    busy->set_hook([](const test::DiskCall& call) -> std::optional<fs::Code> {
      if (call.kind == test::DiskCall::Kind::sync_everything) return fs::Code::io;
      return std::nullopt;
    });
    test::Hand hand(**volume, 3);
    for (const auto& operation : test::operations())
      static_cast<void>(operation.begin(hand).wait());
    logged = busy->copy();
  }
  std::map<std::string, long> outcomes;
  for (long trial = 1; trial <= trials; ++trial) {
    auto disk = (random() % 2 == 0 ? settled : logged)->copy();
    std::string what;
    while (what.empty()) {
      constexpr const char* paths[] = {"catalog.db", "catalog.db", "catalog.db-wal", "log/000001",
                                       "volume.toml"};
      what = damage(*disk, paths[random() % std::size(paths)], random);
    }
    const auto complain = [&](const std::string& words) {
      fmt::print("trial {} (seed {}), {}: {}\n", trial, seed, what, words);
      return 1;
    };
    auto volume = place.open(disk);
    if (!volume) {
      if (!is_sentence(volume.error().message)) {
        return complain("no sentence: \"" + volume.error().message + "\"");
      }
      ++outcomes[std::string("refused: ") + fs::code_name(volume.error().code)];
      continue;
    }
    // Whatever is left of it can be looked at and worked with.
    static_cast<void>(test::picture(**volume));
    auto report = (*volume)->check();
    if (!report && !is_sentence(report.error().message)) {
      return complain("no sentence: \"" + report.error().message + "\"");
    }
    test::Hand hand(**volume, random());
    for (int i = 0; i < 3; ++i) {
      const auto& all = test::operations();
      const auto status = all[hand.below(all.size())].begin(hand).wait();
      if (!status && !is_sentence(status.error().message)) {
        return complain("no sentence: \"" + status.error().message + "\"");
      }
    }
    ++outcomes[!report                    ? "opened, the check refused"
               : report->findings.empty() ? "opened, nothing found"
                                          : "opened, damage found"];
  }
  for (const auto& [outcome, count] : outcomes) fmt::print("{:6} {}\n", count, outcome);
  return 0;
}
