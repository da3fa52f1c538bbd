#include "fs/commit_log.h"

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "tests/support/failing_files.h"
#include "tests/support/temp_folder.h"

using namespace stationer;
using namespace stationer::fs;

namespace {

struct LogFixture {
  test::TempFolder folder;
  std::shared_ptr<test::Failure> failure = std::make_shared<test::Failure>();
  std::unique_ptr<HostFiles> files;
  std::unique_ptr<CommitLog> log;
  std::vector<std::string> read;  // the notices of the commits that were read at opening

  Status open(std::uint64_t settled = 0) {
    log.reset();
    files.reset();
    read.clear();
    auto host = open_host_files(folder.path());
    REQUIRE(host);
    files = std::make_unique<test::FailingFiles>(std::move(*host), failure);
    auto opened = CommitLog::open(*files, settled, [&](Commit commit) {
      read.push_back(std::get<Notice>(commit.changes.at(0).record).text);
    });
    if (!opened) return opened.error();
    log = std::move(*opened);
    return {};
  }

  Status append(const std::vector<std::string>& texts) {
    std::string encoded;
    std::uint64_t number = log->next_number();
    for (const auto& text : texts) {
      Commit commit;
      commit.number = number++;
      Notice notice;
      notice.text = text;
      commit.changes.push_back(put(notice));
      encode(commit, encoded);
    }
    return log->append(encoded, texts.size());
  }

  // The bytes of the only segment that holds commits.
  std::string segment() const { return folder / "log/000001"; }
};

using Texts = std::vector<std::string>;

}  // namespace

TEST_CASE("invariant 1: what was appended is read again, in order") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  CHECK(fixture.append({"one"}));
  CHECK(fixture.append({"two", "three"}));
  REQUIRE(fixture.open());
  CHECK(fixture.read == Texts{"one", "two", "three"});
  CHECK(fixture.log->next_number() == 4);
  CHECK(fixture.append({"four"}));
  REQUIRE(fixture.open(2));
  CHECK(fixture.read == Texts{"three", "four"});
}

TEST_CASE("invariant 1: a write cut at any byte loses that write only") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  REQUIRE(fixture.append({"one"}));
  const auto before = std::filesystem::file_size(fixture.segment());
  std::string whole(before, '\0');
  REQUIRE(fixture.append({"two"}));
  std::ifstream(fixture.segment(), std::ios::binary).read(whole.data(), static_cast<long>(before));
  const auto at = whole.find("two");
  REQUIRE(at != std::string::npos);
  for (std::size_t cut = at - 25; cut < at + 3; ++cut) {
    std::string torn = whole;
    for (std::size_t i = cut; i < at + 40; ++i) torn[i] = '\0';
    {
      std::ofstream file(fixture.segment(), std::ios::binary);
      file.write(torn.data(), static_cast<long>(torn.size()));
    }
    INFO(cut);
    REQUIRE(fixture.open());
    CHECK(fixture.read == Texts{"one"});
    CHECK(fixture.log->next_number() == 2);
  }
}

TEST_CASE("segments are written over once their commits are settled") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  const std::string large(1u << 20, 'x');
  for (std::uint64_t i = 1; i <= 100; ++i) {
    REQUIRE(fixture.append({std::to_string(i) + large}));
    if (i >= 10) fixture.log->release(i - 10);
  }
  std::uint64_t segments = 0;
  for ([[maybe_unused]] const auto& each :
       std::filesystem::directory_iterator(fixture.folder / "log")) {
    ++segments;
  }
  CHECK(segments <= 4);
  REQUIRE(fixture.open(90));
  CHECK(fixture.read.size() == 10);
  CHECK(fixture.read.front() == "91" + large);
}

TEST_CASE("a log that can't be released asks to wait rather than filling the disk") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  const std::string large(7u << 20, 'x');
  Status status;
  for (std::size_t i = 0; i < CommitLog::most_segments + 1 && status; ++i)
    status = fixture.append({large});
  REQUIRE_FALSE(status);
  CHECK(status.error().code == Code::busy);
  fixture.log->release(3);
  CHECK(fixture.append({large}));
}

TEST_CASE("a commit larger than a segment gets a larger segment") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  const std::string huge(CommitLog::segment_size + 5, 'x');
  REQUIRE(fixture.append({"small"}));
  REQUIRE(fixture.append({huge}));
  REQUIRE(fixture.append({"after"}));
  REQUIRE(fixture.open());
  CHECK(fixture.read == Texts{"small", huge, "after"});
}

// The write of "lost" fails after it has reached the disk whole, as a failed flush may leave it.
TEST_CASE("invariant 1: what was refused stays refused, though its bytes reached the disk") {
  for (long fail_at = 1; fail_at <= 6; ++fail_at) {
    LogFixture fixture;
    REQUIRE(fixture.open());
    REQUIRE(fixture.append({"one"}));
    fixture.failure->calls = 0;
    fixture.failure->fail_at = fail_at;
    const Status refused = fixture.append({"lost"});
    fixture.failure->fail_at = 0;
    if (refused) continue;  // fewer calls than that
    REQUIRE(fixture.append({"two"}));
    REQUIRE(fixture.append({"three"}));
    REQUIRE(fixture.open());
    CHECK(fixture.read == Texts{"one", "two", "three"});
  }
}

TEST_CASE("invariant 1: refused several times over, then accepted") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  fixture.failure->code = Code::no_space;
  for (int i = 0; i < 5; ++i) {
    REQUIRE(fixture.append({"kept " + std::to_string(i)}));
    for (long at = 1; at <= 3; ++at) {
      fixture.failure->calls = 0;
      fixture.failure->fail_at = at;
      const Status status = fixture.append({"lost"});
      fixture.failure->fail_at = 0;
      if (!status) CHECK(status.error().code == Code::no_space);
      // What got through all the same counts as kept.
      if (status) REQUIRE(fixture.append({"through"}));
    }
  }
  const auto next = fixture.log->next_number();
  REQUIRE(fixture.open());
  CHECK(fixture.read.size() + 1 == next);
  for (int i = 0; i < 5; ++i) {
    CHECK(std::count(fixture.read.begin(), fixture.read.end(), "kept " + std::to_string(i)) == 1);
  }
}

TEST_CASE("a lost segment is noticed, not skipped") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  const std::string large(3u << 20, 'x');
  for (int i = 0; i < 8; ++i) REQUIRE(fixture.append({large}));
  std::filesystem::remove(fixture.folder / "log/000002");
  const auto opened = fixture.open();
  REQUIRE_FALSE(opened);
  CHECK(opened.error().code == Code::damaged);
}

TEST_CASE("what does not belong in the log's folder is not touched") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  std::ofstream(fixture.folder / "log/notes.txt") << "mine";
  const auto opened = fixture.open();
  REQUIRE_FALSE(opened);
  CHECK(opened.error().message.find("notes.txt") != std::string::npos);
  CHECK(std::filesystem::exists(fixture.folder / "log/notes.txt"));
}
