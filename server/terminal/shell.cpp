#include "server/terminal/shell.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/shown.h"
#include "server/terminal/space_words.h"
#include "server/terminal/wording.h"

namespace stationer::server {

std::string Shell::greeting(const std::string& volume_name) {
  std::string name;
  fs::each_character(volume_name,
                     [&](char32_t c) { name += c < 0x80 ? static_cast<char>(c) : '?'; });
  return fmt::format("\r\n{}\r\nPress Enter to begin.\r\n", name);
}

void Shell::start() {
  session_.use_names(terminal_.names());
  task_ = run();
  task_.start();
}

Task<void> Shell::run() {
  co_await visit();
  done_ = true;
  if (on_done) on_done();
}

void Shell::break_off(const std::string& why) {
  if (done_) return;
  task_ = {};
  at_prompt_ = false;
  tell_news();  // of what was rescued: there will be no other time to read it
  terminal_.say(why + " Good-bye.");
  done_ = true;
  if (on_done) on_done();
}

void Shell::show_news() {
  if (!at_prompt_) return;
  const std::string news = take_news();
  if (!news.empty()) terminal_.announce(news);
}

void Shell::tell_news() {
  const std::string news = take_news();
  if (!news.empty()) terminal_.say(news);
}

// Once for each step nearer to the limit: at signing in, and after the command that took it.
void Shell::tell_of_space() {
  if (!session_.signed_in()) return;
  const auto space = session_.space();
  if (!space) return;
  if (space->fullness > told_) terminal_.say(space_warning(*space));
  told_ = space->fullness;
}

std::string Shell::take_news() {
  std::string news;
  for (const auto& text : session_.take_told()) news += text + "\n";
  return news;
}

Task<void> Shell::visit() {
  for (int refused = 0;;) {
    session_.doing("signing in");
    const SignIn result = co_await sign_in();
    if (result == SignIn::done) break;
    if (result == SignIn::refused && ++refused == most_sign_ins) {
      terminal_.say(
          "That did not work five times. Ask whoever keeps this room for help. Good-bye.");
      co_return;
    }
  }
  welcome();
  for (;;) {
    tell_of_space();
    tell_news();
    session_.doing("");
    at_prompt_ = true;
    LineEditor::Question question;
    question.prompt = shown_place(session_, terminal_.columns()) + "> ";
    question.recall = last_line_;
    const auto line = co_await terminal_.ask(std::move(question));
    at_prompt_ = false;
    if (!line) continue;
    if (!first_word(*line).word.empty()) last_line_ = *line;
    const bool goes_on = co_await obey(*line);
    if (!goes_on) co_return;
  }
}

Task<Shell::SignIn> Shell::sign_in() {
  if (!sign_on_.empty()) {
    const auto signed_on = session_.sign_on(std::exchange(sign_on_, std::string()));
    if (signed_on) co_return SignIn::done;
    terminal_.say(signed_on.error().message);  // members can sign in all the same
  }
  const auto name = co_await terminal_.ask("Name: ");
  if (!name || name->find_first_not_of(' ') == std::string::npos) {
    terminal_.say(guests_ ? "Type your name, or guest to look around."
                          : "Type your name. Whoever keeps this room can give you one.");
    co_return SignIn::nothing_typed;
  }
  const std::string typed(first_word(*name).word);
  heed_case(typed);
  if (guests_ && fs::ascii_lower(typed) == "guest") co_return SignIn::done;
  auto password = co_await terminal_.ask_password("Password: ");
  if (!password) co_return SignIn::nothing_typed;
  auto proved = co_await session_.sign_in(typed, std::move(*password));
  if (!proved) terminal_.say(proved.error().message);
  co_return proved ? SignIn::done : SignIn::refused;
}

// Whoever types their name in capitals alone has a keyboard without small letters, or wants none.
void Shell::heed_case(std::string_view typed) {
  const bool has_letters = fs::ascii_lower(typed) != typed;
  if (!has_letters || fs::ascii_upper(typed) != typed || terminal_.screen().capitals) return;
  Screen screen = terminal_.screen();
  screen.capitals = true;
  terminal_.use_screen(screen, terminal_.rows());
  session_.use_names(terminal_.names());
}

void Shell::welcome() {
  terminal_.say(fmt::format("Welcome, {}. Type help for help.", session_.name()));
  if (!session_.signed_in()) return;
  tell_of_space();
  if (const auto ends = session_.ends()) {
    terminal_.say(fmt::format(
        "{} is the last day you can sign in. Copy what you want to keep, or ask whoever keeps this "
        "room.",
        short_day(*ends - std::chrono::milliseconds(1))));
  }
  if (const auto notices = session_.notices().size(); notices > 0) {
    terminal_.say(
        notices == 1
            ? "There is a notice for you. Type notices to read it."
            : fmt::format("There are {} notices for you. Type notices to read them.", notices));
  }
  const auto tray = session_.tray();
  const auto fresh =
      std::count_if(tray.begin(), tray.end(), [](const auto& each) { return !each.seen; });
  if (fresh > 0) {
    terminal_.say(
        fresh == 1
            ? "A new printout is in your tray. Type tray to see it."
            : fmt::format("{} new printouts are in your tray. Type tray to see them.", fresh));
  }
}

Task<bool> Shell::obey(std::string line) {
  const auto [name, rest] = first_word(line);
  if (name.empty()) co_return true;
  auto command = find_command(name);
  if (!command) {
    terminal_.say(command.error().message);
    co_return true;
  }
  const Command& known = **command;
  if (known.who == Who::signed_in && !session_.signed_in()) {
    terminal_.say("Guests can't do that. Type bye, then sign in with your name.");
    co_return true;
  }
  Call call{session_, terminal_, {}, std::string(rest)};
  if (known.most == whole_line) {
    for (auto left = first_word(rest); !left.word.empty(); left = first_word(left.rest)) {
      call.words.emplace_back(left.word);
    }
  } else {
    auto words = split_words(rest);
    if (!words) {
      terminal_.say(words.error().message);
      co_return true;
    }
    call.words = std::move(*words);
  }
  if (call.words.size() < known.least) {
    terminal_.say(fmt::format("There is something missing: {} {}", known.name, known.usage));
    co_return true;
  }
  if (call.words.size() > known.most) {
    terminal_.say(known.most == 0
                      ? fmt::format("{} stands alone: nothing comes after it.", known.name)
                      : fmt::format("That is too much: {} {}\nA name with spaces goes in quotes.",
                                    known.name, known.usage));
    co_return true;
  }
  session_.doing(std::string(known.name));
  terminal_.start_screen();
  static_cast<void>(terminal_.take_interrupt());
  co_await known.run(std::move(call));
  co_return known.run != command_bye;
}

}  // namespace stationer::server
