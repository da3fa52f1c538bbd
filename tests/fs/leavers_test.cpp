#include "fs/leavers.h"

#include <algorithm>
#include <map>
#include <string>

#include <catch2/catch.hpp>

#include "fs/archive.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using namespace stationer::test;

namespace {

// wren, with a file that is kept, one in /public, one in the bin, a folder in which robin has
// something, a printout, and notices from and to her.
struct Mill : TestVolume {
  Caller robin, wren;

  Mill() {
    robin = add("robin");
    wren = add("wren");
    REQUIRE(save(wren, "members/wren/letter.txt", "Dear robin"));
    REQUIRE(save(wren, "members/wren/letter.txt", "Dear Robin", true));
    done(files().set_access(wren, at("members/wren/letter.txt"), "a+k"));
    REQUIRE(save(wren, "public/poem", "The weir sings"));
    REQUIRE(save(wren, "members/wren/old", "gone"));
    done(files().remove(wren, at("members/wren/old")));
    done(files().make_folder(wren, at("public/shared")));
    done(files().set_access(wren, at("public/shared"), "e+w"));
    REQUIRE(save(robin, "public/shared/robins", "my own"));
    REQUIRE(make_folders(volume->host_files(), HostPath() / "printouts" / "2027"));
    REQUIRE(write_durably(volume->host_files(), HostPath() / "printouts" / "2027" / "7.pdf",
                          "%PDF-1.7 poem"));
    Printout printout;
    printout.job = 7;
    printout.owner = wren.account;
    printout.queue = "paper";
    printout.title = "A\tpoem";
    printout.pages = 1;
    printout.bytes = 13;
    printout.printed = *now;
    printout.path = "printouts/2027/7.pdf";
    done(desk().add_printouts({printout}));
    done(desk().send_notice(robin, "wren", "Meet at nine"));
    done(desk().send_notice(wren, "robin", "I will"));
  }

  Leavers& leavers() { return volume->leavers(); }

  std::map<std::string, std::string> unpacked(const std::string& path) {
    std::map<std::string, std::string> out;
    auto file = volume->host_files().open(HostPath::from_record(path).value());
    REQUIRE(file);
    ArchiveReader reader(archive_source(**file));
    for (;;) {
      auto entry = reader.next();
      REQUIRE(entry);
      if (!*entry) return out;
      std::string& bytes = out[(*entry)->path.text() + ((*entry)->folder ? "/" : "")];
      std::string piece(100, '\0');
      for (;;) {
        const auto got = reader.read(piece).value();
        if (got == 0) break;
        bytes.append(piece, 0, got);
      }
    }
  }

  void close(const std::string& name, bool closed = true) {
    AccountChange change;
    change.closed = closed;
    done(people().change_account(keeper, name, change));
  }
  std::vector<std::string> whats(const std::string& subject = "") {
    JournalQuery query;
    query.subject = subject;
    std::vector<std::string> out;
    const auto entries = desk().journal(query).value();
    for (const auto& each : entries) out.push_back(each.what);
    return out;
  }
  bool on_host(const std::string& path) {
    return volume->host_files().look(HostPath::from_record(path).value())->has_value();
  }
};

}  // namespace

TEST_CASE("an export has all there is of a person, and nothing of others") {
  Mill mill;
  auto made = mill.leavers().export_person(mill.keeper, "WREN");
  REQUIRE(made);
  CHECK(made->path == "archives/wren/2027-01-15.tar.zst");
  CHECK(made->files == 3);
  CHECK(made->printouts == 1);
  auto there = mill.unpacked(made->path);
  CHECK(there.at("files/members/wren/letter.txt") == "Dear Robin");
  CHECK(there.at("files/public/poem") == "The weir sings");
  CHECK(there.at("printouts/7.pdf") == "%PDF-1.7 poem");
  CHECK(there.count("files/public/shared/") == 1);
  CHECK(there.count("files/public/shared/robins") == 0);
  CHECK(there.at("account.txt").find("name\twren\n") != std::string::npos);
  CHECK(there.at("account.txt").find("argon2") == std::string::npos);
  CHECK(there.at("files.txt").find("files/public/poem\tdata\t") != std::string::npos);
  CHECK(there.at("printouts.txt").find("7\tpaper\tA poem\t") != std::string::npos);
  CHECK(there.at("notices.txt").find("robin\t2027-01-15T08:00:00Z\tMeet at nine\n") !=
        std::string::npos);
  CHECK(there.at("journal.txt").find("\taccount added\twren\t") != std::string::npos);
  CHECK(there.at("journal.txt").find("\taccount added\trobin\t") == std::string::npos);
  std::size_t binned = 0;
  for (const auto& [name, bytes] : there) binned += name.starts_with("bin/") && bytes == "gone";
  CHECK(binned == 1);
  std::size_t former = 0;
  for (const auto& [name, bytes] : there) {
    former += name.starts_with("versions/") && bytes == "Dear robin";
  }
  CHECK(former == 1);
  CHECK(there.at("versions.txt").find(" letter.txt\tletter.txt\t10\t") != std::string::npos);
  CHECK(mill.whats("wren").front() == "person exported");

  // A second on the same day gets a name of its own.
  CHECK(mill.leavers().export_person(mill.keeper, "wren")->path ==
        "archives/wren/2027-01-15 2.tar.zst");
  CHECK(mill.leavers().export_person(mill.robin, "wren").error().code == Code::denied);
  CHECK(mill.leavers().export_person(mill.keeper, "nobody").error().code == Code::not_found);
  CHECK(mill.findings().empty());
}

TEST_CASE("who leaves is archived at once, and their files go when the day is over") {
  Mill mill;
  REQUIRE(mill.save(mill.wren, "members/wren/diary", "Rain"));
  const Time after = *mill.now + std::chrono::days(30);
  auto made = mill.leavers().leave(mill.keeper, "wren", after);
  REQUIRE(made);
  CHECK(mill.people().account("wren")->closed);
  CHECK(mill.people().account("wren")->leaves_after == after);
  mill.reopen();
  REQUIRE(mill.volume->do_what_is_due());
  CHECK(mill.read(mill.keeper, "public/poem").value() == "The weir sings");

  *mill.now = after;
  SECTION("as they were") {
    REQUIRE(mill.volume->do_what_is_due());
    CHECK(mill.unpacked(made->path).at("files/public/poem") == "The weir sings");
    CHECK_FALSE(mill.on_host("archives/wren/2027-02-14.tar.zst"));
  }
  SECTION("what changed since is archived before it goes") {
    REQUIRE(mill.save(mill.keeper, "public/poem", "The weir hums", true));
    TestVolume::done(mill.files().set_owner(mill.keeper, TestVolume::at("public/poem"), "wren"));
    REQUIRE(mill.volume->do_what_is_due());
    CHECK(mill.unpacked("archives/wren/2027-02-14.tar.zst").at("files/public/poem") ==
          "The weir hums");
  }
  SECTION("an archive that is damaged is made again before anything goes") {
    const HostPath path = HostPath::from_record(made->path).value();
    auto file = mill.volume->host_files().open_write(path);
    REQUIRE(file);
    REQUIRE((*file)->write_at(50, "xxxxxxxx"));
    REQUIRE(mill.volume->do_what_is_due());
    CHECK(mill.unpacked("archives/wren/2027-02-14.tar.zst").at("files/public/poem") ==
          "The weir sings");
  }
  SECTION("an archive that is gone is made again, too") {
    REQUIRE(mill.volume->host_files().remove_file(HostPath::from_record(made->path).value()));
    REQUIRE(mill.volume->do_what_is_due());
    CHECK(mill.on_host("archives/wren/2027-02-14.tar.zst"));
  }
  CHECK(mill.read(mill.keeper, "public/poem").error().code == Code::not_found);
  CHECK(mill.read(mill.keeper, "members/wren/diary").error().code == Code::not_found);
  CHECK(mill.read(mill.keeper, "public/shared/robins").value() == "my own");
  CHECK(mill.files().bin(mill.keeper).size() == 3);  // the poem, the diary, and what was there
  // What is kept stays, and where it is.
  CHECK(made->kept == 1);
  CHECK(mill.read(mill.keeper, "members/wren/letter.txt").value() == "Dear Robin");
  CHECK_FALSE(mill.people().account("wren")->leaves_after);
  CHECK(mill.whats().front() == "leaver's files removed");
  CHECK(mill.desk().journal({}).value().front().detail.ends_with("; 1 with the keep bit stay"));
  const auto before = mill.whats().size();
  REQUIRE(mill.volume->do_what_is_due());  // once
  CHECK(mill.whats().size() == before);
  CHECK(mill.findings().empty());
}

TEST_CASE("opening the account takes leaving back") {
  Mill mill;
  const Time after = *mill.now + std::chrono::days(30);
  REQUIRE(mill.leavers().leave(mill.keeper, "wren", after));
  mill.close("wren", false);
  CHECK_FALSE(mill.people().account("wren")->leaves_after);
  *mill.now = after;
  REQUIRE(mill.volume->do_what_is_due());
  CHECK(mill.read(mill.keeper, "public/poem").value() == "The weir sings");
}

TEST_CASE("nothing goes and nothing half is left when archiving fails at any host call") {
  long calls = 0;
  for (long call = 1; call == 1 || call <= calls; ++call) {
    INFO(call);
    Mill mill;
    REQUIRE(mill.volume->drain());
    mill.failure->calls = 0;
    mill.failure->failed = false;
    mill.failure->fail_at = call;
    auto made = mill.leavers().leave(mill.keeper, "wren", *mill.now);
    mill.failure->fail_at = 0;
    if (call == 1) {
      Mill other;
      REQUIRE(other.volume->drain());
      other.failure->calls = 0;
      REQUIRE(other.leavers().leave(other.keeper, "wren", *other.now));
      calls = other.failure->calls;
    }
    if (!made) {
      CHECK_FALSE(made.error().message.empty());
      CHECK_FALSE(mill.people().account("wren")->closed);
      CHECK_FALSE(mill.on_host("incoming/archive.tar.zst"));
    } else {
      CHECK(mill.unpacked(made->path).at("files/public/poem") == "The weir sings");
    }
    CHECK(mill.read(mill.keeper, "public/poem").value() == "The weir sings");
    if (call > 60) break;  // the log's own calls behind it are tested elsewhere
  }
}

TEST_CASE("erasing says first what would go") {
  Mill mill;
  auto preview = mill.leavers().erasure_preview(mill.keeper, "wren");
  REQUIRE(preview);
  REQUIRE(preview->size() == 9);
  CHECK(preview->at(0) == "The account wren goes, with its place in 0 classes.");
  CHECK(preview->at(1) == "4 files and folders of theirs go for good, and 1 more in the bin.");
  CHECK(preview->at(2) == "1 former content of their files go, too.");
  CHECK(preview->at(3) == "1 of these has the keep bit, and goes all the same.");
  CHECK(preview->at(4) == "1 printout, 1 notice for them and 0 archives of them go.");
  CHECK(preview->at(5) ==
        "The folder /public/shared stays, because it holds what is others', and "
        "nobody owns it then.");
  CHECK(preview->at(7).starts_with("Not reached: snapshots"));
  CHECK(preview->at(8) == "First the account has to be closed: stationer account close wren");
  CHECK(mill.leavers().erase(mill.keeper, "wren").error().code == Code::exists);
  CHECK(mill.leavers().erasure_preview(mill.robin, "wren").error().code == Code::denied);
  CHECK(mill.read(mill.keeper, "public/poem").value() == "The weir sings");
}

TEST_CASE("an erased person is gone from everything, and the journal still verifies") {
  Mill mill;
  REQUIRE(mill.leavers().export_person(mill.keeper, "wren"));
  mill.close("wren");
  CHECK(mill.leavers().erase(mill.robin, "wren").error().code == Code::denied);
  REQUIRE(mill.leavers().erase(mill.keeper, "wren"));
  const auto look = [&] {
    CHECK(mill.people().account("wren").error().code == Code::not_found);
    for (const char* path : {"public/poem", "members/wren", "members/wren/letter.txt"}) {
      CHECK_FALSE(mill.files().look(mill.keeper, TestVolume::at(path)));
      CHECK_FALSE(mill.on_host("files/" + std::string(path)));
    }
    CHECK(mill.files().bin(mill.keeper).empty());
    CHECK(mill.volume->host_files().list(HostPath() / "bin")->empty());
    CHECK(mill.volume->host_files().list(HostPath() / "versions")->empty());
    CHECK(mill.read(mill.keeper, "public/shared/robins").value() == "my own");
    CHECK(mill.files().look(mill.keeper, TestVolume::at("public/shared"))->owner.empty());
    CHECK(mill.desk().printouts(mill.keeper, true).empty());
    CHECK_FALSE(mill.on_host("printouts/2027/7.pdf"));
    CHECK_FALSE(mill.on_host("archives/wren"));
    REQUIRE(mill.desk().notices(mill.robin).size() == 1);
    CHECK(mill.desk().notices(mill.robin)[0].from == "(erased)");
    JournalQuery query;
    query.words = {"wren"};
    CHECK(mill.desk().journal(query)->empty());
    auto report = mill.desk().verify_journal();
    REQUIRE(report);
    CHECK(report->signs.empty());
    CHECK(report->erased > 5);
    CHECK(mill.findings().empty());
  };
  REQUIRE(mill.volume->drain());
  look();
  mill.reopen();
  look();
  // Another of that name has nothing to do with it.
  mill.add("wren");
  CHECK(mill.desk().verify_journal()->signs.empty());
  CHECK(mill.desk().notices(mill.caller("wren")).empty());
}

TEST_CASE("two people may be erased whose names stand in the same entry") {
  Mill mill;
  TestVolume::done(mill.desk().note(mill.keeper, "noted", "wren", "with robin"));
  for (const char* name : {"wren", "robin"}) {
    mill.close(name);
    REQUIRE(mill.leavers().erase(mill.keeper, name));
  }
  JournalQuery query;
  query.words = {"robin"};
  CHECK(mill.desk().journal(query)->empty());
  CHECK(mill.desk().verify_journal()->signs.empty());
}

TEST_CASE("an erasure that was cut short can be done again") {
  for (long call = 1; call < 40; call += 3) {
    INFO(call);
    Mill mill;
    mill.close("wren");
    REQUIRE(mill.volume->drain());
    mill.failure->calls = 0;
    mill.failure->stay_dead = true;
    mill.failure->fail_at = call;
    static_cast<void>(mill.leavers().erase(mill.keeper, "wren"));
    mill.volume.reset();
    mill.failure->fail_at = 0;
    mill.failure->stay_dead = false;
    mill.reopen();
    if (mill.people().account("wren")) REQUIRE(mill.leavers().erase(mill.keeper, "wren"));
    JournalQuery query;
    query.words = {"wren"};
    CHECK(mill.desk().journal(query)->empty());
    CHECK(mill.desk().verify_journal()->signs.empty());
    CHECK(mill.findings().empty());
  }
}

namespace {

// wren and robin are in a class; wren hands in, and the class's leader collects.
struct School : Mill {
  Caller sorrel;

  School() {
    done(people().add_class(keeper, "tuesday"));
    done(people().join(keeper, "tuesday", "wren", false));
    done(people().join(keeper, "tuesday", "robin", false));
    sorrel = add("sorrel", Role::leader);
    done(people().join(keeper, "tuesday", "sorrel", true));
    REQUIRE(save(wren, "classes/tuesday/hand-in/essay.txt", "The weir and I"));
    REQUIRE(save(robin, "classes/tuesday/hand-in/essay.txt", "My mill"));
    REQUIRE(volume->hand_ins().collect(sorrel, at("classes/tuesday/hand-in"),
                                       at("members/sorrel/essays")));
    // Marked where it lies, and on a copy of a copy.
    REQUIRE(save(sorrel, "classes/tuesday/hand-in/wren/essay.txt", "The weir and I. Good!", true));
    copy("members/sorrel/essays/wren.txt", "members/sorrel/best.txt");
    // What nobody can know: typed in again.
    REQUIRE(save(sorrel, "public/model.txt", "The weir and I"));
  }

  void copy(const std::string& from, const std::string& to) {
    const auto view = files().look(sorrel, at(from));
    REQUIRE(view);
    auto upload = files().save(sorrel, at(to), as_copy(*view));
    REQUIRE(upload);
    REQUIRE(upload->write(read(sorrel, from).value()));
    done(upload->finish());
  }

  std::vector<std::string> preview() {
    auto sentences = leavers().erasure_preview(keeper, "wren");
    REQUIRE(sentences);
    return *sentences;
  }
  bool says(const std::string& sentence) {
    const auto all = preview();
    return std::find(all.begin(), all.end(), sentence) != all.end();
  }
};

}  // namespace

TEST_CASE("an export has what a person handed in, its receipts, and the copies that leaders have") {
  School mill;
  auto made = mill.leavers().export_person(mill.keeper, "wren");
  REQUIRE(made);
  const auto there = mill.unpacked(made->path);
  CHECK(there.at("hand-ins/1 essay.txt") == "The weir and I. Good!");
  CHECK(there.at("receipts.txt") ==
        "receipt\tpath\thanded in to\tname\tversion\tsize\tat\tlate\thanded back\n"
        "1\thand-ins/1 essay.txt\t/classes/tuesday/hand-in\tessay.txt\t1\t14\t"
        "2027-01-15T08:00:00Z\t\t\n");
  CHECK(there.at("copies/files/members/sorrel/essays/wren.txt") == "The weir and I");
  CHECK(there.at("copies/files/members/sorrel/best.txt") == "The weir and I");
  CHECK(there.at("copies.txt").find("copies/files/members/sorrel/best.txt\t14\t") !=
        std::string::npos);
  std::size_t former = 0;
  for (const auto& [name, bytes] : there) {
    former += name.starts_with("versions/") && bytes == "The weir and I";
    CHECK(bytes != "My mill");
  }
  CHECK(former == 1);  // as it was before it was marked
  // What is gone for good leaves its receipt.
  TestVolume::done(
      mill.files().remove(mill.sorrel, TestVolume::at("classes/tuesday/hand-in/wren")));
  TestVolume::done(mill.files().empty_bin(mill.keeper, true));
  made = mill.leavers().export_person(mill.keeper, "wren");
  REQUIRE(made);
  CHECK(mill.unpacked(made->path).at("receipts.txt").find("1\t\t/classes/tuesday/hand-in\t") !=
        std::string::npos);
}

TEST_CASE("erasing says which copies of hand-ins go, and which files stay and where") {
  School mill;
  CHECK(mill.says("1 hand-in of theirs go, with the receipts."));
  CHECK(mill.says("The copy of what they handed in goes that is files/members/sorrel/best.txt."));
  CHECK(mill.says(
      "The copy of what they handed in goes that is files/members/sorrel/essays/wren.txt."));
  CHECK(mill.says("The list /members/sorrel/essays/list.txt names them, and stays."));
  CHECK(
      mill.says("/public/model.txt has the same contents as what they handed in, and stays: it "
                "belongs to sorrel."));
  for (const auto& sentence : mill.preview()) CHECK(sentence.find("robin") == std::string::npos);
  REQUIRE(mill.save(mill.sorrel, "classes/tuesday/hand-in/wren/marks", "8 of 10"));
  CHECK(
      mill.says("The folder files/classes/tuesday/hand-in/wren stays, because more lies in it than "
                "they handed in."));
}

TEST_CASE("erasing reaches hand-ins and their copies, wherever they were put, and nobody else's") {
  School mill;
  const Usage before = mill.people().account("sorrel")->usage;
  TestVolume::done(mill.files().move(mill.sorrel, TestVolume::at("members/sorrel/essays/wren.txt"),
                                     TestVolume::at("public/w.txt")));
  TestVolume::done(mill.files().remove(mill.sorrel, TestVolume::at("members/sorrel/best.txt")));
  mill.reopen();
  mill.close("wren");
  REQUIRE(mill.leavers().erase(mill.keeper, "wren"));
  for (const char* path : {"public/w.txt", "classes/tuesday/hand-in/wren"}) {
    INFO(path);
    CHECK_FALSE(mill.files().look(mill.keeper, TestVolume::at(path)));
  }
  for (const auto& entry : mill.files().bin(mill.keeper)) {
    CHECK(entry.path != "/members/sorrel/best.txt");
  }
  CHECK(mill.read(mill.sorrel, "members/sorrel/essays/robin.txt").value() == "My mill");
  CHECK(mill.read(mill.sorrel, "classes/tuesday/hand-in/robin/essay.txt").value() == "My mill");
  CHECK(mill.people().account("sorrel")->usage.files + 2 == before.files);
  CHECK(mill.findings().empty());
  mill.reopen();
  CHECK(mill.findings().empty());
}

TEST_CASE("a copy is nobody's work any more when it is gone, and not its number's next user's") {
  School mill;
  TestVolume::done(mill.files().remove(mill.sorrel, TestVolume::at("members/sorrel/best.txt")));
  TestVolume::done(mill.files().empty_bin(mill.sorrel, false));
  REQUIRE(mill.save(mill.robin, "members/robin/mine", "mine"));
  mill.close("wren");
  REQUIRE(mill.leavers().erase(mill.keeper, "wren"));
  CHECK(mill.read(mill.robin, "members/robin/mine").value() == "mine");
  CHECK(mill.findings().empty());
}
