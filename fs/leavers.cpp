#include "fs/leavers.h"

#include <algorithm>
#include <array>
#include <set>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/account.h"
#include "fs/archive.h"
#include "fs/engine.h"
#include "fs/history.h"
#include "fs/journal.h"
#include "fs/rights.h"
#include "fs/text.h"

namespace stationer::fs {

// One node that they own.
struct Leavers::Work {
  Node node;
  HostPath path;  // also its name in the archive
  bool in_bin = false;
};

struct Leavers::Person {
  Account account;
  std::vector<std::string> classes;
  std::vector<Work> works;  // folders before what is in them
  std::vector<Version> versions;
  std::vector<Printout> printouts;
  std::vector<Notice> notices;  // for them
  std::uint64_t bytes = 0;
  Hash fingerprint{};  // of paths and contents outside the bin
};

namespace {

constexpr std::size_t piece = 256 * 1024;

const HostPath unfinished = HostPath() / "incoming" / "archive.tar.zst";

HostPath folder_of(const std::string& account) {
  return HostPath() / "archives" / account;
}

std::string when(Time time) {
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}",
                     fmt::gmtime(std::chrono::system_clock::to_time_t(time)));
}

// One line of a list. What would break it is replaced.
std::string line(std::initializer_list<std::string> fields) {
  std::string out;
  for (const std::string& field : fields) {
    if (!out.empty()) out += '\t';
    for (const char c : field) out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  }
  return out + '\n';
}

std::string things(std::size_t count, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

// Whether all below a node is theirs, itself too.
bool is_wholly_of(const State& state, NodeId top, AccountId owner) {
  bool all = true;
  state.tree.each_below(top, [&](NodeId id) { all = all && state.tree.get(id).owner == owner; });
  return all;
}

// The topmost nodes that are wholly theirs.
void find_tops(const State& state, NodeId folder, AccountId owner, std::vector<NodeId>& tops) {
  state.tree.each_child(folder, [&](NodeId id) {
    const Node node = state.tree.get(id);
    if (node.owner == owner && is_wholly_of(state, id, owner)) {
      tops.push_back(id);
    } else if (node.folder) {
      find_tops(state, id, owner, tops);
    }
  });
}

Status copy_into(ArchiveWriter& writer, std::uint64_t size,
                 const std::function<Result<std::size_t>(std::uint64_t, std::span<char>)>& read) {
  std::string buffer(piece, '\0');
  for (std::uint64_t at = 0; at < size;) {
    auto got = read(at, buffer);
    if (!got) return got.error();
    if (*got == 0) break;  // the writer notices what is missing
    if (auto put = writer.write(std::string_view(buffer).substr(0, *got)); !put) return put;
    at += *got;
  }
  return {};
}

Status verify(HostFiles& files, const HostPath& path) {
  auto file = files.open(path);
  if (!file) return file.error();
  return verify_archive(archive_source(**file));
}

}  // namespace

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
    Hasher hasher;
    for (const NodeId root : {files_root, bin_root}) {
      state.tree.each_below(root, [&](NodeId id) {
        if (id == root) return;
        Work work{state.tree.get(id), Engine::host_path(state, id), root == bin_root};
        if (work.node.owner != account->id) return;
        if (!work.in_bin) {
          hasher.add(fmt::format("{}\n{}\n", work.path.text(), number(work.node.content)));
        }
        out.bytes += work.node.size;
        for (Version& version : versions_of(state, id)) {
          out.bytes += version.size;
          out.versions.push_back(std::move(version));
        }
        out.works.push_back(std::move(work));
      });
    }
    out.fingerprint = hasher.finish();
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

Result<PersonArchive> Leavers::archive(const Person& person) {
  HostFiles& host = engine_.files();
  const Time now = engine_.now();
  const std::string& name = person.account.name;
  if (auto room = engine_.check_space(person.bytes); !room) return room.error();
  if (auto settled = engine_.drain(); !settled) return settled.error();

  PersonArchive made;
  const auto write = [&](ArchiveWriter& writer) -> Status {
    const Account& account = person.account;
    std::string facts =
        line({"name", account.name}) + line({"full name", account.full_name}) +
        line({"role", role_name(account.role)}) + line({"closed", account.closed ? "yes" : "no"}) +
        line({"classes", fmt::format("{}", fmt::join(person.classes, ", "))}) +
        line({"limit in bytes", fmt::format("{}", account.soft_bytes)}) +
        line({"limit in files", fmt::format("{}", account.soft_files)}) +
        line({"made", when(account.created)}) +
        line({"ends", account.ends ? when(*account.ends) : ""}) + line({"this archive", when(now)});
    if (auto put = writer.add_file(HostPath() / "account.txt", facts, now); !put) return put;

    std::string list =
        line({"path", "kind", "access", "load address", "entry point", "size", "made", "changed"});
    for (const Work& work : person.works) {
      if (work.node.folder) {
        if (auto put = writer.add_folder(work.path, work.node.modified); !put) return put;
        continue;
      }
      Node node;
      auto content = engine_.open_content([&](const State& state) -> Result<NodeId> {
        if (!state.tree.has(work.node.id)) return Error{Code::not_found, ""};
        node = state.tree.get(work.node.id);
        return work.node.id;
      });
      if (!content) {
        if (content.error().code == Code::not_found) continue;  // removed for good meanwhile
        return Error{content.error().code, fmt::format("{} could not be archived. {}",
                                                       work.path.text(), content.error().message)};
      }
      if (auto put = writer.begin_file(work.path, node.size, node.modified); !put) return put;
      auto copied = copy_into(writer, node.size, [&](std::uint64_t at, std::span<char> into) {
        return content->read_at(at, into);
      });
      if (!copied) return copied;
      const auto address = [](const std::optional<std::uint32_t>& value) {
        return value ? fmt::format("{:08X}", *value) : "";
      };
      list += line({work.path.text(), kind_name(node.kind), node.access.text(),
                    address(node.load_address), address(node.entry_point),
                    fmt::format("{}", node.size), when(node.created), when(node.modified)});
      ++made.files;
    }
    if (auto put = writer.add_file(HostPath() / "files.txt", list, now); !put) return put;

    list = line({"path", "file", "size", "made", "replaced"});
    for (const Version& version : person.versions) {
      auto content = engine_.open_version([&](const State& state) -> Result<Version> {
        const auto found = state.versions.find({version.node, version.content});
        if (found == state.versions.end()) return Error{Code::not_found, ""};
        return found->second;
      });
      if (!content) {
        if (content.error().code == Code::not_found) continue;  // thinned out meanwhile
        return content.error();
      }
      const HostPath within = version_path(version.content, version.name);
      auto put = writer.begin_file(within, version.size, version.saved);
      if (!put) return put;
      auto copied = copy_into(writer, version.size, [&](std::uint64_t at, std::span<char> into) {
        return content->read_at(at, into);
      });
      if (!copied) return copied;
      list += line({within.text(), version.name, fmt::format("{}", version.size),
                    when(version.saved), when(version.replaced)});
    }
    if (auto put = writer.add_file(HostPath() / "versions.txt", list, now); !put) return put;

    list = line({"number", "queue", "title", "source", "pages", "printed"});
    for (const Printout& printout : person.printouts) {
      auto path = HostPath::from_record(printout.path);
      if (!path) return path.error();
      auto file = host.open(*path);
      if (!file) {
        if (file.error().code == Code::not_found) continue;  // discarded meanwhile
        return file.error();
      }
      auto size = (*file)->size();
      if (!size) return size.error();
      const HostPath within = HostPath() / "printouts" / fmt::format("{}.pdf", printout.job);
      if (auto put = writer.begin_file(within, *size, printout.printed); !put) return put;
      auto copied = copy_into(writer, *size, [&](std::uint64_t at, std::span<char> into) {
        return (*file)->read_at(at, into);
      });
      if (!copied) return copied;
      list += line({fmt::format("{}", printout.job), printout.queue, printout.title,
                    printout.source, fmt::format("{}", printout.pages), when(printout.printed)});
      ++made.printouts;
    }
    if (auto put = writer.add_file(HostPath() / "printouts.txt", list, now); !put) return put;

    list = line({"from", "sent", "text"});
    for (const Notice& notice : person.notices) {
      list += line({notice.from, when(notice.sent), notice.text});
    }
    if (auto put = writer.add_file(HostPath() / "notices.txt", list, now); !put) return put;

    list = line({"number", "at", "who", "where", "what", "of what", "more"});
    auto read = engine_.catalog().whole_journal(
        [](const JournalHead&) {},
        [&](const JournalEntry& entry) {
          if (!names(entry, name)) return;
          list += line({fmt::format("{}", entry.id), when(entry.at), entry.who, entry.where,
                        entry.what, entry.subject, entry.detail});
        });
    if (!read) return read;
    if (auto put = writer.add_file(HostPath() / "journal.txt", list, now); !put) return put;
    return writer.finish();
  };

  const auto make = [&]() -> Status {
    auto file = host.create(unfinished);
    if (!file) return file.error();
    ArchiveWriter writer(archive_sink(**file));
    if (auto written = write(writer); !written) return written;
    if (auto synced = (*file)->sync(); !synced) return synced;
    auto size = (*file)->size();
    if (!size) return size.error();
    made.bytes = *size;
    file->reset();
    if (auto whole = verify(host, unfinished); !whole) return whole;

    const HostPath folder = folder_of(name);
    if (auto there = make_folders(host, folder); !there) return there;
    const std::string day =
        fmt::format("{:%Y-%m-%d}", fmt::gmtime(std::chrono::system_clock::to_time_t(now)));
    for (int n = 1;; ++n) {
      const HostPath path =
          folder / (n == 1 ? day + ".tar.zst" : fmt::format("{} {}.tar.zst", day, n));
      auto renamed = host.rename(unfinished, path, false);
      if (!renamed && renamed.error().code == Code::exists) continue;
      if (!renamed) return renamed;
      made.path = path.text();
      break;
    }
    return host.sync_everything();
  };
  if (auto done = make(); !done) {
    static_cast<void>(host.remove_file(unfinished));
    return done.error();
  }
  return made;
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
      std::vector<std::pair<Path, std::vector<Path>>> out;  // with what is kept below
      for (const NodeId id : ids) {
        std::vector<Path> kept;
        state.tree.each_below(id, [&](NodeId below) {
          if (state.tree.get(below).access.has(Access::keep)) {
            kept.push_back(Files::path_of(state, below));
          }
        });
        out.emplace_back(Files::path_of(state, id), std::move(kept));
      }
      return out;
    });
    for (const auto& [top, kept] : tops) {
      for (const Path& each : kept) {
        if (auto freed = files_.set_access(caller, each, "-k").wait(); !freed) return freed;
      }
      if (auto gone = files_.remove(caller, top).wait(); !gone) return gone;
    }
    return engine_
        .change([&](Transaction& change) -> Status {
          change.drop(row);
          change.journal(caller, "leaver's files removed", name, row.archive);
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
  const std::size_t handed_in = engine_.read(
      [&](const State& state) { return state.receipts_of(wanted->account.id).size(); });
  if (handed_in > 0) {
    out.push_back(fmt::format("{} of theirs go, with the receipts.",
                              things(handed_in, "hand-in", "hand-ins")));
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
    return 0;
  });
  out.push_back(fmt::format("Their name is taken out of {} of the journal, which says that it was.",
                            things(entries, "entry", "entries")));
  out.push_back(
      "Not reached: snapshots and other copies of the volume, what others wrote about them, and "
      "remains on the disk until it writes over them.");
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
    return Error{Code::exists, fmt::format("The account {} is open. Close it first: stationer "
                                           "account close {}",
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
                    // What they handed in belongs to nobody, and lies in a folder of their name.
                    const std::set<std::uint32_t> receipts = state.receipts_of(id);
                    for (const auto number : receipts) {
                      const Receipt receipt = state.receipts.at(number);
                      if (state.tree.has(receipt.node)) {
                        const NodeId above = state.tree.parent(receipt.node);
                        purge_node(change, receipt.node);
                        ++files;
                        // Not where a leader has moved it.
                        const bool filed =
                            receipt.folder != no_node && state.tree.parent(above) == receipt.folder;
                        if (filed && !state.tree.has_children(above)) {
                          purge_node(change, above);
                        }
                      }
                      change.drop(receipt);
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
