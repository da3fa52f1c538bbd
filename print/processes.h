// Processes: starting, copying and ending them. Nothing else here starts any.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "fs/result.h"

namespace stationer::print {

// The descriptor that start_process() hands over.
inline constexpr int handed_over = 3;

struct Ending {
  enum class How { left, killed };
  How how = How::left;
  int number = 0;  // what it left with, or the signal
};

// The program that this process runs, also when another has taken its place on the disk.
std::string own_program();

// Starts `program` with these words. All it has open is `descriptor`, as handed_over, and standard
// error; signals to our terminal don't reach it. Gives its number.
fs::Result<int> start_process(const std::string& program, const std::vector<std::string>& words,
                              int descriptor);

// Starts a program of /usr/bin with these words. `descriptor` is its standard input and output; it
// has nothing else open, no variables but the path, and stands in no folder of ours. Gives its
// number; Code::not_found when it is not installed.
fs::Result<int> start_host_program(const std::string& program,
                                   const std::vector<std::string>& words, int descriptor);

// A copy of this process, which must have one thread, that does `work` and ends with what that
// returns. All it has open is `descriptor`; it ends when this process does.
fs::Result<int> copy_process(int descriptor, const std::function<int()>& work);

// Waits until a process that one of these has given is over, and tells how it ended.
Ending await_process(int process);
// The same, but kills it unless it is over.
Ending end_process(int process);

}  // namespace stationer::print
