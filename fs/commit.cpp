#include "fs/commit.h"

#include <algorithm>
#include <optional>
#include <type_traits>

#include <fmt/format.h>

#include "fs/node_name.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::string_view incoming_folder = "incoming";

class Writer {
 public:
  explicit Writer(std::string& out) : out_(out) {}

  void number(std::uint64_t value) {
    while (value >= 0x80) {
      out_ += static_cast<char>(value | 0x80);
      value >>= 7;
    }
    out_ += static_cast<char>(value);
  }
  void bytes(std::string_view value) {
    number(value.size());
    out_ += value;
  }

  template <class T>
  void field(const T& value) {
    if constexpr (std::is_same_v<T, std::string>) {
      bytes(value);
    } else if constexpr (std::is_same_v<T, Hash>) {
      bytes({reinterpret_cast<const char*>(value.data()), value.size()});
    } else if constexpr (std::is_same_v<T, Access>) {
      number(value.bits());
    } else if constexpr (std::is_same_v<T, Time>) {
      number(static_cast<std::uint64_t>(value.time_since_epoch().count()));
    } else {
      number(static_cast<std::uint64_t>(value));
    }
  }
  template <class T>
  void field(const std::optional<T>& value) {
    number(value ? 1 : 0);
    if (value) field(*value);
  }

 private:
  std::string& out_;
};

// Reads what Writer wrote. After the first thing that can't be read, ok() is false and all that
// follows reads as nothing.
class Reader {
 public:
  explicit Reader(std::string_view& bytes) : left_(bytes) {}

  bool ok() const { return ok_; }

  std::uint64_t number() {
    std::uint64_t value = 0;
    for (unsigned shift = 0; shift < 64; shift += 7) {
      if (left_.empty()) break;
      const auto byte = static_cast<unsigned char>(left_.front());
      left_.remove_prefix(1);
      value |= static_cast<std::uint64_t>(byte & 0x7Fu) << shift;
      if (byte < 0x80) return value;
    }
    ok_ = false;
    return 0;
  }
  std::string_view bytes() {
    const std::uint64_t size = number();
    if (size > left_.size()) {
      ok_ = false;
      return "";
    }
    const auto value = left_.substr(0, static_cast<std::size_t>(size));
    left_.remove_prefix(value.size());
    return value;
  }
  HostPath path() {
    auto value = HostPath::from_record(bytes());
    if (value) return *value;
    ok_ = false;
    return {};
  }

  template <class T>
  void field(T& value) {
    if constexpr (std::is_same_v<T, std::string>) {
      value = bytes();
    } else if constexpr (std::is_same_v<T, Hash>) {
      const auto raw = bytes();
      if (raw.size() != value.size()) ok_ = false;
      if (ok_) std::copy(raw.begin(), raw.end(), value.begin());
    } else if constexpr (std::is_same_v<T, Access>) {
      value = Access(static_cast<unsigned>(number()));
    } else if constexpr (std::is_same_v<T, Time>) {
      value = Time(std::chrono::milliseconds(static_cast<std::int64_t>(number())));
    } else {
      value = static_cast<T>(number());
    }
  }
  template <class T>
  void field(std::optional<T>& value) {
    value.reset();
    if (number() != 0) field(value.emplace());
  }

 private:
  std::string_view& left_;
  bool ok_ = true;
};

void write(Writer& out, const Deed& deed) {
  out.number(deed.index());
  if (const auto* made = std::get_if<MakeFolder>(&deed)) {
    out.bytes(made->path.text());
  } else if (const auto* placed = std::get_if<PlaceFile>(&deed)) {
    out.bytes(placed->path.text());
    out.field(placed->content);
    out.number(placed->bytes ? 1 : 0);
    if (placed->bytes) out.bytes(*placed->bytes);
    out.number(placed->aside ? 1 : 0);
    if (placed->aside) out.bytes(placed->aside->to.text());
    out.field(placed->modified);
  } else if (const auto* moved = std::get_if<MovePath>(&deed)) {
    out.bytes(moved->from.text());
    out.bytes(moved->to.text());
  } else if (const auto* removed = std::get_if<RemovePath>(&deed)) {
    out.bytes(removed->path.text());
    out.field(removed->folder);
  }
}

std::optional<Deed> read_deed(Reader& in) {
  switch (in.number()) {
    case 0: return MakeFolder{in.path()};
    case 1: {
      PlaceFile placed;
      placed.path = in.path();
      in.field(placed.content);
      if (in.number() != 0) placed.bytes = std::make_shared<const std::string>(in.bytes());
      if (in.number() != 0) placed.aside = MovePath{placed.path, in.path()};
      in.field(placed.modified);
      return placed;
    }
    case 2: {
      MovePath moved;
      moved.from = in.path();
      moved.to = in.path();
      return moved;
    }
    case 3: {
      RemovePath removed;
      removed.path = in.path();
      in.field(removed.folder);
      return removed;
    }
    default: return std::nullopt;
  }
}

std::optional<Record> read_record(Reader& in) {
  const std::uint64_t wanted = in.number();
  std::optional<Record> found;
  std::uint64_t kind = 0;
  each_kind_of_row([&](auto row) {
    if (kind++ != wanted) return;
    decltype(row)::fields(row, [&](const char*, auto& value) { in.field(value); });
    found = std::move(row);
  });
  return found;
}

}  // namespace

HostPath version_path(ContentId content, std::string_view name) {
  std::string there = fmt::format("{} ", number(content));
  there += clip(name, longest_name - there.size());
  // A damaged row may hold what no name can: then nothing is found there, and the check tells.
  std::replace_if(
      there.begin(), there.end(), [](char each) { return each == '/' || each == '\0'; }, '_');
  return HostPath() / "versions" / there;
}

HostPath incoming_path(ContentId content) {
  return HostPath() / incoming_folder / fmt::format("{}", number(content));
}

void encode(const Commit& commit, std::string& out) {
  Writer writer(out);
  writer.number(commit.number);
  writer.number(commit.changes.size());
  for (const auto& change : commit.changes) {
    writer.field(change.drop);
    writer.number(change.record.index());
    std::visit(
        [&](const auto& row) {
          std::decay_t<decltype(row)>::fields(
              row, [&](const char*, const auto& value) { writer.field(value); });
        },
        change.record);
  }
  writer.number(commit.deeds.size());
  for (const auto& deed : commit.deeds) write(writer, deed);
}

Result<Commit> decode(std::string_view& bytes) {
  const Error unreadable{Code::damaged, "The commit log holds an entry that can't be read."};
  Reader reader(bytes);
  Commit commit;
  commit.number = reader.number();
  for (std::uint64_t left = reader.number(); left > 0; --left) {
    Change change;
    reader.field(change.drop);
    auto record = read_record(reader);
    if (!record || !reader.ok()) return unreadable;
    change.record = std::move(*record);
    commit.changes.push_back(std::move(change));
  }
  for (std::uint64_t left = reader.number(); left > 0; --left) {
    auto deed = read_deed(reader);
    if (!deed || !reader.ok()) return unreadable;
    commit.deeds.push_back(std::move(*deed));
  }
  if (!reader.ok()) return unreadable;
  return commit;
}

}  // namespace stationer::fs
