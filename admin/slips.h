// Slips for new accounts, to be cut apart: who, the name to sign in with, the password, and how.
// They hold passwords: whoever makes them says where they go, and who may read that.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <vector>

#include <CLI/App.hpp>

#include "admin/channel.h"
#include "admin/host.h"
#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/paper.h"

namespace stationer::admin {

struct Slip {
  std::string full_name;  // empty: nobody knows
  std::string klass;      // the same
  std::string role;
  std::string name;
  std::string password;
};

// One after the other by class and name, several to a sheet. Equal slips, in whatever order, give
// equal bytes. `room` is the volume's name.
fs::Status make_slips(std::vector<Slip> slips, const std::string& room, const print::Paper& paper,
                      std::chrono::sys_seconds created, const print::Fonts& fonts,
                      const print::ByteSink& sink);

// --slips and --slips-paper of a command that makes passwords. The file is begun before anything is
// done, never over one that is there, and only its user may read it.
class SlipsFile {
 public:
  struct Options {
    std::string path;  // empty: no slips are asked for
    std::string paper = "a4";
    bool asked() const { return !path.empty(); }
  };
  static void add_options(CLI::App& command, Options& options);

  static fs::Result<SlipsFile> begin(const Options& options);
  // Before anything is done: what slips say of the volume, which may not answer any more when they
  // are written.
  fs::Status ask(Channel& channel);
  // Where the slips are; without any there is no file, and no place. Those of a part, because what
  // was begun broke off, go beside the file that was asked for: the same command again makes that
  // of the rest.
  enum class Of : std::uint8_t { all, part };
  fs::Result<std::string> finish(std::vector<Slip> slips, Of of = Of::all);

 private:
  SlipsFile(Output output, print::Fonts fonts, const print::Paper& paper, std::string path)
      : output_(std::move(output)),
        fonts_(std::move(fonts)),
        paper_(paper),
        path_(std::move(path)) {}

  Output output_;
  print::Fonts fonts_;
  print::Paper paper_;
  std::string path_;
  std::string room_;
};

}  // namespace stationer::admin
