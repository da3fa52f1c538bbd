#include "fs/sqlite.h"

#include <fmt/format.h>
#include <sqlite3.h>

namespace stationer::fs {
namespace {

constexpr int patience = 2000;  // milliseconds, while another program has the database

Error sqlite_error(sqlite3* database, const SqlWords& words) {
  const int code = database == nullptr ? SQLITE_NOMEM : sqlite3_extended_errcode(database);
  const char* why = database == nullptr ? "out of memory" : sqlite3_errmsg(database);
  switch (code & 0xFF) {
    case SQLITE_FULL:
      return {Code::no_space,
              fmt::format("{} can't grow: the disk is full. Free some space on it.", words.name)};
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
      return {Code::read_only,
              fmt::format("{} can't be written to ({}). Look at the rights of the volume's folder "
                          "and whether its disk is mounted read-only.",
                          words.name, why)};
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return {Code::damaged,
              fmt::format("{} is damaged ({}). {}.", words.name, why, words.when_damaged)};
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return {Code::busy, fmt::format("{} is in use by another program.", words.name)};
    default: return {Code::io, fmt::format("{} failed: {}.", words.name, why)};
  }
}

}  // namespace

// ---- statements ----

void SqlStatement::Closer::operator()(sqlite3_stmt* statement) const {
  sqlite3_finalize(statement);
}

void SqlStatement::bind(int at, std::int64_t value) {
  sqlite3_bind_int64(statement_.get(), at, value);
}

void SqlStatement::bind(int at, std::string_view text) {
  // A null pointer would be NULL.
  const char* data = text.data() == nullptr ? "" : text.data();
  sqlite3_bind_text(statement_.get(), at, data, static_cast<int>(text.size()), SQLITE_STATIC);
}

void SqlStatement::bind(int at, std::span<const std::uint8_t> bytes) {
  sqlite3_bind_blob(statement_.get(), at, bytes.data(), static_cast<int>(bytes.size()),
                    SQLITE_STATIC);
}

void SqlStatement::bind_null(int at) {
  sqlite3_bind_null(statement_.get(), at);
}

Result<bool> SqlStatement::step() {
  const int step = sqlite3_step(statement_.get());
  if (step == SQLITE_ROW) return true;
  if (step == SQLITE_DONE) return false;
  return sqlite_error(sqlite3_db_handle(statement_.get()), *words_);
}

Status SqlStatement::run() {
  auto stepped = step();
  reset();
  if (!stepped) return stepped.error();
  return {};
}

Status SqlStatement::each(const std::function<void(SqlStatement& row)>& use) {
  for (;;) {
    auto row = step();
    if (!row) return row.error();
    if (!*row) return {};
    use(*this);
  }
}

void SqlStatement::reset() {
  sqlite3_reset(statement_.get());
}

bool SqlStatement::is_null(int column) {
  return sqlite3_column_type(statement_.get(), column) == SQLITE_NULL;
}

std::int64_t SqlStatement::number(int column) {
  return sqlite3_column_int64(statement_.get(), column);
}

std::string_view SqlStatement::text(int column) {
  const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(statement_.get(), column));
  if (text == nullptr) return {};
  return {text, static_cast<std::size_t>(sqlite3_column_bytes(statement_.get(), column))};
}

std::span<const std::uint8_t> SqlStatement::bytes(int column) {
  const auto* blob =
      static_cast<const std::uint8_t*>(sqlite3_column_blob(statement_.get(), column));
  if (blob == nullptr) return {};
  return {blob, static_cast<std::size_t>(sqlite3_column_bytes(statement_.get(), column))};
}

// ---- databases ----

void SqlDatabase::Closer::operator()(sqlite3* database) const {
  sqlite3_close_v2(database);
}

Result<SqlDatabase> SqlDatabase::open(const std::string& path, Mode mode, const SqlWords& words) {
  SqlDatabase out(words);
  int flags = SQLITE_OPEN_FULLMUTEX;
  flags |= mode == Mode::read ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE;
  if (mode == Mode::create) flags |= SQLITE_OPEN_CREATE;
  sqlite3* opened = nullptr;
  const int result = sqlite3_open_v2(path.c_str(), &opened, flags, nullptr);
  out.database_.reset(opened);
  if (result != SQLITE_OK) return sqlite_error(opened, words);
  sqlite3_busy_timeout(opened, patience);
  return out;
}

Status SqlDatabase::run(const std::string& sql) {
  if (sqlite3_exec(database_.get(), sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) {
    return sqlite_error(database_.get(), *words_);
  }
  return {};
}

Result<SqlStatement> SqlDatabase::prepare(const std::string& sql) {
  sqlite3_stmt* statement = nullptr;
  if (sqlite3_prepare_v2(database_.get(), sql.c_str(), -1, &statement, nullptr) != SQLITE_OK) {
    return sqlite_error(database_.get(), *words_);
  }
  return SqlStatement(statement, words_);
}

Result<std::int64_t> SqlDatabase::number(const std::string& sql) {
  auto statement = prepare(sql);
  if (!statement) return statement.error();
  std::int64_t value = 0;
  auto done = statement->each([&](SqlStatement& row) { value = row.number(0); });
  if (!done) return done.error();
  return value;
}

Status SqlDatabase::transaction(const std::function<Status()>& make) {
  if (auto begun = run("BEGIN IMMEDIATE"); !begun) return begun;
  Status status = make();
  if (status) status = run("COMMIT");
  // A failed COMMIT may have ended the transaction by itself.
  if (!status && sqlite3_get_autocommit(database_.get()) == 0) static_cast<void>(run("ROLLBACK"));
  return status;
}

Result<std::vector<std::string>> SqlDatabase::findings(const std::string& check) {
  auto statement = prepare("PRAGMA " + check);
  if (!statement) return statement.error();
  std::vector<std::string> out;
  auto done = statement->each([&](SqlStatement& row) {
    if (row.text(0) != "ok") out.emplace_back(row.text(0));
  });
  if (!done) return done.error();
  return out;
}

}  // namespace stationer::fs
