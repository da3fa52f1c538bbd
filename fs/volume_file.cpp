#include "fs/volume_file.h"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/settings_table.h"
#include "fs/settings_words.h"

namespace stationer::fs {
namespace {

constexpr std::int64_t mib = 1 << 20;
constexpr std::int64_t default_reserve_mib = 64;
constexpr std::int64_t default_account_mib = 64;
constexpr std::int64_t default_account_files = 2000;
constexpr std::int64_t default_days = 90;
constexpr std::int64_t default_versions = 20;
constexpr std::int64_t default_history_mib = 64;
constexpr std::int64_t default_grace_days = default_grace.count() / 24;
constexpr std::int64_t most_grace_days = 3660;
constexpr std::int64_t default_journal_entries = 100'000;
constexpr std::int64_t default_journal_days = 400;
constexpr std::int64_t most_journal_days = 36'500;
constexpr std::int64_t most_mib = std::int64_t{1} << 40;
constexpr std::int64_t most_files = 1'000'000'000;

std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

Result<Retention> read_retention(const toml::table& file) {
  auto history = settings_table(file, "history");
  if (!history) return history.error();
  auto keys = check_keys(**history, "history", {"days", "versions", "account_mib"});
  if (!keys) return keys.error();
  auto days = number_setting(**history, "days", default_days, 0, 36'500);
  if (!days) return days.error();
  auto versions = number_setting(**history, "versions", default_versions, 0, 1'000'000);
  if (!versions) return versions.error();
  auto mebibytes = number_setting(**history, "account_mib", default_history_mib, 0, most_mib);
  if (!mebibytes) return mebibytes.error();
  return Retention{static_cast<std::uint32_t>(*days), static_cast<std::uint32_t>(*versions),
                   static_cast<std::uint64_t>(*mebibytes * mib)};
}

Result<JournalLimits> read_journal_limits(const toml::table& file) {
  auto journal = settings_table(file, "journal");
  if (!journal) return journal.error();
  auto keys = check_keys(**journal, "journal", {"entries", "days"});
  if (!keys) return keys.error();
  auto entries = number_setting(**journal, "entries", default_journal_entries, 0, most_files);
  if (!entries) return entries.error();
  auto days = number_setting(**journal, "days", default_journal_days, 0, most_journal_days);
  if (!days) return days.error();
  return JournalLimits{static_cast<std::uint64_t>(*entries), static_cast<std::uint32_t>(*days)};
}

}  // namespace

std::string new_volume_file(std::string_view name, Time created) {
  const auto words = settings_words();
  std::string out = fmt::format(
      "# The settings of this volume. Stationer reads them when the service starts.\n"
      "# All there is to set: man 5 stationer-volume, or stationer manual settings\n"
      "[volume]\n"
      "format = {}\n"
      "name = {}\n"
      "created = {:%Y-%m-%dT%H:%M:%SZ}\n",
      volume_format, quoted(name), fmt::gmtime(std::chrono::system_clock::to_time_t(created)));
  const auto write = [&](std::string_view table, const ChosenSettings& settings) {
    out += '\n' + write_settings(table_words(words, table), settings);
  };
  write("limits",
        {{"reserve_mib", ""}, {"account_mib", ""}, {"account_files", ""}, {"grace_days", ""}});
  write("history", {{"days", ""}, {"versions", ""}, {"account_mib", ""}});
  write("journal", {{"entries", ""}, {"days", ""}});
  write("adoption", {{"watch", ""}});
  return out;
}

Result<VolumeSettings> parse_volume_file(std::string_view text) {
  auto file = parse_settings(text);
  if (!file) return file.error();
  auto volume = settings_table(*file, "volume");
  if (!volume) return volume.error();
  const auto format = (*volume)->at_path("format").value<std::int64_t>();
  if (!format) {
    return Error{Code::damaged,
                 "volume.toml has no [volume] table with a format. Is this a volume?"};
  }
  if (*format > volume_format) {
    return Error{
        Code::newer_format,
        fmt::format("The volume has format {}, which is newer than this program knows ({}). "
                    "Install the newer Stationer; nothing was touched.",
                    *format, volume_format)};
  }
  auto fine = check_keys(**volume, "volume", {"format", "name", "created"});
  if (!fine) return fine.error();
  VolumeSettings settings;
  auto name = text_setting(**volume, "name", "Stationer");
  if (!name) return name.error();
  settings.name = *name;

  auto limits = settings_table(*file, "limits");
  if (!limits) return limits.error();
  auto keys =
      check_keys(**limits, "limits", {"reserve_mib", "account_mib", "account_files", "grace_days"});
  if (!keys) return keys.error();
  auto reserve = number_setting(**limits, "reserve_mib", default_reserve_mib, 0, most_mib);
  if (!reserve) return reserve.error();
  auto mebibytes = number_setting(**limits, "account_mib", default_account_mib, 0, most_mib);
  if (!mebibytes) return mebibytes.error();
  auto files = number_setting(**limits, "account_files", default_account_files, 0, most_files);
  if (!files) return files.error();
  auto days = number_setting(**limits, "grace_days", default_grace_days, 0, most_grace_days);
  if (!days) return days.error();
  settings.grace = std::chrono::hours(*days * 24);
  settings.reserve = static_cast<std::uint64_t>(*reserve * mib);
  // The hard limit leaves a quarter more, for the time of grace.
  const auto bytes = static_cast<std::uint64_t>(*mebibytes * mib);
  const auto count = static_cast<std::uint64_t>(*files);
  settings.new_account = {bytes, bytes + bytes / 4, count, count + count / 4};
  auto retention = read_retention(*file);
  if (!retention) return retention.error();
  settings.retention = *retention;

  auto journal = read_journal_limits(*file);
  if (!journal) return journal.error();
  settings.journal = *journal;

  auto adoption = settings_table(*file, "adoption");
  if (!adoption) return adoption.error();
  if (auto known = check_keys(**adoption, "adoption", {"watch"}); !known) return known.error();
  auto watch = switch_setting(**adoption, "watch", true);
  if (!watch) return watch.error();
  settings.watch = *watch;
  return settings;
}

}  // namespace stationer::fs
