#include "fs/catalog.h"

#include <algorithm>
#include <iterator>
#include <mutex>
#include <type_traits>

#include <fmt/format.h>

#include "fs/sqlite.h"
#include "fs/text.h"
#include "fs/way_out.h"

namespace stationer::fs {
namespace {

// Stands in PRAGMA user_version. See the upgrade rule in fs/README.md.
constexpr int schema_format = 2;
// Stands in PRAGMA application_id, so that the file can be told from other databases.
constexpr int application_id = 0x53746e72;

// What makes a catalogue of each format one of the next, beginning with format 1. Written out,
// because what a row is by now may be otherwise.
constexpr const char* upgrades[] = {
    "CREATE TABLE station (segment INTEGER NOT NULL, number INTEGER NOT NULL, name TEXT NOT NULL, "
    "profile TEXT NOT NULL, address TEXT NOT NULL, hardware TEXT NOT NULL, line TEXT NOT NULL, "
    "doors TEXT NOT NULL, note TEXT NOT NULL, created INTEGER NOT NULL, "
    "PRIMARY KEY (segment, number)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE boot_name (segment INTEGER NOT NULL, number INTEGER NOT NULL, "
    "asked TEXT NOT NULL, given TEXT NOT NULL, "
    "PRIMARY KEY (segment, number, asked)) STRICT, WITHOUT ROWID;"};
static_assert(std::size(upgrades) == schema_format - 1);

// The format that a kind of row came with.
template <class Row>
constexpr int format_of = std::is_same_v<Row, Station> || std::is_same_v<Row, BootName> ? 2 : 1;

constexpr SqlWords words{"The catalogue, catalog.db,", way_out};

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
void bind(SqlStatement& statement, int at, const T& value) {
  if constexpr (std::is_same_v<T, std::string>) {
    statement.bind(at, std::string_view(value));
  } else if constexpr (std::is_same_v<T, Hash>) {
    statement.bind(at, std::span<const std::uint8_t>(value));
  } else if constexpr (std::is_same_v<T, Access>) {
    statement.bind(at, static_cast<std::int64_t>(value.bits()));
  } else if constexpr (std::is_same_v<T, Time>) {
    statement.bind(at, std::int64_t{value.time_since_epoch().count()});
  } else {
    statement.bind(at, static_cast<std::int64_t>(value));
  }
}
template <class T>
void bind(SqlStatement& statement, int at, const std::optional<T>& value) {
  if (value) {
    bind(statement, at, *value);
  } else {
    statement.bind_null(at);
  }
}

template <class T>
void fetch(SqlStatement& row, int at, T& value) {
  if constexpr (std::is_same_v<T, std::string>) {
    value = row.text(at);
  } else if constexpr (std::is_same_v<T, Hash>) {
    const auto bytes = row.bytes(at);
    if (bytes.size() == value.size()) std::copy(bytes.begin(), bytes.end(), value.begin());
  } else if constexpr (std::is_same_v<T, Access>) {
    value = Access(static_cast<unsigned>(row.number(at)));
  } else if constexpr (std::is_same_v<T, Time>) {
    value = Time(std::chrono::milliseconds(row.number(at)));
  } else {
    value = static_cast<T>(row.number(at));
  }
}
template <class T>
void fetch(SqlStatement& row, int at, std::optional<T>& value) {
  value.reset();
  if (!row.is_null(at)) fetch(row, at, value.emplace());
}

template <class Row>
Row fetch_row(SqlStatement& statement) {
  Row row;
  int at = 0;
  Row::fields(row, [&](const char*, auto& value) { fetch(statement, at++, value); });
  return row;
}

}  // namespace

struct Catalog::Impl {
  Impl(std::string where, SqlDatabase opened)
      : path(std::move(where)), database(std::move(opened)) {}

  std::string path;
  std::mutex mutex;
  SqlDatabase database;
  int format = schema_format;
  // Prepared once, by kind of row.
  std::vector<SqlStatement> put;
  std::vector<SqlStatement> drop;

  static Result<std::unique_ptr<Impl>> open(const std::string& path, SqlDatabase::Mode mode) {
    auto database = SqlDatabase::open(path, mode, words);
    if (!database) return database.error();
    return std::make_unique<Impl>(path, std::move(*database));
  }

  Status check_format() {
    auto application = database.number("PRAGMA application_id");
    if (!application) return application.error();
    if (*application != application_id) {
      return Error{Code::damaged, fmt::format("\"{}\" is not a catalogue of Stationer's, or it is "
                                              "damaged. {}.",
                                              path, way_out)};
    }
    auto version = database.number("PRAGMA user_version");
    if (!version) return version.error();
    if (*version < 1) {
      return Error{Code::damaged,
                   fmt::format("\"{}\" does not say what its format is. {}.", path, way_out)};
    }
    if (*version > schema_format) {
      return Error{
          Code::newer_format,
          fmt::format("The volume was written by a newer Stationer (catalogue format {}; this "
                      "program knows {}). Install the newer one; nothing was touched.",
                      *version, schema_format)};
    }
    format = static_cast<int>(*version);
    return {};
  }

  // All of the way in one transaction: it is of the old format or of ours, never in between.
  Status upgrade() {
    if (format == schema_format) return {};
    auto done = database.transaction([&]() -> Status {
      for (int each = format; each < schema_format; ++each) {
        if (auto run = database.run(upgrades[each - 1]); !run) return run;
      }
      return database.run(fmt::format("PRAGMA user_version = {}", schema_format));
    });
    if (done) format = schema_format;
    return done;
  }

  Status configure() {
    // WAL with FULL: a transaction that has returned survives power loss.
    return database.run(
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA temp_store=MEMORY;");
  }

  Status prepare_all() {
    Status status;
    each_kind_of_row([&]<class Row>(const Row&) {
      const Sql<Row> sql;
      for (auto [into, text] : {std::pair(&put, &sql.put), std::pair(&drop, &sql.drop)}) {
        auto statement = database.prepare(*text);
        if (!statement) {
          status = statement.error();
        } else {
          into->push_back(std::move(*statement));
        }
      }
    });
    return status;
  }

  Status apply(const Change& change) {
    SqlStatement& statement = (change.drop ? drop : put)[change.record.index()];
    std::visit(
        [&]<class Row>(const Row& row) {
          int at = 0;
          Row::fields(row, [&](const char*, const auto& value) {
            if (!change.drop || at < Row::keys) bind(statement, at + 1, value);
            ++at;
          });
        },
        change.record);
    return statement.run();
  }
};

Catalog::Catalog(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Catalog::~Catalog() = default;

Result<std::unique_ptr<Catalog>> Catalog::create(const std::string& path) {
  auto impl = Impl::open(path, SqlDatabase::Mode::create);
  if (!impl) return impl.error();
  if (auto configured = (*impl)->configure(); !configured) return configured.error();
  std::string sql = "BEGIN IMMEDIATE;";
  each_kind_of_row([&]<class Row>(const Row&) { sql += Sql<Row>().create; });
  sql += "CREATE TABLE settled (number INTEGER NOT NULL) STRICT; INSERT INTO settled VALUES (0);";
  sql += fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {}; COMMIT;",
                     application_id, schema_format);
  if (auto made = (*impl)->database.run(sql); !made) return made.error();
  if (auto prepared = (*impl)->prepare_all(); !prepared) return prepared.error();
  return std::unique_ptr<Catalog>(new Catalog(std::move(*impl)));
}

Result<std::unique_ptr<Catalog>> Catalog::open(const std::string& path) {
  auto impl = Impl::open(path, SqlDatabase::Mode::write);
  if (!impl) return impl.error();
  if (auto known = (*impl)->check_format(); !known) return known.error();
  if (auto configured = (*impl)->configure(); !configured) return configured.error();
  if (auto upgraded = (*impl)->upgrade(); !upgraded) return upgraded.error();
  if (auto prepared = (*impl)->prepare_all(); !prepared) return prepared.error();
  return std::unique_ptr<Catalog>(new Catalog(std::move(*impl)));
}

Result<std::unique_ptr<Catalog>> Catalog::open_copy(const std::string& path) {
  auto impl = Impl::open(path, SqlDatabase::Mode::read);
  if (!impl) return impl.error();
  if (auto known = (*impl)->check_format(); !known) return known.error();
  return std::unique_ptr<Catalog>(new Catalog(std::move(*impl)));
}

Status Catalog::copy_to(const std::string& path) {
  // A connection of its own, whose one statement sees one moment; in WAL mode it holds up nobody.
  auto reader = SqlDatabase::open(impl_->path, SqlDatabase::Mode::read, words);
  if (!reader) return reader.error();
  auto statement = reader->prepare("VACUUM INTO ?1");
  if (!statement) return statement.error();
  bind(*statement, 1, path);
  return statement->run();
}

Status Catalog::load(const std::function<void(Record)>& use) {
  const std::lock_guard lock(impl_->mutex);
  Status status;
  each_kind_of_row([&]<class Row>(const Row&) {
    if constexpr (!std::is_same_v<Row, Digest> && !std::is_same_v<Row, JournalEntry>) {
      if (!status || format_of < Row >> impl_->format) return;
      auto statement = impl_->database.prepare(Sql<Row>().select);
      if (!statement) {
        status = statement.error();
        return;
      }
      status = statement->each([&](SqlStatement& row) { use(fetch_row<Row>(row)); });
    }
  });
  return status;
}

Result<std::uint64_t> Catalog::settled() {
  const std::lock_guard lock(impl_->mutex);
  auto number = impl_->database.number("SELECT number FROM settled");
  if (!number) return number.error();
  return static_cast<std::uint64_t>(*number);
}

Status Catalog::apply(std::span<const Change* const> changes, std::uint64_t number) {
  const std::lock_guard lock(impl_->mutex);
  return impl_->database.transaction([&]() -> Status {
    for (const Change* change : changes) {
      if (auto applied = impl_->apply(*change); !applied) return applied;
    }
    return impl_->database.run(fmt::format("UPDATE settled SET number = {}", number));
  });
}

Result<std::optional<Hash>> Catalog::digest(ContentId content) {
  const std::lock_guard lock(impl_->mutex);
  auto statement = impl_->database.prepare("SELECT content, hash FROM digest WHERE content = ?1");
  if (!statement) return statement.error();
  bind(*statement, 1, content);
  std::optional<Hash> hash;
  auto done = statement->each([&](SqlStatement& row) { hash = fetch_row<Digest>(row).hash; });
  if (!done) return done.error();
  return hash;
}

Status Catalog::each_digest(const std::function<void(const Digest&)>& use) {
  const std::lock_guard lock(impl_->mutex);
  auto statement = impl_->database.prepare(Sql<Digest>().select);
  if (!statement) return statement.error();
  return statement->each([&](SqlStatement& row) { use(fetch_row<Digest>(row)); });
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
  auto statement =
      impl_->database.prepare(fmt::format("{} WHERE 1{} ORDER BY id DESC LIMIT {}",
                                          Sql<JournalEntry>().select, conditions, query.most));
  if (!statement) return statement.error();
  int at = 0;
  for (const auto& text : texts) bind(*statement, ++at, text);
  std::vector<JournalEntry> entries;
  auto done =
      statement->each([&](SqlStatement& row) { entries.push_back(fetch_row<JournalEntry>(row)); });
  if (!done) return done.error();
  return entries;
}

Status Catalog::whole_journal(const std::function<void(const JournalHead&)>& head,
                              const std::function<void(const JournalEntry&)>& use) {
  const std::lock_guard lock(impl_->mutex);
  auto ends = impl_->database.prepare(Sql<JournalHead>().select);
  if (!ends) return ends.error();
  JournalHead found;
  auto done = ends->each([&](SqlStatement& row) { found = fetch_row<JournalHead>(row); });
  if (!done) return done;
  head(found);
  auto entries = impl_->database.prepare(Sql<JournalEntry>().select + " ORDER BY id");
  if (!entries) return entries.error();
  return entries->each([&](SqlStatement& row) { use(fetch_row<JournalEntry>(row)); });
}

Result<std::optional<JournalEntry>> Catalog::newest_surplus(std::uint64_t most,
                                                            std::optional<Time> before) {
  const std::lock_guard lock(impl_->mutex);
  // Times need not run with the numbers when the host's clock was set back.
  auto statement = impl_->database.prepare(fmt::format(
      "{} WHERE id <= max((SELECT coalesce(max(id), 0) - {} FROM journal), (SELECT "
      "coalesce((SELECT min(id) FROM journal WHERE at >= {}), max(id) + 1) - 1 FROM journal)) "
      "ORDER BY id DESC LIMIT 1",
      Sql<JournalEntry>().select, most,
      before ? before->time_since_epoch().count() : std::int64_t{0}));
  if (!statement) return statement.error();
  std::optional<JournalEntry> found;
  auto done = statement->each([&](SqlStatement& row) { found = fetch_row<JournalEntry>(row); });
  if (!done) return done.error();
  return found;
}

Result<std::uint64_t> Catalog::last_journal_id() {
  const std::lock_guard lock(impl_->mutex);
  auto number = impl_->database.number("SELECT coalesce(max(id), 0) FROM journal");
  if (!number) return number.error();
  return static_cast<std::uint64_t>(*number);
}

Result<std::vector<std::string>> Catalog::integrity() {
  const std::lock_guard lock(impl_->mutex);
  return impl_->database.findings("integrity_check");
}

}  // namespace stationer::fs
