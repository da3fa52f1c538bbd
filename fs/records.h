// The rows of the catalogue. Each row lists its fields once, in fields(): the tables, the
// statements and the commit log's form all follow from that list. A field added or changed is a new
// format (volume_format in fs/volume_file.h) and needs an upgrade step in fs/catalog.cpp.
//
// The first `keys` fields are the key.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "fs/access.h"
#include "fs/hand_in.h"
#include "fs/hash.h"
#include "fs/ids.h"
#include "fs/quota.h"

namespace stationer::fs {

enum class Kind : std::uint8_t { data = 0, text = 1, program = 2 };

const char* kind_name(Kind kind);

// What is numbered without ever using a number again.
enum class Series : std::uint8_t { account = 1, klass, notice, job, receipt, year_step };

struct Node {
  static constexpr std::string_view table = "node";
  static constexpr int keys = 1;

  NodeId id{};
  NodeId parent{};
  std::string name;
  std::string alias;  // 8.3, upper case; empty when the name itself is one
  bool folder = false;
  Kind kind = Kind::data;
  AccountId owner{};
  ClassId klass{};
  Access access;
  std::optional<std::uint32_t> load_address;
  std::optional<std::uint32_t> entry_point;
  std::uint64_t size = 0;
  ContentId content{};  // 0 for a folder, and for a file whose contents were lost
  Time created{};
  Time modified{};

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("id", row.id);
    visit("parent", row.parent);
    visit("name", row.name);
    visit("alias", row.alias);
    visit("folder", row.folder);
    visit("kind", row.kind);
    visit("owner", row.owner);
    visit("class", row.klass);
    visit("access", row.access);
    visit("load_address", row.load_address);
    visit("entry_point", row.entry_point);
    visit("size", row.size);
    visit("content", row.content);
    visit("created", row.created);
    visit("modified", row.modified);
  }
};

// The hash of a content, whether a file has it now or had it once; a row of its own because only
// the check reads it. In a commit that places a small content it may be zeros, and is taken when
// the commit is settled: nobody has to wait for it.
struct Digest {
  static constexpr std::string_view table = "digest";
  static constexpr int keys = 1;

  ContentId content{};
  Hash hash{};

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("content", row.content);
    visit("hash", row.hash);
  }
};

struct Account {
  static constexpr std::string_view table = "account";
  static constexpr int keys = 1;

  AccountId id{};
  std::string name;
  std::string full_name;
  Role role = Role::member;
  std::string password;  // Argon2id string form; empty: nobody can sign in
  bool closed = false;   // kept for what it owns, but nobody can sign in
  ClassId klass{};       // the primary class
  // In force when they are its own, or when its primary class has none; see quota_of().
  bool own_limits = false;
  std::uint64_t soft_bytes = 0;
  std::uint64_t hard_bytes = 0;
  std::uint64_t soft_files = 0;
  std::uint64_t hard_files = 0;
  std::optional<Time> over_since;   // when usage last went over a soft limit, while it is
  Fullness told = Fullness::roomy;  // what its last notice about space said, or better since
  Time created{};
  std::optional<Time> ends;  // from when on nobody can sign in

  Quota quota() const { return {soft_bytes, hard_bytes, soft_files, hard_files}; }

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("id", row.id);
    visit("name", row.name);
    visit("full_name", row.full_name);
    visit("role", row.role);
    visit("password", row.password);
    visit("closed", row.closed);
    visit("class", row.klass);
    visit("own_limits", row.own_limits);
    visit("soft_bytes", row.soft_bytes);
    visit("hard_bytes", row.hard_bytes);
    visit("soft_files", row.soft_files);
    visit("hard_files", row.hard_files);
    visit("over_since", row.over_since);
    visit("told", row.told);
    visit("created", row.created);
    visit("ends", row.ends);
  }
};

struct Class {
  static constexpr std::string_view table = "class";
  static constexpr int keys = 1;

  ClassId id{};
  std::string name;
  Time created{};
  bool limits = false;  // whether the class says how much its members may keep
  std::uint64_t soft_bytes = 0;
  std::uint64_t hard_bytes = 0;
  std::uint64_t soft_files = 0;
  std::uint64_t hard_files = 0;

  Quota quota() const { return {soft_bytes, hard_bytes, soft_files, hard_files}; }

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("id", row.id);
    visit("name", row.name);
    visit("created", row.created);
    visit("limits", row.limits);
    visit("soft_bytes", row.soft_bytes);
    visit("hard_bytes", row.hard_bytes);
    visit("soft_files", row.soft_files);
    visit("hard_files", row.hard_files);
  }
};

struct Membership {
  static constexpr std::string_view table = "membership";
  static constexpr int keys = 2;

  ClassId klass{};
  AccountId account{};
  bool leader = false;

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("class", row.klass);
    visit("account", row.account);
    visit("leader", row.leader);
  }
};

// One removal: the node now hangs below bin_root.
struct BinEntry {
  static constexpr std::string_view table = "bin";
  static constexpr int keys = 1;

  NodeId node{};
  AccountId owner{};  // the node's owner when it was removed
  AccountId removed_by{};
  Time removed{};
  std::string path;  // where it was

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("node", row.node);
    visit("owner", row.owner);
    visit("removed_by", row.removed_by);
    visit("removed", row.removed);
    visit("path", row.path);
  }
};

struct Notice {
  static constexpr std::string_view table = "notice";
  static constexpr int keys = 1;

  std::uint32_t id = 0;
  AccountId to{};
  std::string from;  // as shown: an account's name, or "the keeper"
  Time sent{};
  std::string text;

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("id", row.id);
    visit("to_account", row.to);
    visit("from_name", row.from);
    visit("sent", row.sent);
    visit("text", row.text);
  }
};

struct Printout {
  static constexpr std::string_view table = "printout";
  static constexpr int keys = 1;

  std::uint32_t job = 0;
  AccountId owner{};  // no_account: unclaimed
  std::string queue;
  std::string title;
  std::string source;  // "lpd 10.0.0.7", as people read it
  std::uint32_t pages = 0;
  std::uint64_t bytes = 0;
  Time printed{};
  std::string path;   // host path inside the volume
  bool seen = false;  // its owner has been told

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("job", row.job);
    visit("owner", row.owner);
    visit("queue", row.queue);
    visit("title", row.title);
    visit("source", row.source);
    visit("pages", row.pages);
    visit("bytes", row.bytes);
    visit("printed", row.printed);
    visit("path", row.path);
    visit("seen", row.seen);
  }
};

// Who did what, when, from where (invariant 9). Added to; the oldest may fall off, and an erased
// person's name goes.
struct JournalEntry {
  static constexpr std::string_view table = "journal";
  static constexpr int keys = 1;

  std::uint64_t id = 0;
  Time at{};
  std::string who;    // an account's name, "guest" or "the keeper"
  std::string where;  // the station or address, "the box"
  std::string what;   // "account added", "access changed", …
  std::string subject;
  std::string detail;
  Hash seal{};                // the salt of the names' digest; once they are erased, that digest
  Hash hash{};                // over the hash before it and this entry: fs/journal.h
  std::uint64_t erasure = 0;  // the entry that tells of the erasure; 0: nothing was erased

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("id", row.id);
    visit("at", row.at);
    visit("who", row.who);
    visit("station", row.where);
    visit("what", row.what);
    visit("subject", row.subject);
    visit("detail", row.detail);
    visit("seal", row.seal);
    visit("hash", row.hash);
    visit("erasure", row.erasure);
  }
};

// Both ends of the journal, apart from its entries, so that a missing end shows. One row.
struct JournalHead {
  static constexpr std::string_view table = "journal_head";
  static constexpr int keys = 1;

  std::uint32_t id = 1;
  std::uint64_t first = 1;  // the oldest entry that is kept
  Hash before{};            // the hash of the entry before it
  std::uint64_t last = 0;   // the newest entry
  Hash hash{};              // its hash

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("id", row.id);
    visit("first", row.first);
    visit("before", row.before);
    visit("last", row.last);
    visit("hash", row.hash);
  }
};

// Classes that were moved up a year, in one step that can be undone (fs/years.h).
struct YearStep {
  static constexpr std::string_view table = "year_step";
  static constexpr int keys = 1;

  std::uint32_t id = 0;
  Time made{};
  std::string by;
  std::string words;  // "year9 to year10, year10 left"

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("id", row.id);
    visit("made", row.made);
    visit("by_name", row.by);
    visit("words", row.words);
  }
};

// What was done to one account in such a step.
struct YearMove {
  static constexpr std::string_view table = "year_move";
  static constexpr int keys = 2;

  std::uint32_t step = 0;
  std::uint32_t number = 0;
  AccountId account{};
  ClassId from{};
  ClassId to{};          // no_class: left
  bool joined = false;   // was not in `to` before
  bool primary = false;  // the primary class was `from`
  bool closed = false;   // the account was closed

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("step", row.step);
    visit("number", row.number);
    visit("account", row.account);
    visit("from_class", row.from);
    visit("to_class", row.to);
    visit("joined", row.joined);
    visit("primary_class", row.primary);
    visit("closed", row.closed);
  }
};

// Somebody who left: their work is in an archive, and their files go to the bin later.
struct Leaving {
  static constexpr std::string_view table = "leaving";
  static constexpr int keys = 1;

  AccountId account{};
  Time after{};         // when the files go
  Time archived{};      // when the archive was made
  std::string archive;  // host path inside the volume
  Hash works{};         // of the files' paths and contents that are in it

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("account", row.account);
    visit("after", row.after);
    visit("archived", row.archived);
    visit("archive", row.archive);
    visit("works", row.works);
  }
};

// A content that a file had before it was replaced. Counted in nobody's usage.
struct Version {
  static constexpr std::string_view table = "version";
  static constexpr int keys = 1;

  ContentId content{};
  NodeId node{};     // the file; it may be in the bin
  std::string name;  // the file's when it was replaced
  Kind kind = Kind::data;
  std::optional<std::uint32_t> load_address;
  std::optional<std::uint32_t> entry_point;
  std::uint64_t size = 0;
  Time saved{};
  Time replaced{};
  AccountId replaced_by{};  // no_account: the keeper

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("content", row.content);
    visit("node", row.node);
    visit("name", row.name);
    visit("kind", row.kind);
    visit("load_address", row.load_address);
    visit("entry_point", row.entry_point);
    visit("size", row.size);
    visit("saved", row.saved);
    visit("replaced", row.replaced);
    visit("replaced_by", row.replaced_by);
  }
};

// Makes a folder a hand-in folder (fs/hand_ins.h).
struct HandIn {
  static constexpr std::string_view table = "hand_in";
  static constexpr int keys = 1;

  NodeId node{};
  std::optional<Time> opens;
  std::optional<Time> closes;
  bool late_allowed = false;

  HandInTimes times() const { return {opens, closes, late_allowed}; }

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("node", row.node);
    visit("opens", row.opens);
    visit("closes", row.closes);
    visit("late_allowed", row.late_allowed);
  }
};

// That somebody handed something in. It outlives what was handed in.
struct Receipt {
  static constexpr std::string_view table = "receipt";
  static constexpr int keys = 1;

  std::uint32_t number = 0;
  AccountId account{};        // no_account once the account is gone
  NodeId folder{};            // the hand-in folder; no_node once it is gone for good
  std::string place;          // its path then
  std::string name;           // as it was handed in
  std::uint32_t version = 1;  // of that name, by that account, in that folder
  NodeId node{};              // what is filed; no_node once it is gone for good
  ContentId content{};        // as it was handed in; leaders may have written in it since
  std::uint64_t size = 0;
  Time at{};
  bool late = false;
  std::optional<Time> returned;  // when it was last handed back
  ContentId returned_content{};  // and with which content

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("number", row.number);
    visit("account", row.account);
    visit("folder", row.folder);
    visit("place", row.place);
    visit("name", row.name);
    visit("version", row.version);
    visit("node", row.node);
    visit("content", row.content);
    visit("size", row.size);
    visit("at", row.at);
    visit("late", row.late);
    visit("returned", row.returned);
    visit("returned_content", row.returned_content);
  }
};

// A file in others' hands that was made by copying what somebody had handed in, and is their work
// too: it goes when they are erased.
struct Collected {
  static constexpr std::string_view table = "collected";
  static constexpr int keys = 1;

  NodeId node{};        // the copy, wherever it is by now
  AccountId account{};  // whose work it is

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("node", row.node);
    visit("account", row.account);
  }
};

// The highest number that was ever given in a series. None is given twice, though the row that had
// it may be gone: in an old list or in the journal it would mean something else by then.
struct LastNumber {
  static constexpr std::string_view table = "last_number";
  static constexpr int keys = 1;

  Series series{};
  std::uint32_t number = 0;

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("series", row.series);
    visit("number", row.number);
  }
};

// A machine that is known by its number on its segment (fs/stations.h).
struct Station {
  static constexpr std::string_view table = "station";
  static constexpr int keys = 2;

  std::uint32_t segment = 0;
  std::uint32_t number = 0;
  std::string name;
  std::string profile;   // empty: the usual one
  std::string address;   // of the network; empty: it is not known by one
  std::string hardware;  // its hardware address, likewise
  std::string line;      // the serial line it is at, likewise
  std::string doors;     // names, each followed by a space; empty: all doors
  std::string note;
  Time created{};

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("segment", row.segment);
    visit("number", row.number);
    visit("name", row.name);
    visit("profile", row.profile);
    visit("address", row.address);
    visit("hardware", row.hardware);
    visit("line", row.line);
    visit("doors", row.doors);
    visit("note", row.note);
    visit("created", row.created);
  }
};

// What a station gets that asks for something by a name of its own.
struct BootName {
  static constexpr std::string_view table = "boot_name";
  static constexpr int keys = 3;

  std::uint32_t segment = 0;
  std::uint32_t number = 0;
  std::string asked;  // empty: whatever it asks for
  std::string given;  // a path from the top

  template <class Self, class Visit>
  static void fields(Self& row, Visit&& visit) {
    visit("segment", row.segment);
    visit("number", row.number);
    visit("asked", row.asked);
    visit("given", row.given);
  }
};

// In the order in which they came to be: the commit log has their places in it.
using Record = std::variant<Node, Digest, Account, Class, Membership, BinEntry, Notice, Printout,
                            JournalEntry, Version, HandIn, Receipt, JournalHead, YearStep, YearMove,
                            Leaving, LastNumber, Collected, Station, BootName>;

// One row put (added or replaced) or dropped; only the key fields count for a drop.
struct Change {
  bool drop = false;
  Record record;
};

inline Change put(Record record) {
  return {false, std::move(record)};
}
inline Change drop(Record record) {
  return {true, std::move(record)};
}

// Calls use(Row{}) once for every kind of row, in the order of Record.
template <class Use>
void each_kind_of_row(Use use) {
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    (use(std::variant_alternative_t<I, Record>{}), ...);
  }
  (std::make_index_sequence<std::variant_size_v<Record>>());
}

}  // namespace stationer::fs
