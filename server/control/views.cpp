#include "server/control/views.h"

#include <boost/json/array.hpp>
#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/station.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

json::value time_or_null(const std::optional<fs::Time>& time) {
  return time ? json::value(time_text(*time)) : json::value();
}

json::value number_or_null(const std::optional<std::uint32_t>& number) {
  return number ? json::value(*number) : json::value();
}

json::array texts(const std::vector<std::string>& all) {
  return json::array(all.begin(), all.end());
}

}  // namespace

std::string time_text(fs::Time time) {
  const auto since = time.time_since_epoch();
  const auto seconds = std::chrono::floor<std::chrono::seconds>(since);
  return fmt::format("{:%Y-%m-%dT%H:%M:%S}.{:03}Z", fmt::gmtime(std::time_t{seconds.count()}),
                     (since - seconds).count());
}

json::object show(const fs::AccountView& account) {
  return {{"name", account.name},
          {"full_name", account.full_name},
          {"role", fs::role_name(account.role)},
          {"closed", account.closed},
          {"has_password", account.has_password},
          {"class", account.klass},
          {"classes", texts(account.classes)},
          {"leads", texts(account.leads)},
          {"bytes", account.usage.bytes},
          {"files", account.usage.files},
          {"soft_bytes", account.quota.soft_bytes},
          {"hard_bytes", account.quota.hard_bytes},
          {"soft_files", account.quota.soft_files},
          {"hard_files", account.quota.hard_files},
          {"own_limits", account.own_limits},
          {"over_since", time_or_null(account.over_since)},
          {"created", time_text(account.created)},
          {"ends", time_or_null(account.ends)},
          {"leaves_after", time_or_null(account.leaves_after)}};
}

json::object show(const fs::ClassView& klass) {
  const fs::Quota quota = klass.quota.value_or(fs::Quota{});
  return {{"name", klass.name},
          {"members", klass.members.size()},
          {"leaders", klass.leaders.size()},
          {"limits", klass.quota.has_value()},
          {"soft_bytes", quota.soft_bytes},
          {"hard_bytes", quota.hard_bytes},
          {"soft_files", quota.soft_files},
          {"hard_files", quota.hard_files},
          {"created", time_text(klass.created)}};
}

json::object show(const fs::NodeView& node) {
  return {{"name", node.name},
          {"alias", node.alias},
          {"kind", node.folder ? "folder" : fs::kind_name(node.kind)},
          {"owner", node.owner},
          {"class", node.klass},
          {"access", node.access.text()},
          {"load_address", number_or_null(node.load_address)},
          {"entry_point", number_or_null(node.entry_point)},
          {"size", node.size},
          {"created", time_text(node.created)},
          {"modified", time_text(node.modified)}};
}

json::object show(const fs::BinView& removal) {
  return {{"number", fs::number(removal.id)},
          {"path", removal.path},
          {"kind", removal.folder ? "folder" : "file"},
          {"size", removal.size},
          {"owner", removal.owner},
          {"removed", time_text(removal.removed)}};
}

json::object show(const fs::VersionView& version) {
  return {{"number", fs::number(version.id)},
          {"kind", fs::kind_name(version.kind)},
          {"size", version.size},
          {"saved", time_text(version.saved)},
          {"replaced", time_text(version.replaced)},
          {"replaced_by", version.replaced_by}};
}

json::object show(const fs::PrintoutView& printout) {
  return {{"job", printout.job},       {"owner", printout.owner},
          {"queue", printout.queue},   {"title", printout.title},
          {"source", printout.source}, {"pages", printout.pages},
          {"bytes", printout.bytes},   {"printed", time_text(printout.printed)},
          {"path", printout.path},     {"seen", printout.seen}};
}

json::object show(const fs::JournalEntry& entry) {
  return {{"number", entry.id},     {"at", time_text(entry.at)},   {"who", entry.who},
          {"where", entry.where},   {"what", entry.what},          {"subject", entry.subject},
          {"detail", entry.detail}, {"hash", fs::hex(entry.hash)}, {"erasure", entry.erasure}};
}

json::object show(const fs::Finding& finding) {
  return {{"kind", fs::finding_name(finding.kind)}, {"path", finding.path},
          {"sentence", finding.sentence},           {"remedy", finding.remedy},
          {"repairable", finding.can_mend},         {"repaired", finding.mended}};
}

json::object show(const fs::Adopted::Item& item) {
  return {{"what", fs::adopted_name(item.sort)}, {"path", item.path}, {"sentence", item.sentence}};
}

json::object show(const print::JobView& view) {
  const print::Job& job = view.job;
  return {{"job", job.number},       {"state", print::state_name(view.state)},
          {"queue", job.queue},      {"title", job.title},
          {"owner", job.owner_name}, {"source", job.source},
          {"bytes", job.bytes},      {"received", time_text(job.received)},
          {"reason", job.reason},    {"page", view.page},
          {"read", view.read}};
}

json::object show(const print::PrinterProfile& printer) {
  const print::Settings& settings = printer.settings;
  // lay_out() succeeded when the profile was read.
  const auto layout = print::lay_out(settings.form);
  return {{"name", printer.name},
          {"title", printer.title},
          {"language", print::name_of(settings.language)},
          {"charset", print::name_of(settings.text.charset)},
          {"paper", settings.form.paper.name},
          {"columns", layout ? layout->columns : 0},
          {"lines", layout ? layout->lines : 0},
          {"ready_made", print::find_printer_profile(printer.name).has_value()},
          {"profile", print::write_profile(printer)}};
}

json::object show(const SessionView& session) {
  return {{"number", session.number},
          {"door", session.door},
          {"address", session.address},
          {"station", session.station},
          {"name", session.name},
          {"signed_in", session.signed_in},
          {"role", session.signed_in ? json::value(fs::role_name(session.role)) : json::value()},
          {"since", time_text(session.since)},
          {"doing", session.doing}};
}

json::object show_failed_transfer(const Refusal& refusal) {
  return {{"at", time_text(refusal.at)},     {"door", refusal.door},
          {"address", refusal.address},      {"file", refusal.subject},
          {"saving", refusal.act == "save"}, {"reason", refusal.error.message}};
}

json::object show(const fs::StationView& station) {
  json::array boot;
  for (const auto& each : station.boot) {
    boot.push_back(json::object{{"asked", each.asked}, {"given", each.given}});
  }
  return {{"station", fs::station_number(station.segment, station.number)},
          {"segment", station.segment},
          {"number", station.number},
          {"name", station.name},
          {"profile", station.profile},
          {"address", station.address},
          {"hardware", station.hardware},
          {"line", station.line},
          {"doors", texts(station.doors)},
          {"note", station.note},
          {"created", time_text(station.created)},
          {"boot", std::move(boot)}};
}

json::object show(const Stranger& stranger) {
  return {{"address", stranger.address},
          {"doors", json::array(stranger.doors.begin(), stranger.doors.end())},
          {"count", stranger.count},
          {"first", time_text(stranger.first)},
          {"last", time_text(stranger.last)}};
}

}  // namespace stationer::server
