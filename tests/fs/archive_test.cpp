#include "fs/archive.h"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "fs/hash.h"
#include "tests/support/temp_folder.h"

using namespace stationer;
using namespace stationer::fs;

namespace {

constexpr Time spring{std::chrono::milliseconds(1'700'000'000'000)};

HostPath at(std::string_view path) {
  return HostPath::from_record(path).value();
}

ArchiveWriter::Sink into(std::string& bytes) {
  return [&bytes](std::string_view more) -> Status {
    bytes += more;
    return {};
  };
}

ArchiveReader::Source from(std::string_view bytes) {
  return [bytes](std::span<char> room) mutable -> Result<std::size_t> {
    const std::size_t size = std::min(room.size(), bytes.size());
    std::copy_n(bytes.begin(), size, room.begin());
    bytes.remove_prefix(size);
    return size;
  };
}

// What does not get smaller by being packed.
std::string noise(std::size_t size) {
  std::string out;
  std::uint32_t state = 1;
  while (out.size() < size) {
    state = state * 1664525u + 1013904223u;
    out += static_cast<char>(state >> 24);
  }
  return out;
}

std::string packed(const std::vector<std::pair<std::string, std::string>>& files) {
  std::string bytes;
  ArchiveWriter writer(into(bytes));
  REQUIRE(writer.add_folder(at("robin"), spring));
  for (const auto& [name, content] : files) {
    REQUIRE(writer.add_file(at(name), content, spring));
  }
  REQUIRE(writer.finish());
  return bytes;
}

Status unpack(std::string_view bytes, std::map<std::string, std::string>& files) {
  ArchiveReader reader(from(bytes));
  for (;;) {
    auto entry = reader.next();
    if (!entry) return entry.error();
    if (!*entry) return {};
    std::string content;
    std::string piece(1000, '\0');
    for (;;) {
      auto got = reader.read(piece);
      if (!got) return got.error();
      if (*got == 0) break;
      content.append(piece, 0, *got);
    }
    CHECK(content.size() == (*entry)->size);
    CHECK((*entry)->modified == spring);
    files[(*entry)->path.text() + ((*entry)->folder ? "/" : "")] = content;
  }
}

}  // namespace

TEST_CASE("an archive gives back what was put into it") {
  const std::string deep = "robin/" + std::string(200, 'a') + "/" + std::string(200, 'b');
  const std::map<std::string, std::string> files{
      {"robin/", ""},      {"robin/letter.txt", "Dear wren,\n"},
      {"robin/empty", ""}, {"robin/\xC3\xA6rlig \xE2\x82\xAC.dat", noise(300'000)},
      {deep, "far down"},
  };
  std::vector<std::pair<std::string, std::string>> list;
  for (const auto& [name, content] : files) {
    if (!name.ends_with('/')) list.emplace_back(name, content);
  }
  const std::string bytes = packed(list);
  std::map<std::string, std::string> back;
  REQUIRE(unpack(bytes, back));
  CHECK(back == files);
  CHECK(verify_archive(from(bytes)));
  CHECK(packed(list) == bytes);  // nothing of the moment or the machine is in it
}

TEST_CASE("an archive of nothing is whole") {
  std::string bytes;
  ArchiveWriter writer(into(bytes));
  REQUIRE(writer.finish());
  CHECK(verify_archive(from(bytes)));
}

TEST_CASE("an archive that was cut anywhere is not taken for whole") {
  const std::string bytes = packed({{"robin/one", "first"}, {"robin/two", noise(700)}});
  REQUIRE(verify_archive(from(bytes)));
  for (std::size_t size = 0; size < bytes.size(); ++size) {
    INFO(size);
    auto outcome = verify_archive(from(std::string_view(bytes).substr(0, size)));
    REQUIRE_FALSE(outcome);
    CHECK(outcome.error().code == Code::damaged);
  }
}

TEST_CASE("an archive with a changed bit gives other bytes to nobody unnoticed") {
  const std::string content = noise(700);
  const std::string bytes = packed({{"robin/one", "first"}, {"robin/two", content}});
  std::size_t noticed = 0;
  for (std::size_t offset = 0; offset < bytes.size(); ++offset) {
    std::string changed = bytes;
    changed[offset] = static_cast<char>(changed[offset] ^ 0x10);
    std::map<std::string, std::string> back;
    if (!unpack(changed, back)) {
      ++noticed;
      continue;
    }
    INFO(offset);
    // Some bits of the packing mean nothing; then all is as it was.
    CHECK(back["robin/one"] == "first");
    CHECK(back["robin/two"] == content);
  }
  CHECK(noticed > bytes.size() * 9 / 10);
}

TEST_CASE("what was changed in an archive is named") {
  // Stored as it is, since noise can't be packed: a changed bit reaches the file.
  std::string bytes = packed({{"robin/one", noise(40'000)}, {"robin/two", noise(50'000)}});
  bytes[bytes.size() / 3] = static_cast<char>(bytes[bytes.size() / 3] ^ 1);
  auto outcome = verify_archive(from(bytes));
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().message ==
        "The archive is not whole: \"robin/one\" is not what was archived. Take another copy of "
        "it.");
}

TEST_CASE("a file must have the size it was announced with") {
  std::string bytes;
  SECTION("not less") {
    ArchiveWriter writer(into(bytes));
    REQUIRE(writer.begin_file(at("letter"), 10, spring));
    REQUIRE(writer.write("short"));
    auto outcome = writer.finish();
    REQUIRE_FALSE(outcome);
    CHECK(outcome.error().message == "\"letter\" became shorter while it was archived. Try again.");
    CHECK_FALSE(writer.finish());
  }
  SECTION("not more") {
    ArchiveWriter writer(into(bytes));
    REQUIRE(writer.begin_file(at("letter"), 3, spring));
    auto outcome = writer.write("long");
    REQUIRE_FALSE(outcome);
    CHECK(outcome.error().message == "\"letter\" grew while it was archived. Try again.");
  }
  CHECK_FALSE(verify_archive(from(bytes)));
}

TEST_CASE("names that would break the list are not archived") {
  for (const std::string name : {"two\nlines", "contents.sha256", "a\x01"}) {
    std::string bytes;
    ArchiveWriter writer(into(bytes));
    CHECK_FALSE(writer.begin_file(at(name), 0, spring));
    CHECK_FALSE(writer.finish());
  }
}

TEST_CASE("an archive that was not finished is not whole") {
  std::string bytes;
  {
    ArchiveWriter writer(into(bytes));
    REQUIRE(writer.add_file(at("letter"), noise(500'000), spring));
  }
  CHECK_FALSE(verify_archive(from(bytes)));
}

TEST_CASE("an archive says what its sink or source says") {
  ArchiveWriter writer([](std::string_view) -> Status {
    return Error{Code::no_space, "The disk is full."};
  });
  static_cast<void>(writer.add_file(at("letter"), noise(500'000), spring));
  auto outcome = writer.finish();
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().code == Code::no_space);

  auto read = verify_archive([](std::span<char>) -> Result<std::size_t> {
    return Error{Code::io, "The disk fails."};
  });
  REQUIRE_FALSE(read);
  CHECK(read.error().message == "The disk fails.");
}

// The forms are for everybody: GNU tar unpacks them, coreutils' sha256sum compares the list.
TEST_CASE("ordinary tools unpack and check an archive") {
  test::TempFolder folder;
  const std::string bytes =
      packed({{"robin/letter.txt", "Dear wren,\n"}, {"robin/" + std::string(180, 'x'), noise(9)}});
  std::ofstream(folder / "a.tar.zst", std::ios::binary) << bytes;
  const std::string command = "cd '" + folder.path() +
                              "' && tar --zstd -xf a.tar.zst && sha256sum --quiet --check " +
                              std::string(archive_list_name);
  CHECK(std::system(command.c_str()) == 0);
  std::ifstream letter(folder / "robin/letter.txt");
  std::string line;
  std::getline(letter, line);
  CHECK(line == "Dear wren,");
}

// And what they made is read as far as it is of our form, which lacks nothing but the list.
TEST_CASE("what would lead out of an archive is refused") {
  test::TempFolder folder;
  const auto make = [&](const std::string& commands) {
    const std::string command = "cd '" + folder.path() + "' && " + commands;
    REQUIRE(std::system(command.c_str()) == 0);
    std::ifstream file(folder / "b.tar.zst", std::ios::binary);
    const std::string bytes((std::istreambuf_iterator<char>(file)), {});
    auto outcome = verify_archive(from(bytes));
    REQUIRE_FALSE(outcome);
    return outcome.error().message;
  };
  CHECK(make("touch f && tar --zstd -cPf b.tar.zst $PWD/f").find("leads out of it") !=
        std::string::npos);
  CHECK(make("mkdir d && cd d && tar --zstd -cPf ../b.tar.zst ../f").find("leads out of it") !=
        std::string::npos);
  CHECK(make("ln -s f l && tar --zstd -cf b.tar.zst l").find("neither a file nor a folder") !=
        std::string::npos);
  CHECK(make("ln f h && tar --zstd -cf b.tar.zst f h").find("neither a file nor a folder") !=
        std::string::npos);
  CHECK(make("tar --zstd -cf b.tar.zst f").find("its end is missing") != std::string::npos);
}
