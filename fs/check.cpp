#include "fs/check.h"

#include <fmt/format.h>

#include "fs/check_part.h"
#include "fs/engine.h"

namespace stationer::fs {
namespace {

// One mend can bring another to light: a node put back has contents to look for. Each round mends
// all that it finds, so the last one looks at a volume that nothing was done to.
constexpr int most_rounds = 6;

// Mends what can be, and gives the rest to `left`. True when anything was mended.
bool mend(Problems problems, CheckReport& report, std::vector<Finding>& left) {
  bool any = false;
  for (auto& problem : problems) {
    Finding& finding = problem.finding;
    if (problem.mend) {
      const Status done = problem.mend();
      if (done) {
        finding.mended = any = true;
        ++report.mended;
        report.findings.push_back(std::move(finding));
        continue;
      }
      finding.remedy = "it could not be done: " + done.error().message;
      if (finding.remedy.ends_with('.')) finding.remedy.pop_back();
    }
    left.push_back(std::move(finding));
  }
  return any;
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
  for (int round = 1;; ++round) {
    if (auto settled = engine.drain(); !settled) return settled.error();
    report.files = report.folders = report.bytes = report.lost = 0;
    std::vector<Finding> left;
    bool any = false;
    auto rows = check_rows(engine, options.caller);
    if (!rows) return rows.error();
    const auto take = [&](Problems problems) {
      if (options.repair && round < most_rounds) {
        any = mend(std::move(problems), report, left) || any;
      } else {
        for (auto& problem : problems) left.push_back(std::move(problem.finding));
      }
    };
    take(std::move(*rows));
    if (any) continue;  // contents are looked for once every node has its place
    // Mending goes on while the checker that knows how is there.
    auto looked = check_host(engine, options, report, take);
    if (!looked) return looked.error();
    if (any) continue;
    for (auto& finding : left) report.findings.push_back(std::move(finding));
    return report;
  }
}

}  // namespace stationer::fs
