#include "tests/support/rows.h"

#include <fmt/format.h>

#include "fs/catalog.h"

namespace stationer::test {
namespace {

using namespace fs;

std::string words(std::string_view, const std::string& value) {
  return value;
}
std::string words(std::string_view, Access value) {
  return value.text();
}
std::string words(std::string_view, Time value) {
  return std::to_string(value.time_since_epoch().count());
}
std::string words(std::string_view, const Hash& value) {
  return fmt::format("{:02x}", fmt::join(value, ""));
}
template <class T>
std::string words(std::string_view, T value) {
  return std::to_string(static_cast<std::uint64_t>(value));
}
template <class T>
std::string words(std::string_view name, const std::optional<T>& value) {
  return value ? words(name, *value) : "none";
}

template <class Row>
std::string line(const Row& row) {
  std::string out(Row::table);
  Row::fields(row, [&](std::string_view name, const auto& value) {
    const std::string shown = words(name, value);
    out += fmt::format(" {}={}", name, name == "password" && !shown.empty() ? "***" : shown);
  });
  return out + '\n';
}

void add_below(HostFiles& files, const HostPath& folder, std::string& out) {
  auto entries = files.list(folder);
  if (!entries) {
    if (entries.error().code != Code::not_found)
      out += folder.text() + ": " + entries.error().message + '\n';
    return;
  }
  for (const auto& entry : *entries) {
    const HostPath path = folder / entry.name;
    if (entry.type == HostEntry::Type::folder) {
      out += fmt::format("folder {}\n", path.text());
      add_below(files, path, out);
      continue;
    }
    auto bytes = read_whole(files, path, std::uint64_t{1} << 32);
    out += fmt::format("file {} {} {}\n", path.text(), entry.size,
                       bytes ? words("", hash_of(*bytes)) : bytes.error().message);
  }
}

}  // namespace

std::string all_rows(const std::string& path) {
  auto catalog = Catalog::open(path);
  if (!catalog) return catalog.error().message + '\n';
  std::string out;
  std::vector<ContentId> contents;
  auto loaded = (*catalog)->load([&](Record record) {
    if (const auto* node = std::get_if<Node>(&record)) contents.push_back(node->content);
    if (const auto* version = std::get_if<Version>(&record)) contents.push_back(version->content);
    out += std::visit([](const auto& row) { return line(row); }, record);
  });
  if (!loaded) return loaded.error().message + '\n';
  for (const ContentId content : contents) {
    auto hash = (*catalog)->digest(content);
    if (!hash) return hash.error().message + '\n';
    if (*hash) out += line(Digest{content, **hash});
  }
  JournalQuery everything;
  everything.most = 1'000'000;
  auto journal = (*catalog)->journal(everything);
  if (!journal) return journal.error().message + '\n';
  for (const auto& entry : *journal) out += line(entry);
  return out;
}

std::string all_files(HostFiles& files) {
  std::string out;
  // What is on its way lies in the last two, and nowhere once the volume was opened again.
  for (const char* folder : {"files", "bin", "versions", "rescued", "incoming", "held"}) {
    add_below(files, HostPath() / folder, out);
  }
  return out;
}

}  // namespace stationer::test
