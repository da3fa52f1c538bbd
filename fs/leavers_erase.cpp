// Taking a person away with all that is theirs.
#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/hand_ins.h"
#include "fs/history.h"
#include "fs/journal.h"
#include "fs/leavers_part.h"
#include "fs/limits.h"
#include "fs/rights.h"

namespace stationer::fs {
namespace {

std::string whose(const State& state, AccountId owner) {
  return owner == no_account ? "the room" : account_name_of(state, owner);
}

// Folders called after a person in which their hand-ins lie, and whether more lies there.
std::map<NodeId, bool> filing_folders(const State& state, const std::vector<Receipt>& receipts) {
  std::map<NodeId, std::set<NodeId>> filed;
  for (const Receipt& receipt : receipts) {
    if (receipt.node == no_node || !state.tree.has(receipt.node)) continue;
    const NodeId above = state.tree.parent(receipt.node);
    // Not where a leader has moved it.
    const bool in_place = receipt.folder != no_node && above != bin_root &&
                          state.tree.parent(above) == receipt.folder;
    const auto removed = state.bin.find(above);
    const bool in_bin =
        removed != state.bin.end() && removed->second.path.starts_with(receipt.place + "/");
    if (in_place || in_bin) filed[above].insert(receipt.node);
  }
  std::map<NodeId, bool> out;
  for (const auto& [folder, theirs] : filed) {
    bool more = false;
    state.tree.each_child(
        folder, [&, &theirs = theirs](NodeId id) { more = more || theirs.count(id) == 0; });
    out[folder] = more;
  }
  return out;
}

}  // namespace

// Where somebody's hand-ins are that can't be told to be theirs: files with the same contents, and
// the lists beside collected copies.
Result<std::vector<std::string>> Leavers::traces(const Person& person) const {
  std::map<std::uint64_t, std::set<ContentId>> handed_in;  // by size
  std::vector<std::string> out;
  struct Like {
    std::string path, owner;
    ContentId content{};
    std::uint64_t size = 0;
  };
  const auto alike = engine_.read([&](const State& state) {
    std::set<NodeId> known;
    for (const Receipt& receipt : person.receipts) {
      if (receipt.size > 0) handed_in[receipt.size].insert(receipt.content);
    }
    std::set<std::string> lists;
    for (const Work& copy : person.copies) {
      known.insert(copy.node.id);
      if (copy.in_bin || !state.tree.has(copy.node.id)) continue;
      const auto list = state.tree.child(state.tree.parent(copy.node.id), collected_list);
      if (list) lists.insert(Files::path_of(state, *list).text());
    }
    for (const auto& list : lists) {
      out.push_back(fmt::format("The list {} names them, and stays.", list));
    }
    for (const auto& [number, receipt] : state.receipts) known.insert(receipt.node);
    std::vector<Like> found;
    state.tree.each_below(files_root, [&](NodeId id) {
      const Node node = state.tree.get(id);
      if (node.folder || node.owner == person.account.id || known.count(id) != 0) return;
      if (handed_in.count(node.size) == 0) return;
      found.push_back(
          {Files::path_of(state, id).text(), whose(state, node.owner), node.content, node.size});
    });
    return found;
  });
  std::map<std::uint64_t, std::set<Hash>> hashes;
  for (const Like& each : alike) {
    auto& wanted = hashes[each.size];
    if (wanted.empty()) {
      for (const ContentId content : handed_in[each.size]) {
        auto digest = engine_.catalog().digest(content);
        if (!digest) return digest.error();
        if (*digest) wanted.insert(**digest);
      }
    }
    auto digest = engine_.catalog().digest(each.content);
    if (!digest) return digest.error();
    if (!*digest || wanted.count(**digest) == 0) continue;
    out.push_back(
        fmt::format("{} has the same contents as what they handed in, and stays: it "
                    "belongs to {}.",
                    each.path, each.owner));
  }
  return out;
}

Result<std::vector<std::string>> Leavers::erasure_preview(const Caller& caller,
                                                          std::string_view typed) {
  auto wanted = person(caller, typed);
  if (!wanted) return wanted.error();
  if (auto settled = engine_.drain(); !settled) return settled.error();
  const std::string& name = wanted->account.name;
  std::size_t here = 0, binned = 0, entries = 0;
  for (const Work& work : wanted->works) ++(work.in_bin ? binned : here);
  auto counted = engine_.catalog().whole_journal([](const JournalHead&) {},
                                                 [&](const JournalEntry& entry) {
                                                   if (names(entry, name)) ++entries;
                                                 });
  if (!counted) return counted.error();
  auto archives = engine_.files().list(folder_of(name));
  if (!archives && archives.error().code != Code::not_found) return archives.error();

  std::vector<std::string> out;
  const std::string full = wanted->account.full_name;
  out.push_back(fmt::format("The account {}{} goes, with its place in {}.", name,
                            full.empty() ? "" : " (" + full + ")",
                            things(wanted->classes.size(), "class", "classes")));
  out.push_back(fmt::format("{} of theirs go for good, and {} in the bin.",
                            things(here, "file or folder", "files and folders"),
                            things(binned, "more", "more")));
  if (!wanted->versions.empty()) {
    out.push_back(
        fmt::format("{} of their files go, too.",
                    things(wanted->versions.size(), "former content", "former contents")));
  }
  if (wanted->kept > 0) {
    out.push_back(things(wanted->kept, "of these has the keep bit, and goes all the same.",
                         "of these have the keep bit, and go all the same."));
  }
  if (!wanted->receipts.empty()) {
    out.push_back(fmt::format("{} of theirs go, with the receipts.",
                              things(wanted->receipts.size(), "hand-in", "hand-ins")));
  }
  for (const Work& copy : wanted->copies) {
    out.push_back(
        fmt::format("The copy of what they handed in goes that is {}.", copy.path.text()));
  }
  out.push_back(fmt::format("{}, {} for them and {} of them go.",
                            things(wanted->printouts.size(), "printout", "printouts"),
                            things(wanted->notices.size(), "notice", "notices"),
                            things(archives ? archives->size() : 0, "archive", "archives")));
  engine_.read([&](const State& state) {
    for (const Work& work : wanted->works) {
      if (!work.node.folder || work.in_bin || !state.tree.has(work.node.id)) continue;
      bool others = false;
      state.tree.each_below(work.node.id, [&](NodeId id) {
        others = others || state.tree.get(id).owner != wanted->account.id;
      });
      if (!others) continue;
      out.push_back(
          fmt::format("The folder {} stays, because it holds what is others', and nobody "
                      "owns it then.",
                      Files::path_of(state, work.node.id).text()));
    }
    for (const auto& [folder, more] : filing_folders(state, wanted->receipts)) {
      if (!more) continue;
      out.push_back(fmt::format("The folder {} stays, because more lies in it than they handed in.",
                                Engine::host_path(state, folder).text()));
    }
    return 0;
  });
  auto left = traces(*wanted);
  if (!left) return left.error();
  out.insert(out.end(), left->begin(), left->end());
  out.push_back(fmt::format("Their name is taken out of {} of the journal, which says that it was.",
                            things(entries, "entry", "entries")));
  out.push_back(
      "Not reached: snapshots and other copies of the volume, printouts of theirs that others put "
      "into one file or handed to a printer, what others wrote about them, and remains on the disk "
      "until it writes over them.");
  if (!wanted->account.closed) {
    out.push_back(
        fmt::format("First the account has to be closed: stationer account close {}", name));
  }
  return out;
}

Status Leavers::take_from_journal(const Caller& caller, const std::string& name) {
  if (auto settled = engine_.drain(); !settled) return settled;
  std::vector<JournalEntry> found;
  auto read = engine_.catalog().whole_journal([](const JournalHead&) {},
                                              [&](const JournalEntry& entry) {
                                                if (names(entry, name)) found.push_back(entry);
                                              });
  if (!read) return read;
  if (found.empty()) return {};
  return engine_
      .change([&](Transaction& change) -> Status {
        const JournalHead& head = change.state().journal;
        const std::uint64_t number = head.last + 1;
        // What has fallen off meanwhile must not come back. An entry that somebody else was taken
        // out of before goes on counting for that erasure.
        std::erase_if(found, [&](const JournalEntry& entry) { return entry.id < head.first; });
        Erasure erasure;
        for (const JournalEntry& entry : found) {
          if (entry.erasure != 0) {
            change.put(without_names(entry, name, entry.erasure));
            continue;
          }
          change.put(without_names(entry, name, number));
          if (erasure.entries++ == 0) erasure.first = entry.id;
          erasure.last = entry.id;
        }
        change.journal(caller, std::string(erasure_what), std::string(taken_out), erasure.text());
        return {};
      })
      .wait();
}

Status Leavers::erase(const Caller& caller, std::string_view typed) {
  const std::lock_guard lock(mutex_);
  auto wanted = person(caller, typed);
  if (!wanted) return wanted.error();
  const std::string name = wanted->account.name;
  const AccountId id = wanted->account.id;
  if (!wanted->account.closed) {
    return Error{Code::exists, fmt::format("The account {} is open. Close it first, by "
                                           "stationer account close {}.",
                                           name, name)};
  }
  // The account goes last, so that what was cut short can be done again.
  HostFiles& host = engine_.files();
  auto archives = host.list(folder_of(name));
  if (!archives && archives.error().code != Code::not_found) return archives.error();
  if (archives) {
    for (const auto& entry : *archives) {
      if (entry.type != HostEntry::Type::file) continue;
      if (auto gone = host.remove_file(folder_of(name) / entry.name); !gone) return gone;
    }
    if (auto gone = host.remove_folder(folder_of(name)); !gone) return gone;
  }
  if (auto taken = take_from_journal(caller, name); !taken) return taken;

  auto gone = engine_
                  .change([&](Transaction& change) -> Status {
                    const State& state = change.state();
                    const Account* account = state.account(id);
                    if (account == nullptr || account->name != name) {
                      return Error{Code::not_found, "The account was removed meanwhile."};
                    }
                    std::size_t files = 0;
                    for (const NodeId root : {files_root, bin_root}) {
                      std::vector<NodeId> theirs;
                      state.tree.each_below(root, [&](NodeId each) {
                        if (each != root && state.tree.get(each).owner == id)
                          theirs.push_back(each);
                      });
                      for (auto each = theirs.rbegin(); each != theirs.rend(); ++each) {
                        Node node = state.tree.get(*each);
                        if (node.folder && state.tree.has_children(*each)) {
                          node.owner = no_account;
                          change.put(std::move(node));
                          continue;
                        }
                        purge_node(change, *each);
                        ++files;
                      }
                    }
                    // What they handed in belongs to nobody, and lies in a folder of their name;
                    // copies of it are others', and count in their usage.
                    std::vector<Receipt> receipts;
                    for (const auto number : state.receipts_of(id)) {
                      receipts.push_back(state.receipts.at(number));
                    }
                    const auto folders = filing_folders(state, receipts);
                    for (const Receipt& receipt : receipts) {
                      if (state.tree.has(receipt.node)) {
                        purge_node(change, receipt.node);
                        ++files;
                      }
                      change.drop(receipt);
                    }
                    for (const auto& [folder, more] : folders) {
                      if (!more) purge_node(change, folder);
                    }
                    for (const NodeId copy : copies_of_work(state, id)) {
                      const AccountId owner = state.tree.get(copy).owner;
                      purge_node(change, copy);
                      ++files;
                      track_soft_limit(change, owner);
                    }
                    const auto copy = [](const auto& map) {
                      using Row = typename std::decay_t<decltype(map)>::mapped_type;
                      std::vector<Row> rows;
                      for (const auto& [key, row] : map) rows.push_back(row);
                      return rows;
                    };
                    for (BinEntry& entry : copy(state.bin)) {
                      if (!state.tree.has(entry.node)) {
                        change.drop(entry);
                      } else if (entry.owner == id || entry.removed_by == id) {
                        if (entry.owner == id) entry.owner = no_account;
                        if (entry.removed_by == id) entry.removed_by = no_account;
                        change.put(entry);
                      }
                    }
                    for (Printout& printout : copy(state.printouts)) {
                      if (printout.owner != id) continue;
                      auto path = HostPath::from_record(printout.path);
                      if (!path) return path.error();
                      change.remove_file(*path, held_path(printout));
                      change.drop(printout);
                    }
                    for (Notice& notice : copy(state.notices)) {
                      if (notice.to == id) {
                        change.drop(notice);
                      } else if (notice.from == name) {
                        notice.from = taken_out;
                        change.put(notice);
                      }
                    }
                    for (const Membership& row : copy(state.memberships)) {
                      if (row.account == id) change.drop(row);
                    }
                    for (YearStep& step : copy(state.year_steps)) {
                      if (step.by != name) continue;
                      step.by = taken_out;
                      change.put(step);
                    }
                    if (state.leaving.count(id) != 0) change.drop(Leaving(state.leaving.at(id)));
                    change.drop(Account(*account));
                    change.journal(caller, "account erased", std::string(taken_out),
                                   things(files, "file or folder", "files and folders"));
                    return {};
                  })
                  .wait();
  if (!gone) return gone;
  // What came into the journal between the two.
  return take_from_journal(caller, name);
}

}  // namespace stationer::fs
