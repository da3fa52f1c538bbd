// A program of the host's that gets bytes and gives bytes, kept apart from us: what goes wrong in
// it ends it, and nothing else.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <vector>

#include "fs/result.h"
#include "print/bytes.h"

namespace stationer::print {

struct ToolLimits {
  std::uint64_t memory = std::uint64_t{512} << 20;  // bytes of address space
  std::chrono::seconds processor{20};               // its time in all
  std::chrono::seconds patience{30};                // ours, until it is done
};

// Runs a program of /usr/bin with these words. It has standard input, from `in`, and standard
// output, to `out`; no other descriptor, no variables but the path, and can't write to files.
// Code::not_found when the program is not there, Code::damaged when it fails or exceeds the
// limits; else what `in` or `out` failed with. The service's other threads go on meanwhile.
fs::Status run_host_tool(const std::string& program, const std::vector<std::string>& words,
                         const ByteSource& in, const ByteSink& out, const ToolLimits& limits = {});

}  // namespace stationer::print
