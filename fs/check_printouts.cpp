// The PDFs of printouts against the host.
#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "fs/check_part.h"
#include "fs/mend.h"

namespace stationer::fs {
namespace {

using Kind = Finding::Kind;

class Printouts {
 public:
  Printouts(Engine& engine, const Caller& caller, Problems& out)
      : engine_(engine), caller_(caller), out_(out) {}

  Status check() {
    auto printed = check_known();
    return printed ? check_strays() : printed;
  }

 private:
  bool is_printout(const HostPath& path) {
    return engine_.read([&](const State& state) {
      return std::any_of(state.printouts.begin(), state.printouts.end(),
                         [&](const auto& each) { return each.second.path == path.text(); });
    });
  }

  // A job's PDF is put in place before the printout is known; the job is in the spool until then.
  Result<bool> is_being_printed(const HostPath& path) {
    const std::string_view job = path.name().substr(0, path.name().find('-'));
    if (!is_host_name(job)) return false;
    auto states = engine_.files().list(HostPath() / "spool");
    if (!states) return states.error();
    for (const auto& state : *states) {
      auto there = engine_.files().look(HostPath() / "spool" / state.name / job);
      if (there && *there) return true;
    }
    return false;
  }

  Status check_strays() {
    auto known = engine_.read([](const State& state) {
      std::set<std::string> paths;
      for (const auto& [job, row] : state.printouts) paths.insert(row.path);
      return paths;
    });
    std::vector<HostPath> folders{HostPath() / "printouts"};
    std::vector<HostPath> suspects;
    while (!folders.empty()) {
      const HostPath folder = folders.back();
      folders.pop_back();
      auto entries = engine_.files().list(folder);
      if (!entries) {
        out_.emplace_back(Kind::missing, folder.text(), entries.error().message,
                          "nothing, because it can't be read; look at its rights and at the disk");
        continue;
      }
      for (const auto& entry : *entries) {
        const HostPath path = folder / entry.name;
        if (entry.type == HostEntry::Type::folder) folders.push_back(path);
        if (entry.type == HostEntry::Type::other) {
          out_.emplace_back(Kind::strange, path.text(), "This is a link or a device.",
                            "it is left alone; take it away yourself");
        }
        if (entry.type == HostEntry::Type::file && known.count(path.text()) == 0) {
          suspects.push_back(path);
        }
      }
    }
    if (suspects.empty()) return {};
    // One that was discarded since is gone once all is settled.
    if (auto settled = engine_.drain(); !settled) return settled;
    for (const HostPath& path : suspects) {
      auto printing = is_being_printed(path);
      if (!printing) return printing.error();
      if (*printing || is_printout(path)) continue;
      auto there = engine_.files().look(path);
      if (!there) return there.error();
      if (!*there) continue;
      out_.emplace_back(Kind::stray, path.text(), "No printout is known that has this as its PDF.",
                        "it goes to rescued/ in the volume",
                        [engine = &engine_, caller = caller_, path] {
                          return move_to_rescued(*engine, caller, no_node, path);
                        });
    }
    return {};
  }

  Status check_known() {
    const auto printouts = engine_.read([](const State& state) { return state.printouts; });
    for (const auto& [job, row] : printouts) {
      auto path = HostPath::from_record(row.path);
      bool there = false;
      if (path) {
        auto look = engine_.files().look(*path);
        if (!look && look.error().code != Code::damaged) return look.error();
        there = look && *look && (*look)->type == HostEntry::Type::file;
      }
      if (there) continue;
      out_.emplace_back(Kind::missing, row.path, "This printout's PDF is not on the host.",
                        "it goes from the tray, and the journal says so; print it once more",
                        [engine = &engine_, caller = caller_, row = row] {
                          return change_now(*engine, [&](Transaction& change) -> Status {
                            if (change.state().printouts.count(row.job) == 0) return {};
                            change.drop(row);
                            change.journal(
                                caller, "repaired", row.path,
                                fmt::format("printout {} \"{}\" was lost", row.job, row.title));
                            return {};
                          });
                        });
    }
    return {};
  }

  Engine& engine_;
  const Caller& caller_;
  Problems& out_;
};

}  // namespace

Status check_printouts(Engine& engine, const Caller& caller, Problems& out) {
  return Printouts(engine, caller, out).check();
}

}  // namespace stationer::fs
