#include "fs/seal.h"

#include <catch2/catch.hpp>

#include "tests/support/temp_folder.h"

using namespace stationer::fs;

namespace {

struct Sealed {
  stationer::test::TempFolder folder;
  std::unique_ptr<HostFiles> files = open_host_folder(folder.path()).value();
  std::unique_ptr<HostFile> file = files->create(HostPath() / "sealed").value();
  std::string bytes;

  explicit Sealed(std::string_view content) {
    Seal seal;
    // In two pieces, as it comes.
    seal.add(content.substr(0, content.size() / 2));
    seal.add(content.substr(content.size() / 2));
    bytes = std::string(content) + seal.finish();
    REQUIRE(file->write_at(0, bytes));
  }

  Code code_after(const std::string& changed) {
    auto other = files->create(HostPath() / "other").value();
    REQUIRE(other->write_at(0, changed));
    auto checked = check_seal(*other, {});
    REQUIRE_FALSE(checked);
    CHECK_FALSE(checked.error().message.empty());
    return checked.error().code;
  }
};

}  // namespace

TEST_CASE("a seal ends a file and says where it begins") {
  for (const std::size_t size : {std::size_t{0}, std::size_t{1}, std::size_t{700'000}}) {
    Sealed sealed(std::string(size, 'x'));
    CHECK(sealed.bytes.size() == size + seal_size);
    auto checked = check_seal(*sealed.file, {});
    REQUIRE(checked);
    CHECK(*checked == size);
  }
}

TEST_CASE("a seal is a skippable frame of zstd") {
  // RFC 8878 §3.1.2: magic number 0x184D2A5?, then the length of the user data, little-endian.
  Sealed sealed("");
  CHECK(sealed.bytes.substr(0, 4) == "\x50\x2A\x4D\x18");
  CHECK(sealed.bytes.substr(4, 4) == std::string("\x28\0\0\0", 4));
  CHECK(sealed.bytes.size() == 8 + 0x28);
}

TEST_CASE("any byte changed and any cut is noticed") {
  Sealed sealed("what was written");
  for (std::size_t at = 0; at < sealed.bytes.size(); ++at) {
    INFO(at);
    std::string changed = sealed.bytes;
    changed[at] = static_cast<char>(changed[at] ^ 1);
    CHECK(sealed.code_after(changed) == Code::damaged);
    CHECK(sealed.code_after(sealed.bytes.substr(0, at)) == Code::damaged);
  }
  CHECK(sealed.code_after(sealed.bytes + "x") == Code::damaged);
}

TEST_CASE("checking a seal can be stopped") {
  Sealed sealed(std::string(1'000'000, 'x'));
  int calls = 0;
  auto checked = check_seal(*sealed.file, [&](std::uint64_t done, std::uint64_t all) {
    CHECK(done <= all);
    return ++calls < 2;
  });
  REQUIRE_FALSE(checked);
  CHECK(checked.error().code == Code::busy);
  CHECK(calls == 2);
}
