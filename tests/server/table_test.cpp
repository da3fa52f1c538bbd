#include "server/terminal/table.h"

#include <algorithm>

#include <catch2/catch.hpp>

#include "fs/text.h"

using namespace stationer;
using namespace stationer::server;

namespace {

Table folder() {
  Table table({{"name", 0}, {"size", 1, true}, {"access", 2}, {"owner", 3}, {"changed", 4}});
  table.add({"essays/", "", "rw----", "robin", "2027-01-15 08:00"});
  table.add({"letter.txt", "1.2K", "rwr-r-", "robin", "2027-01-15 08:00"});
  table.add({"tide tables of spring.txt", "980", "rwr-r-", "teasel", "2027-01-15 08:00"});
  return table;
}

Table jobs() {
  Table table({{"job", 0, true}, {"state", 0}, {"queue", 1}, {"title"}});
  table.add({"7", "waiting", "paper", "Tide tables"});
  table.add({"12", "held", "essays", "How the mill wheel was mended in the winter of the flood"});
  table.note("It waits for a leader to release it.");
  return table;
}

std::size_t widest(const std::string& text) {
  std::size_t most = 0;
  for (std::size_t at = 0; at < text.size();) {
    const auto end = text.find('\n', at);
    most = std::max(most, fs::characters(text.substr(at, end - at)));
    at = end + 1;
  }
  return most;
}

}  // namespace

TEST_CASE("table: all columns on a screen of 80") {
  CHECK(folder().text(80) ==
        "name                       size  access  owner   changed\n"
        "essays/                          rw----  robin   2027-01-15 08:00\n"
        "letter.txt                 1.2K  rwr-r-  robin   2027-01-15 08:00\n"
        "tide tables of spring.txt   980  rwr-r-  teasel  2027-01-15 08:00\n");
}

TEST_CASE("table: the least important columns go on a screen of 40, and long names keep whole") {
  CHECK(folder().text(40) ==
        "name                 size access owner\n"
        "essays/                   rw---- robin\n"
        "letter.txt           1.2K rwr-r- robin\n"
        "tide tables of spring.txt\n"
        "                      980 rwr-r- teasel\n");
}

TEST_CASE("table: a screen of 20 has the names") {
  CHECK(folder().text(20) ==
        "name           size\n"
        "essays/\n"
        "letter.txt     1.2K\n"
        "tide tables of spring.txt\n"
        "                980\n");
}

TEST_CASE("table: a long last column is wrapped below itself, notes below the row") {
  CHECK(jobs().text(80) ==
        "job  state    queue   title\n"
        "  7  waiting  paper   Tide tables\n"
        " 12  held     essays  How the mill wheel was mended in the winter of the flood\n"
        "  It waits for a leader to release it.\n");
  CHECK(jobs().text(40) ==
        "job state   title\n"
        "  7 waiting Tide tables\n"
        " 12 held    How the mill wheel was\n"
        "            mended in the winter of the\n"
        "            flood\n"
        "  It waits for a leader to release it.\n");
}

TEST_CASE("table: without titles there is no line for them, nor for a single column") {
  Table plain({{"", 0}, {"", 0}});
  plain.add({"kind", "text"});
  plain.add({"size", "980 bytes"});
  CHECK(plain.text(80) == "kind  text\nsize  980 bytes\n");
  Table single({{"name", 0}});
  single.add({"letter.txt"});
  CHECK(single.text(80) == "letter.txt\n");
  CHECK(Table({{"name", 0}}).empty());
}

TEST_CASE("table: a column with nothing in it is left out") {
  Table table({{"name", 0}, {"size", 1, true}, {"owner", 2}});
  table.add({"essays/", "", "robin"});
  table.add({"maps/", "", "wren"});
  CHECK(table.text(80) == "name     owner\nessays/  robin\nmaps/    wren\n");
  Table nothing({{"name", 0}, {"size", 1}});
  nothing.add({"", ""});
  CHECK(nothing.text(80) == "");
}

TEST_CASE("table: characters count, not bytes, and marks count nothing") {
  Table table({{"", 0}, {"", 0}});
  table.add({"café", "1"});
  table.add({"cafe\xCC\x81", "2"});
  table.add({"tide", "3"});
  CHECK(table.text(80) == "café  1\ncafe\xCC\x81  2\ntide  3\n");
}

TEST_CASE("table: no line is wider than the screen, unless one name alone is, and nothing is cut") {
  for (int columns = 1; columns <= 140; ++columns) {
    INFO(columns);
    const std::string text = folder().text(columns);
    const auto room = static_cast<std::size_t>(std::max(columns, 16) - 1);
    CHECK(widest(text) <= std::max<std::size_t>(room, 25));
    for (const char* name : {"essays/", "letter.txt", "tide tables of spring.txt"}) {
      CHECK(text.find(name) != std::string::npos);
    }
    CHECK(text.find(" \n") == std::string::npos);
    if (columns >= 30) CHECK(widest(jobs().text(columns)) <= room);
  }
}
