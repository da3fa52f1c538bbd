#include "fs/check.h"

#include <fmt/format.h>

#include "fs/check_part.h"
#include "fs/engine.h"
#include "fs/way_out.h"

namespace stationer::fs {
namespace {

// One mend can bring another to light: a node put back has contents to look for. Each round mends
// all that it finds, so the last one looks at a volume that nothing was done to.
constexpr int most_rounds = 6;

struct Mended {
  bool any = false;
  bool failed = false;  // something that can be mended was not
};

// Mends what can be, and gives the rest to `left`.
Mended mend(Problems problems, CheckReport& report, std::vector<Finding>& left) {
  Mended out;
  for (auto& problem : problems) {
    Finding& finding = problem.finding;
    if (out.failed && finding.kind == Finding::Kind::stray) {
      finding.remedy = "nothing yet, because it may belong to what could not be mended";
    } else if (problem.mend) {
      const Status done = problem.mend();
      if (done) {
        finding.mended = out.any = true;
        ++report.mended;
        report.findings.push_back(std::move(finding));
        continue;
      }
      out.failed = true;
      finding.remedy = "it could not be done: " + done.error().message;
      if (finding.remedy.ends_with('.')) finding.remedy.pop_back();
    }
    left.push_back(std::move(finding));
  }
  return out;
}

}  // namespace

const char* finding_name(Finding::Kind kind) {
  switch (kind) {
    case Finding::Kind::catalogue: return "catalogue";
    case Finding::Kind::missing: return "missing";
    case Finding::Kind::changed: return "changed";
    case Finding::Kind::stray: return "stray";
    case Finding::Kind::usage: return "usage";
    case Finding::Kind::journal: return "journal";
    case Finding::Kind::strange: return "strange";
  }
  return "unknown";
}

Result<CheckReport> check(Engine& engine, const CheckOptions& options) {
  CheckReport report;
  if (engine.loss()) {
    report.findings.push_back({Finding::Kind::catalogue, "log",
                               fmt::format("The commit log was damaged: {}.", *engine.loss()),
                               "the volume is as it was before these changes", true, true});
    ++report.mended;
  }
  // What was mended is told, even when something fails then.
  const auto broken_off = [&](const Error& why) -> Result<CheckReport> {
    if (report.mended == 0) return why;
    report.findings.push_back({Finding::Kind::catalogue, "the check",
                               "It could not go on: " + why.message, "run it once more", false,
                               false});
    return report;
  };
  for (int round = 1;; ++round) {
    if (auto settled = engine.drain(); !settled) return broken_off(settled.error());
    report.files = report.folders = report.bytes = report.lost = 0;
    std::vector<Finding> left;
    Mended mended;
    auto damage = engine.catalog().integrity();
    if (!damage && damage.error().code != Code::damaged) return broken_off(damage.error());
    if (!damage) damage = std::vector<std::string>{damage.error().message};
    for (const auto& words : *damage) {
      left.push_back(
          {Finding::Kind::catalogue, "catalog.db", fmt::format("SQLite reports: {}.", words),
           fmt::format("nothing, because the rows can't be trusted. {}", way_out), false, false});
    }
    const auto take = [&](Problems problems) {
      // What SQLite can't read in order is no ground to mend anything on; and what is done about
      // contents goes by the rows, so those have to be right first.
      const bool sound = damage->empty() && !mended.failed;
      if (options.repair && round < most_rounds && sound) {
        mended = mend(std::move(problems), report, left);
        return;
      }
      for (auto& problem : problems) {
        if (options.repair && !sound && problem.mend) {
          problem.finding.remedy =
              "nothing yet, because what is wrong in the catalogue has to be mended first";
        }
        left.push_back(std::move(problem.finding));
      }
    };
    if (damage->empty()) {
      auto rows = check_rows(engine, options.caller);
      if (!rows) return broken_off(rows.error());
      take(std::move(*rows));
    }
    if (mended.any) continue;  // contents are looked for once every node has its place
    // Mending goes on while the checker that knows how is there.
    auto looked = check_host(engine, options, report, take);
    if (!looked) return broken_off(looked.error());
    if (mended.any) continue;
    for (auto& finding : left) report.findings.push_back(std::move(finding));
    return report;
  }
}

}  // namespace stationer::fs
