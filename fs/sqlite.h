// SQLite databases: opening, statements, rows, transactions. The only place that knows SQLite. What
// a database is for, its user knows and gives in words, so that errors can speak of it.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"

struct sqlite3;
struct sqlite3_stmt;

namespace stationer::fs {

struct SqlWords {
  std::string_view name;          // as a sentence begins: "The catalogue"
  std::string_view when_damaged;  // what to do then, a sentence but for its full stop
};

// A statement and the row it stands at. What is bound must live until the last step().
class SqlStatement {
 public:
  // Parameters count from 1.
  void bind(int at, std::int64_t value);
  void bind(int at, std::string_view text);
  void bind(int at, std::span<const std::uint8_t> bytes);
  void bind_null(int at);

  // True at a row, false at the end; then it can be run again after reset().
  Result<bool> step();
  // Runs one that gives no rows, and makes it ready to run again.
  Status run();
  // Calls use() at each row.
  Status each(const std::function<void(SqlStatement& row)>& use);
  void reset();

  // Columns count from 0. Text and bytes are there until the next step.
  bool is_null(int column);
  std::int64_t number(int column);
  std::string_view text(int column);
  std::span<const std::uint8_t> bytes(int column);

 private:
  friend class SqlDatabase;
  struct Closer {
    void operator()(sqlite3_stmt* statement) const;
  };
  SqlStatement(sqlite3_stmt* statement, const SqlWords* words)
      : statement_(statement), words_(words) {}

  std::unique_ptr<sqlite3_stmt, Closer> statement_;
  const SqlWords* words_;
};

// One connection. Calls may come from any thread, but a statement belongs to one at a time.
class SqlDatabase {
 public:
  enum class Mode { read, write, create };

  // `words` must live for ever.
  static Result<SqlDatabase> open(const std::string& path, Mode mode, const SqlWords& words);

  Status run(const std::string& sql);
  Result<SqlStatement> prepare(const std::string& sql);
  // The number in the first column of the last row; 0 without a row.
  Result<std::int64_t> number(const std::string& sql);
  // make() within one transaction: all of it is there afterwards, or nothing.
  Status transaction(const std::function<Status()>& make);
  // What SQLite's own checks find wrong; `check` is one of its pragmas for that.
  Result<std::vector<std::string>> findings(const std::string& check);

 private:
  struct Closer {
    void operator()(sqlite3* database) const;
  };
  explicit SqlDatabase(const SqlWords& words) : words_(&words) {}

  std::unique_ptr<sqlite3, Closer> database_;
  const SqlWords* words_;
};

}  // namespace stationer::fs
