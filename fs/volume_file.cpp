#include "fs/volume_file.h"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <toml++/toml.h>

#include "fs/account.h"

namespace stationer::fs {
namespace {

constexpr std::int64_t mib = 1 << 20;
constexpr std::int64_t default_reserve_mib = 64;
constexpr std::int64_t default_account_mib = 64;
constexpr std::int64_t default_account_files = 2000;

std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

Error wrong(const toml::node& node, std::string_view what) {
  return {Code::bad_input, fmt::format("volume.toml, line {}: {}", node.source().begin.line, what)};
}

// A whole number of at least 0, or `otherwise` when the key is not there.
Result<std::uint64_t> amount(const toml::table& table, std::string_view key, std::int64_t otherwise,
                             std::int64_t scale) {
  const toml::node* node = table.get(key);
  std::int64_t value = otherwise;
  if (node != nullptr) {
    const auto* number = node->as_integer();
    if (number == nullptr || number->get() < 0 || number->get() > (std::int64_t{1} << 40)) {
      return wrong(*node, fmt::format("{} must be a whole number, 0 or more.", key));
    }
    value = number->get();
  }
  return static_cast<std::uint64_t>(value * scale);
}

}  // namespace

std::string new_volume_file(std::string_view name, Time created) {
  return fmt::format(
      "# The settings of this volume. Stationer reads them when the service starts.\n"
      "[volume]\n"
      "format = {}\n"
      "name = {}\n"
      "created = {:%Y-%m-%dT%H:%M:%SZ}\n"
      "\n"
      "[limits]\n"
      "reserve_mib = {}      # disk kept free for the keeper\n"
      "account_mib = {}      # what a new account may keep before it is warned; 0 is no limit\n"
      "account_files = {}\n",
      volume_format, quoted(name), fmt::gmtime(std::chrono::system_clock::to_time_t(created)),
      default_reserve_mib, default_account_mib, default_account_files);
}

Result<VolumeSettings> parse_volume_file(std::string_view text) {
  toml::table file;
  try {
    file = toml::parse(text);
  } catch (const toml::parse_error& error) {
    return Error{Code::bad_input, fmt::format("volume.toml, line {}: {}.",
                                              error.source().begin.line, error.description())};
  }
  const toml::table* volume = file["volume"].as_table();
  const auto format = file["volume"]["format"].value<std::int64_t>();
  if (volume == nullptr || !format) {
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
  VolumeSettings settings;
  settings.name = file["volume"]["name"].value_or(std::string("Stationer"));
  if (auto fine = check_line(settings.name, 60, "The volume's name"); !fine) return fine.error();

  const toml::table none;
  const toml::table* limits = file["limits"].as_table();
  if (limits == nullptr) limits = &none;
  for (const auto& [key, value] : *limits) {
    if (key != "reserve_mib" && key != "account_mib" && key != "account_files") {
      return wrong(value, fmt::format("there is no setting \"{}\" in [limits].", key.str()));
    }
  }
  auto reserve = amount(*limits, "reserve_mib", default_reserve_mib, mib);
  if (!reserve) return reserve.error();
  auto bytes = amount(*limits, "account_mib", default_account_mib, mib);
  if (!bytes) return bytes.error();
  auto files = amount(*limits, "account_files", default_account_files, 1);
  if (!files) return files.error();
  settings.reserve = *reserve;
  // The hard limit leaves a quarter more, for the time of grace.
  settings.new_account = {*bytes, *bytes + *bytes / 4, *files, *files + *files / 4};
  return settings;
}

}  // namespace stationer::fs
