#include "fs/state.h"

#include <stdexcept>

#include "fs/host_path.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

template <class Row, class Map, class Key>
Change apply_to(Map& map, const Key& key, const Row& row, bool dropping) {
  const auto found = map.find(key);
  Change undo = found == map.end() ? drop(row) : put(found->second);
  if (dropping) {
    if (found != map.end()) map.erase(found);
  } else {
    map.insert_or_assign(key, row);
  }
  return undo;
}

auto key_of(const Membership& row) {
  return std::pair(row.klass, row.account);
}

StationNumber key_of(const Station& row) {
  return {row.segment, row.number};
}
StationNumber key_of(const BootName& row) {
  return {row.segment, row.number};
}

// Whether a row that was read can be in the tree at all. Numbers are given out lowest first, so one
// beyond this is damage, and room would be made for all below it.
bool can_be_placed(const Node& node) {
  constexpr std::uint32_t highest = 1u << 24;
  if (node.id == files_root || node.id == bin_root) return true;
  return node.id != no_node && number(node.id) <= highest && is_host_name(node.name) &&
         is_utf8(node.name) && node.alias.size() <= 12 && is_ascii(node.alias) &&
         node.kind <= Kind::program;
}

}  // namespace

Change State::apply(const Change& change) {
  return std::visit(
      [&]<class Row>(const Row& row) -> Change {
        if constexpr (std::is_same_v<Row, Node>) {
          std::erase_if(lost, [&](const Node& each) { return each.id == row.id; });
          auto before = change.drop ? tree.drop(row.id) : tree.put(row);
          return before ? put(std::move(*before)) : drop(row);
        } else if constexpr (std::is_same_v<Row, Account>) {
          if (const Account* before = account(row.id)) account_names_.erase(before->name);
          if (!change.drop) account_names_[row.name] = row.id;
          return apply_to(accounts, row.id, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Class>) {
          return apply_to(classes, row.id, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Membership>) {
          return apply_to(memberships, key_of(row), row, change.drop);
        } else if constexpr (std::is_same_v<Row, BinEntry>) {
          return apply_to(bin, row.node, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Notice>) {
          return apply_to(notices, row.id, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Printout>) {
          return apply_to(printouts, row.job, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Version>) {
          return apply_to(versions, std::pair(row.node, row.content), row, change.drop);
        } else if constexpr (std::is_same_v<Row, HandIn>) {
          return apply_to(hand_ins, row.node, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Receipt>) {
          Change undo = apply_to(receipts, row.number, row, change.drop);
          if (!undo.drop) unindex(std::get<Receipt>(undo.record));
          if (!change.drop) index(row);
          return undo;
        } else if constexpr (std::is_same_v<Row, YearStep>) {
          return apply_to(year_steps, row.id, row, change.drop);
        } else if constexpr (std::is_same_v<Row, YearMove>) {
          return apply_to(year_moves, std::pair(row.step, row.number), row, change.drop);
        } else if constexpr (std::is_same_v<Row, Leaving>) {
          return apply_to(leaving, row.account, row, change.drop);
        } else if constexpr (std::is_same_v<Row, LastNumber>) {
          return apply_to(last_numbers, row.series, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Collected>) {
          return apply_to(collected, row.node, row, change.drop);
        } else if constexpr (std::is_same_v<Row, Station>) {
          Change undo = apply_to(stations, key_of(row), row, change.drop);
          if (!undo.drop) unindex(std::get<Station>(undo.record));
          if (!change.drop) index(row);
          return undo;
        } else if constexpr (std::is_same_v<Row, BootName>) {
          return apply_to(boot_names, std::pair(key_of(row), row.asked), row, change.drop);
        } else if constexpr (std::is_same_v<Row, JournalHead>) {
          Change before = put(journal);
          journal = change.drop ? JournalHead() : row;
          return before;
        } else {
          return change;  // digests and journal entries are not kept in memory
        }
      },
      change.record);
}

void State::load(Record record) {
  if (const auto* node = std::get_if<Node>(&record)) {
    if (can_be_placed(*node)) {
      tree.load(*node);
    } else {
      tree.set_apart(node->id);
      lost.push_back(*node);
    }
  } else {
    static_cast<void>(apply(put(std::move(record))));
  }
}

void State::finish_loading() {
  for (auto& node : tree.link_all()) lost.push_back(std::move(node));
  // A damaged catalogue must not give a number that is in use.
  const auto at_least = [&](Series series, const auto& map) {
    if (map.empty()) return;
    const auto there = static_cast<std::uint32_t>(map.rbegin()->first);
    if (there > last_number(series)) last_numbers[series] = {series, there};
  };
  at_least(Series::account, accounts);
  at_least(Series::klass, classes);
  at_least(Series::notice, notices);
  at_least(Series::job, printouts);
  at_least(Series::receipt, receipts);
  at_least(Series::year_step, year_steps);
}

const Account* State::account(AccountId id) const {
  const auto found = accounts.find(id);
  return found == accounts.end() ? nullptr : &found->second;
}

const Account* State::account(std::string_view name) const {
  const auto found = account_names_.find(std::string(name));
  return found == account_names_.end() ? nullptr : account(found->second);
}

const Class* State::class_of(ClassId id) const {
  const auto found = classes.find(id);
  return found == classes.end() ? nullptr : &found->second;
}

const Class* State::class_of(std::string_view name) const {
  for (const auto& [id, klass] : classes) {
    if (klass.name == name) return &klass;
  }
  return nullptr;
}

const Membership* State::membership(ClassId klass, AccountId account) const {
  const auto found = memberships.find({klass, account});
  return found == memberships.end() ? nullptr : &found->second;
}

std::uint32_t State::last_number(Series series) const {
  const auto found = last_numbers.find(series);
  return found == last_numbers.end() ? 0 : found->second.number;
}

const std::set<std::uint32_t>& State::receipts_of(AccountId account) const {
  static const std::set<std::uint32_t> none;
  const auto found = receipts_of_.find(account);
  return found == receipts_of_.end() ? none : found->second;
}

const std::set<std::uint32_t>& State::receipts_about(NodeId node) const {
  static const std::set<std::uint32_t> none;
  const auto found = receipts_about_.find(node);
  return found == receipts_about_.end() ? none : found->second;
}

const Station* State::station(StationNumber number) const {
  const auto there = stations.find(number);
  return there == stations.end() ? nullptr : &there->second;
}

const Station* State::found(const StationIndex& index, const std::string& key) const {
  const auto there = index.find(key);
  return there == index.end() ? nullptr : station(there->second);
}

const Station* State::station_called(const std::string& name) const {
  return found(station_names_, name);
}
const Station* State::station_at(const std::string& address) const {
  return found(station_addresses_, address);
}
const Station* State::station_with(const std::string& hardware) const {
  return found(station_hardware_, hardware);
}
const Station* State::station_on(const std::string& line) const {
  return found(station_lines_, line);
}

void State::index(const Station& station) {
  const auto add = [&](StationIndex& index, const std::string& key) {
    if (!key.empty()) index[key] = key_of(station);
  };
  add(station_names_, station.name);
  add(station_addresses_, station.address);
  add(station_hardware_, station.hardware);
  add(station_lines_, station.line);
}

void State::unindex(const Station& station) {
  const auto take = [&](StationIndex& index, const std::string& key) {
    const auto there = index.find(key);
    if (there != index.end() && there->second == key_of(station)) index.erase(there);
  };
  take(station_names_, station.name);
  take(station_addresses_, station.address);
  take(station_hardware_, station.hardware);
  take(station_lines_, station.line);
}

void State::index(const Receipt& receipt) {
  receipts_of_[receipt.account].insert(receipt.number);
  for (const NodeId node : {receipt.node, receipt.folder}) {
    if (node != no_node) receipts_about_[node].insert(receipt.number);
  }
}

void State::unindex(const Receipt& receipt) {
  receipts_of_[receipt.account].erase(receipt.number);
  for (const NodeId node : {receipt.node, receipt.folder}) {
    const auto found = receipts_about_.find(node);
    if (found == receipts_about_.end()) continue;
    found->second.erase(receipt.number);
    if (found->second.empty()) receipts_about_.erase(found);
  }
}

bool State::leads(AccountId leader, AccountId member) const {
  if (leader == no_account || member == no_account || leader == member) return false;
  for (const auto& [key, row] : memberships) {
    if (row.account != leader || !row.leader) continue;
    const Membership* in_class = membership(row.klass, member);
    if (in_class != nullptr && !in_class->leader) return true;
  }
  return false;
}

}  // namespace stationer::fs
