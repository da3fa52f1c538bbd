// The program as a process, run as people run it: words, standard input, what it says and how it
// ends. Every wait is bounded.
#pragma once

#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include <sys/types.h>

#include "tests/support/temp_folder.h"

namespace stationer::test {

struct Said {
  int status = -1;  // -1: it did not end by itself
  std::string out;
  std::string err;
};

// The words of a command line, less the program's name: quotes hold spaces, > and what follows is
// the shell's.
std::vector<std::string> words_of(std::string_view line);

// A folder to be in, and the program run there on the volume "volume" in it.
class Keeper {
  const TempFolder folder_;  // before all that is named after it

 public:
  Keeper() = default;

  std::string operator/(const std::string& name) const { return folder_ / name; }
  std::string volume() const { return folder_ / "volume"; }

  // A volume whose doors are on this machine at free ports, with one account, wren, a manager, and
  // the jobs that `jobs` tells of: queues, to each of which one is sent. "paper" prints at once,
  // "held" holds for a leader.
  void make_volume(const std::vector<std::string>& jobs = {});

  Said run(const std::vector<std::string>& words, std::string_view input = "") const;
  Said run(std::string_view line, std::string_view input = "") const {
    return run(words_of(line), input);
  }
  // What it says when it works; fails the test when it does not.
  std::string done(std::string_view line, std::string_view input = "") const;
  // Why it does not work: ends with 1 and says one sentence or more, and nothing else.
  std::string failed(std::string_view line, std::string_view input = "") const;

  void write(const std::string& name, std::string_view bytes) const;
  std::string read(const std::string& name) const;
  std::vector<std::string> names() const;  // of the folder, sorted

  // Standard output goes to this file instead of what run() gives; empty: it does not.
  std::string output;
  // STATIONER_VOLUME; empty: it is not set.
  std::string named = volume();
};

// The program at a terminal of 80 columns, where it asks and hides what is typed.
class AtTerminal {
 public:
  AtTerminal(const Keeper& keeper, const std::vector<std::string>& words);
  AtTerminal(const AtTerminal&) = delete;
  AtTerminal& operator=(const AtTerminal&) = delete;
  ~AtTerminal();

  // Waits for `text` behind what earlier calls waited for; false when it does not come.
  bool sees(std::string_view text);
  void types(std::string_view keys) const;
  int status();                                      // waits for the end
  const std::string& seen() const { return seen_; }  // all that was on the screen

 private:
  bool receive(std::chrono::steady_clock::time_point deadline);

  pid_t pid_ = -1;
  int terminal_ = -1;
  std::string seen_;
  std::size_t looked_at_ = 0;
};

}  // namespace stationer::test
