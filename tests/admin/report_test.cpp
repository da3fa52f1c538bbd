// How answers are worded, and that nothing in them can steer a terminal.
#include "admin/report.h"

#include <cstdlib>
#include <ctime>

#include <boost/json/parse.hpp>
#include <catch2/catch.hpp>

#include "admin/job_words.h"
#include "tests/admin/tree.h"

using namespace stationer;
using namespace stationer::admin;
namespace json = boost::json;
using test::Overheard;

namespace {

json::object object(const char* text) {
  return json::parse(text).as_object();
}

}  // namespace

TEST_CASE("a job that is being printed says its page, and how far it was read") {
  const auto printing =
      object(R"({"state": "printing", "page": 12, "read": 3145728, "bytes": 5242880})");
  CHECK(job_state_of(printing) == "page 12");
  CHECK(job_read_of(printing) == "3.0M of 5.0M");
  const auto begun = object(R"({"state": "printing", "page": 0, "read": 0, "bytes": 9})");
  CHECK(job_state_of(begun) == "printing");
  CHECK(job_read_of(begun) == "0 of 9");
  const auto held = object(R"({"state": "held", "page": 0, "read": 0, "bytes": 9})");
  CHECK(job_state_of(held) == "held");
  CHECK(job_read_of(held).empty());
}

TEST_CASE("a field that is missing, null or of another kind shows as nothing") {
  const auto answer = object(R"({"text": "robin", "null": null, "list": ["a"], "minus": -3})");
  CHECK(text_of(answer, "text") == "robin");
  CHECK(text_of(answer, "null").empty());
  CHECK(text_of(answer, "none").empty());
  CHECK(text_of(answer, "list") == "[\"a\"]");
  CHECK(number_of(answer, "text") == 0);
  CHECK(number_of(answer, "minus") == 0);
  CHECK_FALSE(is_set(answer, "text"));
  CHECK(time_of(answer, "text").empty());
  CHECK(time_of(answer, "none").empty());
  CHECK(address_of(answer, "none").empty());
  CHECK(address_of(answer, "null").empty());
  CHECK(names_of(answer, "text").empty());
}

TEST_CASE("numbers, sizes, times, addresses and names are worded") {
  ::setenv("TZ", "UTC", 1);
  ::tzset();
  const auto answer = object(
      R"({"size": 1258291, "at": "2026-11-25T19:30:59.123Z", "load": 6400, "zero": 0,
          "names": ["robin", "wren"], "yes": true})");
  CHECK(number_of(answer, "size") == 1258291);
  CHECK(size_of(answer, "size") == "1.2M");
  CHECK(time_of(answer, "at") == "2026-11-25 19:30");
  CHECK(address_of(answer, "load") == "1900 hex");
  CHECK(address_of(answer, "zero") == "0000 hex");
  CHECK(names_of(answer, "names") == "robin, wren");
  CHECK(is_set(answer, "yes"));
  CHECK(text_of(answer, "size") == "1258291");
}

TEST_CASE("what could steer a terminal is replaced") {
  CHECK(printable("robin's letter") == "robin's letter");
  CHECK(printable("a\x1b[2Jb\r\n\x07") == "a\uFFFD[2Jb\uFFFD\uFFFD\uFFFD");
  CHECK(printable("\u009b31m") == "\uFFFD31m");  // CSI as one character, ECMA-48 5.3
  CHECK(printable("a\u202Eb") == "a\uFFFDb");    // right-to-left override
  CHECK(printable("stra\u00dfe \u2603") == "stra\u00dfe \u2603");
  CHECK(printable("\xff\xfe") == "?");
  CHECK(printable("").empty());

  const Overheard heard;
  complain("bad\x1b[31m name");
  CHECK(heard.err() == "stationer: bad\uFFFD[31m name\n");
  CHECK(heard.out().empty());
}

TEST_CASE("tables line up, and leave empty columns out") {
  const json::array items = {{{"name", "robin"}, {"size", 10}, {"class", ""}},
                             {{"name", "sorrel"}, {"size", 2048}, {"class", ""}}};
  const Overheard heard;
  say_table(
      {text_column("Name", "name"), text_column("Class", "class"), size_column("Size", "size")},
      items);
  CHECK(heard.out() ==
        "Name    Size\n"
        "robin     10\n"
        "sorrel  2.0K\n");
}

TEST_CASE("a note stands under its row, and an empty one does not") {
  const json::array items = {{{"name", "robin"}, {"more", "from afar"}},
                             {{"name", "wren"}, {"more", ""}}};
  const Overheard heard;
  say_table({text_column("Name", "name")}, items,
            [](const json::object& item) { return text_of(item, "more"); });
  const std::string out = heard.out();
  INFO(out);
  CHECK(out.find("robin\n") < out.find(" from afar\n"));
  CHECK(out.ends_with("from afar\nwren\n"));
}

TEST_CASE("facts line up, and leave out what is not known") {
  const Overheard heard;
  say_facts({{"name", "robin"}, {"a much longer label", ""}, {"full name", "Robin"}});
  CHECK(heard.out() ==
        "name       robin\n"
        "full name  Robin\n");
}

TEST_CASE("JSON is one line, control characters and all") {
  const Overheard heard;
  say_json(json::object{{"title", "a\nb\x1b"}, {"none", nullptr}});
  CHECK(heard.out() == "{\"title\":\"a\\nb\\u001b\",\"none\":null}\n");
}

TEST_CASE("words are quoted for a shell when they have to be") {
  CHECK(in_shell("/srv/mill") == "/srv/mill");
  CHECK(in_shell("my room") == "'my room'");
  CHECK(in_shell("robin's") == "'robin'\\''s'");
  CHECK(in_shell("$HOME") == "'$HOME'");
  CHECK(in_shell("") == "''");
}
