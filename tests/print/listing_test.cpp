#include "print/listing.h"

#include <random>
#include <string>
#include <vector>

#include "tests/print/pages.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;
using namespace std::string_literals;

namespace {

using Pages = std::vector<std::string>;

struct Listed {
  Pages shown;
  std::uint64_t unknown = 0;
  bool operator==(const Listed&) const = default;
};

// On a form of 10 columns and 6 lines.
Listed list_pieces(const std::vector<std::string_view>& pieces, const ListingRules& rules = {}) {
  Listed out;
  Listing listing({}, rules, lay_out(small_form()).value(), [&out](const Page& page) -> fs::Status {
    out.shown.push_back(show(page));
    return {};
  });
  for (const std::string_view piece : pieces) REQUIRE(listing.feed(piece));
  REQUIRE(listing.finish());
  out.unknown = listing.report().unknown_controls;
  return out;
}

Pages list(std::string_view bytes, const ListingRules& rules = {}) {
  return list_pieces({bytes}, rules).shown;
}

// The same by plain text.
Pages plain(std::string_view bytes) {
  return print_text(bytes).shown;
}

}  // namespace

TEST_CASE("the first column of a listing moves the paper and is not printed") {
  // POSIX.1-2017, asa, OUTPUT FILES; the minus sign: common practice, no source.
  CHECK(list("1A\n B\n0C\n+_\n-D\n") == plain("A\nB\n\nC\b_\n\n\nD"));
}

TEST_CASE("a 1 begins a page, and as the first makes no empty one") {
  CHECK(list("1one\n1two\n two too\n") == plain("one\ftwo\ntwo too"));
  CHECK(list("1one\n1\n1three\n") == plain("one\f\fthree"));
  CHECK(list(" one\n1two\n") == plain("one\ftwo"));
}

TEST_CASE("a plus strikes over: bold, underlined, and as the first record a blank") {
  CHECK(list(" total\n+total\n") == plain("total\rtotal"));
  CHECK(list(" total\n+_____\n") == plain("total\r_____"));
  CHECK(list("+total\n") == plain("total"));  // POSIX.1-2017, asa
}

TEST_CASE("the first record moves on from the first line") {
  CHECK(list(" a\n") == plain("a"));
  CHECK(list("0a\n") == plain("\na"));
  CHECK(list("-a\n") == plain("\n\na"));
}

TEST_CASE("an empty record is a blank line") {
  CHECK(list(" a\n\n b\n") == plain("a\n\nb"));
  CHECK(list("\n a\n") == plain("\na"));
  CHECK(list(" a\r\n\r\n b\r\n") == plain("a\n\nb"));
}

TEST_CASE("records end with LF or CR LF; a CR elsewhere returns") {
  CHECK(list(" a\r\n b\r\n") == list(" a\n b\n"));
  CHECK(list(" ab\rc\n") == plain("ab\rc"));
  CHECK(list(" a") == plain("a"));
}

TEST_CASE("a listing as long as the page fills it and makes no empty one") {
  CHECK(list("1a\n b\n c\n d\n e\n f\n1g\n") == plain("a\nb\nc\nd\ne\nf\fg"));
  CHECK(list("1a\n b\n c\n d\n e\n f\n").size() == 1);
}

TEST_CASE("what means nothing in the first column moves as a blank does, and is counted") {
  const Listed listed = list_pieces({" a\nxb\n7c\n"});
  CHECK(listed.shown == plain("a\nb\nc"));
  CHECK(listed.unknown == 2);
}

TEST_CASE("a minus sign feeds as many lines as the rules say") {
  CHECK(list(" a\n-b\n") == plain("a\n\n\nb"));
  CHECK(list(" a\n-b\n", {.minus_lines = 1}) == plain("a\nb"));
}

TEST_CASE("the control tape's channels move to their lines, if the rules have them") {
  const ListingRules rules = {.channels = {3, 5}};
  CHECK(list("1a\n2b\n3c\n", rules) == plain("a\n\nb\n\nc"));
  CHECK(list("2a\n2b\n", rules) == plain("\n\na\f\n\nb"));  // it is there already
  CHECK(list("3a\n2b\n+b\n c\n", rules) == plain("\n\n\n\na\f\n\nb\rb\nc"));
  CHECK(list_pieces({"1a\n4b\nCc\n"}, rules).unknown == 2);
  const ListingRules all = {.channels = {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 4}};
  CHECK(list("1a\nCc\n", all) == plain("a\n\n\nc"));
  const std::string job = "1A\n2B\n3wide enough to wrap\n2C\n+C\n";
  const Listed whole = list_pieces({job}, rules);
  for (std::size_t at = 0; at <= job.size(); ++at) {
    const std::string_view view = job;
    CHECK(list_pieces({view.substr(0, at), view.substr(at)}, rules) == whole);
  }
}

namespace {

// What asa writes, by the words of POSIX.1-2017, asa, OUTPUT FILES: the first character of a line
// is taken off, and a blank means the rest without change, 0 a newline and the rest, 1 whatever
// moves to the next page and the rest, + that the newline before is whatever returns to the first
// column; as the first character of all it is as a blank. What moves so is ours to say: FF and CR.
std::string asa(std::string_view input) {
  std::string out;
  bool open = false;  // a line whose newline is not yet written
  while (!input.empty()) {
    const std::size_t end = input.find('\n');
    const std::string_view line = input.substr(0, end);
    input.remove_prefix(end + 1);
    const char control = line.front();
    if (open) out += control == '+' ? '\r' : '\n';
    if (control == '0') out += '\n';
    if (control == '1') out += '\f';
    out += line.substr(1);
    open = true;
  }
  return open ? out + '\n' : out;
}

}  // namespace

TEST_CASE("random listings are printed as asa would write them") {
  CHECK(asa("1A\n B\n0C\n+_\n") == "\fA\nB\n\nC\r_\n");
  std::mt19937 random(1);
  for (int round = 0; round < 2000; ++round) {
    std::string records;
    for (auto count = random() % 20; count > 0; --count) {
      records += " 01+ "[random() % 5];
      for (auto width = random() % 10; width > 0; --width) records += " ab_-"[random() % 5];
      records += "ab_-"[random() % 4];
      records += '\n';
    }
    CAPTURE(records);
    // No record is blank: a blank one right before a 1 at the top of the first page makes no page
    // of ours, as nothing was printed there and the paper never moved.
    CHECK(list(records) == plain(asa(records)));
  }
}

TEST_CASE("a listing cut anywhere gives the same pages") {
  const std::string job = "1A\r\n B\r\n0C\r\n+_\r\n-D\n\n+x\n1last\r";
  const Listed whole = list_pieces({job});
  for (std::size_t at = 0; at <= job.size(); ++at) {
    CAPTURE(at);
    const std::string_view view = job;
    CHECK(list_pieces({view.substr(0, at), view.substr(at)}) == whole);
  }
}
