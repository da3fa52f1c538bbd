#include "fs/hand_ins.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/local_time.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::fs;
using std::chrono::hours;
using test::TestVolume;

namespace {

const std::string here = "/classes/tuesday/hand-in";

struct ClassRoom : TestVolume {
  ClassRoom() {
    done(people().add_class(keeper, "tuesday"));
    robin = add("robin", Role::member, "tuesday");
    wren = add("wren", Role::member, "tuesday");
    bram = add("bram", Role::member, "tuesday");
    sorrel = add("sorrel", Role::leader, "tuesday");
    teasel = add("teasel");
  }

  HandIns& hand_ins() { return volume->hand_ins(); }

  Caller robin, wren, bram, sorrel, teasel;

  void close(std::optional<Time> opens, std::optional<Time> closes, bool late = false) {
    done(hand_ins().set_times(sorrel, at(here), {opens, closes, late}));
  }
  Status hand_in(const Caller& caller, const std::string& name, std::string_view bytes) {
    return save(caller, here + "/" + name, bytes);
  }
  std::vector<std::string> names(const Caller& caller, const std::string& path) {
    std::vector<std::string> out;
    const auto views = files().list(caller, at(path));
    if (!views) return {views.error().message};
    for (const auto& view : *views) out.push_back(view.name);
    return out;
  }
  // Who has handed in and how often: "bram 0, robin 2".
  std::string counts() {
    std::string out;
    const auto roll = hand_ins().roll(sorrel, at(here));
    if (!roll) return roll.error().message;
    for (const auto& entry : roll->entries) {
      out += fmt::format("{}{} {}", out.empty() ? "" : ", ", entry.account, entry.receipts.size());
    }
    return out;
  }
};

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE(
    "a hand-in gets a receipt, and lies where leaders read it and its owner can't change it") {
  ClassRoom room;
  auto upload = room.files().save(room.robin, room.at(here + "/essay.txt"), {});
  REQUIRE(upload);
  REQUIRE(upload->write("my feet say"));
  CHECK_FALSE(upload->receipt());
  REQUIRE(upload->finish().wait());
  REQUIRE(upload->receipt());
  CHECK(*upload->receipt() == 1);

  const auto receipts = room.hand_ins().receipts(room.robin);
  REQUIRE(receipts.size() == 1);
  CHECK(receipts[0].number == 1);
  CHECK(receipts[0].place == here);
  CHECK(receipts[0].name == "essay.txt");
  CHECK(receipts[0].version == 1);
  CHECK(receipts[0].size == 11);
  CHECK(receipts[0].at == *room.now);
  CHECK_FALSE(receipts[0].late);
  CHECK_FALSE(receipts[0].returned);
  CHECK(receipts[0].there);

  const std::string filed = here + "/robin/essay.txt";
  CHECK(*room.read(room.sorrel, filed) == "my feet say");
  CHECK(room.read(room.robin, filed).error().code == Code::denied);
  CHECK(room.save(room.robin, filed, "other", true).error().code == Code::denied);
  CHECK(room.refused(room.files().remove(room.robin, room.at(filed))) == Code::denied);
  CHECK(room.refused(room.files().set_access(room.robin, room.at(filed), "e+r")) == Code::denied);
  CHECK(room.files().list(room.robin, room.at(here)).error().code == Code::denied);

  room.reopen();
  CHECK(room.hand_ins().receipts(room.robin).size() == 1);
  CHECK(*room.read(room.sorrel, filed) == "my feet say");
  CHECK(room.findings() == "");
}

TEST_CASE("the same name again is a version more, and the earlier one stays whole") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay.txt", "first"));
  REQUIRE(room.hand_in(room.robin, "Essay.TXT", "second"));
  REQUIRE(room.hand_in(room.robin, "map", "lines"));
  const auto receipts = room.hand_ins().receipts(room.robin);
  REQUIRE(receipts.size() == 3);
  CHECK(receipts[0].name == "map");
  CHECK(receipts[0].version == 1);
  CHECK(receipts[1].version == 2);
  CHECK(receipts[2].version == 1);
  CHECK(room.names(room.sorrel, here + "/robin") == Names{"Essay-2.TXT", "essay.txt", "map"});
}

TEST_CASE("two people with the same file name never meet, nor learn of each other") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay.txt", "robin's"));
  REQUIRE(room.hand_in(room.wren, "essay.txt", "wren's"));
  // Not even by the names of the folders in there.
  REQUIRE(room.hand_in(room.wren, "robin", "a file"));
  CHECK(room.refused(room.files().make_folder(room.wren, room.at(here + "/robin"))) ==
        Code::denied);
  CHECK(room.refused(room.files().make_folder(room.wren, room.at(here + "/free"))) == Code::denied);
  CHECK(*room.read(room.sorrel, here + "/robin/essay.txt") == "robin's");
  CHECK(*room.read(room.sorrel, here + "/wren/essay.txt") == "wren's");
  CHECK(room.hand_ins().receipts(room.wren).size() == 2);
  CHECK(room.hand_ins().receipts(room.robin).size() == 1);
  CHECK(room.counts() == "bram 0, robin 1, wren 2");
}

TEST_CASE("moving something in would keep its owner, and is refused") {
  ClassRoom room;
  REQUIRE(room.save(room.robin, "/members/robin/essay.txt", "mine"));
  const auto moved =
      room.files()
          .move(room.robin, room.at("/members/robin/essay.txt"), room.at(here + "/essay.txt"))
          .wait();
  REQUIRE_FALSE(moved);
  CHECK(moved.error().message.find("copying") != std::string::npos);
  CHECK(*room.read(room.robin, "/members/robin/essay.txt") == "mine");
}

TEST_CASE("only the class hands in; its leaders and managers may too") {
  ClassRoom room;
  const Caller fern = room.add("fern", Role::manager);
  const Caller guest{no_account, false, "test"};
  CHECK(room.hand_in(room.teasel, "x", "x").error().code == Code::denied);
  CHECK(room.hand_in(guest, "x", "x").error().code == Code::denied);
  CHECK(room.hand_in(room.sorrel, "model.txt", "x"));
  CHECK(room.hand_in(fern, "x", "x"));
  CHECK(room.hand_in(room.keeper, "from-the-box", "x"));
  CHECK(room.names(room.sorrel, here) == Names{"fern", "from-the-box", "sorrel"});
  CHECK(room.counts() == "bram 0, fern 1, robin 0, sorrel 1, wren 0");
  // Everybody of the class may know of the folder; who has handed in is for leaders.
  CHECK(room.hand_ins().folders(room.robin).size() == 1);
  CHECK(room.hand_ins().folders(room.teasel).empty());
  CHECK(room.hand_ins().folders(guest).empty());
  CHECK(room.hand_ins().look(room.teasel, room.at(here)).error().code == Code::denied);
  CHECK(room.hand_ins().roll(room.robin, room.at(here)).error().code == Code::denied);
  CHECK(room.hand_ins()
            .collect(room.robin, room.at(here), room.at("/members/robin/all"))
            .error()
            .code == Code::denied);
  CHECK(room.hand_ins().hand_back(room.robin, room.at(here), {}).error().code == Code::denied);
  CHECK(room.refused(room.hand_ins().set_times(room.robin, room.at(here), {})) == Code::denied);
}

TEST_CASE("before and after its time a folder takes nothing, and says what its time is") {
  ClassRoom room;
  const Time opens = *room.now + hours(1);
  const Time closes = *room.now + hours(2);
  room.close(opens, closes);
  auto early = room.hand_in(room.robin, "essay.txt", "x");
  REQUIRE_FALSE(early);
  CHECK(early.error().code == Code::denied);
  CHECK(early.error().message.find(local_time_text(opens)) != std::string::npos);
  *room.now = opens;
  CHECK(room.hand_in(room.robin, "essay.txt", "x"));
  *room.now = closes;
  CHECK(room.hand_in(room.robin, "essay.txt", "x"));
  *room.now = closes + std::chrono::milliseconds(1);
  auto late = room.hand_in(room.robin, "essay.txt", "x");
  REQUIRE_FALSE(late);
  CHECK(late.error().message.find(local_time_text(closes)) != std::string::npos);
  room.close(opens, closes, true);
  CHECK(room.hand_in(room.robin, "essay.txt", "x"));
  const auto receipts = room.hand_ins().receipts(room.robin);
  REQUIRE(receipts.size() == 3);
  CHECK(receipts[0].late);
  CHECK_FALSE(receipts[1].late);
  CHECK(room.refused(room.hand_ins().set_times(room.sorrel, room.at(here),
                                               {closes, opens, false})) == Code::bad_input);
  room.reopen();
  const auto view = room.hand_ins().look(room.robin, room.at(here));
  REQUIRE(view);
  CHECK(view->times == HandInTimes{opens, closes, true});
  CHECK(view->klass == "tuesday");
}

TEST_CASE("what ends after closing is late, whenever it began") {
  ClassRoom room;
  room.close({}, *room.now);
  auto upload = room.files().save(room.robin, room.at(here + "/slow.txt"), {});
  REQUIRE(upload);
  REQUIRE(upload->write("half"));
  *room.now += hours(1);
  CHECK(room.refused(upload->finish()) == Code::denied);
  CHECK_FALSE(upload->receipt());
  CHECK(room.hand_ins().receipts(room.robin).empty());
}

TEST_CASE("when the clock goes backward the last hand-in is still the newest") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay.txt", "first"));
  *room.now -= hours(24);
  REQUIRE(room.hand_in(room.robin, "essay.txt", "second"));
  const auto receipts = room.hand_ins().receipts(room.robin);
  REQUIRE(receipts.size() == 2);
  CHECK(receipts[0].number == 2);
  CHECK(receipts[0].version == 2);
  CHECK(receipts[0].at < receipts[1].at);
  REQUIRE(room.hand_ins().collect(room.sorrel, room.at(here), room.at("/members/sorrel/all")));
  CHECK(*room.read(room.sorrel, "/members/sorrel/all/robin.txt") == "second");
  REQUIRE(room.hand_ins().hand_back(room.sorrel, room.at(here), {}));
  *room.now -= hours(24);
  REQUIRE(room.save(room.sorrel, here + "/robin/essay-2.txt", "marked", true));
  // Changed since, though by the clock it was before.
  REQUIRE(room.hand_ins().hand_back(room.sorrel, room.at(here), {}));
  CHECK(*room.read(room.robin, "/members/robin/returned/essay-2.txt") == "marked");
}

TEST_CASE("handing in works with a full quota, within bounds of its own") {
  ClassRoom room;
  AccountChange full;
  full.quota = Quota{10, 10, 2, 2};
  TestVolume::done(room.people().change_account(room.keeper, "robin", full));
  REQUIRE(room.save(room.robin, "/members/robin/a", "0123456789"));
  CHECK(room.save(room.robin, "/members/robin/b", "x").error().code == Code::over_quota);
  CHECK(room.hand_in(room.robin, "essay.txt", std::string(1000, 'x')));
  CHECK(room.people().account("robin")->usage == Usage{10, 2});
  CHECK(room.people().account("sorrel")->usage == Usage{0, 1});

  for (std::size_t i = 1; i < most_hand_ins; ++i) REQUIRE(room.hand_in(room.robin, "more", "x"));
  CHECK(room.hand_in(room.robin, "more", "x").error().code == Code::over_quota);
  CHECK(room.hand_in(room.wren, "more", "x"));
  // A leader can make room.
  TestVolume::done(room.files().remove(room.sorrel, room.at(here + "/robin/more")));
  CHECK(room.hand_in(room.robin, "more", "x"));
}

TEST_CASE("one person's hand-ins in a folder are bounded in bytes") {
  ClassRoom room;
  auto upload = room.files().save(room.robin, room.at(here + "/large"), {});
  REQUIRE(upload);
  const std::string piece(4u << 20, 'x');
  for (std::uint64_t size = 0; size < most_hand_in_bytes; size += piece.size()) {
    REQUIRE(upload->write(piece));
  }
  const auto more = upload->write("x");
  REQUIRE_FALSE(more);
  CHECK(more.error().code == Code::over_quota);
  REQUIRE(upload->finish().wait());
  CHECK(room.hand_in(room.robin, "one-more", "x").error().code == Code::over_quota);
}

TEST_CASE("leaders see who has handed in and who hasn't") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.wren, "essay.txt", "x"));
  const auto roll = room.hand_ins().roll(room.sorrel, room.at(here));
  REQUIRE(roll);
  CHECK(roll->folder.path == here);
  REQUIRE(roll->entries.size() == 3);  // sorrel leads, and need not
  CHECK(roll->entries[0].account == "bram");
  CHECK(roll->entries[0].member);
  CHECK(roll->entries[0].receipts.empty());
  CHECK(roll->entries[2].receipts.at(0).name == "essay.txt");
  // Who leaves the class has handed in all the same.
  TestVolume::done(room.people().leave(room.keeper, "tuesday", "wren"));
  const auto after = room.hand_ins().roll(room.sorrel, room.at(here));
  REQUIRE(after->entries.size() == 3);
  CHECK_FALSE(after->entries[2].member);
  CHECK(room.hand_ins().receipts(room.wren).size() == 1);
}

TEST_CASE("a leader makes further hand-in folders of empty folders of the class") {
  ClassRoom room;
  const auto week2 = room.at("/classes/tuesday/week2");
  const Caller thyme = room.add("thyme", Role::leader, "tuesday");
  TestVolume::done(room.files().make_folder(room.sorrel, week2));
  REQUIRE(room.save(room.sorrel, "/classes/tuesday/week2/notes", "x"));
  CHECK(room.refused(room.hand_ins().set_times(room.sorrel, week2, {})) == Code::exists);
  TestVolume::done(room.files().remove(room.sorrel, week2 / "notes"));
  TestVolume::done(room.hand_ins().set_times(room.sorrel, week2, {}));
  CHECK(room.hand_ins().folders(room.robin).size() == 2);
  REQUIRE(room.save(room.robin, "/classes/tuesday/week2/essay.txt", "mine"));
  // Not only hers who made it.
  CHECK(*room.read(thyme, "/classes/tuesday/week2/robin/essay.txt") == "mine");
  CHECK(room.read(room.wren, "/classes/tuesday/week2/robin/essay.txt").error().code ==
        Code::denied);
  CHECK(room.refused(room.hand_ins().set_times(room.keeper, room.at("/public"), {})) ==
        Code::bad_input);
  CHECK(room.hand_ins().look(room.robin, room.at("/classes/tuesday")).error().code ==
        Code::bad_input);
}

TEST_CASE("collecting copies everybody's newest into one folder, with a list") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay.txt", "robin 1"));
  REQUIRE(room.hand_in(room.wren, "essay.txt", "wren 1"));
  REQUIRE(room.hand_in(room.robin, "essay.txt", "robin 2"));
  REQUIRE(room.hand_in(room.robin, "a long name.program", "robin's other"));
  const auto to = room.at("/members/sorrel/essays");
  const auto carried = room.hand_ins().collect(room.sorrel, room.at(here), to);
  REQUIRE(carried);
  REQUIRE(carried->size() == 4);
  for (const auto& each : *carried) CHECK(each.problem == "");
  CHECK(room.names(room.sorrel, to.text()) ==
        Names{"list.txt", "robin.pro", "robin2.txt", "wren.txt"});
  CHECK(*room.read(room.sorrel, "/members/sorrel/essays/robin2.txt") == "robin 2");
  CHECK(*room.read(room.sorrel, "/members/sorrel/essays/wren.txt") == "wren 1");
  const std::string list = *room.read(room.sorrel, "/members/sorrel/essays/list.txt");
  CHECK(list.find("robin.pro\n  a long name.program by robin\n  receipt 4, ") != std::string::npos);
  CHECK(list.find("Not handed in:\n  bram\n") != std::string::npos);
  // A second time nothing is mixed into it.
  CHECK(room.hand_ins().collect(room.sorrel, room.at(here), to).error().code == Code::exists);
  CHECK(room.findings() == "");
}

TEST_CASE("what does not fit when collecting is told of, file by file") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay.txt", std::string(600, 'r')));
  REQUIRE(room.hand_in(room.wren, "essay.txt", std::string(600, 'w')));
  AccountChange small;
  small.quota = Quota{0, 1000, 0, 0};
  TestVolume::done(room.people().change_account(room.keeper, "sorrel", small));
  const auto carried =
      room.hand_ins().collect(room.sorrel, room.at(here), room.at("/members/sorrel/essays"));
  REQUIRE(carried);
  REQUIRE(carried->size() == 3);
  CHECK((*carried)[0].problem == "");
  CHECK((*carried)[1].problem != "");
  CHECK((*carried)[1].to == "");
  const std::string list = *room.read(room.sorrel, "/members/sorrel/essays/list.txt");
  CHECK(list.find("(not copied)\n  essay.txt by wren\n") != std::string::npos);
}

TEST_CASE("with nothing handed in there is nothing to collect or to hand back") {
  ClassRoom room;
  const auto to = room.at("/members/sorrel/essays");
  CHECK(room.hand_ins().collect(room.sorrel, room.at(here), to).error().code == Code::not_found);
  CHECK(room.files().look(room.sorrel, to).error().code == Code::not_found);
  CHECK(room.hand_ins().hand_back(room.sorrel, room.at(here), {}).error().code == Code::not_found);
  CHECK(room.hand_ins().hand_back(room.sorrel, room.at(here), {"nobody"}).error().code ==
        Code::not_found);
}

TEST_CASE("marked work comes back as the person's own, with a notice, once") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay.txt", "my feet say"));
  REQUIRE(room.hand_in(room.wren, "essay.txt", "wren's"));
  REQUIRE(room.save(room.sorrel, here + "/robin/essay.txt", "my feet say. Good!", true));
  const auto carried = room.hand_ins().hand_back(room.sorrel, room.at(here), {"Robin"});
  REQUIRE(carried);
  REQUIRE(carried->size() == 1);
  CHECK((*carried)[0].problem == "");
  CHECK((*carried)[0].to == "/members/robin/returned/essay.txt");
  CHECK(*room.read(room.robin, "/members/robin/returned/essay.txt") == "my feet say. Good!");
  CHECK(room.files().look(room.robin, room.at("/members/robin/returned/essay.txt"))->owner ==
        "robin");
  const auto notices = room.desk().notices(room.robin);
  REQUIRE(notices.size() == 1);
  CHECK(notices[0].from == "sorrel");
  CHECK(notices[0].text ==
        "essay.txt is back from /classes/tuesday/hand-in: look in /members/robin/returned.");
  CHECK(room.hand_ins().receipts(room.robin)[0].returned);
  CHECK(room.desk().notices(room.wren).empty());
  CHECK_FALSE(room.hand_ins().receipts(room.wren)[0].returned);
  // What was handed in stays, and what was returned is not returned again until it changes.
  CHECK(*room.read(room.sorrel, here + "/robin/essay.txt") == "my feet say. Good!");
  CHECK(room.hand_ins().hand_back(room.sorrel, room.at(here), {"robin"}).error().code ==
        Code::not_found);
  REQUIRE(room.save(room.sorrel, here + "/robin/essay.txt", "Better!", true));
  REQUIRE(room.hand_ins().hand_back(room.sorrel, room.at(here), {}));
  CHECK(*room.read(room.robin, "/members/robin/returned/essay.txt") == "my feet say. Good!");
  CHECK(*room.read(room.robin, "/members/robin/returned/essay-2.txt") == "Better!");
  CHECK(*room.read(room.wren, "/members/wren/returned/essay.txt") == "wren's");
  CHECK(room.findings() == "");
}

TEST_CASE("what does not fit the person's quota is told of, and can be handed back later") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "large.txt", std::string(2000, 'x')));
  REQUIRE(room.hand_in(room.robin, "small.txt", "y"));
  AccountChange small;
  small.quota = Quota{0, 1000, 0, 0};
  TestVolume::done(room.people().change_account(room.keeper, "robin", small));
  const auto carried = room.hand_ins().hand_back(room.sorrel, room.at(here), {});
  REQUIRE(carried);
  REQUIRE(carried->size() == 2);
  CHECK((*carried)[0].name == "large.txt");
  CHECK((*carried)[0].problem != "");
  CHECK((*carried)[1].problem == "");
  CHECK(room.desk().notices(room.robin).at(0).text.find("could not be given back") !=
        std::string::npos);
  CHECK(room.read(room.sorrel, here + "/robin/large.txt")->size() == 2000);
  AccountChange roomy;
  roomy.quota = Quota{};
  TestVolume::done(room.people().change_account(room.keeper, "robin", roomy));
  const auto again = room.hand_ins().hand_back(room.sorrel, room.at(here), {});
  REQUIRE(again);
  REQUIRE(again->size() == 1);
  CHECK((*again)[0].to == "/members/robin/returned/large.txt");
}

TEST_CASE("a receipt outlives what was handed in, and numbers used again are not taken for it") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay.txt", "x"));
  TestVolume::done(room.files().remove(room.sorrel, room.at(here + "/robin")));
  CHECK_FALSE(room.hand_ins().receipts(room.robin).at(0).there);
  TestVolume::done(room.files().empty_bin(room.keeper, true));
  room.reopen();
  // These get the numbers of the nodes that are gone.
  for (int i = 0; i < 4; ++i) {
    REQUIRE(room.save(room.keeper, here + fmt::format("/secret{}", i), "keeper's"));
  }
  const auto receipts = room.hand_ins().receipts(room.robin);
  REQUIRE(receipts.size() == 1);
  CHECK_FALSE(receipts[0].there);
  CHECK(room.hand_ins().hand_back(room.sorrel, room.at(here), {}).error().code == Code::not_found);
  REQUIRE(room.hand_in(room.robin, "essay.txt", "again"));
  CHECK(room.hand_ins().receipts(room.robin).at(0).number == 2);
  CHECK(room.hand_ins().receipts(room.robin).at(0).version == 2);

  // The folder itself.
  TestVolume::done(room.files().remove(room.keeper, room.at(here)));
  CHECK(room.hand_ins().folders(room.robin).empty());
  TestVolume::done(room.files().empty_bin(room.keeper, true));
  for (int i = 0; i < 8; ++i) {
    TestVolume::done(
        room.files().make_folder(room.sorrel, room.at(fmt::format("/classes/tuesday/plain{}", i))));
  }
  CHECK(room.hand_ins().folders(room.robin).empty());
  CHECK(room.hand_ins().receipts(room.robin).at(0).place == here);
}

TEST_CASE("a removed account leaves its hand-ins, and nobody gets its number or its receipts") {
  ClassRoom room;
  const Caller gone = room.add("linnet", Role::member, "tuesday");
  REQUIRE(room.hand_in(gone, "essay.txt", "x"));
  TestVolume::done(room.people().remove_account(room.keeper, "linnet"));
  const Caller next = room.add("dipper", Role::member, "tuesday");
  CHECK(next.account > gone.account);
  CHECK(room.hand_ins().receipts(next).empty());
  CHECK(*room.read(room.sorrel, here + "/linnet/essay.txt") == "x");
  REQUIRE(room.hand_in(next, "essay.txt", "y"));
  CHECK(room.hand_ins().receipts(next).at(0).number == 2);
}

TEST_CASE("the number of a receipt that is gone is given to no other") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.wren, "first", "1"));
  REQUIRE(room.hand_in(room.robin, "second", "2"));
  const auto number = room.hand_ins().receipts(room.robin).front().number;
  AccountChange closed;
  closed.closed = true;
  TestVolume::done(room.people().change_account(room.keeper, "robin", closed));
  REQUIRE(room.volume->leavers().erase(room.keeper, "robin"));
  room.reopen();
  REQUIRE(room.hand_in(room.wren, "third", "3"));
  CHECK(room.hand_ins().receipts(room.wren).front().number == number + 1);
}

TEST_CASE("erasing a person takes no folder to which their hand-in was moved") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay", "one"));
  TestVolume::done(
      room.files().move(room.keeper, room.at(here + "/robin/essay"), room.at("/programs/essay")));
  AccountChange closing;
  closing.closed = true;
  TestVolume::done(room.people().change_account(room.keeper, "robin", closing));
  REQUIRE(room.volume->leavers().erase(room.keeper, "robin"));
  CHECK(room.files().look(room.keeper, room.at("/programs")));
  CHECK_FALSE(room.files().look(room.keeper, room.at("/programs/essay")));
  CHECK(room.findings() == "");
}

TEST_CASE("erasing a person takes what they handed in, and nobody else's") {
  ClassRoom room;
  REQUIRE(room.hand_in(room.robin, "essay", "one"));
  REQUIRE(room.hand_in(room.robin, "essay", "two"));
  REQUIRE(room.hand_in(room.wren, "essay", "hers"));
  const auto preview = room.volume->leavers().erasure_preview(room.keeper, "robin");
  REQUIRE(preview);
  CHECK(std::count(preview->begin(), preview->end(),
                   "2 hand-ins of theirs go, with the receipts.") == 1);
  AccountChange closing;
  closing.closed = true;
  TestVolume::done(room.people().change_account(room.keeper, "robin", closing));
  REQUIRE(room.volume->leavers().erase(room.keeper, "robin"));
  CHECK(room.names(room.sorrel, here) == Names{"wren"});
  CHECK(room.counts() == "bram 0, wren 1");
  CHECK(room.findings() == "");
  room.reopen();
  CHECK(room.counts() == "bram 0, wren 1");
}

TEST_CASE("a file that stands where a person's folder belongs is left alone") {
  ClassRoom room;
  REQUIRE(room.save(room.keeper, here + "/robin", "in the way"));
  REQUIRE(room.hand_in(room.robin, "essay.txt", "x"));
  REQUIRE(room.hand_in(room.robin, "essay.txt", "y"));
  CHECK(*room.read(room.sorrel, here + "/robin") == "in the way");
  CHECK(*room.read(room.sorrel, here + "/robin-2/essay-2.txt") == "y");
}

TEST_CASE("invariant 1: a hand-in cut off at any host call is there with its receipt, or neither") {
  for (const std::size_t size : {std::size_t{10}, small_content + 1000}) {
    bool got_through = false;
    for (long n = 1; !got_through; ++n) {
      REQUIRE(n < 200);
      INFO("call " << n << ", " << size << " bytes");
      ClassRoom room;
      REQUIRE(room.hand_in(room.robin, "essay.txt", "first"));
      room.failure->calls = 0;
      room.failure->failed = false;
      room.failure->stay_dead = true;
      room.failure->fail_at = n;
      const auto handed = room.hand_in(room.robin, "essay.txt", std::string(size, 'x'));
      static_cast<void>(room.volume->drain());
      got_through = !room.failure->failed;
      room.volume.reset();
      room.failure->fail_at = 0;
      room.reopen();
      const auto receipts = room.hand_ins().receipts(room.robin);
      const auto bytes = room.read(room.sorrel, here + "/robin/essay-2.txt");
      if (handed) CHECK(receipts.size() == 2);
      CHECK(bytes.has_value() == (receipts.size() == 2));
      if (bytes) CHECK(bytes->size() == size);
      CHECK(*room.read(room.sorrel, here + "/robin/essay.txt") == "first");
      CHECK(room.findings() == "");
    }
  }
}

TEST_CASE("handing back cut off at any host call loses nothing, and goes on the next time") {
  bool got_through = false;
  for (long n = 1; !got_through; ++n) {
    REQUIRE(n < 400);
    INFO("call " << n);
    ClassRoom room;
    REQUIRE(room.hand_in(room.robin, "essay.txt", "robin's"));
    REQUIRE(room.hand_in(room.wren, "essay.txt", "wren's"));
    room.failure->calls = 0;
    room.failure->failed = false;
    room.failure->stay_dead = true;
    room.failure->fail_at = n;
    static_cast<void>(room.hand_ins().hand_back(room.sorrel, room.at(here), {}));
    static_cast<void>(room.volume->drain());
    got_through = !room.failure->failed;
    room.volume.reset();
    room.failure->fail_at = 0;
    room.reopen();
    for (const auto* who : {"robin", "wren"}) {
      const auto returned = room.hand_ins().receipts(room.caller(who)).at(0).returned;
      const auto copy =
          room.read(room.caller(who), fmt::format("/members/{}/returned/essay.txt", who));
      if (returned) CHECK(copy);
    }
    static_cast<void>(room.hand_ins().hand_back(room.sorrel, room.at(here), {}));
    CHECK(*room.read(room.robin, "/members/robin/returned/essay.txt") == "robin's");
    CHECK(*room.read(room.wren, "/members/wren/returned/essay.txt") == "wren's");
    CHECK(*room.read(room.sorrel, here + "/wren/essay.txt") == "wren's");
    CHECK(room.findings() == "");
  }
}
