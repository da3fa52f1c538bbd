// What belongs to the person at the box rather than to a volume: their terminal, and their files as
// they name them. The only part of the program that opens them.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::admin {

enum class Standard { input = 0, output = 1, error = 2 };

bool is_terminal(Standard which);

// How wide standard output is; a great number when it is no terminal.
int terminal_columns();

// Asks on the terminal: the prompt goes to standard error, so that standard output stays clean. A
// hidden answer does not show. Code::denied when there is no terminal, or the person gives up with
// Ctrl-C or Ctrl-D; the terminal is then as it was.
fs::Result<std::string> ask(std::string_view prompt);
fs::Result<std::string> ask_hidden(std::string_view prompt);

// The next line of standard input without its end, CR LF or LF; at most `most` bytes.
// Code::not_found when there is none.
fs::Result<std::string> read_input_line(std::size_t most);

// Writes to standard error; for progress, which nobody misses.
void show_on_error(std::string_view text);

class Descriptor {
 public:
  explicit Descriptor(int number = -1) : number_(number) {}
  Descriptor(Descriptor&& other) noexcept;
  Descriptor& operator=(Descriptor&& other) noexcept;
  ~Descriptor();
  int number() const { return number_; }

 private:
  int number_;  // -1: none. The standard ones are never closed
};

// A path without the folders that lead to it; empty when it ends in "/".
std::string_view last_part(std::string_view path);

// The same path from / on, for a service that runs in another folder.
std::string whole_path(const std::string& path);

// Where a file of this name goes: into `path` if that is a folder, or to be known as that. Without
// a path, into the folder one is in.
std::string place_for(const std::string& path, const std::string& name);

// The volume that an installed service serves (/etc/default/stationer); empty: none.
std::string installed_volume();

// Root works on a volume as the user that it belongs to, so that nothing in it becomes root's: from
// then on this process is that user. Of a volume that is not there yet it is the owner of the
// folder above it. Does nothing for others, and for what is root's own.
fs::Status work_as_owner(const std::string& directory);

// A file to read; "-" is standard input.
class Input {
 public:
  static fs::Result<Input> open(const std::string& path);
  // Fills some or all of `into`; 0 is the end.
  fs::Result<std::size_t> read(std::span<char> into) const;
  std::optional<std::uint64_t> size() const { return size_; }   // of a plain file
  std::optional<fs::Time> changed() const { return changed_; }  // the same

 private:
  Input(Descriptor file, std::string name) : file_(std::move(file)), name_(std::move(name)) {}

  Descriptor file_;
  std::string name_;
  std::optional<std::uint64_t> size_;
  std::optional<fs::Time> changed_;
};

// A file to write; "-" is standard output. A plain file gets its name in finish() and not before,
// so that no half a file is taken for a whole one. Letting it go leaves nothing, nor does Ctrl-C or
// another signal that ends the program, of the newest one.
class Output {
 public:
  // With replace false, Code::exists when there is something of that name.
  // Others read it as the user's mask lets them; a secret one nobody does but the user.
  enum class For : std::uint8_t { others, user };
  static fs::Result<Output> create(const std::string& path, bool replace, For whom = For::others);
  Output(Output&& other) noexcept;
  Output& operator=(Output&&) = delete;
  ~Output();

  fs::Status write(std::string_view bytes) const;
  fs::Status finish();
  // What there is of it when it could not be made whole, under the first free name beside its own:
  // "slips-1.pdf" of "slips.pdf". Gives that name.
  fs::Result<std::string> finish_in_part();

 private:
  // Where it lies until finish(); a place in memory that stays, for a signal.
  using Aside = std::unique_ptr<const std::string>;
  Output(Descriptor file, std::string path, Aside aside, bool replace);
  fs::Status name_it(const std::string& path, bool replace);

  Descriptor file_;
  std::string path_;
  Aside aside_;  // null: it is written in place
  bool replace_;
};

// While one lives, Ctrl-C and the other signals that end the program are put off: whoever does many
// things looks between them whether to stop, and leaves in good order. Signals that are ignored, as
// under nohup, stay so. One at a time.
class PutOff {
 public:
  PutOff();
  PutOff(const PutOff&) = delete;
  PutOff& operator=(const PutOff&) = delete;
  ~PutOff();
  bool asked() const;  // to stop, since this began
};

}  // namespace stationer::admin
