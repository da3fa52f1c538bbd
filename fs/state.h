// Everything the catalogue holds but hashes and the journal, in memory. Changes are applied here
// the moment they are decided and undone if their commit fails. Not thread-safe.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "fs/records.h"
#include "fs/tree.h"

namespace stationer::fs {

// Of a station: its segment, and its number there.
using StationNumber = std::pair<std::uint32_t, std::uint32_t>;

class State {
 public:
  explicit State(std::uint64_t seed) : tree(seed) {}

  // Applies one change and returns the one that undoes it.
  Change apply(const Change& change);

  // Loading rows in any order; finish_loading() ends it. Nodes that hang below nothing, or whose
  // names nothing could bear, go to `lost`.
  void load(Record record);
  void finish_loading();

  const Account* account(AccountId id) const;
  const Account* account(std::string_view name) const;  // in its stored form
  const Class* class_of(ClassId id) const;
  const Class* class_of(std::string_view name) const;
  const Membership* membership(ClassId klass, AccountId account) const;
  bool leads(AccountId leader, AccountId member) const;
  std::uint32_t last_number(Series series) const;  // 0: none was given
  // By its name, and by what it is recognised by: a network or hardware address, or a line.
  const Station* station(StationNumber number) const;
  const Station* station_called(const std::string& name) const;
  const Station* station_at(const std::string& address) const;
  const Station* station_with(const std::string& hardware) const;
  const Station* station_on(const std::string& line) const;
  bool knows_hardware() const { return !station_hardware_.empty(); }
  // The numbers of an account's receipts, oldest first.
  const std::set<std::uint32_t>& receipts_of(AccountId account) const;
  // Of those that tell of a node: what is filed, or the folder it was handed in to.
  const std::set<std::uint32_t>& receipts_about(NodeId node) const;

  Tree tree;
  // Rows of a damaged catalogue that have no place in the tree; the check puts them back.
  std::vector<Node> lost;
  std::map<AccountId, Account> accounts;
  std::map<ClassId, Class> classes;
  std::map<std::pair<ClassId, AccountId>, Membership> memberships;
  std::map<NodeId, BinEntry> bin;
  std::map<std::uint32_t, Notice> notices;
  std::map<std::uint32_t, Printout> printouts;
  std::map<std::pair<NodeId, ContentId>, Version> versions;
  std::map<NodeId, HandIn> hand_ins;
  std::map<std::uint32_t, Receipt> receipts;
  JournalHead journal;
  std::map<std::uint32_t, YearStep> year_steps;
  std::map<std::pair<std::uint32_t, std::uint32_t>, YearMove> year_moves;
  std::map<AccountId, Leaving> leaving;
  std::map<Series, LastNumber> last_numbers;
  std::map<NodeId, Collected> collected;
  std::map<StationNumber, Station> stations;
  std::map<std::pair<StationNumber, std::string>, BootName> boot_names;

 private:
  using StationIndex = std::unordered_map<std::string, StationNumber>;
  const Station* found(const StationIndex& index, const std::string& key) const;
  void unindex(const Station& station);
  void index(const Station& station);

  void index(const Receipt& receipt);
  void unindex(const Receipt& receipt);

  std::unordered_map<std::string, AccountId> account_names_;
  StationIndex station_names_, station_addresses_, station_hardware_, station_lines_;
  std::map<AccountId, std::set<std::uint32_t>> receipts_of_;
  std::unordered_map<NodeId, std::set<std::uint32_t>> receipts_about_;
};

}  // namespace stationer::fs
