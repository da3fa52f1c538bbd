// Collecting what was handed in, and handing it back.
#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/copy_content.h"
#include "fs/desk.h"
#include "fs/engine.h"
#include "fs/hand_ins_part.h"
#include "fs/local_time.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr int most_same_names = 99;  // in a folder that things are handed back to

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

}  // namespace

Status HandIns::copy(const Caller& reader, const Path& from, const Caller& writer,
                     const Path& to) const {
  auto view = files_.look(reader, from);
  if (!view) return view.error();
  auto content = files_.read(reader, from);
  if (!content) return content.error();
  auto upload = files_.save(writer, to, as_copy(*view));
  if (!upload) return upload.error();
  return copy_content(*content, *upload).wait();
}

Result<Path> HandIns::copy_to(const Caller& reader, const Path& from, const Caller& person,
                              const Path& folder, std::string_view name) {
  if (!files_.look(person, folder)) {
    if (auto made = files_.make_folder(person, folder).wait(); !made) return made.error();
  }
  for (std::uint32_t n = 1;; ++n) {
    const Path place = folder / version_name(name, n);
    auto copied = copy(reader, from, person, place);
    if (copied) return place;
    if (copied.error().code != Code::exists || n == most_same_names) return copied.error();
  }
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
    std::vector<std::string> given;
    std::size_t failed = 0;
    for (; i < files->size() && (*files)[i].owner == first.owner; ++i) {
      const auto& file = (*files)[i];
      Carried carried{file.account, file.name, "", ""};
      const auto place = copy_to(caller, file.path, person, to, file.name);
      Status copied = place ? Status() : place.error();
      if (place) {
        carried.to = place->text();
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

Result<std::vector<Carried>> HandIns::hand_out(const Caller& caller, const Path& file,
                                               const std::vector<std::string>& accounts) {
  const auto view = files_.look(caller, file);
  if (!view) return view.error();
  if (auto readable = files_.read(caller, file); !readable) return readable.error();
  std::vector<Carried> out;
  for (const auto& each : accounts) {
    Carried carried{ascii_lower(each), view->name, "", ""};
    const auto id = engine_.read([&](const State& state) -> Result<AccountId> {
      const Account* account = state.account(carried.account);
      if (account == nullptr) {
        return Error{Code::not_found, fmt::format("There is no account {}.", clip(each, 40))};
      }
      if (is_manager(state, caller) || state.leads(caller.account, account->id)) return account->id;
      return Error{Code::denied, fmt::format("You do not look after {}.", account->name)};
    });
    const Path to = Path() / "members" / carried.account / std::string(given_folder);
    const auto place = id ? copy_to(caller, file, {*id, false, caller.where}, to, view->name)
                          : Result<Path>(id.error());
    if (place) {
      carried.to = place->text();
      const std::string words =
          fmt::format("There is {} for you: look in {}.", clip(view->name, 40), to.text());
      static_cast<void>(Desk(engine_).send_notice(caller, carried.account, words).wait());
    } else {
      carried.problem = place.error().message;
    }
    out.push_back(std::move(carried));
  }
  static_cast<void>(
      Desk(engine_).note(caller, "handed out", file.text(), fmt::format("to {}", accounts.size())));
  return out;
}

}  // namespace stationer::fs
