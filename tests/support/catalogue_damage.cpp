#include "tests/support/catalogue_damage.h"

#include <algorithm>
#include <fstream>
#include <stdexcept>

#include <sqlite3.h>

namespace stationer::test {

void run_sql(const std::string& volume, const std::string& statements) {
  sqlite3* database = nullptr;
  std::string failed;
  if (sqlite3_open((volume + "/catalog.db").c_str(), &database) != SQLITE_OK ||
      sqlite3_exec(database, statements.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) {
    failed = sqlite3_errmsg(database);
  }
  sqlite3_close(database);
  if (!failed.empty()) throw std::runtime_error(statements + ": " + failed);
}

void flip_bytes(const std::string& file, std::streamoff offset, std::streamoff count) {
  std::fstream stream(file, std::ios::in | std::ios::out | std::ios::binary);
  std::string bytes(static_cast<std::size_t>(count), '\0');
  stream.seekg(offset).read(bytes.data(), count);
  std::transform(bytes.begin(), bytes.end(), bytes.begin(),
                 [](char c) { return static_cast<char>(~c); });
  stream.seekp(offset).write(bytes.data(), count);
  if (!stream) throw std::runtime_error("could not turn bytes over in " + file);
}

}  // namespace stationer::test
