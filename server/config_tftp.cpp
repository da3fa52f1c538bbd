#include "fs/text.h"
#include "server/config_part.h"

namespace stationer::server {
namespace {

fs::Status read_folder(const toml::table& table, std::string_view key, std::string_view otherwise,
                       std::optional<fs::Path>& into) {
  const auto text = fs::text_setting(table, key, otherwise);
  if (!text) return text.error();
  if (text->empty()) return {};
  auto path = fs::Path::parse(*text);
  if (!path) return fs::wrong_setting(*table.get(key), path.error().message);
  into = std::move(*path);
  return {};
}

}  // namespace

fs::Status read_tftp(const toml::table& table, TftpDoorConfig& door) {
  std::optional<fs::Path> folder;
  auto read = first_failure({
      read_door(table, "door.tftp", tftp_port, {"folder", "hand_in", "hand_in_for"}, door),
      read_folder(table, "folder", "/programs", folder),
      read_folder(table, "hand_in", "", door.hand_in),
      take(fs::text_setting(table, "hand_in_for", ""), door.hand_in_for),
  });
  if (!read) return read;
  if (folder) door.folder = std::move(*folder);
  return {};
}

}  // namespace stationer::server
