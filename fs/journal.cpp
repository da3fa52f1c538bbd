#include "fs/journal.h"

#include <algorithm>
#include <array>
#include <charconv>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::string_view full_name_what = "full name changed";

void add_number(Hasher& hasher, std::uint64_t value) {
  std::array<char, 8> bytes;
  for (char& byte : bytes) {
    byte = static_cast<char>(value & 0xFF);
    value >>= 8;
  }
  hasher.add({bytes.data(), bytes.size()});
}

void add_text(Hasher& hasher, std::string_view text) {
  add_number(hasher, text.size());
  hasher.add(text);
}

void add_hash(Hasher& hasher, const Hash& hash) {
  hasher.add({reinterpret_cast<const char*>(hash.data()), hash.size()});
}

Hash names_digest(const JournalEntry& entry) {
  if (entry.erasure != 0) return entry.seal;
  Hasher hasher;
  add_hash(hasher, entry.seal);
  add_text(hasher, entry.who);
  add_text(hasher, entry.subject);
  add_text(hasher, entry.detail);
  return hasher.finish();
}

bool is_name_character(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
         c == '_';
}

// Whether a name goes on in what is before or behind a part of it. A dot belongs to it when more
// follows, and ends a sentence otherwise.
bool goes_on(std::string_view rest, bool before) {
  const auto at = [&](std::size_t n) { return before ? rest[rest.size() - 1 - n] : rest[n]; };
  if (rest.empty()) return false;
  if (at(0) != '.') return is_name_character(at(0));
  return rest.size() > 1 && is_name_character(at(1));
}

// Whether `name` stands in `text` as a word of its own.
bool mentions(std::string_view text, std::string_view name) {
  if (name.empty()) return false;
  const std::string lower = ascii_lower(text);
  for (auto at = lower.find(name); at != std::string::npos; at = lower.find(name, at + 1)) {
    if (!goes_on(std::string_view(lower).substr(0, at), true) &&
        !goes_on(std::string_view(lower).substr(at + name.size()), false)) {
      return true;
    }
  }
  return false;
}

std::string described(const JournalEntry& entry) {
  return fmt::format("Entry {} (\"{}\", {:%Y-%m-%d %H:%M} UTC)", entry.id, entry.what,
                     fmt::gmtime(std::chrono::system_clock::to_time_t(entry.at)));
}

std::string numbered(std::uint64_t first, std::uint64_t last) {
  return first == last ? fmt::format("Entry {}", first)
                       : fmt::format("Entries {} to {}", first, last);
}

}  // namespace

Hash chained(const Hash& before, const JournalEntry& entry) {
  Hasher hasher;
  add_hash(hasher, before);
  add_number(hasher, entry.id);
  add_number(hasher, static_cast<std::uint64_t>(entry.at.time_since_epoch().count()));
  add_text(hasher, entry.where);
  add_text(hasher, entry.what);
  add_hash(hasher, names_digest(entry));
  return hasher.finish();
}

void append(JournalHead& head, JournalEntry& entry, const Hash& secret) {
  entry.id = ++head.last;
  Hasher salt;
  add_hash(salt, secret);
  add_hash(salt, head.hash);
  add_number(salt, entry.id);
  entry.seal = salt.finish();
  entry.hash = chained(head.hash, entry);
  head.hash = entry.hash;
}

bool names(const JournalEntry& entry, std::string_view account) {
  return entry.who == account || mentions(entry.subject, account) ||
         mentions(entry.detail, account);
}

JournalEntry without_names(JournalEntry entry, std::string_view account, std::uint64_t erasure) {
  entry.seal = names_digest(entry);
  entry.erasure = erasure;
  const bool full_name = entry.what == full_name_what && entry.subject == account;
  if (entry.who == account) entry.who = taken_out;
  if (mentions(entry.subject, account)) entry.subject = taken_out;
  if (full_name || mentions(entry.detail, account)) entry.detail = taken_out;
  return entry;
}

std::string Erasure::text() const {
  return fmt::format("taken out of {} entries, from {} to {}", entries, first, last);
}

std::optional<Erasure> Erasure::parse(std::string_view text) {
  std::array<std::uint64_t, 3> numbers{};
  std::size_t found = 0;
  const char* at = text.data();
  const char* const end = at + text.size();
  while (at != end && found < numbers.size()) {
    if (*at < '0' || *at > '9') {
      ++at;
      continue;
    }
    const auto read = std::from_chars(at, end, numbers[found++]);
    if (read.ec != std::errc()) return std::nullopt;
    at = read.ptr;
  }
  const Erasure out{numbers[0], numbers[1], numbers[2]};
  if (out.text() != text) return std::nullopt;
  return out;
}

std::string shortened_subject(std::uint64_t last_gone) {
  return fmt::format("entries up to {}", last_gone);
}

JournalVerifier::JournalVerifier(const JournalHead& head)
    : head_(head), next_(head.first), before_(head.before), shortened_(head.first == 1) {
  report_.first = head.first;
  report_.last = head.last;
  report_.hash = head.hash;
}

void JournalVerifier::sign(std::string sentence) {
  if (++signs_ <= JournalReport::most_signs) report_.signs.push_back(std::move(sentence));
}

void JournalVerifier::add(const JournalEntry& entry) {
  if (entry.id < next_) {
    sign(fmt::format("{} is from before the oldest entry there should be: it was put in.",
                     described(entry)));
    return;
  }
  if (entry.id > head_.last) {
    sign(fmt::format("{} is newer than the last entry that was written: it was put in.",
                     described(entry)));
    return;
  }
  if (entry.id > next_) {
    sign(fmt::format("{} {} missing: taken out of the journal.", numbered(next_, entry.id - 1),
                     next_ == entry.id - 1 ? "is" : "are"));
    before_.reset();
  }
  if (before_ && chained(*before_, entry) != entry.hash) {
    sign(fmt::format("{} does not fit the one before it: one of the two was changed.",
                     described(entry)));
  }
  before_ = entry.hash;
  next_ = entry.id + 1;
  if (entry.what == shortened_what && entry.subject == shortened_subject(head_.first - 1)) {
    shortened_ = true;
  }
  if (entry.what == erasure_what) {
    if (const auto announced = Erasure::parse(entry.detail)) announced_[entry.id] = *announced;
  }
  if (entry.erasure != 0) {
    ++report_.erased;
    Erasure& found = found_[entry.erasure];
    if (found.entries++ == 0) found.first = entry.id;
    found.last = entry.id;
  }
}

JournalReport JournalVerifier::finish() {
  if (next_ <= head_.last) {
    sign(fmt::format("{} {} missing: the end of the journal was cut off.",
                     numbered(next_, head_.last), next_ == head_.last ? "is" : "are"));
  } else if (before_ && *before_ != head_.hash) {
    sign(
        "The last entry is not the one that was written last: the end of the journal was "
        "changed.");
  }
  if (!shortened_) {
    sign(
        fmt::format("{} missing, and no entry says that they fell off: the start of the journal "
                    "was cut off.",
                    head_.first == 2 ? "Entry 1 is" : numbered(1, head_.first - 1) + " are"));
  }
  for (const auto& [id, found] : found_) {
    const auto announced = announced_.find(id);
    const bool some_fell_off =
        announced != announced_.end() && announced->second.first < head_.first;
    const bool right = announced != announced_.end() && found.last == announced->second.last &&
                       (some_fell_off ? found.entries < announced->second.entries
                                      : found.entries == announced->second.entries &&
                                            found.first == announced->second.first);
    if (right) continue;
    sign(
        fmt::format("{} entries from {} to {} lack the names in them, and entry {} does not say "
                    "so: they were taken out by somebody else.",
                    found.entries, found.first, found.last, id));
  }
  if (signs_ > JournalReport::most_signs) {
    report_.signs.push_back(
        fmt::format("And {} more like these.", signs_ - JournalReport::most_signs));
  }
  return std::move(report_);
}

}  // namespace stationer::fs
