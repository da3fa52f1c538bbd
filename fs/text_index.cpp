#include "fs/text_index.h"

#include <algorithm>
#include <cctype>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr const char* file_name = "printouts.index";
constexpr int index_format = 1;             // in PRAGMA user_version
constexpr int application_id = 0x53746e69;  // in PRAGMA application_id
constexpr std::uint64_t page_bytes = 4096;  // SQLite's pages
constexpr char before_hit = '\x01';
constexpr char behind_hit = '\x02';

constexpr SqlWords words{"The index of printouts", "It is made anew by itself"};

// Rows in falling order are documents in falling order, each with its pages in rising order.
constexpr std::int64_t row_of(std::uint32_t document, std::uint32_t page) {
  return (std::int64_t{document} << 20) | (TextIndex::most_pages - page);
}
constexpr std::uint32_t document_of(std::int64_t row) {
  return static_cast<std::uint32_t>(row >> 20);
}
constexpr std::uint32_t page_of(std::int64_t row) {
  return TextIndex::most_pages - static_cast<std::uint32_t>(row & TextIndex::most_pages);
}

// The marks that show a hit, and whatever else is no text, are not in the index.
std::string cleaned(std::string_view text) {
  std::string out(clip(text, TextIndex::most_text));
  for (char& c : out) {
    if (static_cast<unsigned char>(c) < 0x20 && c != '\n') c = ' ';
  }
  return out;
}

// The line of a page on which the first hit begins, cut to what is shown of it.
std::string line_of(std::string_view page) {
  const std::size_t hit = page.find(before_hit);
  if (hit == page.npos) return {};
  const std::size_t start = page.rfind('\n', hit) + 1;  // npos + 1 is 0
  std::string_view line = page.substr(start, std::min(page.find('\n', hit), page.size()) - start);
  std::string before(line.substr(0, hit - start));
  std::string behind(line.substr(hit - start));
  std::erase(behind, before_hit);
  std::erase(behind, behind_hit);
  // What is far before the hit goes first, at a blank where there is one.
  constexpr std::size_t lead = TextIndex::longest_line / 3;
  if (before.size() > lead && before.size() + behind.size() > TextIndex::longest_line) {
    const std::size_t most = before.size() - lead;
    const std::size_t blank = before.find(' ', most);
    before.erase(0, blank == before.npos ? clip(before, most).size() : blank + 1);
  }
  before += behind;
  return std::string(clip(before, TextIndex::longest_line));
}

Status set_up(SqlDatabase& database, std::uint64_t most_bytes) {
  // Nothing is lost with the last transactions: they are made again. What was deleted is zeroed.
  return database.run(fmt::format(
      "PRAGMA page_size = {0}; PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL;"
      "PRAGMA secure_delete = ON; PRAGMA temp_store = MEMORY; PRAGMA max_page_count = {1};",
      page_bytes, std::max<std::uint64_t>(most_bytes / page_bytes, 16)));
}

Status make(SqlDatabase& database) {
  return database.run(fmt::format(
      "BEGIN IMMEDIATE;"
      "CREATE TABLE document (number INTEGER PRIMARY KEY, mark INTEGER NOT NULL) STRICT;"
      "CREATE TABLE remains (number INTEGER NOT NULL) STRICT; INSERT INTO remains VALUES (0);"
      "CREATE VIRTUAL TABLE page USING fts5(title, text, tokenize = 'unicode61 remove_diacritics "
      "2');"
      "PRAGMA application_id = {}; PRAGMA user_version = {}; COMMIT;",
      application_id, index_format));
}

}  // namespace

std::string text_query(std::string_view typed) {
  std::string out;
  std::size_t count = 0;
  const auto add = [&](std::string_view term, bool open_ended) {
    const bool word = std::any_of(term.begin(), term.end(), [](char c) {
      return std::isalnum(static_cast<unsigned char>(c)) != 0 ||
             static_cast<unsigned char>(c) > 127;
    });
    if (!word || count++ >= TextIndex::most_words) return;
    if (!out.empty()) out += ' ';
    out.append("\"").append(term).append("\"");
    if (open_ended) out += " *";
  };
  for (std::size_t at = 0; at < typed.size();) {
    const char c = typed[at];
    if (c == '"') {
      const std::size_t end = std::min(typed.find('"', at + 1), typed.size());
      const bool star = end + 1 < typed.size() && typed[end + 1] == '*';
      add(typed.substr(at + 1, end - at - 1), star);
      at = end + (star ? 2 : 1);
    } else if (static_cast<unsigned char>(c) <= 0x20) {
      ++at;
    } else {
      std::size_t end = at;
      while (end < typed.size() && static_cast<unsigned char>(typed[end]) > 0x20 &&
             typed[end] != '"') {
        ++end;
      }
      std::string_view term = typed.substr(at, end - at);
      const bool star = term.ends_with('*');
      while (term.ends_with('*')) term.remove_suffix(1);
      add(term, star);
      at = end;
    }
  }
  return out;
}

Result<std::unique_ptr<TextIndex>> TextIndex::open(HostFiles& files, const std::string& directory,
                                                   std::uint64_t most_bytes) {
  const std::string path = fmt::format("{}/{}", directory, file_name);
  for (const bool first : {true, false}) {
    auto database = SqlDatabase::open(path, SqlDatabase::Mode::create, words);
    if (!database) return database.error();
    auto status = set_up(*database, most_bytes);
    auto format = status ? database->number("PRAGMA user_version") : status.error();
    auto application = format ? database->number("PRAGMA application_id") : format.error();
    if (application && *format == 0 && *application == 0) status = make(*database);
    const bool usable =
        application && status &&
        (*format == 0 || (*format == index_format && *application == application_id));
    if (usable) return std::unique_ptr<TextIndex>(new TextIndex(std::move(*database)));
    if (!application && application.error().code != Code::damaged) return application.error();
    if (application && !status && status.error().code != Code::damaged) return status.error();
    if (!first) break;
    { const SqlDatabase closed = std::move(*database); }
    if (auto gone = discard(files); !gone) return gone.error();
  }
  return Error{Code::damaged, "The index of printouts can't be made."};
}

Status TextIndex::discard(HostFiles& files) {
  for (const char* end : {"-wal", "-shm", ""}) {
    auto gone = files.remove_file(HostPath() / fmt::format("{}{}", file_name, end));
    if (!gone && gone.error().code != Code::not_found) return gone;
  }
  return {};
}

Result<std::map<std::uint32_t, std::uint64_t>> TextIndex::documents() {
  auto statement = database_.prepare("SELECT number, mark FROM document");
  if (!statement) return statement.error();
  std::map<std::uint32_t, std::uint64_t> out;
  auto done = statement->each([&](SqlStatement& row) {
    out.emplace_hint(out.end(), static_cast<std::uint32_t>(row.number(0)),
                     static_cast<std::uint64_t>(row.number(1)));
  });
  if (!done) return done.error();
  return out;
}

Status TextIndex::add(std::uint32_t document, std::uint64_t mark, std::string_view title,
                      std::span<const std::string> pages) {
  const std::string shown_title = cleaned(title);
  return database_.transaction([&]() -> Status {
    auto insert = database_.prepare("INSERT INTO page (rowid, title, text) VALUES (?1, ?2, ?3)");
    if (!insert) return insert.error();
    const auto count = static_cast<std::uint32_t>(std::min<std::size_t>(pages.size(), most_pages));
    for (std::uint32_t page = 0; page < count; ++page) {
      const std::string kept = cleaned(pages[page]);
      insert->bind(1, row_of(document, page + 1));
      insert->bind(2, shown_title);
      insert->bind(3, kept);
      if (auto put = insert->run(); !put) return put;
    }
    auto note = database_.prepare("INSERT INTO document (number, mark) VALUES (?1, ?2)");
    if (!note) return note.error();
    note->bind(1, std::int64_t{document});
    note->bind(2, static_cast<std::int64_t>(mark));
    return note->run();
  });
}

Status TextIndex::remove(std::span<const std::uint32_t> documents) {
  if (documents.empty()) return {};
  return database_.transaction([&]() -> Status {
    auto pages = database_.prepare("DELETE FROM page WHERE rowid BETWEEN ?1 AND ?2");
    if (!pages) return pages.error();
    auto note = database_.prepare("DELETE FROM document WHERE number = ?1");
    if (!note) return note.error();
    for (const std::uint32_t document : documents) {
      pages->bind(1, row_of(document, most_pages));
      pages->bind(2, row_of(document, 0));
      if (auto gone = pages->run(); !gone) return gone;
      note->bind(1, std::int64_t{document});
      if (auto gone = note->run(); !gone) return gone;
    }
    return database_.run("UPDATE remains SET number = 1");
  });
}

Result<bool> TextIndex::has_remains() {
  auto number = database_.number("SELECT number FROM remains");
  if (!number) return number.error();
  return *number != 0;
}

Status TextIndex::wipe_remains() {
  // FTS5 keeps the words of deleted rows in its tree until parts of that are merged; then they lie
  // in free pages, which secure_delete has zeroed; and older states of pages are in the WAL.
  auto done = database_.transaction([&]() -> Status {
    if (auto merged = database_.run("INSERT INTO page (page) VALUES ('optimize')"); !merged) {
      return merged;
    }
    return database_.run("UPDATE remains SET number = 0");
  });
  if (done) done = database_.run("PRAGMA wal_checkpoint(TRUNCATE)");
  return done;
}

Result<std::vector<TextIndex::Hit>> TextIndex::find(
    std::string_view typed, const std::function<bool(std::uint32_t)>& wanted, std::size_t most) {
  std::vector<Hit> hits;
  const std::string query = text_query(typed);
  if (query.empty()) return hits;
  auto rows = database_.prepare("SELECT rowid FROM page WHERE page MATCH ?1 ORDER BY rowid DESC");
  if (!rows) return rows.error();
  rows->bind(1, query);
  std::int64_t last = -1;  // the document that was asked about
  while (hits.size() < most) {
    auto row = rows->step();
    if (!row) return row.error();
    if (!*row) break;
    const std::uint32_t document = document_of(rows->number(0));
    if (last == document) continue;
    last = document;
    if (wanted(document)) hits.push_back({document, page_of(rows->number(0)), {}});
  }
  auto text = database_.prepare(fmt::format(
      "SELECT highlight(page, 1, char({}), char({})) FROM page WHERE page MATCH ?1 AND rowid = ?2",
      int{before_hit}, int{behind_hit}));
  if (!text) return text.error();
  for (Hit& hit : hits) {
    text->bind(1, query);
    text->bind(2, row_of(hit.document, hit.page));
    auto there = text->step();
    if (!there) return there.error();
    if (*there) hit.line = line_of(text->text(0));
    text->reset();
  }
  return hits;
}

Result<std::vector<std::string>> TextIndex::check() {
  return database_.findings("quick_check");
}

}  // namespace stationer::fs
