#include "fs/text_index.h"

#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>

#include "tests/support/temp_folder.h"

using namespace stationer;
using namespace stationer::fs;

namespace {

using Pages = std::vector<std::string>;

struct Shelf {
  test::TempFolder folder;
  std::unique_ptr<HostFiles> files;
  std::unique_ptr<TextIndex> index;

  Shelf() {
    auto host = open_host_folder(folder.path());
    REQUIRE(host);
    files = std::move(*host);
    open();
  }

  void open(std::uint64_t most_bytes = 64u << 20) {
    index.reset();
    auto opened = TextIndex::open(*files, folder.path(), most_bytes);
    if (!opened) FAIL(opened.error().message);
    index = std::move(*opened);
  }

  void add(std::uint32_t document, const std::string& title, const Pages& pages) {
    const auto added = index->add(document, document + 100, title, pages);
    if (!added) FAIL(added.error().message);
  }

  // "3.1 the line | 1.2 another": documents, pages and lines.
  std::string find(std::string_view words, std::size_t most = 100) {
    auto hits = index->find(
        words, [](std::uint32_t) { return true; }, most);
    if (!hits) return hits.error().message;
    std::string out;
    for (const auto& hit : *hits) {
      if (!out.empty()) out += " | ";
      out += std::to_string(hit.document) + "." + std::to_string(hit.page) + " " + hit.line;
    }
    return out;
  }

  // Whether the bytes stand anywhere in the index's files.
  bool holds(const std::string& bytes) const {
    for (const auto& each : std::filesystem::directory_iterator(folder.path())) {
      std::ifstream file(each.path(), std::ios::binary);
      const std::string all{std::istreambuf_iterator<char>(file), {}};
      if (all.find(bytes) != std::string::npos) return true;
    }
    return false;
  }
};

}  // namespace

TEST_CASE("what was typed becomes a query that can't be wrong") {
  CHECK(text_query("tide table") == "\"tide\" \"table\"");
  CHECK(text_query("\"high water\" tab*") == "\"high water\" \"tab\" *");
  CHECK(text_query("\"high wat\"* now") == "\"high wat\" * \"now\"");
  CHECK(text_query("\"not closed") == "\"not closed\"");
  CHECK(text_query("NEAR(a b) OR -c ^d title:e {f}") ==
        "\"NEAR(a\" \"b)\" \"OR\" \"-c\" \"^d\" \"title:e\" \"{f}\"");
  CHECK(text_query("don't") == "\"don't\"");
  CHECK(text_query("") == "");
  CHECK(text_query(" \t * \"\" !!! \"- -\" ***") == "");
  std::string many;
  for (int i = 0; i < 100; ++i) many += "word ";
  CHECK(text_query(many).size() == 32 * 7 - 1);
}

TEST_CASE("documents are found by all their words, the newest first, with the line") {
  Shelf shelf;
  shelf.add(1, "Tide table", {"High water at the weir\nlow water at noon\n", "nothing here\n"});
  shelf.add(3, "Letter", {"Dear Wren,\n", "the wheel turns,\nhigh and dry is the water\n"});
  shelf.add(2, "Letter", {"the high road\n", "no water\n"});
  CHECK(shelf.find("water") ==
        "3.2 high and dry is the water | 2.2 no water | "
        "1.1 High water at the weir");
  // Both on one page.
  CHECK(shelf.find("high water") == "3.2 high and dry is the water | 1.1 High water at the weir");
  CHECK(shelf.find("\"high water\"") == "1.1 High water at the weir");
  // Side by side, over the end of a line.
  CHECK(shelf.find("\"weir low\"") == "1.1 High water at the weir");
  CHECK(shelf.find("whe*") == "3.2 the wheel turns,");
  CHECK(shelf.find("whee") == "");
  CHECK(shelf.find("\"high ro\"*") == "2.1 the high road");
  // By the title alone, and by both.
  CHECK(shelf.find("tide") == "1.1 ");
  CHECK(shelf.find("letter wheel") == "3.2 the wheel turns,");
  CHECK(shelf.find("water", 1) == "3.2 high and dry is the water");
  CHECK(shelf.find("absent") == "");
  const auto some = shelf.index->find(
      "water", [](std::uint32_t number) { return number == 1; }, 100);
  REQUIRE(some);
  REQUIRE(some->size() == 1);
  CHECK((*some)[0].document == 1);
}

TEST_CASE("words are found without case and accents") {
  Shelf shelf;
  shelf.add(1, "", {"Caf\u00e9 \u00c9TUDE na\u00efve \u00dcber M\u00dcHLE \u0416\u0443\u043a\n"});
  for (const char* word : {"cafe", "CAF\u00c9", "etude", "\u00e9tude", "NAIVE", "uber",
                           "m\u00fchle", "\u0436\u0443\u043a"}) {
    INFO(word);
    CHECK(shelf.find(word).starts_with("1.1"));
  }
}

TEST_CASE("nonsense finds nothing and breaks nothing") {
  Shelf shelf;
  shelf.add(1, "a", {"plain words\n"});
  for (const std::string typed : {"\"",
                                  "\"\"",
                                  "*",
                                  "AND",
                                  "OR",
                                  "NOT",
                                  "plain AND",
                                  "(",
                                  ")",
                                  "NEAR(",
                                  "title:",
                                  "-",
                                  "^",
                                  "a:b:c",
                                  "\"\"\"",
                                  "'",
                                  "''; DROP TABLE page; --",
                                  "\xff\xfe",
                                  "\x01\x02",
                                  "{",
                                  "+",
                                  ",",
                                  "\"plain\" \"",
                                  "**",
                                  "\\",
                                  "%s%n"}) {
    INFO(typed);
    CHECK(shelf.find(typed) == (typed.starts_with("\"plain\"") ? "1.1 plain words" : ""));
  }
  CHECK(shelf.find(std::string("pl\0ain", 6)) == "");
  CHECK(shelf.find("plain") == "1.1 plain words");
}

TEST_CASE("a long line is shown around the hit") {
  Shelf shelf;
  std::string line;
  for (int i = 0; i < 200; ++i) line += "word" + std::to_string(i) + " ";
  shelf.add(1, "", {"before\n" + line + "\nbehind\n"});
  const std::string shown = shelf.find("word150").substr(4);
  CHECK(shown.size() <= TextIndex::longest_line);
  CHECK(shown.starts_with("word"));
  CHECK(shown.find("word149 word150 word151") != std::string::npos);
  CHECK(shelf.find("word0").starts_with("1.1 word0 word1 "));
  // Never half a character.
  std::string umlauts;
  for (int i = 0; i < 300; ++i) umlauts += "\u00fc";
  shelf.add(2, "", {umlauts + " hit " + umlauts + "\n"});
  const std::string cut = shelf.find("hit").substr(4);
  CHECK(cut.size() <= TextIndex::longest_line);
  CHECK(cut.starts_with("hit \u00fc"));
  // What might be taken for a mark is not in it.
  shelf.add(3, "", {"\x01marks\x02 \x01in the text\x02\n"});
  CHECK(shelf.find("marks") == "3.1  marks   in the text ");
}

TEST_CASE("a removed document is gone, and after wiping its words are in no file") {
  Shelf shelf;
  for (std::uint32_t i = 1; i <= 50; ++i) {
    shelf.add(i, "sluice" + std::to_string(i),
              {"common words and the xylograph" + std::to_string(i) + "\n"});
  }
  CHECK(shelf.holds("xylograph7\n"));
  CHECK_FALSE(*shelf.index->has_remains());
  REQUIRE(shelf.index->remove(std::vector<std::uint32_t>{7, 8, 9999}));
  CHECK(shelf.find("xylograph7") == "");
  CHECK(shelf.find("sluice8") == "");
  CHECK(*shelf.index->has_remains());
  CHECK(shelf.index->documents()->size() == 48);
  CHECK(shelf.index->documents()->at(50) == 150);
  REQUIRE(shelf.index->wipe_remains());
  CHECK_FALSE(*shelf.index->has_remains());
  // SQLite keeps what words have in common once, so only their ends would show.
  CHECK_FALSE(shelf.holds("xylograph7\n"));
  CHECK_FALSE(shelf.holds("sluice8"));
  CHECK(shelf.holds("xylograph50\n"));
  CHECK(shelf.find("xylograph50") == "50.1 common words and the xylograph50");
  // A word of its own, before and behind which nothing is alike.
  shelf.add(60, "qzqz", {"vqkjx\n"});
  CHECK(shelf.holds("vqkjx"));
  REQUIRE(shelf.index->remove(std::vector<std::uint32_t>{60}));
  REQUIRE(shelf.index->wipe_remains());
  CHECK_FALSE(shelf.holds("vqkjx"));
  CHECK_FALSE(shelf.holds("qkjx"));
  CHECK_FALSE(shelf.holds("qzqz"));
  CHECK(shelf.index->check()->empty());
}

TEST_CASE("a document is in the index wholly or not at all") {
  Shelf shelf;
  shelf.add(1, "", {"first\n"});
  // There already.
  CHECK_FALSE(shelf.index->add(1, 1, "", Pages{"second\n", "third\n"}));
  CHECK(shelf.find("second") == "");
  CHECK(shelf.find("first") == "1.1 first");
}

TEST_CASE("the index never grows beyond its bound") {
  Shelf shelf;
  shelf.open(512u << 10);
  std::string page;
  for (int i = 0; i < 2000; ++i) page += "number" + std::to_string(i * 7919) + "\n";
  fs::Status added;
  std::uint32_t count = 0;
  while (added && count < 100) added = shelf.index->add(++count, 1, "", Pages{page});
  REQUIRE_FALSE(added);
  CHECK(added.error().code == Code::no_space);
  CHECK(count > 3);
  CHECK(shelf.find("number7919").starts_with(std::to_string(count - 1) + ".1"));
  shelf.index.reset();
  CHECK(std::filesystem::file_size(shelf.folder / "printouts.index") <= 512u << 10);
}

TEST_CASE("an index that is damaged, or of another format, is made anew") {
  Shelf shelf;
  shelf.add(1, "", {"some words\n"});
  shelf.index.reset();
  SECTION("no database at all") {
    std::ofstream(shelf.folder / "printouts.index", std::ios::trunc) << "this is none\n";
  }
  SECTION("a first page that was written over") {
    std::fstream file(shelf.folder / "printouts.index",
                      std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(20);
    file << std::string(200, 'x');
  }
  SECTION("another format") {
    std::fstream file(shelf.folder / "printouts.index",
                      std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(63);  // the user version: https://www.sqlite.org/fileformat2.html §1.3
    file << '\x02';
  }
  SECTION("gone") {
    std::filesystem::remove(shelf.folder / "printouts.index");
  }
  shelf.open();
  CHECK(shelf.index->documents()->empty());
  shelf.add(1, "", {"other words\n"});
  CHECK(shelf.find("words") == "1.1 other words");
}

TEST_CASE("damage that shows only in use is told as such") {
  Shelf shelf;
  for (std::uint32_t i = 1; i <= 200; ++i) {
    shelf.add(i, "", {"words of document " + std::to_string(i) + " and more of them\n"});
  }
  shelf.index.reset();
  {
    std::fstream file(shelf.folder / "printouts.index",
                      std::ios::in | std::ios::out | std::ios::binary);
    for (int page = 2; page < 12; ++page) {
      file.seekp(page * 4096);
      file << std::string(64, '\xee');
    }
  }
  shelf.open();
  const auto wrong = shelf.index->check();
  CHECK((!wrong || !wrong->empty()));
  const auto hits = shelf.index->find(
      "words", [](std::uint32_t) { return true; }, 1000);
  if (!hits) CHECK(hits.error().code == Code::damaged);
  shelf.index.reset();
  REQUIRE(TextIndex::discard(*shelf.files));
  CHECK(std::filesystem::is_empty(shelf.folder.path()));
  REQUIRE(TextIndex::discard(*shelf.files));
}
