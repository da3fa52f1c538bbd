// A volume: the directory that holds one whole service. The face of the store that everyone uses.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "fs/adoption.h"
#include "fs/check.h"
#include "fs/desk.h"
#include "fs/files.h"
#include "fs/hand_ins.h"
#include "fs/history.h"
#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/leavers.h"
#include "fs/people.h"
#include "fs/result.h"
#include "fs/snapshots.h"
#include "fs/stations.h"
#include "fs/visitors.h"
#include "fs/volume_file.h"
#include "fs/watcher.h"
#include "fs/years.h"

namespace stationer::fs {

class Engine;

// What a volume is handed rather than reaching for.
struct Surroundings {
  Clock clock;  // by default the host's
  PasswordCost password_cost;
  std::uint64_t seed = 0;  // by default random; with one, everything comes out the same
  // Open the volume even if what was saved last can't all be read any more (fs/commit_log.h).
  bool accept_loss = false;
  // How long to wait for another process to leave the volume.
  std::chrono::milliseconds patience = std::chrono::milliseconds::zero();
  // Wraps the host's files; tests put a failing disk in between.
  std::function<std::unique_ptr<HostFiles>(std::unique_ptr<HostFiles>)> wrap_files;
};

// Long enough for a command, or for the remains of a process that was killed.
inline constexpr std::chrono::milliseconds usual_patience{3000};

class Volume {
 public:
  // Makes a volume in `directory`, which must be empty or missing, and opens it: the starting tree,
  // no accounts. `more_settings` are the other layers' tables, which volume.toml gets at its end.
  static Result<std::unique_ptr<Volume>> create(const std::string& directory, std::string_view name,
                                                Surroundings surroundings = {},
                                                std::string_view more_settings = {});
  // Code::busy when another process has it open, Code::newer_format when it is newer than we are.
  // Carries over what an earlier run, cut short, had promised but not yet put in place.
  static Result<std::unique_ptr<Volume>> open(const std::string& directory,
                                              Surroundings surroundings = {});
  ~Volume();

  Files& files() { return *files_; }
  People& people() { return *people_; }
  Desk& desk() { return *desk_; }
  Stations& stations() { return *stations_; }
  Snapshots& snapshots() { return *snapshots_; }
  History& history() { return *history_; }
  HandIns& hand_ins() { return *hand_ins_; }
  Years& years() { return *years_; }
  Leavers& leavers() { return *leavers_; }
  Adoption& adoption() { return *adoption_; }
  Visitors& visitors() { return *visitors_; }

  const std::string& directory() const { return directory_; }
  const std::string& name() const { return settings_.name; }
  const std::string& settings_text() const { return settings_text_; }  // all of volume.toml
  Time now() const;

  // For the spool, which keeps folders of its own in the volume.
  HostFiles& host_files();
  Status check_space(std::uint64_t bytes);
  Result<HostSpace> space();

  // What time brings: the files of those who left go to the bin, the journal's oldest entries fall
  // off. May wait for the disk.
  Status do_what_is_due();

  Result<CheckReport> check(const CheckOptions& options = {});
  // From now on looks for what the host's owner does under files/: at all of it once, and then, if
  // the settings say so, at what changes. `then` is told of each look, from another thread.
  void watch(Watcher::Then then);
  void stop_watching() { watcher_.reset(); }
  // Waits until everything acknowledged is also under its readable name.
  Status drain();
  // What the keeper should know, in sentences; empty when all is well.
  std::vector<std::string> troubles() const;
  std::size_t nodes() const;

 private:
  Volume();
  static Result<std::unique_ptr<Volume>> open_with(const std::string& directory,
                                                   std::unique_ptr<HostFiles> host,
                                                   Surroundings surroundings);

  std::string directory_;
  std::string settings_text_;
  VolumeSettings settings_;
  std::unique_ptr<Engine> engine_;
  std::unique_ptr<Files> files_;
  std::unique_ptr<People> people_;
  std::unique_ptr<Desk> desk_;
  std::unique_ptr<Stations> stations_;
  std::unique_ptr<Snapshots> snapshots_;
  std::unique_ptr<History> history_;
  std::unique_ptr<HandIns> hand_ins_;
  std::unique_ptr<Years> years_;
  std::unique_ptr<Leavers> leavers_;
  std::unique_ptr<Adoption> adoption_;
  std::unique_ptr<Visitors> visitors_;
  std::unique_ptr<Watcher> watcher_;  // last, because it uses the others
};

}  // namespace stationer::fs
