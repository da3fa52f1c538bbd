#include "fs/commit.h"

#include <random>
#include <string>

#include <catch2/catch.hpp>

using namespace stationer::fs;

namespace {

Commit sample() {
  Commit commit;
  commit.number = 1234567890123;
  Node node;
  node.id = NodeId{77};
  node.parent = files_root;
  node.name = "Letter to the bank.doc";
  node.alias = "LETTER~1.DOC";
  node.kind = Kind::text;
  node.owner = AccountId{5};
  node.access = Access(0x6A);
  node.load_address = 0xFFFFFFFF;
  node.size = 1u << 31;
  node.modified = Time(std::chrono::milliseconds(-5));
  commit.changes.push_back(put(node));
  commit.changes.push_back(drop(node));
  Digest digest;
  digest.content = ContentId{1u << 20};
  digest.hash.fill(0xA5);
  commit.changes.push_back(put(digest));
  commit.changes.push_back(put(Account()));
  commit.changes.push_back(put(Class()));
  commit.changes.push_back(put(Membership{ClassId{1}, AccountId{2}, true}));
  commit.changes.push_back(put(BinEntry()));
  commit.changes.push_back(put(Notice()));
  commit.changes.push_back(put(Printout()));
  commit.changes.push_back(put(JournalEntry()));
  commit.changes.push_back(put(Version()));
  const HostPath files = HostPath() / "files";
  commit.deeds.push_back(MakeFolder{files / "a"});
  commit.deeds.push_back(PlaceFile{files / "b", ContentId{9},
                                   std::make_shared<const std::string>(std::string("by\0tes", 6))});
  commit.deeds.push_back(PlaceFile{files / "c", ContentId{10}, nullptr,
                                   MovePath{files / "c", version_path(ContentId{8}, "c")}});
  commit.deeds.push_back(MovePath{files / "d", HostPath() / "bin" / "8 d"});
  commit.deeds.push_back(RemovePath{files / "e", true});
  return commit;
}

std::string encoded(const Commit& commit) {
  std::string out;
  encode(commit, out);
  return out;
}

}  // namespace

TEST_CASE("a commit comes back from the log as it went in") {
  const std::string bytes = encoded(sample()) + "the next one";
  std::string_view rest = bytes;
  auto back = decode(rest);
  REQUIRE(back);
  CHECK(rest == "the next one");
  CHECK(encoded(*back) == encoded(sample()));
  CHECK(back->changes.size() == 11);
  const auto& node = std::get<Node>(back->changes[0].record);
  CHECK(node.name == "Letter to the bank.doc");
  CHECK(node.load_address == 0xFFFFFFFF);
  CHECK_FALSE(node.entry_point);
  CHECK(node.modified == Time(std::chrono::milliseconds(-5)));
  CHECK(back->changes[1].drop);
  CHECK(*std::get<PlaceFile>(back->deeds[1]).bytes == std::string("by\0tes", 6));
  CHECK_FALSE(std::get<PlaceFile>(back->deeds[2]).bytes);
  CHECK_FALSE(std::get<PlaceFile>(back->deeds[1]).aside);
  const auto& aside = std::get<PlaceFile>(back->deeds[2]).aside;
  REQUIRE(aside);
  CHECK(aside->from.text() == "files/c");
  CHECK(aside->to.text() == "versions/8 c");
}

TEST_CASE("a commit cut short anywhere is refused") {
  const std::string bytes = encoded(sample());
  for (std::size_t length = 0; length < bytes.size(); ++length) {
    std::string_view cut = std::string_view(bytes).substr(0, length);
    INFO(length);
    CHECK_FALSE(decode(cut));
  }
}

TEST_CASE("rubbish gives an error, never a crash, and never a path that leads elsewhere") {
  const std::string bytes = encoded(sample());
  std::mt19937 random(20261125);
  for (int i = 0; i < 20'000; ++i) {
    std::string bad = bytes;
    for (int n = 0; n < 3; ++n) bad[random() % bad.size()] = static_cast<char>(random());
    std::string_view rest = bad;
    auto back = decode(rest);
    if (!back) {
      CHECK(back.error().code == Code::damaged);
      continue;
    }
    for (const auto& deed : back->deeds) {
      if (const auto* made = std::get_if<MakeFolder>(&deed)) {
        CHECK(made->path.text().find("..") == std::string::npos);
      }
    }
  }
}

TEST_CASE("a former content has a place whatever a damaged row calls it") {
  CHECK(version_path(ContentId{7}, "letter").text() == "versions/7 letter");
  CHECK(version_path(ContentId{7}, "../a").text() == "versions/7 .._a");
  CHECK(version_path(ContentId{7}, std::string_view("\0b", 2)).text() == "versions/7 _b");
  CHECK(version_path(ContentId{7}, "").text() == "versions/7 ");
}
