// The journal's chain: each entry carries a hash over the hash of the entry before it and its own
// fields, so that an entry that was changed, taken out or put in does not fit any more, and the
// last hash, noted apart (JournalHead), tells of a tail that was cut.
//
//   names = SHA-256(salt, who, subject, detail)
//   hash  = SHA-256(hash before, id, at, where, what, names)
//
// texts with their length, numbers in 8 bytes, little-endian. The names have a digest of their own
// so that a person can be taken out of an entry (without_names()): the digest stays, the salt and
// with it the way to try names out goes, and the entry tells which later entry, itself in the
// chain, stands for that. What happened, when and where stays proven.
//
// Who can write entries and head alike can make the whole anew. A copy of the last hash kept
// elsewhere is what proves more; JournalReport gives it.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/hash.h"
#include "fs/records.h"

namespace stationer::fs {

// What is looked for in the journal; all that is said has to fit. ASCII capitals do not count.
struct JournalQuery {
  std::string who;                   // the whole name; empty: anybody
  std::string where{};               // a part of the station or address, as all below
  std::string what{};                //
  std::string subject{};             //
  std::vector<std::string> words{};  // each somewhere in an entry
  std::optional<Time> from{};        // not before
  std::optional<Time> to{};          // before
  std::uint32_t most = 100;
};

// How much is kept; 0: no limit.
struct JournalLimits {
  std::uint64_t entries = 0;
  std::uint32_t days = 0;
};

// Gives an entry, whose texts and time are there, its number, salt and hash, and moves the head on.
// Salts are made of `secret`, which nothing keeps.
void append(JournalHead& head, JournalEntry& entry, const Hash& secret);

// The hash that an entry has to have behind one with the hash `before`.
Hash chained(const Hash& before, const JournalEntry& entry);

// What stands where a person was taken out.
inline constexpr std::string_view taken_out = "(erased)";

// Whether an entry names an account.
bool names(const JournalEntry& entry, std::string_view account);
// The entry without them: in its texts stands taken_out, wholly where they were named. `erasure`
// is the number of the entry that stands for it.
JournalEntry without_names(JournalEntry entry, std::string_view account, std::uint64_t erasure);

// What such an entry says, and the verification compares.
inline constexpr std::string_view erasure_what = "person erased";
struct Erasure {
  std::uint64_t entries = 0;  // that they were taken out of
  std::uint64_t first = 0;
  std::uint64_t last = 0;

  std::string text() const;
  static std::optional<Erasure> parse(std::string_view text);
};

// What the journal says when its oldest entries fall off; the subject is shortened_subject().
inline constexpr std::string_view shortened_what = "journal shortened";
std::string shortened_subject(std::uint64_t last_gone);

struct JournalReport {
  static constexpr std::size_t most_signs = 50;

  std::uint64_t first = 0;         // the oldest that is kept
  std::uint64_t last = 0;          // the newest there was
  std::uint64_t erased = 0;        // entries that somebody was taken out of
  Hash hash{};                     // of the newest
  std::vector<std::string> signs;  // of tampering, a sentence each; empty when there are none
};

// Compares entries, added in the order of their numbers, with the chain and the head.
class JournalVerifier {
 public:
  explicit JournalVerifier(const JournalHead& head);
  void add(const JournalEntry& entry);
  JournalReport finish();

 private:
  void sign(std::string sentence);

  JournalHead head_;
  JournalReport report_;
  std::uint64_t signs_ = 0;
  std::uint64_t next_;
  std::optional<Hash> before_;              // nothing behind a gap
  bool shortened_;                          // an entry says that the oldest fell off
  std::map<std::uint64_t, Erasure> found_;  // by the erasure they tell of
  std::map<std::uint64_t, Erasure> announced_;
};

}  // namespace stationer::fs
