// What is known of a job, and the form in which it lies beside the job's data in the spool.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::print {

struct Job {
  std::uint32_t number = 0;
  std::string queue;
  std::string title;
  fs::AccountId owner = fs::no_account;  // no_account: unclaimed
  std::string owner_name;                // as the printout shows it; empty: nobody is known
  std::string source;                    // "terminal 10.0.0.7", for people
  fs::Time received{};
  std::uint64_t bytes = 0;
  std::string reason;  // why it is held or was refused, in a sentence
  std::string rule;    // what decided that, for the keeper, in sentences; may be empty
  // Of jobs that were joined into this one: where each but the first begins, and their numbers.
  std::vector<std::uint64_t> starts;
  std::vector<std::uint64_t> joined;
  // The numbers of its printouts but the first, once there are several.
  std::vector<std::uint64_t> parts;

  // The numbers of all its printouts.
  std::vector<std::uint32_t> printouts() const;
};

// JSON, one key a line, so that the host's owner can read it.
std::string write_job(const Job& job);
// Code::damaged when it can't be read.
fs::Result<Job> read_job(std::string_view text);

}  // namespace stationer::print
