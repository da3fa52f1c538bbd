#include "server/terminal/shell.h"

#include <algorithm>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"
#include "tests/support/test_room.h"

using namespace stationer;
using namespace stationer::server;
using namespace std::chrono_literals;
using test::TestRoom;
using test::TestVolume;
using test::Visit;

namespace {

// What a screen shows, wherever its lines end.
std::string on_one_line(std::string text) {
  std::erase(text, '\r');
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

}  // namespace

TEST_CASE("shell: the greeting is plain ASCII, whatever the room is called") {
  CHECK(Shell::greeting("Tidewrack Mill") == "\r\nTidewrack Mill\r\nPress Enter to begin.\r\n");
  CHECK(Shell::greeting("Die Mühle €") == "\r\nDie M?hle ?\r\nPress Enter to begin.\r\n");
}

TEST_CASE("shell: a visit from the name to good-bye") {
  TestRoom room;
  room.store.add("robin");
  Visit visit(room);
  CHECK(visit.screen == "Name: ");
  CHECK(visit.types("robin\r") == "robin\r\nPassword: ");
  CHECK(visit.types("mill-race-robin\r") ==
        "\r\nWelcome, robin. Type help for help.\r\n/members/robin> ");
  bool told = false;
  visit.shell->on_done = [&] { told = visit.shell->done(); };
  CHECK(visit.types("bye\r") == "bye\r\nGood-bye.\r\n");
  CHECK(visit.shell->done());
  CHECK(told);
  CHECK_FALSE(visit.session.signed_in());
}

TEST_CASE("shell: guests look around where guests are allowed to") {
  TestRoom room;
  Visit visit(room);
  CHECK(visit.answer("") == "Type your name, or guest to look around.\n");
  CHECK(visit.types("Guest\r") == "Guest\r\nWelcome, guest. Type help for help.\r\n/> ");
  CHECK(visit.answer("write note") ==
        "Guests can't do that. Type bye, then sign in with your name.\n");
  CHECK(visit.answer("list") ==
        "name       access  changed\n"
        "classes/   rwr-r-  2027-01-15 08:00\n"
        "members/   rwr-r-  2027-01-15 08:00\n"
        "programs/  rwr-r-  2027-01-15 08:00\n"
        "public/    rwrwrw  2027-01-15 08:00\n");
  Visit closed(room, {}, "10.0.0.8", false);
  CHECK(closed.answer(" ") == "Type your name. Whoever keeps this room can give you one.\n");
  CHECK(closed.types("guest\r") == "guest\r\nPassword: ");
}

TEST_CASE("shell: wrong passwords are answered, slowed down, and end the visit at last") {
  TestRoom room;
  room.store.add("robin");
  Visit visit(room);
  for (int i = 0; i < 3; ++i) {
    CHECK(visit.types("robin\rguess\r") ==
          "robin\r\nPassword: \r\nThat name and password do not go together. Try again.\r\nName: ");
  }
  CHECK(visit.types("robin\rguess\r").find("Too many wrong passwords. Wait 5 seconds") !=
        std::string::npos);
  // Enter alone is no try.
  for (int i = 0; i < 10; ++i) visit.types("\r");
  CHECK_FALSE(visit.shell->done());
  CHECK(visit.types("robin\rguess\r").ends_with("Good-bye.\r\n"));
  CHECK(visit.shell->done());
}

TEST_CASE("shell: a visit ends with a sentence when the account may not be used any more") {
  TestRoom room;
  const auto robin = room.store.add("robin");
  room.store.add("wren");
  Visit visit(room);
  visit.session.on_sent_home = [&](const std::string& why) { visit.shell->break_off(why); };
  visit.sign_in("robin");
  Visit other(room);
  other.sign_in("wren");
  const auto sent_home = [&] {
    const std::size_t before = visit.screen.size();
    room.room->send_home();
    visit.take();
    return visit.screen.substr(before);
  };
  CHECK(sent_home().empty());
  fs::AccountChange change;
  std::string why;
  SECTION("closed") {
    change.closed = true;
    TestVolume::done(room.store.people().change_account(room.store.keeper, "robin", change));
    why = "The account robin was closed. Its files are still there: ask whoever keeps this room. ";
  }
  SECTION("at its end") {
    change.ends = *room.store.now + 1min;
    TestVolume::done(room.store.people().change_account(room.store.keeper, "robin", change));
    CHECK(sent_home().empty());
    *room.store.now += 1min;
    why =
        "The time of the account robin is over. Its files are still there: ask whoever keeps this "
        "room. ";
  }
  CHECK(on_one_line(sent_home()) == " " + why + "Good-bye. ");
  CHECK(visit.shell->done());
  CHECK_FALSE(visit.session.signed_in());
  CHECK(other.session.signed_in());
  const auto journal = room.store.desk().journal({}).value();
  CHECK(journal.front().what == "signed out");
  CHECK(journal.front().detail == "the account may not be used any more");
}

TEST_CASE("shell: what was being written when a visit ends is saved as a whole") {
  TestRoom room;
  const auto robin = room.store.add("robin");
  Visit visit(room);
  visit.session.on_sent_home = [&](const std::string& why) { visit.shell->break_off(why); };
  visit.sign_in("robin");
  visit.types("write letter\rDear Wren,\rthe wheel");
  fs::AccountChange change;
  change.closed = true;
  TestVolume::done(room.store.people().change_account(room.store.keeper, "robin", change));
  visit.screen.clear();
  room.room->send_home();
  visit.take();
  CHECK(
      on_one_line(visit.screen) ==
      " You were cut off while you wrote letter. What you had typed is in letter.cut1, in your own "
      "folder. The account robin was closed. Its files are still there: ask whoever keeps this "
      "room. "
      "Good-bye. ");
  CHECK(room.store.read(robin, "/members/robin/letter.cut1").value() == "Dear Wren,\n");
  CHECK(room.store.read(robin, "/members/robin/letter").error().code == fs::Code::not_found);
  CHECK(room.store.findings() == "");
}

TEST_CASE("shell: after a wait the right password is good again") {
  TestRoom room;
  room.store.add("robin");
  Visit visit(room);
  for (int i = 0; i < 3; ++i) visit.types("robin\rguess\r");
  room.loop.pass(5s);
  visit.sign_in("robin");
}

TEST_CASE("shell: what is worth knowing comes with the welcome") {
  TestRoom room;
  const auto robin = room.store.add("robin");
  room.store.add("wren");
  fs::AccountChange limit;
  limit.quota = fs::Quota{0, 1000, 0, 0};
  TestVolume::done(room.store.people().change_account(room.store.keeper, "robin", limit));
  REQUIRE(room.store.save(robin, "/members/robin/a", std::string(900, 'x')));
  TestVolume::done(room.store.desk().send_notice(room.store.caller("wren"), "robin", "Hello"));
  auto job = room.spool->receive("", "letter", robin.account, "robin", "test");
  REQUIRE(job->write("text"));
  REQUIRE(job->finish());
  room.print_all();
  Visit visit(room);
  visit.types("robin\r");
  CHECK(visit.types("mill-race-robin\r") ==
        "\r\nWelcome, robin. Type help for help.\r\n"
        "Your space is nearly full. Type space for the figures, and remove what you do\r\n"
        "not need.\r\n"
        "There are 2 notices for you. Type notices to read them.\r\n"
        "A new printout is in your tray. Type tray to see it.\r\n"
        "/members/robin> ");
}

TEST_CASE("shell: news show at once on an idle prompt, else at the next one") {
  TestRoom room;
  const auto robin = room.store.add("robin").account;
  Visit visit(room);
  visit.sign_in("robin");
  visit.session.on_told = [&] { visit.shell->show_news(); };
  visit.screen.clear();
  visit.terminal.typed("li");
  room.room->tell(robin, "Job 7 is printed.");
  visit.take();
  CHECK(visit.screen == "li\r\nJob 7 is printed.\r\n/members/robin> li");
  visit.types("st\r");
  // In the middle of a question of a command's they wait.
  visit.types("password\r");
  visit.screen.clear();
  room.room->tell(robin, "Job 8 is printed.");
  visit.take();
  CHECK(visit.screen.empty());
  CHECK(visit.types("\x03").ends_with("\r\nJob 8 is printed.\r\n/members/robin> "));
}

TEST_CASE("shell: commands may be shortened, in any case, with spaces around") {
  TestRoom room;
  room.store.add("robin");
  Visit visit(room);
  visit.sign_in("robin");
  CHECK(visit.answer("l") == "There is nothing here.\n");
  CHECK(visit.answer("  LIST  ") == "There is nothing here.\n");
  CHECK(visit.answer("re x") ==
        "Do you mean receipts, refuse, release, remove, rename or restore?\n");
  CHECK(visit.answer("b") == "Do you mean bin, bind or bye?\n");
  CHECK(visit.answer("notice") == "There is something missing: notice TO TEXT\n");
  CHECK(visit.answer("sail") == "There is no command \"sail\". Type help for those there are.\n");
  CHECK(visit.answer("") == "");
  CHECK(visit.answer("   ") == "");
  CHECK(visit.answer("\"") == "There is no command \"\"\". Type help for those there are.\n");
  CHECK(visit.answer("show") == "There is something missing: show NAME\n");
  CHECK(visit.answer("show tide tables") ==
        "That is too much: show NAME\nA name with spaces goes in quotes.\n");
  CHECK(visit.answer("tray x") == "tray stands alone: nothing comes after it.\n");
  CHECK(visit.answer("show \"tide tables") == "There is a quote (\") without its other half.\n");
  CHECK(visit.types("\x03") == "^C\r\n/members/robin> ");
  CHECK(visit.types("by\r").ends_with("Good-bye.\r\n"));
}

TEST_CASE("shell: words are cut at spaces, quotes hold them together") {
  using Words = std::vector<std::string>;
  CHECK(split_words("").value().empty());
  CHECK(split_words("  a  b ").value() == Words{"a", "b"});
  CHECK(split_words("\"old letter\" new").value() == Words{"old letter", "new"});
  CHECK(split_words("a\"b c\"d").value() == Words{"ab cd"});
  CHECK(split_words("\"\"").value() == Words{""});
  CHECK_FALSE(split_words("a\"b"));
  CHECK(first_word("  a  b c ").word == "a");
  CHECK(first_word("  a  b c ").rest == "b c ");
  CHECK(first_word("   ").word.empty());
  CHECK(first_word("a").rest.empty());
}

TEST_CASE("shell: every command fits its rules: short names, one line of help, in order") {
  std::string_view before;
  for (const Command& command : commands()) {
    INFO(command.name);
    CHECK(command.name > before);
    before = command.name;
    CHECK(command.name.size() <= 8);
    CHECK(command.name.find_first_not_of("abcdefghijklmnopqrstuvwxyz") == std::string::npos);
    // In the list, beside name and usage, on one line of 80.
    CHECK(9 + 2 + 14 + command.help.size() <= 79);
    CHECK(command.usage.size() <= 14);
    CHECK(command.least <= command.most);
    // ECMA-6: what is the same in all national sets, and so on every keyboard.
    for (const auto text : {command.usage, command.help, command.more}) {
      const bool special = command.usage == text;  // brackets there only say what may be left out
      const auto lacking = text.find_first_of(special ? "#$@\\^`{|}~" : "#$@[\\]^`{|}~");
      CHECK(lacking == std::string_view::npos);
    }
    CHECK(find_command(command.name).value() == &command);
  }
}

TEST_CASE("shell: the prompt leaves room to type on every screen") {
  TestRoom room;
  const auto robin = room.store.add("robin");
  TestVolume::done(room.store.files().make_folder(
      robin, TestVolume::at("/members/robin/the essays of the winter")));
  for (const auto& [columns, prompt] :
       std::vector<std::pair<int, std::string>>{{80, "/members/robin/the essays of the winter> "},
                                                {40, "..says of the winter> "},
                                                {20, "..e winter> "}}) {
    Terminal::Setup setup;
    setup.screen.columns = columns;
    Visit visit(room, setup);
    visit.sign_in("robin");
    CHECK(visit.types("go \"the essays of the winter\"\r").ends_with(prompt));
  }
}

TEST_CASE("invariant 8: no password shows on the screen or in who, wherever it is typed") {
  TestRoom room;
  room.store.add("robin");
  room.store.add("bram", fs::Role::manager);
  Visit manager(room, {}, "10.0.0.8");
  manager.sign_in("bram");
  const std::string typing =
      "robin\rnot-my-password\rrobin\rmill-race-robin\rpassword\rmill-race-robin\rnew-secret-1\r"
      "new-secret-1\rpassword\rnew-secret-1\rnew-secret-2\rnew-secret-3\rwho\rbye\r";
  Visit visit(room);
  for (const char c : typing) {
    visit.types(std::string(1, c));
    const std::string who = manager.answer("who");
    CHECK(who.find("secret") == std::string::npos);
    CHECK(who.find("mill-race") == std::string::npos);
  }
  CHECK(visit.screen.find("Your password is changed.") != std::string::npos);
  CHECK(visit.screen.find("The two are not the same.") != std::string::npos);
  for (const char* part : {"not-my", "mill-race", "new-secret", "secret"}) {
    CHECK(visit.screen.find(part) == std::string::npos);
  }
  const auto journal = room.store.desk().journal({}).value();
  for (const auto& entry : journal) {
    CHECK((entry.subject + entry.detail + entry.what).find("secret") == std::string::npos);
  }
}
