#include "fs/journal.h"

#include <functional>
#include <string>
#include <thread>
#include <vector>

#include <catch2/catch.hpp>
#include <openssl/evp.h>
#include <sqlite3.h>

#include "fs/catalog.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using namespace stationer::test;

namespace {

JournalEntry entry(std::string who, std::string what, std::string subject,
                   std::string detail = "") {
  JournalEntry out;
  out.at = Time(std::chrono::milliseconds(1'800'000'000'000));
  out.who = std::move(who);
  out.where = "terminal 10.0.0.7";
  out.what = std::move(what);
  out.subject = std::move(subject);
  out.detail = std::move(detail);
  return out;
}

struct Book {
  JournalHead head;
  std::vector<JournalEntry> entries;

  JournalEntry& add(JournalEntry added) {
    append(head, added, Hash{1});
    entries.push_back(std::move(added));
    return entries.back();
  }
  std::vector<std::string> signs() const {
    JournalVerifier verifier(head);
    for (const auto& each : entries) verifier.add(each);
    return verifier.finish().signs;
  }
};

Book five() {
  Book book;
  book.add(entry("the keeper", "account added", "robin", "member"));
  book.add(entry("the keeper", "account added", "wren", "member"));
  book.add(entry("robin", "signed in", "robin"));
  book.add(entry("wren", "signed in", "wren"));
  book.add(entry("the keeper", "password set", "wren"));
  return book;
}

using Signs = std::vector<std::string>;

}  // namespace

TEST_CASE("an untouched journal shows no signs") {
  CHECK(Book().signs().empty());
  const Book book = five();
  CHECK(book.signs().empty());
  CHECK(book.head.last == 5);
  CHECK(book.head.hash == book.entries.back().hash);
}

// The chain as the header states it, made here of another library's SHA-256 alone: whoever keeps an
// old hash can compare it without us.
TEST_CASE("the chain is what is written down") {
  const Book book = five();
  const auto text = [](std::string_view value) {
    std::string out;
    for (unsigned shift = 0; shift < 64; shift += 8) {
      out += static_cast<char>(value.size() >> shift & 0xFF);
    }
    return out + std::string(value);
  };
  const auto number = [](std::uint64_t value) {
    std::string out;
    for (unsigned shift = 0; shift < 64; shift += 8)
      out += static_cast<char>(value >> shift & 0xFF);
    return out;
  };
  const auto sha256 = [](const std::string& bytes) {
    std::string out(32, '\0');
    REQUIRE(EVP_Digest(bytes.data(), bytes.size(), reinterpret_cast<unsigned char*>(out.data()),
                       nullptr, EVP_sha256(), nullptr) == 1);
    return out;
  };
  std::string before(32, '\0');
  for (const auto& each : book.entries) {
    const std::string salt(each.seal.begin(), each.seal.end());
    const std::string names =
        sha256(salt + text(each.who) + text(each.subject) + text(each.detail));
    before = sha256(before + number(each.id) + number(1'800'000'000'000) + text(each.where) +
                    text(each.what) + names);
    CHECK(before == std::string(each.hash.begin(), each.hash.end()));
  }
}

TEST_CASE("every field of every entry is held by the chain") {
  const std::vector<std::function<void(JournalEntry&)>> changes{
      [](JournalEntry& each) { each.at += std::chrono::milliseconds(1); },
      [](JournalEntry& each) { each.who += "x"; },
      [](JournalEntry& each) { each.where = "lpd 10.0.0.8"; },
      [](JournalEntry& each) { each.what = "signed off"; },
      [](JournalEntry& each) { each.subject = "sorrel"; },
      [](JournalEntry& each) { each.detail += "x"; },
      [](JournalEntry& each) { each.seal[31] ^= 1; },
      [](JournalEntry& each) { each.hash[0] ^= 1; },
      // The same letters in other fields.
      [](JournalEntry& each) {
        each.detail = each.subject + each.detail;
        each.subject.clear();
      },
  };
  for (std::size_t at = 0; at < 5; ++at) {
    for (std::size_t n = 0; n < changes.size(); ++n) {
      INFO(at << " " << n);
      Book book = five();
      changes[n](book.entries[at]);
      CHECK_FALSE(book.signs().empty());
    }
  }
}

TEST_CASE("what was done to the journal is said in sentences") {
  Book book = five();
  SECTION("changed") {
    book.entries[2].who = "wren";
    CHECK(book.signs() ==
          Signs{"Entry 3 (\"signed in\", 2027-01-15 08:00 UTC) does not fit the one "
                "before it: one of the two was changed."});
  }
  SECTION("changed, and its hash made anew") {
    book.entries[2].who = "wren";
    book.entries[2].hash = chained(book.entries[1].hash, book.entries[2]);
    CHECK(book.signs() ==
          Signs{"Entry 4 (\"signed in\", 2027-01-15 08:00 UTC) does not fit the one "
                "before it: one of the two was changed."});
  }
  SECTION("the last changed, and its hash made anew") {
    book.entries[4].detail = "x";
    book.entries[4].hash = chained(book.entries[3].hash, book.entries[4]);
    CHECK(book.signs() == Signs{"The last entry is not the one that was written last: the end of "
                                "the journal was changed."});
  }
  SECTION("taken out") {
    book.entries.erase(book.entries.begin() + 1, book.entries.begin() + 3);
    CHECK(book.signs() == Signs{"Entries 2 to 3 are missing: taken out of the journal."});
  }
  SECTION("taken out, and those behind it numbered anew") {
    book.entries.erase(book.entries.begin() + 1);
    for (std::size_t at = 1; at < 4; ++at) book.entries[at].id = at + 1;
    CHECK(book.signs().size() == 4);
  }
  SECTION("put in, and those behind it numbered anew") {
    book.entries.insert(book.entries.begin() + 2, book.entries[1]);
    for (std::size_t at = 2; at < 6; ++at) book.entries[at].id = at + 1;
    CHECK_FALSE(book.signs().empty());
  }
  SECTION("cut off at the end") {
    book.entries.resize(3);
    CHECK(book.signs() == Signs{"Entries 4 to 5 are missing: the end of the journal was cut off."});
  }
  SECTION("cut off at the start") {
    book.head.first = 3;
    book.head.before = book.entries[1].hash;
    book.entries.erase(book.entries.begin(), book.entries.begin() + 2);
    CHECK(book.signs() == Signs{"Entries 1 to 2 are missing, and no entry says that they fell off: "
                                "the start of the journal was cut off."});
  }
  SECTION("more at the end") {
    JournalHead other = book.head;
    JournalEntry more = entry("the keeper", "signed in", "robin");
    append(other, more, Hash{1});
    book.entries.push_back(more);
    CHECK(book.signs() == Signs{"Entry 6 (\"signed in\", 2027-01-15 08:00 UTC) is newer than the "
                                "last entry that was written: it was put in."});
  }
  SECTION("all gone") {
    book.entries.clear();
    CHECK(book.signs() == Signs{"Entries 1 to 5 are missing: the end of the journal was cut off."});
  }
  SECTION("who makes all of it anew leaves no sign but the last hash, if somebody kept it") {
    const Hash kept = book.head.hash;
    Book other;
    for (auto each : book.entries) {
      if (each.who == "robin") each.who = "wren";
      other.add(each);
    }
    CHECK(other.signs().empty());
    CHECK(other.head.hash != kept);
  }
}

TEST_CASE("sentences about a journal that is wrong throughout are bounded") {
  Book book;
  for (int n = 0; n < 200; ++n) book.add(entry("robin", "signed in", "robin"));
  for (auto& each : book.entries) each.who = "wren";
  const auto signs = book.signs();
  REQUIRE(signs.size() == JournalReport::most_signs + 1);
  CHECK(signs.back() == "And 150 more like these.");
}

TEST_CASE("a name in an entry is found as a word of its own") {
  const auto found = [](std::string text) {
    return names(entry("x", "y", std::move(text)), "wren");
  };
  CHECK(found("wren"));
  CHECK(found("WREN"));
  CHECK(found("/members/wren/letter.txt"));
  CHECK(found("given to wren."));
  CHECK(found("robin, wren, bram"));
  CHECK_FALSE(found("wrens"));
  CHECK_FALSE(found("wren2"));
  CHECK_FALSE(found("wren-b"));
  CHECK_FALSE(found("wren.b"));
  CHECK_FALSE(found("b.wren"));
  CHECK_FALSE(found(""));
  CHECK(names(entry("wren", "y", ""), "wren"));
  CHECK(names(entry("x", "y", "", "to wren"), "wren"));
  CHECK_FALSE(names(entry("x", "wren", ""), "wren"));
}

TEST_CASE("an erased person leaves a journal that still verifies") {
  Book book = five();
  const auto erase = [&](std::string_view name) {
    const std::uint64_t number = book.head.last + 1;
    Erasure erasure;
    for (auto& each : book.entries) {
      if (!names(each, name) || each.erasure != 0) continue;
      each = without_names(each, name, number);
      if (erasure.entries++ == 0) erasure.first = each.id;
      erasure.last = each.id;
    }
    book.add(entry("the keeper", std::string(erasure_what), "an account", erasure.text()));
  };
  erase("wren");
  CHECK(book.signs().empty());
  for (const auto& each : book.entries) {
    CHECK_FALSE(names(each, "wren"));
  }
  CHECK(book.entries[1].who == "the keeper");
  CHECK(book.entries[1].what == "account added");
  CHECK(book.entries[1].subject == taken_out);
  CHECK(book.entries[3].who == taken_out);
  CHECK(book.entries[2].who == "robin");

  SECTION("what happened, when and where is still proven") {
    book.entries[1].what = "account closed";
    CHECK_FALSE(book.signs().empty());
  }
  SECTION("nobody can take out more and call it the same erasure") {
    book.entries[2] = without_names(book.entries[2], "robin", 6);
    CHECK(book.signs() ==
          Signs{"4 entries from 2 to 5 lack the names in them, and entry 6 does not "
                "say so: they were taken out by somebody else."});
  }
  SECTION("nor without any") {
    book.entries[2] = without_names(book.entries[2], "robin", 3);
    CHECK(book.signs().size() == 1);
  }
  SECTION("a second person goes the same way") {
    erase("robin");
    CHECK(book.signs().empty());
  }
  SECTION("also when the oldest of it have fallen off") {
    book.head.first = 3;
    book.head.before = book.entries[1].hash;
    book.entries.erase(book.entries.begin(), book.entries.begin() + 2);
    book.add(entry("Stationer", std::string(shortened_what), shortened_subject(2)));
    CHECK(book.signs().empty());
  }
}

TEST_CASE("a full name that was changed goes with the person") {
  const auto gone = without_names(
      entry("the keeper", "full name changed", "wren", "Wren of the Weir"), "wren", 9);
  CHECK(gone.subject == taken_out);
  CHECK(gone.detail == taken_out);
}

TEST_CASE("what an erasure says can be read again") {
  const Erasure erasure{12, 3, 480};
  const auto back = Erasure::parse(erasure.text());
  REQUIRE(back);
  CHECK(back->entries == 12);
  CHECK(back->first == 3);
  CHECK(back->last == 480);
  CHECK_FALSE(Erasure::parse("12 3 480"));
  CHECK_FALSE(Erasure::parse(""));
  CHECK_FALSE(Erasure::parse("taken out of 99999999999999999999 entries, from 1 to 2"));
}

namespace {

// Somebody at the host, with the volume's database open.
void tamper(TestVolume& room, const std::string& sql) {
  room.volume.reset();
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open((room.path() + "/catalog.db").c_str(), &database) == SQLITE_OK);
  REQUIRE(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(database);
  room.reopen();
}

std::vector<std::string> signs(TestVolume& room) {
  auto report = room.desk().verify_journal();
  REQUIRE(report);
  return report->signs;
}

}  // namespace

TEST_CASE("invariant 9: a volume's journal shows what was done to its database") {
  TestVolume room;
  for (const char* name : {"robin", "wren", "teasel", "sorrel"}) room.add(name);
  CHECK(signs(room).empty());
  CHECK(room.findings().empty());
  SECTION("an entry changed") {
    tamper(room, "UPDATE journal SET who = 'wren' WHERE id = 2");
    CHECK(room.findings() ==
          "journal the journal: Entry 2 (\"account added\", 2027-01-15 08:00 UTC) does not fit the "
          "one before it: one of the two was changed.\n");
    CHECK(signs(room).size() == 1);
  }
  SECTION("an entry removed") {
    tamper(room, "DELETE FROM journal WHERE id = 3");
    CHECK(signs(room) == Signs{"Entry 3 is missing: taken out of the journal."});
  }
  SECTION("the newest removed, and the journal carried on") {
    tamper(room, "DELETE FROM journal WHERE id > 2");
    CHECK(signs(room) == Signs{"Entries 3 to 4 are missing: the end of the journal was cut off."});
    room.add("bram");
    CHECK(signs(room) == Signs{"Entries 3 to 4 are missing: taken out of the journal."});
  }
  SECTION("the ends set back; what is there is not written over") {
    tamper(room,
           "UPDATE journal_head SET last = 2, hash = (SELECT hash FROM journal WHERE id = 2)");
    CHECK(signs(room).size() == 2);
    room.add("bram");
    CHECK(signs(room).size() == 1);
    JournalQuery query;
    CHECK(room.desk().journal(query)->size() == 5);
  }
  SECTION("the whole journal removed") {
    tamper(room, "DELETE FROM journal");
    CHECK(signs(room).size() == 1);
  }
  SECTION("the ends removed") {
    tamper(room, "DELETE FROM journal_head");
    CHECK_FALSE(signs(room).empty());
    room.add("bram");
    CHECK_FALSE(signs(room).empty());
  }
}

TEST_CASE("the chain has no gap after refused and failed changes, nor after a restart") {
  TestVolume room;
  room.add("robin");
  CHECK_FALSE(room.people().add_account(room.keeper, {"robin", "", Role::member, "", ""}).wait());
  room.add("wren");
  for (int n = 0; n < 3; ++n) {
    room.failure->calls = 0;
    room.failure->fail_at = n + 1;
    static_cast<void>(room.desk().note(room.keeper, "noted", "a thing").wait());
    room.failure->fail_at = 0;
    TestVolume::done(room.desk().note(room.keeper, "noted", "another"));
  }
  CHECK(signs(room).empty());
  room.reopen();
  TestVolume::done(room.desk().note(room.keeper, "noted", "a third"));
  CHECK(signs(room).empty());
}

TEST_CASE("the chain holds when many write at once") {
  TestVolume room;
  std::vector<std::thread> writers;
  for (int n = 0; n < 4; ++n) {
    writers.emplace_back([&] {
      for (int m = 0; m < 50; ++m) {
        static_cast<void>(room.desk().note(room.keeper, "noted", "a thing"));
      }
    });
  }
  for (auto& writer : writers) writer.join();
  auto report = room.desk().verify_journal();
  REQUIRE(report);
  CHECK(report->signs.empty());
  CHECK(report->last == 200);
}

TEST_CASE("the chain holds after a kill at every host call") {
  for (long call = 1; call <= 40; ++call) {
    INFO(call);
    TestVolume room;
    room.failure->calls = 0;
    room.failure->stay_dead = true;
    room.failure->fail_at = call;
    for (int n = 0; n < 4; ++n) static_cast<void>(room.desk().note(room.keeper, "noted", "it"));
    static_cast<void>(room.volume->drain());
    room.volume.reset();
    room.failure->fail_at = 0;
    room.failure->stay_dead = false;
    room.reopen();
    TestVolume::done(room.desk().note(room.keeper, "noted", "after"));
    REQUIRE(signs(room).empty());
  }
}

TEST_CASE("the journal is kept within its limits and stays whole") {
  TestVolume room;
  Desk desk = [&] {
    room.volume.reset();
    // The limits are the keeper's, in volume.toml.
    const std::string path = room.path() + "/volume.toml";
    std::string text = read_outside_file(path, 10'000).value();
    const auto at = text.find("entries = ");
    text.replace(at, text.find('\n', at) - at, "entries = 20");
    REQUIRE(write_outside_file(path, text));
    room.reopen();
    return room.desk();
  }();
  for (int n = 0; n < 20; ++n) TestVolume::done(desk.note(room.keeper, "noted", "early"));
  REQUIRE(room.desk().shorten_journal());
  CHECK(room.desk().verify_journal()->first == 1);  // just as many as may be
  for (int n = 0; n < 5; ++n) TestVolume::done(desk.note(room.keeper, "noted", "later"));
  REQUIRE(room.desk().shorten_journal());
  auto report = room.desk().verify_journal();
  REQUIRE(report);
  CHECK(report->first == 6);
  CHECK(report->last == 26);
  CHECK(report->signs.empty());
  JournalQuery query;
  const auto entries = room.desk().journal(query).value();
  CHECK(entries.size() == 21);
  CHECK(entries.front().who == "Stationer");
  CHECK(entries.front().subject == "entries up to 5");
  CHECK(room.findings().empty());

  SECTION("by age") {
    *room.now += std::chrono::days(401);
    TestVolume::done(desk.note(room.keeper, "noted", "next year"));
    REQUIRE(room.desk().shorten_journal());
    report = room.desk().verify_journal();
    CHECK(report->first == 27);
    CHECK(report->signs.empty());
    room.reopen();
    CHECK(signs(room).empty());
  }
  SECTION("all of it by age") {
    *room.now += std::chrono::days(800);
    REQUIRE(room.desk().shorten_journal());
    CHECK(room.desk().journal(query)->size() == 1);
    CHECK(signs(room).empty());
    REQUIRE(room.desk().shorten_journal());  // nothing more to do
    CHECK(room.desk().journal(query)->size() == 1);
  }
}

TEST_CASE("the journal is searched by all that is said") {
  TestVolume room;
  const Caller robin = room.add("robin");
  room.add("wren");
  Caller elsewhere = robin;
  elsewhere.where = "terminal 10.0.0.9";
  *room.now += std::chrono::hours(1);
  TestVolume::done(room.desk().note(elsewhere, "program started", "/programs/Ledger", "in colour"));
  const auto found = [&](const JournalQuery& query) {
    std::string out;
    for (const auto& each : room.desk().journal(query).value()) {
      out += std::to_string(each.id) + " ";
    }
    return out;
  };
  JournalQuery query;
  CHECK(found(query) == "3 2 1 ");
  SECTION("who") {
    query.who = "Robin";
    CHECK(found(query) == "3 ");
    query.who = "rob";
    CHECK(found(query).empty());
  }
  SECTION("station") {
    query.where = "10.0.0.9";
    CHECK(found(query) == "3 ");
  }
  SECTION("what") {
    query.what = "Added";
    CHECK(found(query) == "2 1 ");
  }
  SECTION("subject") {
    query.subject = "ledger";
    CHECK(found(query) == "3 ");
  }
  SECTION("words, each somewhere") {
    query.words = {"COLOUR", "programs"};
    CHECK(found(query) == "3 ");
    query.words = {"colour", "wren"};
    CHECK(found(query).empty());
    query.words = {"100%"};
    CHECK(found(query).empty());
  }
  SECTION("time") {
    query.from = *room.now;
    CHECK(found(query) == "3 ");
    query.from.reset();
    query.to = *room.now;
    CHECK(found(query) == "2 1 ");
  }
  SECTION("how many") {
    query.most = 2;
    CHECK(found(query) == "3 2 ");
  }
}
