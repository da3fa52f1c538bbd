// One person's things in one archive.
#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/account.h"
#include "fs/archive.h"
#include "fs/engine.h"
#include "fs/history.h"
#include "fs/journal.h"
#include "fs/leavers_part.h"
#include "fs/node_name.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::size_t piece = 256 * 1024;

const HostPath unfinished = HostPath() / "incoming" / "archive.tar.zst";

// One line of a list. What would break it is replaced.
std::string line(std::initializer_list<std::string> fields) {
  std::string out;
  for (const std::string& field : fields) {
    for (const char c : field) out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
    out += '\t';
  }
  out.back() = '\n';
  return out;
}

std::string when_if(const std::optional<Time>& time) {
  return time ? when(*time) : "";
}

std::string address(const std::optional<std::uint32_t>& value) {
  return value ? fmt::format("{:08X}", *value) : "";
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

}  // namespace

// Writes the parts of an archive one by one. What was removed since the person was looked at is
// left out.
class Leavers::Packer {
 public:
  Packer(Engine& engine, const Person& person, ArchiveWriter& writer, PersonArchive& made)
      : engine_(engine), person_(person), writer_(writer), made_(made), now_(engine.now()) {}

  Status pack() {
    for (const auto part :
         {&Packer::facts, &Packer::works, &Packer::hand_ins, &Packer::copies, &Packer::versions,
          &Packer::printouts, &Packer::notices, &Packer::journal}) {
      if (auto packed = (this->*part)(); !packed) return packed;
    }
    return writer_.finish();
  }

 private:
  Status add_list(std::string_view name, const std::string& text) {
    return writer_.add_file(HostPath() / name, text, now_);
  }

  Status facts() {
    const Account& account = person_.account;
    return add_list("account.txt",
                    line({"name", account.name}) + line({"full name", account.full_name}) +
                        line({"role", role_name(account.role)}) +
                        line({"closed", account.closed ? "yes" : "no"}) +
                        line({"classes", fmt::format("{}", fmt::join(person_.classes, ", "))}) +
                        line({"limit in bytes", fmt::format("{}", account.soft_bytes)}) +
                        line({"limit in files", fmt::format("{}", account.soft_files)}) +
                        line({"made", when(account.created)}) +
                        line({"ends", when_if(account.ends)}) + line({"this archive", when(now_)}));
  }

  // A file of the tree as it is now; nothing when it is gone.
  Result<std::optional<Node>> add_file(NodeId id, const HostPath& within) {
    Node node;
    auto content = engine_.open_content([&](const State& state) -> Result<NodeId> {
      if (!state.tree.has(id)) return Error{Code::not_found, ""};
      node = state.tree.get(id);
      return id;
    });
    if (!content) {
      if (content.error().code == Code::not_found) return std::optional<Node>();
      return Error{content.error().code, fmt::format("{} could not be archived. {}", within.text(),
                                                     content.error().message)};
    }
    if (auto put = writer_.begin_file(within, node.size, node.modified); !put) return put.error();
    auto copied = copy_into(writer_, node.size, [&](std::uint64_t at, std::span<char> into) {
      return content->read_at(at, into);
    });
    if (!copied) return copied.error();
    ++made_.files;
    return std::optional<Node>(node);
  }

  Status works() {
    std::string list =
        line({"path", "kind", "access", "load address", "entry point", "size", "made", "changed"});
    for (const Work& work : person_.works) {
      if (work.node.folder) {
        if (auto put = writer_.add_folder(work.path, work.node.modified); !put) return put;
        continue;
      }
      auto node = add_file(work.node.id, work.path);
      if (!node) return node.error();
      if (!*node) continue;
      list +=
          line({work.path.text(), kind_name((*node)->kind), (*node)->access.text(),
                address((*node)->load_address), address((*node)->entry_point),
                fmt::format("{}", (*node)->size), when((*node)->created), when((*node)->modified)});
    }
    return add_list("files.txt", list);
  }

  Status hand_ins() {
    std::string list = line({"receipt", "path", "handed in to", "name", "version", "size", "at",
                             "late", "handed back"});
    for (const Receipt& receipt : person_.receipts) {
      std::string there;
      if (receipt.node != no_node) {
        const std::string start = fmt::format("{} ", receipt.number);
        const HostPath within =
            HostPath() / "hand-ins" /
            (start + std::string(clip(receipt.name, longest_name - start.size())));
        auto node = add_file(receipt.node, within);
        if (!node) return node.error();
        if (*node) there = within.text();
      }
      list += line({fmt::format("{}", receipt.number), there, receipt.place, receipt.name,
                    fmt::format("{}", receipt.version), fmt::format("{}", receipt.size),
                    when(receipt.at), receipt.late ? "late" : "", when_if(receipt.returned)});
    }
    return add_list("receipts.txt", list);
  }

  Status copies() {
    std::string list = line({"path", "size", "changed"});
    for (const Work& copy : person_.copies) {
      auto within = HostPath::from_record("copies/" + copy.path.text());
      if (!within) return within.error();
      auto node = add_file(copy.node.id, *within);
      if (!node) return node.error();
      if (!*node) continue;
      list += line({within->text(), fmt::format("{}", (*node)->size), when((*node)->modified)});
    }
    return add_list("copies.txt", list);
  }

  Status versions() {
    std::string list = line({"path", "file", "size", "made", "replaced"});
    for (const Version& version : person_.versions) {
      auto content = engine_.open_version([&](const State& state) -> Result<Version> {
        const auto found = state.versions.find({version.node, version.content});
        if (found == state.versions.end()) return Error{Code::not_found, ""};
        return found->second;
      });
      if (!content) {
        if (content.error().code == Code::not_found) continue;
        return content.error();
      }
      const HostPath within = version_path(version.content, version.name);
      auto put = writer_.begin_file(within, version.size, version.saved);
      if (!put) return put;
      auto copied = copy_into(writer_, version.size, [&](std::uint64_t at, std::span<char> into) {
        return content->read_at(at, into);
      });
      if (!copied) return copied;
      list += line({within.text(), version.name, fmt::format("{}", version.size),
                    when(version.saved), when(version.replaced)});
    }
    return add_list("versions.txt", list);
  }

  Status printouts() {
    std::string list = line({"number", "queue", "title", "source", "pages", "printed"});
    for (const Printout& printout : person_.printouts) {
      auto path = HostPath::from_record(printout.path);
      if (!path) return path.error();
      auto file = engine_.files().open(*path);
      if (!file) {
        if (file.error().code == Code::not_found) continue;
        return file.error();
      }
      auto size = (*file)->size();
      if (!size) return size.error();
      const HostPath within = HostPath() / "printouts" / fmt::format("{}.pdf", printout.job);
      if (auto put = writer_.begin_file(within, *size, printout.printed); !put) return put;
      auto copied = copy_into(writer_, *size, [&](std::uint64_t at, std::span<char> into) {
        return (*file)->read_at(at, into);
      });
      if (!copied) return copied;
      list += line({fmt::format("{}", printout.job), printout.queue, printout.title,
                    printout.source, fmt::format("{}", printout.pages), when(printout.printed)});
      ++made_.printouts;
    }
    return add_list("printouts.txt", list);
  }

  Status notices() {
    std::string list = line({"from", "sent", "text"});
    for (const Notice& notice : person_.notices) {
      list += line({notice.from, when(notice.sent), notice.text});
    }
    return add_list("notices.txt", list);
  }

  Status journal() {
    std::string list = line({"number", "at", "who", "where", "what", "of what", "more"});
    auto read = engine_.catalog().whole_journal(
        [](const JournalHead&) {},
        [&](const JournalEntry& entry) {
          if (!names(entry, person_.account.name)) return;
          list += line({fmt::format("{}", entry.id), when(entry.at), entry.who, entry.where,
                        entry.what, entry.subject, entry.detail});
        });
    if (!read) return read;
    return add_list("journal.txt", list);
  }

  Engine& engine_;
  const Person& person_;
  ArchiveWriter& writer_;
  PersonArchive& made_;
  const Time now_;
};

Status verify(HostFiles& files, const HostPath& path) {
  auto file = files.open(path);
  if (!file) return file.error();
  return verify_archive(archive_source(**file));
}

Result<PersonArchive> Leavers::archive(const Person& person) {
  HostFiles& host = engine_.files();
  const Time now = engine_.now();
  const std::string& name = person.account.name;
  if (auto room = engine_.check_space(person.bytes); !room) return room.error();
  if (auto settled = engine_.drain(); !settled) return settled.error();

  PersonArchive made;
  made.kept = person.kept;
  const auto make = [&]() -> Status {
    auto file = host.create(unfinished);
    if (!file) return file.error();
    ArchiveWriter writer(archive_sink(**file));
    if (auto packed = Packer(engine_, person, writer, made).pack(); !packed) return packed;
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

}  // namespace stationer::fs
