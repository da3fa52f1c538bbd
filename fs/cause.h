// Which rule refused something, filled in by that rule when it refuses (invariant 3): whoever asks
// later why it did not work hears what decided, and not what somebody thinks decided. Accounts,
// classes and stations go by their names, nodes by their whole paths.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "fs/access.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

// A bit of a node was lacking.
struct LacksBit {
  std::string path;
  Access access;  // all that the node has
  Counted as = Counted::everyone;
  bool write = false;  // else reading
  std::string owner;   // empty: the room
  std::string klass;   // empty: none
};

// Only its owner, who leads them, and managers may do it.
struct NotTheirs {
  std::string path;
  std::string owner;  // empty: the room
};

struct IsKept {
  std::string path;
};

// A limit of what an account may keep.
struct NoRoom {
  std::string account;
  std::string klass;      // whose limits they are; empty: the account's own
  bool of_files = false;  // counts files and folders; else bytes
  bool grace_over = false;
  std::uint64_t limit = 0;
  std::uint64_t used = 0;
  std::uint64_t wanted = 0;  // with what was refused, as far as it had come
};

// The disk, of which the keeper has a reserve.
struct DiskFull {
  std::uint64_t free_bytes = 0;
  std::uint64_t reserve = 0;
};

// A hand-in folder outside its time.
struct HandInShut {
  std::string path;
  bool early = false;  // else late
  Time at{};           // when it opens, or closed
};

// Only members of a class, or only its leaders, may do it.
struct NotOfClass {
  std::string klass;
  bool leading = false;
};

struct ManagersOnly {};

// Signing in with an account that nobody can sign in with, or with a password that is not its.
struct NoEntry {
  enum class Why : std::uint8_t { unknown, closed, over, no_password, wrong_password };
  std::string account;  // empty: unknown; what was typed may have been a password
  Why why = Why::unknown;
};

// Too many wrong passwords or codes from there.
struct TooManyGuesses {
  std::chrono::seconds wait{};
};

// A door that a station may not use.
struct DoorShut {
  std::string station;  // empty: not registered
  std::string address;
  std::string door;
  std::vector<std::string> doors{};  // that it may use
};

// What stations load lies in one folder.
struct NotForStations {
  std::string folder;
  std::string path;
};

// A leader holds a class up.
struct Frozen {
  std::string klass;
  std::string by;
};

// A setting of volume.toml.
struct SettingSays {
  std::string setting;  // "hand_in under [door.tftp]"
  std::string says;     // "is not there"
};

struct Cause {
  std::variant<LacksBit, NotTheirs, IsKept, NoRoom, DiskFull, HandInShut, NotOfClass, ManagersOnly,
               NoEntry, TooManyGuesses, DoorShut, NotForStations, Frozen, SettingSays>
      rule;
};

template <class Rule>
Error because(Rule rule, Error error) {
  error.cause = std::make_shared<const Cause>(Cause{std::move(rule)});
  return error;
}

template <class Rule>
Error because(Rule rule, Code code, std::string message) {
  return because(std::move(rule), Error{code, std::move(message)});
}

}  // namespace stationer::fs
