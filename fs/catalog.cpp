#include "fs/catalog.h"

#include <array>
#include <cstring>
#include <mutex>
#include <type_traits>

#include <fmt/format.h>
#include <sqlite3.h>

#include "fs/text.h"
#include "fs/way_out.h"

namespace stationer::fs {
namespace {

// Stands in PRAGMA user_version. See the upgrade rule in fs/README.md.
constexpr int schema_format = 1;
// Stands in PRAGMA application_id, so that the file can be told from other databases.
constexpr int application_id = 0x53746e72;

struct Closer {
  void operator()(sqlite3* database) const { sqlite3_close_v2(database); }
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Database = std::unique_ptr<sqlite3, Closer>;
using Statement = std::unique_ptr<sqlite3_stmt, Closer>;

Error sqlite_error(sqlite3* database) {
  const int code = database == nullptr ? SQLITE_NOMEM : sqlite3_extended_errcode(database);
  const char* words = database == nullptr ? "out of memory" : sqlite3_errmsg(database);
  switch (code & 0xFF) {
    case SQLITE_FULL:
      return {Code::no_space, "The catalogue can't grow: the disk is full. Free some space on it."};
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
      return {Code::read_only,
              fmt::format("The catalogue can't be written to ({}). Look at the rights of the "
                          "volume's folder and whether its disk is mounted read-only.",
                          words)};
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return {Code::damaged,
              fmt::format("The catalogue, catalog.db, is damaged ({}). {}.", words, way_out)};
    case SQLITE_BUSY:
    case SQLITE_LOCKED: return {Code::busy, "The catalogue is in use by another program."};
    default: return {Code::io, fmt::format("The catalogue failed: {}.", words)};
  }
}

template <class T>
constexpr const char* column_type() {
  if constexpr (std::is_same_v<T, std::string>) return "TEXT NOT NULL";
  if constexpr (std::is_same_v<T, Hash>) return "BLOB NOT NULL";
  if constexpr (std::is_same_v<T, std::optional<std::uint32_t>> ||
                std::is_same_v<T, std::optional<Time>>) {
    return "INTEGER";
  }
  return "INTEGER NOT NULL";
}

// The statements for one kind of row, all from its list of fields.
template <class Row>
struct Sql {
  std::string create, put, drop, select;

  Sql() {
    std::string columns, marks, typed, keys, conditions;
    int n = 0;
    Row row;
    Row::fields(row, [&](const char* name, const auto& value) {
      const bool is_key = n++ < Row::keys;
      const char* comma = n > 1 ? ", " : "";
      columns += fmt::format("{}\"{}\"", comma, name);
      marks += fmt::format("{}?{}", comma, n);
      typed +=
          fmt::format("{}\"{}\" {}", comma, name, column_type<std::decay_t<decltype(value)>>());
      if (!is_key) return;
      keys += fmt::format("{}\"{}\"", comma, name);
      conditions += fmt::format("{}\"{}\" = ?{}", n > 1 ? " AND " : "", name, n);
    });
    create = fmt::format("CREATE TABLE \"{}\" ({}, PRIMARY KEY ({})) STRICT{};", Row::table, typed,
                         keys, Row::keys > 1 ? ", WITHOUT ROWID" : "");
    put = fmt::format("INSERT OR REPLACE INTO \"{}\" ({}) VALUES ({})", Row::table, columns, marks);
    drop = fmt::format("DELETE FROM \"{}\" WHERE {}", Row::table, conditions);
    select = fmt::format("SELECT {} FROM \"{}\"", columns, Row::table);
  }
};

template <class T>
void bind(sqlite3_stmt* statement, int at, const T& value) {
  if constexpr (std::is_same_v<T, std::string>) {
    sqlite3_bind_text(statement, at, value.data(), static_cast<int>(value.size()), SQLITE_STATIC);
  } else if constexpr (std::is_same_v<T, Hash>) {
    sqlite3_bind_blob(statement, at, value.data(), static_cast<int>(value.size()), SQLITE_STATIC);
  } else if constexpr (std::is_same_v<T, Access>) {
    sqlite3_bind_int64(statement, at, static_cast<sqlite3_int64>(value.bits()));
  } else if constexpr (std::is_same_v<T, Time>) {
    sqlite3_bind_int64(statement, at, value.time_since_epoch().count());
  } else {
    sqlite3_bind_int64(statement, at, static_cast<sqlite3_int64>(value));
  }
}
template <class T>
void bind(sqlite3_stmt* statement, int at, const std::optional<T>& value) {
  if (value) {
    bind(statement, at, *value);
  } else {
    sqlite3_bind_null(statement, at);
  }
}

template <class T>
void fetch(sqlite3_stmt* statement, int at, T& value) {
  if constexpr (std::is_same_v<T, std::string>) {
    const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(statement, at));
    value.assign(text == nullptr ? "" : text,
                 static_cast<std::size_t>(sqlite3_column_bytes(statement, at)));
  } else if constexpr (std::is_same_v<T, Hash>) {
    const void* blob = sqlite3_column_blob(statement, at);
    if (sqlite3_column_bytes(statement, at) == static_cast<int>(value.size())) {
      std::memcpy(value.data(), blob, value.size());
    }
  } else if constexpr (std::is_same_v<T, Access>) {
    value = Access(static_cast<unsigned>(sqlite3_column_int64(statement, at)));
  } else if constexpr (std::is_same_v<T, Time>) {
    value = Time(std::chrono::milliseconds(sqlite3_column_int64(statement, at)));
  } else {
    value = static_cast<T>(sqlite3_column_int64(statement, at));
  }
}
template <class T>
void fetch(sqlite3_stmt* statement, int at, std::optional<T>& value) {
  value.reset();
  if (sqlite3_column_type(statement, at) != SQLITE_NULL) fetch(statement, at, value.emplace());
}

template <class Row>
Row fetch_row(sqlite3_stmt* statement) {
  Row row;
  int at = 0;
  Row::fields(row, [&](const char*, auto& value) { fetch(statement, at++, value); });
  return row;
}

}  // namespace

struct Catalog::Impl {
  std::string path;
  std::mutex mutex;
  Database database;
  // Prepared once, by kind of row.
  std::array<Statement, std::variant_size_v<Record>> put;
  std::array<Statement, std::variant_size_v<Record>> drop;

  Error error() { return sqlite_error(database.get()); }

  Status run(const std::string& sql) {
    if (sqlite3_exec(database.get(), sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) {
      return error();
    }
    return {};
  }

  Result<Statement> prepare(const std::string& sql) {
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v2(database.get(), sql.c_str(), -1, &statement, nullptr) != SQLITE_OK) {
      return error();
    }
    return Statement(statement);
  }

  // Steps through all rows of a statement.
  Status each(sqlite3_stmt* statement, const std::function<void(sqlite3_stmt*)>& use) {
    for (;;) {
      const int step = sqlite3_step(statement);
      if (step == SQLITE_DONE) return {};
      if (step != SQLITE_ROW) return error();
      use(statement);
    }
  }

  Result<std::int64_t> single(const std::string& sql) {
    auto statement = prepare(sql);
    if (!statement) return statement.error();
    std::int64_t value = 0;
    auto done =
        each(statement->get(), [&](sqlite3_stmt* row) { value = sqlite3_column_int64(row, 0); });
    if (!done) return done.error();
    return value;
  }

  Status open(const std::string& where, int flags) {
    path = where;
    sqlite3* opened = nullptr;
    const int result =
        sqlite3_open_v2(path.c_str(), &opened, flags | SQLITE_OPEN_FULLMUTEX, nullptr);
    database.reset(opened);
    if (result != SQLITE_OK) return error();
    sqlite3_busy_timeout(opened, 2000);
    return {};
  }

  Status check_format() {
    auto application = single("PRAGMA application_id");
    if (!application) return application.error();
    if (*application != application_id) {
      return Error{Code::damaged, fmt::format("\"{}\" is not a catalogue of Stationer's, or it is "
                                              "damaged. {}.",
                                              path, way_out)};
    }
    auto format = single("PRAGMA user_version");
    if (!format) return format.error();
    if (*format <= schema_format) return {};
    return Error{
        Code::newer_format,
        fmt::format("The volume was written by a newer Stationer (catalogue format {}; this "
                    "program knows {}). Install the newer one; nothing was touched.",
                    *format, schema_format)};
  }

  Status configure() {
    // WAL with FULL: a transaction that has returned survives power loss.
    return run("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA temp_store=MEMORY;");
  }

  Status prepare_all() {
    Status status;
    std::size_t at = 0;
    each_kind_of_row([&]<class Row>(const Row&) {
      const Sql<Row> sql;
      for (auto [into, text] : {std::pair(&put[at], &sql.put), std::pair(&drop[at], &sql.drop)}) {
        auto statement = prepare(*text);
        if (!statement) {
          status = statement.error();
        } else {
          *into = std::move(*statement);
        }
      }
      ++at;
    });
    return status;
  }

  Status apply(const Change& change) {
    const auto kind = change.record.index();
    sqlite3_stmt* statement = (change.drop ? drop : put)[kind].get();
    std::visit(
        [&]<class Row>(const Row& row) {
          int at = 0;
          Row::fields(row, [&](const char*, const auto& value) {
            if (!change.drop || at < Row::keys) bind(statement, at + 1, value);
            ++at;
          });
        },
        change.record);
    const int step = sqlite3_step(statement);
    const Status status = step == SQLITE_DONE ? Status() : Status(error());
    sqlite3_reset(statement);
    return status;
  }
};

Catalog::Catalog(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Catalog::~Catalog() = default;

Result<std::unique_ptr<Catalog>> Catalog::create(const std::string& path) {
  auto impl = std::make_unique<Impl>();
  if (auto opened = impl->open(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE); !opened) {
    return opened.error();
  }
  if (auto configured = impl->configure(); !configured) return configured.error();
  std::string sql = "BEGIN IMMEDIATE;";
  each_kind_of_row([&]<class Row>(const Row&) { sql += Sql<Row>().create; });
  sql += "CREATE TABLE settled (number INTEGER NOT NULL) STRICT; INSERT INTO settled VALUES (0);";
  sql += fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {}; COMMIT;",
                     application_id, schema_format);
  if (auto made = impl->run(sql); !made) return made.error();
  if (auto prepared = impl->prepare_all(); !prepared) return prepared.error();
  return std::unique_ptr<Catalog>(new Catalog(std::move(impl)));
}

Result<std::unique_ptr<Catalog>> Catalog::open(const std::string& path) {
  auto impl = std::make_unique<Impl>();
  if (auto opened = impl->open(path, SQLITE_OPEN_READWRITE); !opened) return opened.error();
  if (auto known = impl->check_format(); !known) return known.error();
  if (auto configured = impl->configure(); !configured) return configured.error();
  if (auto prepared = impl->prepare_all(); !prepared) return prepared.error();
  return std::unique_ptr<Catalog>(new Catalog(std::move(impl)));
}

Result<std::unique_ptr<Catalog>> Catalog::open_copy(const std::string& path) {
  auto impl = std::make_unique<Impl>();
  if (auto opened = impl->open(path, SQLITE_OPEN_READONLY); !opened) return opened.error();
  if (auto known = impl->check_format(); !known) return known.error();
  return std::unique_ptr<Catalog>(new Catalog(std::move(impl)));
}

Status Catalog::copy_to(const std::string& path) {
  // A connection of its own, whose one statement sees one moment; in WAL mode it holds up nobody.
  Impl reader;
  if (auto opened = reader.open(impl_->path, SQLITE_OPEN_READONLY); !opened) return opened;
  auto statement = reader.prepare("VACUUM INTO ?1");
  if (!statement) return statement.error();
  bind(statement->get(), 1, path);
  return reader.each(statement->get(), [](sqlite3_stmt*) {});
}

Status Catalog::load(const std::function<void(Record)>& use) {
  const std::lock_guard lock(impl_->mutex);
  Status status;
  each_kind_of_row([&]<class Row>(const Row&) {
    if constexpr (!std::is_same_v<Row, Digest> && !std::is_same_v<Row, JournalEntry>) {
      if (!status) return;
      auto statement = impl_->prepare(Sql<Row>().select);
      if (!statement) {
        status = statement.error();
        return;
      }
      status = impl_->each(statement->get(), [&](sqlite3_stmt* row) { use(fetch_row<Row>(row)); });
    }
  });
  return status;
}

Result<std::uint64_t> Catalog::settled() {
  const std::lock_guard lock(impl_->mutex);
  auto number = impl_->single("SELECT number FROM settled");
  if (!number) return number.error();
  return static_cast<std::uint64_t>(*number);
}

Status Catalog::apply(std::span<const Change* const> changes, std::uint64_t number) {
  const std::lock_guard lock(impl_->mutex);
  if (auto begun = impl_->run("BEGIN IMMEDIATE"); !begun) return begun;
  Status status;
  for (const Change* change : changes) {
    status = impl_->apply(*change);
    if (!status) break;
  }
  if (status) status = impl_->run(fmt::format("UPDATE settled SET number = {}", number));
  if (status) status = impl_->run("COMMIT");
  // A failed COMMIT may have ended the transaction by itself.
  if (!status && sqlite3_get_autocommit(impl_->database.get()) == 0) {
    static_cast<void>(impl_->run("ROLLBACK"));
  }
  return status;
}

Result<std::optional<Hash>> Catalog::digest(ContentId content) {
  const std::lock_guard lock(impl_->mutex);
  auto statement = impl_->prepare("SELECT content, hash FROM digest WHERE content = ?1");
  if (!statement) return statement.error();
  bind(statement->get(), 1, content);
  std::optional<Hash> hash;
  auto done =
      impl_->each(statement->get(), [&](sqlite3_stmt* row) { hash = fetch_row<Digest>(row).hash; });
  if (!done) return done.error();
  return hash;
}

Status Catalog::each_digest(const std::function<void(const Digest&)>& use) {
  const std::lock_guard lock(impl_->mutex);
  auto statement = impl_->prepare(Sql<Digest>().select);
  if (!statement) return statement.error();
  return impl_->each(statement->get(), [&](sqlite3_stmt* row) { use(fetch_row<Digest>(row)); });
}

Result<std::vector<JournalEntry>> Catalog::journal(const JournalQuery& query) {
  std::string conditions;
  std::vector<std::string> texts;
  const auto need = [&](std::string_view condition, std::string_view text) {
    if (text.empty()) return;
    texts.push_back(ascii_lower(text));
    conditions += fmt::format(" AND {}", fmt::format(fmt::runtime(condition), texts.size()));
  };
  need("lower(who) = ?{}", query.who);
  need("instr(lower(station), ?{}) > 0", query.where);
  need("instr(lower(what), ?{}) > 0", query.what);
  need("instr(lower(subject), ?{}) > 0", query.subject);
  for (const auto& word : query.words) {
    need(
        "instr(lower(who || ' ' || station || ' ' || what || ' ' || subject || ' ' || detail), "
        "?{}) > 0",
        word);
  }
  if (query.from)
    conditions += fmt::format(" AND at >= {}", query.from->time_since_epoch().count());
  if (query.to) conditions += fmt::format(" AND at < {}", query.to->time_since_epoch().count());

  const std::lock_guard lock(impl_->mutex);
  auto statement = impl_->prepare(fmt::format("{} WHERE 1{} ORDER BY id DESC LIMIT {}",
                                              Sql<JournalEntry>().select, conditions, query.most));
  if (!statement) return statement.error();
  int at = 0;
  for (const auto& text : texts) bind(statement->get(), ++at, text);
  std::vector<JournalEntry> entries;
  auto done = impl_->each(statement->get(), [&](sqlite3_stmt* row) {
    entries.push_back(fetch_row<JournalEntry>(row));
  });
  if (!done) return done.error();
  return entries;
}

Status Catalog::whole_journal(const std::function<void(const JournalHead&)>& head,
                              const std::function<void(const JournalEntry&)>& use) {
  const std::lock_guard lock(impl_->mutex);
  auto ends = impl_->prepare(Sql<JournalHead>().select);
  if (!ends) return ends.error();
  JournalHead found;
  auto done =
      impl_->each(ends->get(), [&](sqlite3_stmt* row) { found = fetch_row<JournalHead>(row); });
  if (!done) return done;
  head(found);
  auto entries = impl_->prepare(Sql<JournalEntry>().select + " ORDER BY id");
  if (!entries) return entries.error();
  return impl_->each(entries->get(), [&](sqlite3_stmt* row) { use(fetch_row<JournalEntry>(row)); });
}

Result<std::optional<JournalEntry>> Catalog::newest_surplus(std::uint64_t most,
                                                            std::optional<Time> before) {
  const std::lock_guard lock(impl_->mutex);
  // Times need not run with the numbers when the host's clock was set back.
  auto statement = impl_->prepare(fmt::format(
      "{} WHERE id <= max((SELECT coalesce(max(id), 0) - {} FROM journal), (SELECT "
      "coalesce((SELECT min(id) FROM journal WHERE at >= {}), max(id) + 1) - 1 FROM journal)) "
      "ORDER BY id DESC LIMIT 1",
      Sql<JournalEntry>().select, most,
      before ? before->time_since_epoch().count() : std::int64_t{0}));
  if (!statement) return statement.error();
  std::optional<JournalEntry> found;
  auto done = impl_->each(statement->get(),
                          [&](sqlite3_stmt* row) { found = fetch_row<JournalEntry>(row); });
  if (!done) return done.error();
  return found;
}

Result<std::uint64_t> Catalog::last_journal_id() {
  const std::lock_guard lock(impl_->mutex);
  auto number = impl_->single("SELECT coalesce(max(id), 0) FROM journal");
  if (!number) return number.error();
  return static_cast<std::uint64_t>(*number);
}

Result<std::vector<std::string>> Catalog::integrity() {
  const std::lock_guard lock(impl_->mutex);
  auto statement = impl_->prepare("PRAGMA integrity_check");
  if (!statement) return statement.error();
  std::vector<std::string> findings;
  auto done = impl_->each(statement->get(), [&](sqlite3_stmt* row) {
    std::string words;
    fetch(row, 0, words);
    if (words != "ok") findings.push_back(std::move(words));
  });
  if (!done) return done.error();
  return findings;
}

}  // namespace stationer::fs
