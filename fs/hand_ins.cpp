#include "fs/hand_ins.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/copy_content.h"
#include "fs/desk.h"
#include "fs/engine.h"
#include "fs/local_time.h"
#include "fs/node_name.h"
#include "fs/rights.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr unsigned for_leaders = Access::owner_read | Access::owner_write;
constexpr int most_same_names = 99;  // in a folder that things are handed back to

Error denied(std::string message) {
  return {Code::denied, std::move(message)};
}

std::string account_name_of(const State& state, AccountId id) {
  const Account* account = state.account(id);
  return account == nullptr ? "" : account->name;
}

HandInView view_of(const State& state, const HandIn& hand_in) {
  const Class* klass = state.class_of(state.tree.get(hand_in.node).klass);
  return {Files::path_of(state, hand_in.node).text(), klass == nullptr ? "" : klass->name,
          hand_in.times()};
}

bool lies_in(const State& state, const Receipt& receipt, NodeId folder) {
  return receipt.folder == folder && receipt.node != no_node && state.tree.has(receipt.node) &&
         state.tree.is_within(receipt.node, folder);
}

ReceiptView view_of(const State& state, const Receipt& receipt) {
  ReceiptView view;
  view.number = receipt.number;
  view.account = account_name_of(state, receipt.account);
  view.place = receipt.place;
  view.name = receipt.name;
  view.version = receipt.version;
  view.size = receipt.size;
  view.at = receipt.at;
  view.late = receipt.late;
  view.returned = receipt.returned;
  view.there = lies_in(state, receipt, receipt.folder);
  return view;
}

// The hand-in folder at `path`.
Result<HandIn> wanted(const State& state, const Caller& caller, const Path& path) {
  auto id = find(state, caller, path);
  if (!id) return id.error();
  const auto found = state.hand_ins.find(*id);
  if (found == state.hand_ins.end()) {
    return Error{Code::bad_input, fmt::format("{} is not a hand-in folder.", path.text())};
  }
  return found->second;
}

bool is_in_class(const State& state, const Caller& caller, const Node& folder) {
  return folder.klass != no_class && state.membership(folder.klass, caller.account) != nullptr;
}

bool leads_folder(const State& state, const Caller& caller, const Node& folder) {
  if (is_manager(state, caller)) return true;
  const Membership* own =
      folder.klass == no_class ? nullptr : state.membership(folder.klass, caller.account);
  return own != nullptr && own->leader;
}

Result<HandIn> wanted_by_leader(const State& state, const Caller& caller, const Path& path) {
  auto hand_in = wanted(state, caller, path);
  if (hand_in && !leads_folder(state, caller, state.tree.get(hand_in->node))) {
    return denied(
        fmt::format("Only leaders of its class may see what was handed in to {}.", path.text()));
  }
  return hand_in;
}

// A receipt with what it takes to copy its file.
struct Filed {
  std::uint32_t receipt = 0;
  AccountId owner{};
  std::string account;
  std::string name;
  Path path;
  ContentId content{};
  Time at{};
  bool late = false;
};

// The newest of each name that each person handed in, by account.
std::vector<Filed> newest(const State& state, NodeId folder,
                          const std::function<bool(const Receipt&)>& fits) {
  std::map<std::pair<AccountId, std::string>, const Receipt*> chosen;
  for (const auto number : state.receipts_about(folder)) {
    const Receipt& receipt = state.receipts.at(number);
    if (receipt.account == no_account || !lies_in(state, receipt, folder)) continue;
    chosen[{receipt.account, fold(receipt.name)}] = &receipt;  // the numbers ascend
  }
  std::vector<Filed> out;
  for (const auto& [key, receipt] : chosen) {
    if (!fits(*receipt)) continue;
    out.push_back({receipt->number, receipt->account, account_name_of(state, receipt->account),
                   receipt->name, Files::path_of(state, receipt->node),
                   state.tree.get(receipt->node).content, receipt->at, receipt->late});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Filed& a, const Filed& b) { return a.account < b.account; });
  return out;
}

// What is whose, for a screen of 40 columns.
std::string list_text(const Roll& roll, const std::vector<Filed>& files,
                      const std::vector<Carried>& carried) {
  std::string out = fmt::format("Handed in to {}\n", roll.folder.path);
  for (std::size_t i = 0; i < files.size(); ++i) {
    const auto& file = files[i];
    const bool copied = carried[i].problem.empty();
    out += fmt::format("\n{}\n  {} by {}\n  receipt {}, {}{}\n",
                       copied ? carried[i].to.substr(carried[i].to.rfind('/') + 1) : "(not copied)",
                       file.name, file.account, file.receipt, local_time_text(file.at),
                       file.late ? ", late" : "");
  }
  std::string missing;
  for (const auto& entry : roll.entries) {
    if (entry.receipts.empty()) missing += fmt::format("  {}\n", entry.account);
  }
  out += missing.empty() ? "\nNobody is missing.\n" : "\nNot handed in:\n" + missing;
  return out;
}

Node new_node(Transaction& change, NodeId parent, std::string name, ClassId klass) {
  const State& state = change.state();
  Node node;
  node.id = change.free_node();
  node.parent = parent;
  if (!is_short_name(name)) {
    node.alias = short_alias(
        name, [&](std::string_view each) { return state.tree.child(parent, each).has_value(); });
  }
  node.name = std::move(name);
  node.klass = klass;
  node.access = Access(for_leaders);
  node.created = node.modified = change.now();
  return node;
}

}  // namespace

// ---- for Files::save() ----

std::optional<HandIn> handing_in(const State& state, const Caller& caller, NodeId folder) {
  if (caller.account == no_account) return std::nullopt;
  const auto found = state.hand_ins.find(folder);
  if (found == state.hand_ins.end()) return std::nullopt;
  return found->second;
}

Status check_hand_in(const State& state, const Caller& caller, const HandIn& hand_in,
                     std::uint64_t size, Time now) {
  const Node folder = state.tree.get(hand_in.node);
  if (!is_manager(state, caller) && !is_in_class(state, caller, folder)) {
    return denied("Only the class may hand in here.");
  }
  if (!may_write(state, caller, folder)) return denied("You may not hand in here.");
  switch (hand_in_timing(hand_in.times(), now)) {
    case HandInTiming::too_early:
      return denied(fmt::format("It is too early to hand in here: it opens on {}.",
                                local_time_text(*hand_in.opens)));
    case HandInTiming::too_late:
      return denied(
          fmt::format("It is too late to hand in here: it closed on {}. Ask a leader "
                      "whether you may still hand in.",
                      local_time_text(*hand_in.closes)));
    case HandInTiming::in_time:
    case HandInTiming::late: break;
  }
  std::size_t files = 0;
  std::uint64_t bytes = 0;
  for (const auto number : state.receipts_of(caller.account)) {
    const Receipt& receipt = state.receipts.at(number);
    if (!lies_in(state, receipt, hand_in.node)) continue;
    ++files;
    bytes += receipt.size;
  }
  if (files >= most_hand_ins) {
    return Error{Code::over_quota,
                 fmt::format("You have handed in {} files here, and that is the most there can be. "
                             "Ask a leader to take some away.",
                             files)};
  }
  if (bytes + size > most_hand_in_bytes) {
    return Error{Code::over_quota,
                 fmt::format("With this you would have handed in more than {} million bytes here, "
                             "and that is the most there can be. Ask a leader to take some away.",
                             most_hand_in_bytes / 1'000'000)};
  }
  return {};
}

Result<Node> file_hand_in(Transaction& change, const Caller& caller, const HandIn& hand_in,
                          const std::string& name) {
  const State& state = change.state();
  const ClassId klass = state.tree.get(hand_in.node).klass;
  const auto free_name = [&](NodeId folder, const std::string& wanted, auto fits) {
    for (std::uint32_t version = 1;; ++version) {
      std::string each = version_name(wanted, version);
      if (const auto there = state.tree.child(folder, each); !there || fits(*there)) return each;
    }
  };
  // A leader may have put a file where the person's folder should be.
  const std::string own = free_name(hand_in.node, account_name_of(state, caller.account),
                                    [&](NodeId there) { return state.tree.get(there).folder; });
  const Path place = Files::path_of(state, hand_in.node) / own;
  auto folder = state.tree.child(hand_in.node, own);
  if (!folder) {
    if (auto fits = Path::parse(place.text()); !fits) return fits.error();
    Node made = new_node(change, hand_in.node, own, klass);
    made.folder = true;
    folder = made.id;
    change.put(std::move(made));
    change.deed(MakeFolder{Engine::host_path(state, *folder)});
  }
  const std::string filed = free_name(*folder, name, [](NodeId) { return false; });
  if (auto fits = Path::parse((place / filed).text()); !fits) return fits.error();
  return new_node(change, *folder, filed, klass);
}

std::uint32_t give_receipt(Transaction& change, const Caller& caller, const HandIn& hand_in,
                           const std::string& name, const Node& node) {
  const State& state = change.state();
  Receipt receipt;
  receipt.number = change.next_number(Series::receipt);
  receipt.account = caller.account;
  receipt.folder = hand_in.node;
  receipt.place = Files::path_of(state, hand_in.node).text();
  receipt.name = name;
  receipt.node = node.id;
  receipt.content = node.content;
  receipt.size = node.size;
  receipt.at = change.now();
  receipt.late = hand_in_timing(hand_in.times(), change.now()) == HandInTiming::late;
  const std::string folded = fold(name);
  std::vector<Receipt> old;
  for (const auto number : state.receipts_of(caller.account)) {
    const Receipt& earlier = state.receipts.at(number);
    if (earlier.folder == hand_in.node && fold(earlier.name) == folded) {
      receipt.version = std::max(receipt.version, earlier.version + 1);
    }
    if (earlier.node == no_node) old.push_back(earlier);
  }
  for (std::size_t i = 0; i + most_old_receipts < old.size(); ++i) change.drop(old[i]);
  change.journal(caller, "handed in", Files::path_of(state, node.id).text(),
                 fmt::format("receipt {}{}", receipt.number, receipt.late ? ", late" : ""));
  change.put(receipt);
  return receipt.number;
}

void forget_hand_ins(Transaction& change, NodeId node) {
  const State& state = change.state();
  const std::set<std::uint32_t> numbers = state.receipts_about(node);
  for (const auto number : numbers) {
    Receipt receipt = state.receipts.at(number);
    if (receipt.node == node) receipt.node = no_node;
    if (receipt.folder == node) receipt.folder = no_node;
    change.put(std::move(receipt));
  }
  if (state.hand_ins.count(node) != 0) change.drop(HandIn{node, {}, {}, false});
}

void forget_hand_ins(Transaction& change, AccountId account) {
  const std::set<std::uint32_t> numbers = change.state().receipts_of(account);
  for (const auto number : numbers) {
    Receipt receipt = change.state().receipts.at(number);
    receipt.account = no_account;
    change.put(std::move(receipt));
  }
}

// ---- looking ----

std::vector<HandInView> HandIns::folders(const Caller& caller) const {
  auto views = engine_.read([&](const State& state) {
    std::vector<HandInView> out;
    for (const auto& [id, hand_in] : state.hand_ins) {
      if (!state.tree.has(id) || !state.tree.is_within(id, files_root)) continue;
      const Node folder = state.tree.get(id);
      if (is_manager(state, caller) || is_in_class(state, caller, folder)) {
        out.push_back(view_of(state, hand_in));
      }
    }
    return out;
  });
  std::sort(views.begin(), views.end(),
            [](const HandInView& a, const HandInView& b) { return a.path < b.path; });
  return views;
}

Result<HandInView> HandIns::look(const Caller& caller, const Path& folder) const {
  return engine_.read([&](const State& state) -> Result<HandInView> {
    auto hand_in = wanted(state, caller, folder);
    if (!hand_in) return hand_in.error();
    const Node node = state.tree.get(hand_in->node);
    if (!is_manager(state, caller) && !is_in_class(state, caller, node)) {
      return denied(fmt::format("Only the class may hand in to {}.", folder.text()));
    }
    return view_of(state, *hand_in);
  });
}

std::vector<ReceiptView> HandIns::receipts(const Caller& caller) const {
  return engine_.read([&](const State& state) {
    std::vector<ReceiptView> out;
    if (caller.account == no_account) return out;
    const auto& numbers = state.receipts_of(caller.account);
    for (auto number = numbers.rbegin(); number != numbers.rend(); ++number) {
      out.push_back(view_of(state, state.receipts.at(*number)));
    }
    return out;
  });
}

Result<Roll> HandIns::roll(const Caller& caller, const Path& folder) const {
  return engine_.read([&](const State& state) -> Result<Roll> {
    auto hand_in = wanted_by_leader(state, caller, folder);
    if (!hand_in) return hand_in.error();
    std::map<AccountId, RollEntry> entries;
    const ClassId klass = state.tree.get(hand_in->node).klass;
    for (const auto& [key, row] : state.memberships) {
      if (klass == no_class || row.klass != klass || row.leader) continue;
      entries[row.account].member = true;
    }
    const auto& numbers = state.receipts_about(hand_in->node);
    for (auto number = numbers.rbegin(); number != numbers.rend(); ++number) {
      const Receipt& receipt = state.receipts.at(*number);
      if (receipt.account == no_account || receipt.folder != hand_in->node) continue;
      entries[receipt.account].receipts.push_back(view_of(state, receipt));
    }
    Roll out{view_of(state, *hand_in), {}};
    for (auto& [id, entry] : entries) {
      const Account* account = state.account(id);
      if (account == nullptr) continue;
      entry.account = account->name;
      entry.full_name = account->full_name;
      out.entries.push_back(std::move(entry));
    }
    std::sort(out.entries.begin(), out.entries.end(),
              [](const RollEntry& a, const RollEntry& b) { return a.account < b.account; });
    return out;
  });
}

// ---- changing ----

Ticket HandIns::set_times(const Caller& caller, const Path& path, const HandInTimes& times) {
  if (auto fine = check_times(times); !fine) return fine.error();
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto id = find(state, caller, path);
    if (!id) return id.error();
    Node folder = state.tree.get(*id);
    if (!folder.folder) {
      return Error{Code::not_a_folder, fmt::format("{} is a file, not a folder.", path.text())};
    }
    if (folder.klass == no_class) {
      return Error{Code::bad_input,
                   fmt::format("{} belongs to no class, so nobody could hand in there. Make the "
                               "folder in the class's own.",
                               path.text())};
    }
    if (!leads_folder(state, caller, folder) || !is_as_owner(state, caller, folder)) {
      return denied(fmt::format("Only leaders of its class may change {}.", path.text()));
    }
    if (state.hand_ins.count(*id) == 0) {
      if (state.tree.has_children(*id)) {
        return Error{Code::exists,
                     fmt::format("{} is not empty. Take out what is in it, or make a new folder: "
                                 "what lies in a hand-in folder is for leaders only.",
                                 path.text())};
      }
      // The class's own from now on, so that every leader of it looks after it.
      folder.owner = no_account;
      folder.access = Access(for_leaders | Access::class_write);
      change.put(folder);
    }
    change.put(HandIn{*id, times.opens, times.closes, times.late_allowed});
    change.journal(caller, "hand-in times set", Files::path_of(state, *id).text(),
                   fmt::format("opens {}, closes {}, late {}",
                               times.opens ? local_time_text(*times.opens) : "at once",
                               times.closes ? local_time_text(*times.closes) : "never",
                               times.late_allowed ? "allowed" : "refused"));
    return {};
  });
}

Status HandIns::copy(const Caller& reader, const Path& from, const Caller& writer,
                     const Path& to) const {
  auto view = files_.look(reader, from);
  if (!view) return view.error();
  auto content = files_.read(reader, from);
  if (!content) return content.error();
  SaveOptions options;
  options.kind = view->kind;
  options.load_address = view->load_address;
  options.entry_point = view->entry_point;
  auto upload = files_.save(writer, to, options);
  if (!upload) return upload.error();
  return copy_content(*content, *upload).wait();
}

Result<std::vector<Carried>> HandIns::collect(const Caller& caller, const Path& folder,
                                              const Path& to) {
  auto seen = roll(caller, folder);
  if (!seen) return seen.error();
  auto files = engine_.read([&](const State& state) -> Result<std::vector<Filed>> {
    auto hand_in = wanted_by_leader(state, caller, folder);
    if (!hand_in) return hand_in.error();
    return newest(state, hand_in->node, [](const Receipt&) { return true; });
  });
  if (!files) return files.error();
  if (files->empty()) {
    return Error{Code::not_found,
                 fmt::format("Nothing has been handed in to {} yet.", folder.text())};
  }
  if (const auto there = files_.list(caller, to)) {
    if (!there->empty()) {
      return Error{Code::exists,
                   fmt::format("{} is not empty. Collect into a new folder, so that nothing is "
                               "mixed up.",
                               to.text())};
    }
  } else {
    if (there.error().code != Code::not_found) return there.error();
    if (auto made = files_.make_folder(caller, to).wait(); !made) return made.error();
  }
  std::vector<std::string> people;
  for (const auto& entry : seen->entries) people.push_back(entry.account);
  std::vector<OwnedName> names;
  for (const auto& file : *files) names.push_back({file.account, file.name});
  const auto copies = collected_names(people, names);
  std::vector<Carried> out;
  for (std::size_t i = 0; i < files->size(); ++i) {
    const auto& file = (*files)[i];
    Carried carried{file.account, file.name, (to / copies[i]).text(), ""};
    if (auto copied = copy(caller, file.path, caller, to / copies[i]); !copied) {
      carried.to.clear();
      carried.problem = copied.error().message;
    }
    out.push_back(std::move(carried));
  }
  const std::string list(collected_list);
  Carried listed{"", list, (to / list).text(), ""};
  SaveOptions text;
  text.kind = Kind::text;
  auto upload = files_.save(caller, to / list, text);
  Status written = upload ? upload->write(list_text(*seen, *files, out)) : upload.error();
  if (written) written = upload->finish().wait();
  if (!written) {
    listed.to.clear();
    listed.problem = written.error().message;
  }
  out.push_back(std::move(listed));
  static_cast<void>(Desk(engine_).note(caller, "collected", folder.text(), to.text()));
  return out;
}

Result<std::vector<Carried>> HandIns::hand_back(const Caller& caller, const Path& folder,
                                                const std::vector<std::string>& accounts) {
  auto files = engine_.read([&](const State& state) -> Result<std::vector<Filed>> {
    auto hand_in = wanted_by_leader(state, caller, folder);
    if (!hand_in) return hand_in.error();
    std::set<AccountId> whose;
    for (const auto& each : accounts) {
      const Account* account = state.account(ascii_lower(each));
      if (account == nullptr) {
        return Error{Code::not_found, fmt::format("There is no account {}.", clip(each, 40))};
      }
      whose.insert(account->id);
    }
    return newest(state, hand_in->node, [&](const Receipt& receipt) {
      if (!whose.empty() && whose.count(receipt.account) == 0) return false;
      return !receipt.returned || state.tree.get(receipt.node).content != receipt.returned_content;
    });
  });
  if (!files) return files.error();
  if (files->empty()) {
    return Error{Code::not_found,
                 "There is nothing to hand back: nothing was handed in or changed since the last "
                 "time."};
  }
  std::vector<Carried> out;
  for (std::size_t i = 0; i < files->size();) {
    const auto& first = (*files)[i];
    // As the person: the copies are theirs, and their quota decides.
    const Caller person{first.owner, false, caller.where};
    const Path to = Path() / "members" / first.account / std::string(returned_folder);
    Status place;
    if (!files_.look(person, to)) place = files_.make_folder(person, to).wait();
    std::vector<std::string> given;
    std::size_t failed = 0;
    for (; i < files->size() && (*files)[i].owner == first.owner; ++i) {
      const auto& file = (*files)[i];
      Carried carried{file.account, file.name, "", ""};
      Status copied = place;
      // Never over what was handed back before.
      for (std::uint32_t n = 1; place && n <= most_same_names; ++n) {
        const std::string name = version_name(file.name, n);
        copied = copy(caller, file.path, person, to / name);
        if (copied) carried.to = (to / name).text();
        if (copied || copied.error().code != Code::exists) break;
      }
      if (copied) {
        copied = engine_
                     .change([&](Transaction& change) -> Status {
                       const auto found = change.state().receipts.find(file.receipt);
                       if (found == change.state().receipts.end()) return {};
                       Receipt receipt = found->second;
                       receipt.returned = change.now();
                       receipt.returned_content = file.content;
                       change.put(std::move(receipt));
                       change.journal(caller, "handed back", carried.to,
                                      fmt::format("receipt {}", file.receipt));
                       return {};
                     })
                     .wait();
      }
      if (copied) {
        given.push_back(file.name);
      } else {
        carried.problem = copied.error().message;
        ++failed;
      }
      out.push_back(std::move(carried));
    }
    std::string words;
    if (!given.empty()) {
      words = given.size() == 1 ? fmt::format("{} is back", clip(given.front(), 40))
                                : fmt::format("{} files are back", given.size());
      words += fmt::format(" from {}: look in {}.", clip(folder.text(), 40), to.text());
    }
    if (failed > 0) {
      words += fmt::format("{}{} could not be given back to you: make room, then ask again.",
                           words.empty() ? "" : " ", failed == 1 ? "A file" : "Some files");
    }
    // A pigeon-hole that is full does not stop the handing back.
    static_cast<void>(Desk(engine_).send_notice(caller, first.account, words).wait());
  }
  return out;
}

}  // namespace stationer::fs
