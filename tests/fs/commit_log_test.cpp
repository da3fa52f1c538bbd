#include "fs/commit_log.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "fs/log_format.h"
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
  std::uint64_t salt = 0;
  bool accept_loss = false;
  std::vector<std::string> read;  // the notices of the commits that were read at opening

  Status open(std::uint64_t settled = 0) {
    log.reset();
    files.reset();
    read.clear();
    auto host = open_host_files(folder.path());
    REQUIRE(host);
    files = std::make_unique<test::FailingFiles>(std::move(*host), failure);
    auto opened = CommitLog::open(*files, {settled, salt, accept_loss}, [&](Commit commit) {
      read.push_back(std::get<Notice>(commit.changes.at(0).record).text);
    });
    if (!opened) return opened.error();
    log = std::move(*opened);
    return {};
  }

  Status append(const std::vector<std::string>& texts) {
    std::string encoded(log_frame_head, '\0');
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

namespace {

// A log in one small segment, which a run that was cut in making it could have left.
struct SmallLog : LogFixture {
  SmallLog(std::size_t size, std::size_t frames) {
    std::filesystem::create_directory(folder / "log");
    write(std::string(size, '\0'));
    REQUIRE(open());
    for (std::size_t i = 0; i < frames; ++i) {
      all.push_back("change " + std::to_string(i + 1));
      REQUIRE(append({all.back()}));
    }
    log.reset();
    whole = bytes();
    used = whole.find_last_not_of('\0') + 1;
    last = whole.rfind(all.back()) - 60;
  }
  std::string bytes() const {
    std::ifstream file(segment(), std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  void write(const std::string& content) const {
    std::ofstream(segment(), std::ios::binary) << content;
  }
  // Opens what is there now. Says whether all is read, or all but the last; or refused in a
  // sentence that says how to go on.
  void check_outcome(bool in_last_frame) {
    const Status opened = open();
    if (!opened) {
      CHECK(opened.error().code == Code::damaged);
      CHECK(opened.error().message.find("--repair --accept-loss") != std::string::npos);
    } else if (read.size() == all.size() - 1) {
      CHECK(in_last_frame);
      CHECK(std::equal(read.begin(), read.end(), all.begin()));
    } else {
      CHECK(read == all);
    }
  }

  std::string whole;
  std::size_t used = 0;
  std::size_t last = 0;  // where the last frame's head begins, or a little before
  Texts all;
};

}  // namespace

TEST_CASE("invariant 1: no bit that flips in the log takes promised changes away unseen") {
  SmallLog log(900, 6);
  for (std::size_t at = 0; at < log.used; ++at) {
    for (int bit = 0; bit < 8; ++bit) {
      std::string damaged = log.whole;
      damaged[at] = static_cast<char>(damaged[at] ^ (1 << bit));
      log.write(damaged);
      INFO(at << " " << bit);
      log.check_outcome(at >= log.last);
    }
  }
}

TEST_CASE("invariant 1: no bytes that go bad amid the log are taken for its end") {
  SmallLog log(900, 6);
  for (std::size_t at = 0; at < log.last - 40; ++at) {
    std::string damaged = log.whole;
    for (std::size_t i = at; i < at + 40; ++i) damaged[i] = '\xE5';
    log.write(damaged);
    INFO(at);
    log.check_outcome(false);
  }
}

TEST_CASE("invariant 1: damage among what is settled costs nothing") {
  SmallLog log(900, 6);
  std::string damaged = log.whole;
  damaged[damaged.find("change 2")] = 'x';
  log.write(damaged);
  REQUIRE_FALSE(log.open(1));
  REQUIRE(log.open(2));
  CHECK(log.read == Texts{"change 3", "change 4", "change 5", "change 6"});
  REQUIRE(log.open(6));
  CHECK(log.read.empty());
}

TEST_CASE("invariant 1: the next segment tells that the end of one is damaged") {
  LogFixture fixture;
  REQUIRE(fixture.open());
  REQUIRE(fixture.append({"one"}));
  REQUIRE(fixture.append({"two"}));
  // Opened anew, the log goes on in a segment of its own; its first write is cut.
  REQUIRE(fixture.open());
  REQUIRE(fixture.append({"three"}));
  fixture.log.reset();
  const auto damage = [&](const char* name, const std::string& what) {
    std::fstream file(fixture.folder / name, std::ios::in | std::ios::out | std::ios::binary);
    std::string bytes(std::istreambuf_iterator<char>(file), {});
    file.seekp(static_cast<long>(bytes.find(what)));
    file << 'x';
  };
  damage("log/000002", "three");
  REQUIRE(fixture.open());
  CHECK(fixture.read == Texts{"one", "two"});
  fixture.log.reset();
  damage("log/000001", "two");
  const auto opened = fixture.open();
  REQUIRE_FALSE(opened);
  CHECK(opened.error().message.find("change 2 can't be read") != std::string::npos);
}

TEST_CASE("what a segment held in an earlier use is no sign of damage") {
  SmallLog log(900, 6);
  REQUIRE(log.open(6));
  REQUIRE(log.append({"change 7"}));
  log.log.reset();
  const std::string whole = log.bytes();
  REQUIRE(whole.find("change 3") != std::string::npos);
  std::string torn = whole;
  torn[torn.find("change 7")] = 'x';
  log.write(torn);
  REQUIRE(log.open(6));
  CHECK(log.read.empty());
  CHECK(log.log->next_number() == 7);
  // Nor when the write of the header was lost, and that of the frame was not.
  std::string headless = whole;
  headless.replace(0, 28, log.whole, 0, 28);
  log.write(headless);
  REQUIRE(log.open(6));
}

TEST_CASE("what looks like a piece of the log in a file that was saved is none") {
  LogFixture fixture;
  fixture.salt = std::uint64_t{77} << 32;
  REQUIRE(fixture.open());
  REQUIRE(fixture.append({"one"}));
  for (std::uint64_t serial = 0; serial < 8; ++serial) {
    Commit commit;
    commit.number = 9;
    Notice notice;
    notice.text = "never";
    commit.changes.push_back(put(notice));
    std::string frame(log_frame_head, '\0');
    encode(commit, frame);
    write_log_frame_head(frame, serial, 9);
    REQUIRE(fixture.open());
    REQUIRE(fixture.append({"a file " + frame + " ends"}));
    fixture.log.reset();
    // The write is cut where it would do harm.
    for (const auto& each : std::filesystem::directory_iterator(fixture.folder / "log")) {
      std::fstream file(each.path(), std::ios::in | std::ios::out | std::ios::binary);
      std::string bytes(std::istreambuf_iterator<char>(file), {});
      if (const auto at = bytes.find(" ends"); at != std::string::npos) {
        file.seekp(static_cast<long>(at));
        file.write("\0\0\0\0\0", 5);
      }
    }
    REQUIRE(fixture.open());
    CHECK(fixture.read == Texts{"one"});
  }
}

TEST_CASE("a damaged log can be gone on without, and is kept") {
  SmallLog log(900, 6);
  std::string damaged = log.whole;
  damaged[damaged.find("change 4")] = 'x';
  log.write(damaged);
  log.accept_loss = true;
  REQUIRE(log.open());
  CHECK(log.read == Texts{"change 1", "change 2", "change 3"});
  REQUIRE(log.log->loss());
  CHECK(log.log->loss()->words() == "change 4");
  REQUIRE(log.log->set_damaged_aside());
  REQUIRE(log.append({"change 4 anew"}));
  log.accept_loss = false;
  REQUIRE(log.open(3));
  CHECK(log.read == Texts{"change 4 anew"});
  std::ifstream kept(log.folder / "rescued/log 000001", std::ios::binary);
  CHECK(std::string(std::istreambuf_iterator<char>(kept), {}) == damaged);
}
