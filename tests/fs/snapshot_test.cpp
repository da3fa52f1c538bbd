#include "fs/snapshot.h"

#include <atomic>
#include <cstdlib>
#include <fstream>
#include <map>
#include <thread>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "fs/snapshot_restore.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using test::TestVolume;

namespace {

// What a person finds in a volume: each path of files/ with its bytes, folders with a slash.
using Contents = std::map<std::string, std::string>;

struct Restored {
  test::TempFolder folder;
  std::unique_ptr<Volume> volume;
  Caller keeper = keeper_at_the_box();

  explicit Restored(const std::string& snapshot) {
    auto place = split_outside_path(snapshot);
    REQUIRE(place);
    auto files = open_host_folder(place->folder);
    REQUIRE(files);
    auto file = (*files)->open(place->name);
    REQUIRE(file);
    auto restored = restore_snapshot(**file, folder / "volume", {});
    if (!restored) FAIL(restored.error().message);
    Surroundings surroundings;
    surroundings.password_cost = test::cheap_password;
    auto opened = Volume::open(folder / "volume", std::move(surroundings));
    if (!opened) FAIL(opened.error().message);
    volume = std::move(*opened);
  }
};

std::string all_of(const Content& content) {
  std::string bytes;
  std::string piece(65536, '\0');
  for (;;) {
    auto got = content.read_at(bytes.size(), piece);
    if (!got) FAIL(got.error().message);
    if (*got == 0) return bytes;
    bytes.append(piece, 0, *got);
  }
}

void gather(Volume& volume, const Caller& keeper, const Path& folder, Contents& into) {
  auto listed = volume.files().list(keeper, folder);
  REQUIRE(listed);
  for (const auto& node : *listed) {
    const std::string text =
        folder.text() == "/" ? "/" + node.name : folder.text() + "/" + node.name;
    const Path path = TestVolume::at(text);
    if (node.folder) {
      into[text + "/"] = "";
      gather(volume, keeper, path, into);
    } else {
      auto content = volume.files().read(keeper, path);
      REQUIRE(content);
      into[text] = all_of(*content);
    }
  }
}

Contents contents_of(Volume& volume) {
  Contents out;
  gather(volume, keeper_at_the_box(), TestVolume::at("/"), out);
  return out;
}

std::string findings(Volume& volume) {
  auto report = volume.check();
  if (!report) return report.error().message;
  std::string out;
  for (const auto& finding : report->findings) out += finding.path + ": " + finding.sentence + "\n";
  return out;
}

Snapshots::Taken take(Volume& volume, const SnapshotProgress& progress = {}) {
  auto taken = volume.snapshots().take("", progress);
  if (!taken) FAIL(taken.error().message);
  return *taken;
}

// A volume with something of everything.
struct Furnished : TestVolume {
  Caller robin = add("robin");

  Furnished() {
    REQUIRE(save(robin, "/members/robin/letter", "first"));
    REQUIRE(save(robin, "/members/robin/letter", "second", true));
    REQUIRE(save(robin, "/members/robin/large", std::string(400'000, 'l')));
    REQUIRE(save(robin,
                 "/members/robin/\xC3\x9C"
                 "ber uns",
                 "not in ASCII"));
    REQUIRE(save(robin, "/members/robin/old", "binned"));
    done(files().remove(robin, at("/members/robin/old")));
    done(files().make_folder(robin, at("/members/robin/empty")));
    Printout printout;
    printout.job = 3;
    printout.path = "printouts/000003-letter.pdf";
    printout.bytes = 3;
    write(printout.path, "pdf");
    done(desk().add_printouts({printout}));
    REQUIRE(make_folders(volume->host_files(), HostPath::from_record("spool/waiting/4").value()));
    REQUIRE(make_folders(volume->host_files(), HostPath::from_record("spool/printing/3").value()));
    REQUIRE(make_folders(volume->host_files(), HostPath::from_record("archives/teasel").value()));
    write("archives/teasel/2026-11-25.tar.zst", "what is kept of teasel");
    write("spool/waiting/4/job.json", "{}");
    write("spool/waiting/4/data", std::string(300'000, 'j'));
    write("spool/printing/3/data", "is a printout already");
  }

  void write(const std::string& path, const std::string& bytes) {
    REQUIRE(write_durably(volume->host_files(), HostPath::from_record(path).value(), bytes));
  }
  std::string there() const { return folder / "volume/snapshots/"; }
};

std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("a snapshot makes the same volume again") {
  Furnished room;
  const auto taken = take(*room.volume);
  CHECK(taken.lost == 0);
  CHECK(taken.info.volume == "Test room");
  CHECK(taken.info.taken == *room.now);
  CHECK(taken.size == std::filesystem::file_size(taken.path));

  Restored restored(taken.path);
  CHECK(contents_of(*restored.volume) == contents_of(*room.volume));
  CHECK(findings(*restored.volume) == "");
  CHECK(restored.volume->people().account(std::string_view("robin")));
  const auto robin = room.robin;
  auto versions = restored.volume->history().versions(robin, room.at("/members/robin/letter"));
  REQUIRE(versions);
  REQUIRE(versions->size() == 1);
  auto former = restored.volume->history().read(robin, room.at("/members/robin/letter"),
                                                versions->front().id);
  REQUIRE(former);
  CHECK(all_of(*former) == "first");
  const auto bin = restored.volume->files().bin(robin);
  REQUIRE(bin.size() == 1);
  room.done(restored.volume->files().restore(robin, bin.front().id));
  auto old = restored.volume->files().read(robin, room.at("/members/robin/old"));
  REQUIRE(old);
  CHECK(all_of(*old) == "binned");
  const std::string place = restored.folder / "volume/";
  CHECK(read_file(place + "printouts/000003-letter.pdf") == "pdf");
  CHECK(read_file(place + "archives/teasel/2026-11-25.tar.zst") == "what is kept of teasel");
  CHECK(read_file(place + "spool/waiting/4/job.json") == "{}");
  CHECK(read_file(place + "spool/waiting/4/data") == std::string(300'000, 'j'));
  // A job that is a printout already is not printed again.
  CHECK_FALSE(std::filesystem::exists(place + "spool/printing/3"));
  CHECK(read_file(place + "volume.toml") == read_file(room.path() + "/volume.toml"));
  // And it goes on from there.
  room.done(restored.volume->files().make_folder(robin, room.at("/members/robin/new")));
}

TEST_CASE("a snapshot tells what it is, and ordinary tools open it") {
  Furnished room;
  const auto taken = take(*room.volume);
  auto files = open_host_folder(room.there());
  REQUIRE(files);
  auto place = split_outside_path(taken.path);
  REQUIRE(place);
  auto file = (*files)->open(place->name);
  REQUIRE(file);
  auto info = describe_snapshot(**file);
  REQUIRE(info);
  CHECK(info->format == snapshot_format);
  CHECK(info->volume == "Test room");
  CHECK(info->taken == *room.now);
  CHECK(info->commit == taken.info.commit);
  // Everything but snapshot.toml and the list of hashes.
  std::uint64_t bytes = 0;
  std::uint64_t entries = 0;
  auto whole = read_snapshot(**file,
                             [&](const ArchiveEntry& entry, ArchiveReader&) {
                               bytes += entry.size;
                               entries += entry.folder ? 0 : 1;
                               return Status();
                             },
                             {});
  REQUIRE(whole);
  CHECK(bytes == info->bytes);
  CHECK(entries == info->files);

  test::TempFolder unpacked;
  const std::string command = fmt::format(
      "cd '{}' && zstd -qt '{}' && tar --zstd -xmf '{}' && sha256sum --quiet -c contents.sha256",
      unpacked.path(), taken.path, taken.path);
  CHECK(std::system(command.c_str()) == 0);
  CHECK(read_file(unpacked / "files/members/robin/letter") == "second");
}

TEST_CASE("a snapshot is as of one commit, whatever is done while it is taken") {
  Furnished room;
  std::string printouts;
  const Contents before = contents_of(*room.volume);
  bool meddled = false;
  const auto taken = take(*room.volume, [&](std::uint64_t, std::uint64_t) {
    if (meddled) return true;
    meddled = true;
    // Everything that is there is replaced, renamed, removed or taken away for good, and settled.
    const auto& robin = room.robin;
    CHECK(room.save(robin, "/members/robin/letter", "third", true));
    CHECK(room.save(robin, "/members/robin/more", "not in it"));
    room.done(
        room.files().move(robin, room.at("/members/robin/empty"), room.at("/members/robin/full")));
    room.done(room.files().remove(robin, room.at("/members/robin/large")));
    room.done(room.files().empty_bin(room.keeper, true));
    room.done(room.desk().discard_printout(room.keeper, 3));
    std::filesystem::remove_all(room.path() + "/spool/waiting/4");
    *room.now += std::chrono::days(400);
    CHECK(room.volume->history().thin().value() > 0);
    CHECK(room.volume->drain());
    return true;
  });
  REQUIRE(meddled);
  CHECK(taken.lost == 0);
  Restored restored(taken.path);
  CHECK(contents_of(*restored.volume) == before);
  CHECK(findings(*restored.volume) == "");
  CHECK(restored.volume->files().bin(room.robin).size() == 1);
  CHECK(restored.volume->history()
            .versions(room.robin, room.at("/members/robin/letter"))
            .value()
            .size() == 1);
  CHECK(read_file(restored.folder / "volume/printouts/000003-letter.pdf") == "pdf");
  CHECK(read_file(restored.folder / "volume/spool/waiting/4/data").size() == 300'000);
  // What was kept for it is gone now.
  CHECK(std::filesystem::is_empty(room.path() + "/held"));
  CHECK(std::filesystem::is_empty(room.path() + "/versions"));
  CHECK(room.findings() == "");
  CHECK(contents_of(*room.volume).count("/members/robin/large") == 0);
}

TEST_CASE("saving goes on all the time, and each snapshot is the state of the commit it names") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.volume->drain());
  // One commit each; the model is what the files were after each of them, told by their first word
  // and their size.
  const auto in_short = [](Contents all) {
    for (auto& [path, bytes] : all) {
      bytes = fmt::format("{} {}", bytes.substr(0, bytes.find(' ')), bytes.size());
    }
    return all;
  };
  std::vector<Contents> model = {in_short(contents_of(*room.volume))};
  const std::uint64_t first = take(*room.volume).info.commit;
  std::atomic<bool> stop = false;
  std::atomic<std::uint64_t> saves = 0;
  std::thread saver([&] {
    Contents now = model.front();
    for (int step = 0; !stop && step < 20'000; ++step) {
      const std::string name = fmt::format("/members/robin/file{}", step % 23);
      if (step % 7 == 6 && now.count(name) != 0) {
        if (!room.files().remove(robin, room.at(name)).wait()) break;
        now.erase(name);
      } else if (step % 61 == 60) {
        if (!room.files().empty_bin(robin, false).wait()) break;
      } else {
        const std::string bytes =
            fmt::format("{} ", step) + std::string(step % 11 == 0 ? 200'000 : 100, 'x');
        if (!room.save(robin, name, bytes, true)) break;
        now[name] = fmt::format("{} {}", step, bytes.size());
      }
      model.push_back(now);
      ++saves;
    }
  });
  std::vector<Snapshots::Taken> snapshots;
  for (int n = 0; n < 2; ++n) {
    const std::uint64_t at_start = saves;
    auto taken = room.volume->snapshots().take(
        room.folder / fmt::format("{}.tar.zst", n), [&](std::uint64_t, std::uint64_t) {
          // Each is made to last until much was saved meanwhile.
          const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(10);
          while (saves < at_start + 40 && std::chrono::steady_clock::now() < deadline) {
            std::this_thread::yield();
          }
          return true;
        });
    if (!taken) {
      stop = true;
      saver.join();
      FAIL(taken.error().message);
    }
    CHECK(saves >= at_start + 40);
    snapshots.push_back(*taken);
  }
  stop = true;
  saver.join();
  for (const auto& taken : snapshots) {
    CHECK(taken.lost == 0);
    REQUIRE(taken.info.commit >= first);
    REQUIRE(taken.info.commit - first < model.size());
    Restored restored(taken.path);
    CHECK((in_short(contents_of(*restored.volume)) == model[taken.info.commit - first]));
    CHECK(findings(*restored.volume) == "");
  }
  CHECK(room.findings() == "");
}

TEST_CASE("one snapshot at a time, and one that is stopped leaves nothing") {
  Furnished room;
  bool refused = false;
  auto stopped = room.volume->snapshots().take("", [&](std::uint64_t, std::uint64_t) {
    auto second = room.volume->snapshots().take(room.folder / "second");
    refused = !second && second.error().code == Code::busy;
    return false;
  });
  CHECK(refused);
  REQUIRE_FALSE(stopped);
  CHECK(stopped.error().code == Code::busy);
  CHECK(std::filesystem::is_empty(room.there()));
  CHECK(std::filesystem::is_empty(room.path() + "/incoming"));
  CHECK_FALSE(std::filesystem::exists(room.folder / "second"));
  take(*room.volume);
}

TEST_CASE("a snapshot never takes another file's place") {
  Furnished room;
  take(*room.volume);
  auto again = room.volume->snapshots().take("");  // the clock stands
  REQUIRE_FALSE(again);
  CHECK(again.error().code == Code::exists);
  CHECK(room.volume->snapshots().list().value().size() == 1);
  auto nowhere = room.volume->snapshots().take(room.folder / "missing/file");
  REQUIRE_FALSE(nowhere);
  CHECK(nowhere.error().code == Code::not_found);
}

TEST_CASE("a snapshot leaves the keeper's reserve of the disk alone") {
  Furnished room;
  auto settings = read_file(room.path() + "/volume.toml");
  const auto at = settings.find("reserve_mib = ");
  REQUIRE(at != std::string::npos);
  settings.insert(at + std::string_view("reserve_mib = ").size(), "99999999");
  room.write("volume.toml", settings);
  room.reopen();
  auto taken = room.volume->snapshots().take("");
  REQUIRE_FALSE(taken);
  CHECK(taken.error().code == Code::no_space);
  CHECK(std::filesystem::is_empty(room.there()));
}

TEST_CASE("what the host lost or changed is told, and the rest is in the snapshot") {
  Furnished room;
  REQUIRE(room.volume->drain());
  std::filesystem::remove(room.path() + "/files/members/robin/large");
  std::ofstream(room.path() + "/files/members/robin/letter") << "meddled with";
  const auto taken = take(*room.volume);
  CHECK(taken.lost == 2);
  REQUIRE(taken.losses.size() == 2);
  const std::string both = taken.losses[0] + taken.losses[1];
  CHECK(both.find("\"files/members/robin/large\" is missing") != std::string::npos);
  CHECK(both.find("\"files/members/robin/letter\" is not what was saved") != std::string::npos);
  Restored restored(taken.path);
  auto read = restored.volume->files().read(room.keeper, room.at("/members/robin/letter"));
  REQUIRE(read);
  CHECK(all_of(*read) == "meddled with");
  CHECK(findings(*restored.volume).find("large") != std::string::npos);
}

TEST_CASE(
    "the Nth failing host call leaves no snapshot, or a whole one, and the volume as it was") {
  Furnished room;
  REQUIRE(room.volume->drain());
  const Contents before = contents_of(*room.volume);
  const auto fail_at = [&](Code code, long n) {
    INFO("call " << n);
    *room.now += std::chrono::seconds(1);
    room.failure->code = code;
    room.failure->failed = false;
    room.failure->calls = 0;
    room.failure->fail_at = n;
    auto taken = room.volume->snapshots().take("");
    room.failure->fail_at = 0;
    const std::filesystem::directory_iterator there(room.there());
    for (const auto& entry : there) CHECK(entry.path().extension() != ".part");
    if (taken && taken->lost == 0) {
      Restored restored(taken->path);
      CHECK((contents_of(*restored.volume) == before));
      std::filesystem::remove(taken->path);
    } else if (!taken) {
      CHECK_FALSE(taken.error().message.empty());
    }
    return room.failure->failed.load();
  };
  long calls = 1;
  while (fail_at(Code::io, calls)) REQUIRE(++calls < 1000);
  CHECK(calls > 30);
  for (long n = 1; n < calls; n += 5) fail_at(Code::no_space, n);
  // What could not be removed then goes with the next one.
  *room.now += std::chrono::seconds(1);
  take(*room.volume);
  CHECK(std::filesystem::is_empty(room.path() + "/incoming"));
  CHECK_FALSE(std::filesystem::exists(room.path() + "/held"));
  CHECK(room.findings() == "");
  CHECK((contents_of(*room.volume) == before));
}

TEST_CASE("each flipped byte and each cut of a snapshot is noticed") {
  TestVolume room;
  const Caller robin = room.add("robin");
  REQUIRE(room.save(robin, "/members/robin/letter", "Dear room"));
  const auto taken = take(*room.volume);
  const std::string bytes = read_file(taken.path);
  auto files = open_host_folder(room.folder.path());
  REQUIRE(files);
  auto file = (*files)->create(HostPath() / "damaged");
  REQUIRE(file);
  REQUIRE((*file)->write_at(0, bytes));
  const SnapshotUse ignore = [](const ArchiveEntry&, ArchiveReader&) { return Status(); };
  REQUIRE(read_snapshot(**file, ignore, {}));
  for (std::size_t at = 0; at < bytes.size(); ++at) {
    const char flipped = static_cast<char>(bytes[at] ^ (1 << at % 8));
    REQUIRE((*file)->write_at(at, {&flipped, 1}));
    auto read = read_snapshot(**file, ignore, {});
    if (read || read.error().code != Code::damaged) FAIL("flipped at " << at);
    REQUIRE((*file)->write_at(at, {&bytes[at], 1}));
  }
  for (std::size_t size = 0; size < bytes.size(); size += 1 + size / 50) {
    INFO("cut at " << size);
    auto cut = (*files)->create(HostPath() / "cut");
    REQUIRE(cut);
    REQUIRE((*cut)->write_at(0, bytes.substr(0, size)));
    auto read = read_snapshot(**cut, ignore, {});
    REQUIRE_FALSE(read);
    CHECK(read.error().code == Code::damaged);
    // Nothing of it is left where it was to be restored.
    const std::string place = room.folder / "restored";
    CHECK_FALSE(restore_snapshot(**cut, place, {}));
    CHECK((!std::filesystem::exists(place) || std::filesystem::is_empty(place)));
  }
}

TEST_CASE("what is no snapshot is refused as that") {
  test::TempFolder folder;
  auto files = open_host_folder(folder.path());
  REQUIRE(files);
  const auto code_of = [&](std::string_view bytes) {
    auto file = (*files)->create(HostPath() / "file");
    REQUIRE(file);
    REQUIRE((*file)->write_at(0, bytes));
    auto info = describe_snapshot(**file);
    REQUIRE_FALSE(info);
    return info.error().code;
  };
  CHECK(code_of("") == Code::bad_input);
  CHECK(code_of("a letter") == Code::bad_input);
  std::string archive;
  ArchiveWriter writer([&](std::string_view bytes) {
    archive += bytes;
    return Status();
  });
  REQUIRE(writer.add_file(HostPath() / "letter", "text", Time{}));
  REQUIRE(writer.finish());
  CHECK(code_of(archive) == Code::bad_input);
  std::string newer;
  ArchiveWriter later([&](std::string_view bytes) {
    newer += bytes;
    return Status();
  });
  REQUIRE(later.add_file(HostPath() / "snapshot.toml", "[snapshot]\nformat = 999\n", Time{}));
  REQUIRE(later.finish());
  CHECK(code_of(newer) == Code::newer_format);
}

TEST_CASE("a rehearsal restores, checks, and leaves nothing behind") {
  Furnished room;
  const auto taken = take(*room.volume);
  auto place = split_outside_path(taken.path);
  auto files = open_host_folder(place->folder);
  REQUIRE(files);
  auto file = (*files)->open(place->name);
  REQUIRE(file);
  std::uint64_t last = 0;
  auto rehearsed =
      rehearse_snapshot(**file, room.folder / "trial", [&](std::uint64_t done, std::uint64_t all) {
        CHECK(done >= last);
        CHECK(done <= all);
        last = done;
        return true;
      });
  REQUIRE(rehearsed);
  CHECK(last > 0);
  CHECK(rehearsed->report.findings.empty());
  CHECK(rehearsed->report.files > 0);
  CHECK(rehearsed->info.commit == taken.info.commit);
  CHECK_FALSE(std::filesystem::exists(room.folder / "trial"));
  // Never into a folder with something in it.
  auto refused = restore_snapshot(**file, room.path(), {});
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Code::exists);
}

TEST_CASE("of the snapshots in their folder the plan's are kept, and nothing else is touched") {
  TestVolume room;
  for (int day = 0; day < 10; ++day) {
    take(*room.volume);
    *room.now += std::chrono::days(1);
  }
  std::ofstream(room.path() + "/snapshots/notes.txt") << "the keeper's own";
  std::ofstream(room.path() + "/snapshots/test-room-2026-01-01-000000.tar.zst.part") << "cut short";
  CHECK(room.volume->snapshots().list().value().size() == 10);
  REQUIRE(room.volume->snapshots().thin(std::chrono::seconds(0)));
  const auto kept = room.volume->snapshots().list().value();
  CHECK(kept.size() >= 7);
  CHECK(kept.size() < 10);
  CHECK(kept.front().taken > kept.back().taken);
  CHECK(std::filesystem::exists(room.path() + "/snapshots/notes.txt"));
  CHECK_FALSE(
      std::filesystem::exists(room.path() + "/snapshots/test-room-2026-01-01-000000.tar.zst.part"));
}

TEST_CASE("what a hold kept aside is gone after the next start") {
  Furnished room;
  REQUIRE(room.volume->drain());
  REQUIRE(make_folders(room.volume->host_files(), HostPath() / "held"));
  room.write("held/12", "left by a run that was cut short");
  room.reopen();
  CHECK(std::filesystem::is_empty(room.path() + "/held"));
}
