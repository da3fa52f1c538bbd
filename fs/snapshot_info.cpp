#include "fs/snapshot_info.h"

#include <sstream>

#include <fmt/format.h>
#include <toml++/toml.h>

namespace stationer::fs {

std::string write_snapshot_info(const SnapshotInfo& info) {
  // toml++ writes texts as TOML has them (toml.io, v1.0.0, String), whatever is in them.
  std::ostringstream name;
  name << toml::value<std::string>(info.volume);
  return fmt::format(
      "# All of a Stationer volume, as it was after one commit. To make a volume of it again:\n"
      "#   stationer snapshot restore THIS-FILE NEW-FOLDER\n"
      "# or unpack it with any tool that knows tar and zstd.\n"
      "[snapshot]\n"
      "format = {}\n"
      "volume = {}\n"
      "taken_ms = {}  # since 1970-01-01 00:00 UTC\n"
      "commit = {}\n"
      "files = {}\n"
      "bytes = {}\n",
      info.format, name.str(), info.taken.time_since_epoch().count(), info.commit, info.files,
      info.bytes);
}

Result<SnapshotInfo> read_snapshot_info(std::string_view text) {
  const Error senseless{Code::damaged, "What the snapshot says of itself makes no sense."};
  toml::table file;
  try {
    file = toml::parse(text);
  } catch (const toml::parse_error&) {
    return senseless;
  }
  const auto number = [&](std::string_view key) {
    return file["snapshot"][key].value<std::int64_t>();
  };
  const auto format = number("format");
  if (!format) return senseless;
  if (*format > snapshot_format) {
    return Error{Code::newer_format,
                 fmt::format("The snapshot has format {}, which is newer than this program knows "
                             "({}). Install the newer Stationer.",
                             *format, snapshot_format)};
  }
  const auto volume = file["snapshot"]["volume"].value<std::string>();
  const auto taken = number("taken_ms");
  const auto commit = number("commit");
  const auto files = number("files");
  const auto bytes = number("bytes");
  if (!volume || !taken || !commit || !files || !bytes) return senseless;
  SnapshotInfo info;
  info.format = static_cast<int>(*format);
  info.volume = *volume;
  info.taken = Time(std::chrono::milliseconds(*taken));
  info.commit = static_cast<std::uint64_t>(*commit);
  info.files = static_cast<std::uint64_t>(*files);
  info.bytes = static_cast<std::uint64_t>(*bytes);
  return info;
}

}  // namespace stationer::fs
