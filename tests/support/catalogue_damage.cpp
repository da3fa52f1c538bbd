#include "tests/support/catalogue_damage.h"

#include <algorithm>
#include <fstream>

#include <catch2/catch.hpp>
#include <sqlite3.h>

namespace stationer::test {

void run_sql(const std::string& volume, const std::string& statements) {
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open((volume + "/catalog.db").c_str(), &database) == SQLITE_OK);
  char* words = nullptr;
  sqlite3_exec(database, statements.c_str(), nullptr, nullptr, &words);
  const std::string failed = words == nullptr ? "" : words;
  sqlite3_free(words);
  sqlite3_close(database);
  INFO(statements);
  REQUIRE(failed == "");
}

void flip_bytes(const std::string& file, std::streamoff offset, std::streamoff count) {
  std::fstream stream(file, std::ios::in | std::ios::out | std::ios::binary);
  std::string bytes(static_cast<std::size_t>(count), '\0');
  REQUIRE(stream.seekg(offset).read(bytes.data(), count));
  std::transform(bytes.begin(), bytes.end(), bytes.begin(),
                 [](char c) { return static_cast<char>(~c); });
  REQUIRE(stream.seekp(offset).write(bytes.data(), count));
}

}  // namespace stationer::test
