#include "admin/csv.h"

#include <catch2/catch.hpp>

using namespace stationer::admin;

namespace {

using Row = std::vector<std::string>;

std::vector<Row> rows(std::string_view text, char separator = ',') {
  const auto read = read_csv(text, separator);
  REQUIRE(read);
  std::vector<Row> out;
  for (const auto& record : *read) out.push_back(record.values);
  return out;
}

// RFC 4180 §2: its rules 1 to 7, with values of our own.
const std::string sample =
    "name,class\r\n"
    "\"Fenn, Robin\",evening\r\n"
    "\"Wren \"\"the\"\" Rill\",\r\n"
    "\"two\r\nlines\",x\r\n"
    "last,row";

}  // namespace

TEST_CASE("values are read by RFC 4180") {
  const std::vector<Row> all = {{"name", "class"},
                                {"Fenn, Robin", "evening"},
                                {"Wren \"the\" Rill", ""},
                                {"two\nlines", "x"},
                                {"last", "row"}};
  CHECK(rows(sample) == all);
  CHECK(rows(sample + "\r\n") == all);
  CHECK(rows("a;b,c;\"d;\"", ';') == std::vector<Row>{{"a", "b,c", "d;"}});
  CHECK(rows("a\tb\t", '\t') == std::vector<Row>{{"a", "b", ""}});
  CHECK(rows("").empty());
}

TEST_CASE("lines end in CR, LF or both, blank ones are none, and each record knows its line") {
  const auto read = read_csv("a\r\rb\n\n  \nc\r\n\"d\n\ne\"\nf", ',');
  REQUIRE(read);
  std::vector<std::pair<std::size_t, std::string>> got;
  for (const auto& each : *read) got.emplace_back(each.line, each.values.front());
  CHECK(got == std::vector<std::pair<std::size_t, std::string>>{
                   {1, "a"}, {3, "b"}, {6, "c"}, {7, "d\n\ne"}, {10, "f"}});
}

TEST_CASE("a quote amid a value is a character, and what follows a closing one is told") {
  const auto read = read_csv("Robin \"Rob\" Fenn,x\n\"Wren\" Rill,y\n\"z\",\"\"\n", ',');
  REQUIRE(read);
  CHECK(read->at(0).values.front() == "Robin \"Rob\" Fenn");
  CHECK_FALSE(read->at(0).torn);
  CHECK(read->at(1).torn);
  CHECK_FALSE(read->at(2).torn);
  CHECK(read->at(2).values == Row{"z", ""});
}

TEST_CASE("a quote that is never closed is told with its line") {
  const auto read = read_csv("a,b\nc,\"d\ne\n", ',');
  REQUIRE_FALSE(read);
  CHECK(read.error().message == "The quote (\") that opens a value in line 2 is never closed.");
}

TEST_CASE("a list cut off anywhere gives the records before the cut, or says what is open") {
  const auto whole = rows(sample);
  for (std::size_t cut = 0; cut <= sample.size(); ++cut) {
    const auto read = read_csv(std::string_view(sample).substr(0, cut), ',');
    if (!read) {
      CHECK(read.error().message.find("never closed") != std::string::npos);
      continue;
    }
    REQUIRE(read->size() <= whole.size());
    for (std::size_t i = 0; i + 1 < read->size(); ++i) CHECK((*read)[i].values == whole[i]);
  }
}
