// How every operation of Stationer tells success from failure: a value, or an Error made of a code
// from a closed set and a sentence that a volunteer understands (what happened, why, what to do).
// Exceptions are only for what is a bug.
#pragma once

#include <memory>
#include <stdexcept>
#include <string>
#include <utility>

#include <boost/system/result.hpp>

namespace stationer::fs {

enum class Code {
  not_found,       // no such node, account, class, job, …
  exists,          // the name is taken
  denied,          // the access bits, the role or the kept secret say no
  kept,            // the keep bit is set
  bad_name,        // the name can't be a name here, or the path can't be a path
  not_a_folder,    // a file stands where a folder is needed
  is_a_folder,     // a folder stands where a file is needed
  over_quota,      // the owner's limit of bytes or files
  no_space,        // the disk is full, or down to the keeper's reserve
  read_only,       // the volume can't be written to
  busy,            // in use, or too much is waiting: try again
  wrong_password,  // also for an account that isn't there, so that names can't be guessed
  throttled,       // too many wrong passwords: wait
  bad_input,       // a value that makes no sense
  newer_format,    // the volume was written by a newer Stationer
  damaged,         // what is on the disk is not what was written
  io,              // the host failed
};

struct Cause;

struct Error {
  Code code;
  std::string message;
  std::shared_ptr<const Cause> cause{};  // the rule that refused it, where one did (fs/cause.h)
};

template <class T>
using Result = boost::system::result<T, Error>;

// What a function returns that has nothing to say but whether it worked.
using Status = Result<void>;

// Result::value() on an error is a bug of the caller's.
[[noreturn]] inline void throw_exception_from_error(const Error& error,
                                                    const boost::source_location&) {
  throw std::logic_error("value() of a failed result: " + error.message);
}

// The code's name as JSON and the journal show it, such as "not_found".
const char* code_name(Code code);

}  // namespace stationer::fs
