// Hand-in folders: a class puts its work in without looking in, and gets receipts; its leaders see
// who has and who hasn't, collect it, and hand it back. The rules are in fs/hand_in.h.
//
// A folder is one when there is a HandIn row for it. Whatever an account saves straight into it, by
// whichever door, Files::save() files as FOLDER/ACCOUNT/NAME. That belongs to the class and to
// nobody in it, so its leaders look after it, the account that handed it in can neither read, alter
// nor remove it, and it counts in nobody's quota. A second one of the same name is filed beside the
// first (version_name()): what there is a receipt for is never replaced, and no history thins it.
// The keeper at the box has no account, and saves there as anywhere.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/caller.h"
#include "fs/files.h"
#include "fs/hand_in.h"
#include "fs/ids.h"
#include "fs/path.h"
#include "fs/records.h"
#include "fs/result.h"
#include "fs/ticket.h"

namespace stationer::fs {

class Engine;
class State;
class Transaction;

struct HandInView {
  std::string path;
  std::string klass;  // empty: its class is gone, and nobody may hand in
  HandInTimes times;
};

struct ReceiptView {
  std::uint32_t number = 0;
  std::string account;  // empty: the account is gone
  std::string place;    // the hand-in folder's path when it was handed in
  std::string name;
  std::uint32_t version = 1;
  std::uint64_t size = 0;
  Time at{};
  bool late = false;
  std::optional<Time> returned;
  bool there = false;  // what was handed in still lies in the hand-in folder
};

// One person's hand-ins in one folder.
struct RollEntry {
  std::string account;
  std::string full_name;
  bool member = false;                // else a leader of the class, or no longer in it
  std::vector<ReceiptView> receipts;  // newest first; empty: has not handed in
};

struct Roll {
  HandInView folder;
  std::vector<RollEntry> entries;  // by name; those who are no members only if they handed in
};

// What became of one file that was collected, handed back or handed out.
struct Carried {
  std::string account;
  std::string name;  // as it was handed in, or out
  std::string to;    // where the copy is; empty: there is none
  std::string problem;
};

class HandIns {
 public:
  static constexpr std::string_view returned_folder = "returned";  // in /members/NAME
  static constexpr std::string_view given_folder = "given";        // in /members/NAME
  // Of what is handed in, and of the folders it is filed in.
  static constexpr unsigned for_leaders = Access::owner_read | Access::owner_write;

  HandIns(Engine& engine, Files& files) : engine_(engine), files_(files) {}

  // The hand-in folders of the caller's classes; a manager's view is of all. By path.
  std::vector<HandInView> folders(const Caller& caller) const;
  // For whoever may hand in there. Code::bad_input when it is not a hand-in folder.
  Result<HandInView> look(const Caller& caller, const Path& folder) const;
  // Sets the times, by leaders of its class and managers. A folder of a class becomes a hand-in
  // folder by it when there is nothing in it but what was handed in before make_ordinary().
  Ticket set_times(const Caller& caller, const Path& folder, const HandInTimes& times);
  // Makes it a folder again that the class looks into and its leaders fill; by the same people.
  // What was handed in stays where it is, for leaders only, and so do the receipts.
  Ticket make_ordinary(const Caller& caller, const Path& folder);

  // The caller's own, newest first.
  std::vector<ReceiptView> receipts(const Caller& caller) const;
  // Who has handed in and who hasn't: for leaders of the class and managers.
  Result<Roll> roll(const Caller& caller, const Path& folder) const;

  // The next three copy file by file, each durable before the next, and may take long. What could
  // not be copied is told of and stays where it is; an error is returned only when nothing was
  // tried.

  // Copies the newest of each name that each person handed in to `to`, which is made, or is there
  // and empty; the copies are the caller's. With them goes collected_list: what is whose, and who
  // has not handed in.
  Result<std::vector<Carried>> collect(const Caller& caller, const Path& folder, const Path& to);
  // Copies each person's newest files, as they are now, to /members/NAME/returned, as the person's
  // own and within their quota, and leaves a notice. Only what is new, or changed, since it was
  // last handed back. `accounts`: whose; empty: everybody's.
  Result<std::vector<Carried>> hand_back(const Caller& caller, const Path& folder,
                                         const std::vector<std::string>& accounts);
  // Copies a file to /members/NAME/given of each account, as the person's own and within their
  // quota, and leaves a notice. Whoever the caller does not look after is told of as a problem.
  Result<std::vector<Carried>> hand_out(const Caller& caller, const Path& file,
                                        const std::vector<std::string>& accounts);

 private:
  // To the folder, which is made if need be, as the person's own: under the name, or the next free
  // one of version_name(), never over what is there.
  Result<Path> copy_to(const Caller& reader, const Path& from, const Caller& person,
                       const Path& folder, std::string_view name);
  Status copy(const Caller& reader, const Path& from, const Caller& writer, const Path& to) const;

  Engine& engine_;
  Files& files_;
};

// ---- for Files::save() ----

// The row of a folder if what this caller saves straight into it is handed in.
std::optional<HandIn> handing_in(const State& state, const Caller& caller, NodeId folder);

// Whether the caller may hand in a file of that size now: Code::denied with the time when it is not
// the time, or for who is not in the class; Code::over_quota for more than one person may have
// there.
Status check_hand_in(const State& state, const Caller& caller, const HandIn& hand_in,
                     std::uint64_t size, Time now);

// A new node for what is handed in as `name`, in the person's folder, which is made if need be.
// The node is for the caller to complete and put.
Result<Node> file_hand_in(Transaction& change, const Caller& caller, const HandIn& hand_in,
                          const std::string& name);

// Writes the receipt for a node that has been put; returns its number.
std::uint32_t give_receipt(Transaction& change, const Caller& caller, const HandIn& hand_in,
                           const std::string& name, const Node& node);

// Whose work a file is that belongs to others: what somebody handed in, and what is known to be a
// copy of that. no_account: nobody's but its owner's.
AccountId work_of(const State& state, NodeId file);
// The files of others that are copies of somebody's work.
std::vector<NodeId> copies_of_work(const State& state, AccountId whose);
// Notes that a file that has been put is a copy of somebody's work. Their own need no note.
void note_work(Transaction& change, const Node& file, AccountId whose);

// A node goes for good, or an account: nothing may refer to its number any more.
void forget_hand_ins(Transaction& change, NodeId node);
void forget_hand_ins(Transaction& change, AccountId account);

}  // namespace stationer::fs
