#include <algorithm>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/hand_ins.h"
#include "fs/history.h"
#include "fs/leavers_part.h"
#include "fs/rights.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

// Whether all below a node is theirs, itself too, and nothing of it is kept.
bool may_go(const State& state, NodeId top, AccountId owner) {
  bool all = true;
  state.tree.each_below(top, [&](NodeId id) {
    const Node node = state.tree.get(id);
    all = all && node.owner == owner && !node.access.has(Access::keep);
  });
  return all;
}

// The topmost nodes that may go as a whole.
void find_tops(const State& state, NodeId folder, AccountId owner, std::vector<NodeId>& tops) {
  state.tree.each_child(folder, [&](NodeId id) {
    const Node node = state.tree.get(id);
    if (may_go(state, id, owner)) {
      tops.push_back(id);
    } else if (node.folder) {
      find_tops(state, id, owner, tops);
    }
  });
}

}  // namespace

HostPath folder_of(const std::string& account) {
  return HostPath() / "archives" / account;
}

std::string when(Time time) {
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}",
                     fmt::gmtime(std::chrono::system_clock::to_time_t(time)));
}

std::string things(std::size_t count, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

Result<Leavers::Person> Leavers::person(const Caller& caller, std::string_view name) const {
  return engine_.read([&](const State& state) -> Result<Person> {
    if (!is_manager(state, caller)) return Error{Code::denied, "Only a manager may do that."};
    const Account* account = state.account(ascii_lower(name));
    if (account == nullptr) {
      return Error{Code::not_found, fmt::format("There is no account {}.", clip(name, 40))};
    }
    Person out;
    out.account = *account;
    for (const auto& [key, row] : state.memberships) {
      const Class* klass = row.account == account->id ? state.class_of(row.klass) : nullptr;
      if (klass != nullptr) out.classes.push_back(klass->name + (row.leader ? " (leader)" : ""));
    }
    const auto add_former = [&](NodeId id) {
      for (Version& version : versions_of(state, id)) {
        out.bytes += version.size;
        out.versions.push_back(std::move(version));
      }
    };
    Hasher hasher;
    for (const NodeId root : {files_root, bin_root}) {
      state.tree.each_below(root, [&](NodeId id) {
        if (id == root) return;
        Work work{state.tree.get(id), Engine::host_path(state, id), root == bin_root};
        if (work.node.owner != account->id) return;
        if (!work.in_bin) {
          hasher.add(fmt::format("{}\n{}\n", work.path.text(), number(work.node.content)));
          if (work.node.access.has(Access::keep)) ++out.kept;
        }
        out.bytes += work.node.size;
        add_former(id);
        out.works.push_back(std::move(work));
      });
    }
    out.fingerprint = hasher.finish();
    for (const auto number : state.receipts_of(account->id)) {
      const Receipt& receipt = state.receipts.at(number);
      out.receipts.push_back(receipt);
      if (receipt.node == no_node || !state.tree.has(receipt.node)) continue;
      out.bytes += state.tree.get(receipt.node).size;
      add_former(receipt.node);
    }
    for (const NodeId id : copies_of_work(state, account->id)) {
      Node node = state.tree.get(id);
      if (node.owner == account->id) continue;  // it was given to them
      out.bytes += node.size;
      out.copies.push_back(
          {std::move(node), Engine::host_path(state, id), state.tree.is_within(id, bin_root)});
      add_former(id);
    }
    for (const auto& [job, printout] : state.printouts) {
      if (printout.owner != account->id) continue;
      out.bytes += printout.bytes;
      out.printouts.push_back(printout);
    }
    for (const auto& [id, notice] : state.notices) {
      if (notice.to == account->id) out.notices.push_back(notice);
    }
    return out;
  });
}

Result<PersonArchive> Leavers::export_person(const Caller& caller, std::string_view name) {
  const std::lock_guard lock(mutex_);
  auto wanted = person(caller, name);
  if (!wanted) return wanted.error();
  auto made = archive(*wanted);
  if (!made) return made;
  auto noted = desk_.note(caller, "person exported", wanted->account.name, made->path).wait();
  if (!noted) return noted.error();
  return made;
}

Result<PersonArchive> Leavers::leave(const Caller& caller, std::string_view name, Time after) {
  const std::lock_guard lock(mutex_);
  auto wanted = person(caller, name);
  if (!wanted) return wanted.error();
  auto made = archive(*wanted);
  if (!made) return made;
  auto again = person(caller, name);
  if (!again) return again.error();
  if (again->fingerprint != wanted->fingerprint) {
    return Error{Code::busy, fmt::format("Files of {} changed while they were archived. Let them "
                                         "sign out, or close the account, and try again.",
                                         wanted->account.name)};
  }
  auto left =
      engine_
          .change([&](Transaction& change) -> Status {
            const Account* now = change.state().account(wanted->account.id);
            if (now == nullptr) {
              return Error{Code::not_found, "The account was removed meanwhile."};
            }
            Account account = *now;
            account.closed = true;
            change.put(account);
            change.put(Leaving{account.id, after, change.now(), made->path, wanted->fingerprint});
            change.journal(caller, "left", account.name,
                           fmt::format("{}; files go after {}", made->path, when(after)));
            return {};
          })
          .wait();
  if (!left) return left.error();
  return made;
}

Status Leavers::do_what_is_due() {
  const std::lock_guard lock(mutex_);
  const Caller caller = stationer_itself();
  const Time now = engine_.now();
  const auto due = engine_.read([&](const State& state) {
    std::vector<std::pair<Leaving, std::string>> out;
    for (const auto& [id, row] : state.leaving) {
      const Account* account = row.after <= now ? state.account(id) : nullptr;
      if (account != nullptr) out.emplace_back(row, account->name);
    }
    return out;
  });
  const auto remove_files = [&](Leaving row, const std::string& name) -> Status {
    auto leaver = person(caller, name);
    if (!leaver) return leaver.error();
    auto path = HostPath::from_record(row.archive);
    if (!path) return path.error();
    if (leaver->fingerprint != row.works || !verify(engine_.files(), *path)) {
      auto made = archive(*leaver);
      if (!made) return made.error();
      row.archive = made->path;
      row.works = leaver->fingerprint;
      row.archived = now;
      auto noted = engine_
                       .change([&](Transaction& change) -> Status {
                         change.put(row);
                         change.journal(caller, "archived again", name, row.archive);
                         return {};
                       })
                       .wait();
      if (!noted) return noted;
    }
    const auto tops = engine_.read([&](const State& state) {
      std::vector<NodeId> ids;
      find_tops(state, files_root, row.account, ids);
      std::vector<Path> out;
      for (const NodeId id : ids) out.push_back(Files::path_of(state, id));
      return out;
    });
    for (const Path& top : tops) {
      if (auto gone = files_.remove(caller, top).wait(); !gone) return gone;
    }
    return engine_
        .change([&](Transaction& change) -> Status {
          change.drop(row);
          change.journal(caller, "leaver's files removed", name,
                         leaver->kept == 0 ? row.archive
                                           : fmt::format("{}; {} with the keep bit stay",
                                                         row.archive, leaver->kept));
          return {};
        })
        .wait();
  };
  Status first;
  for (const auto& [row, name] : due) {
    auto done = remove_files(row, name);
    if (!done && first) {
      first = Error{done.error().code, fmt::format("The files of {}, who left, stay for now. {}",
                                                   name, done.error().message)};
    }
  }
  return first;
}

}  // namespace stationer::fs
