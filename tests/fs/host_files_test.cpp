#include "fs/host_files.h"

#include <catch2/catch.hpp>

#include "tests/support/temp_folder.h"

using namespace stationer::fs;

TEST_CASE("A file so large that its beginning is let go of while it is written is whole") {
  const stationer::test::TempFolder folder;
  const auto files = open_host_folder(folder.path()).value();
  const auto file = files->create(HostPath() / "large").value();
  const std::size_t whole = std::size_t{70} << 20;
  const std::size_t piece_size = (std::size_t{1} << 20) + 7;
  const auto piece_at = [&](std::size_t at) {
    return std::string(std::min(piece_size, whole - at), static_cast<char>('a' + at % 23));
  };
  for (std::size_t at = 0; at < whole; at += piece_size) {
    REQUIRE(file->write_at(at, piece_at(at)));
  }
  REQUIRE(file->sync());
  CHECK(file->size().value() == whole);
  std::string read(piece_size, '\0');
  for (std::size_t at = 0; at < whole; at += piece_size) {
    const std::size_t got = file->read_at(at, read).value();
    REQUIRE(std::string_view(read).substr(0, got) == piece_at(at));
  }
}
