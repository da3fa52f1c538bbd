#include "fs/result.h"

namespace stationer::fs {

const char* code_name(Code code) {
  switch (code) {
    case Code::not_found: return "not_found";
    case Code::exists: return "exists";
    case Code::denied: return "denied";
    case Code::kept: return "kept";
    case Code::bad_name: return "bad_name";
    case Code::not_a_folder: return "not_a_folder";
    case Code::is_a_folder: return "is_a_folder";
    case Code::over_quota: return "over_quota";
    case Code::no_space: return "no_space";
    case Code::read_only: return "read_only";
    case Code::busy: return "busy";
    case Code::wrong_password: return "wrong_password";
    case Code::throttled: return "throttled";
    case Code::bad_input: return "bad_input";
    case Code::newer_format: return "newer_format";
    case Code::damaged: return "damaged";
    case Code::io: return "io";
  }
  return "unknown";
}

}  // namespace stationer::fs
