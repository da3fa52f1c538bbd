#include "server/terminal/shell.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

bool says_bye(std::string_view word) {
  auto command = find_command(word);
  return command && (*command)->run == command_bye;
}

std::string percent_full(const fs::Files::Space& space) {
  const std::uint64_t limit =
      space.quota.soft_bytes != 0 ? space.quota.soft_bytes : space.quota.hard_bytes;
  if (limit == 0 || space.usage.bytes * 5 < limit * 4)
    return "nearly all the files you may have are there";
  return fmt::format("{} per cent of your space is in use", space.usage.bytes * 100 / limit);
}

}  // namespace

std::string Shell::greeting(const std::string& volume_name) {
  std::string name;
  fs::each_character(volume_name,
                     [&](char32_t c) { name += c < 0x80 ? static_cast<char>(c) : '?'; });
  return fmt::format("\r\n{}\r\nPress Enter to begin.\r\n", name);
}

void Shell::start() {
  task_ = run();
  task_.start();
}

Task<void> Shell::run() {
  co_await visit();
  done_ = true;
  if (on_done) on_done();
}

void Shell::show_news() {
  if (!at_prompt_) return;
  for (const auto& text : session_.take_told()) terminal_.announce(text);
}

Task<void> Shell::visit() {
  for (int wrong = 0; wrong < most_sign_ins;) {
    session_.doing("signing in");
    const bool in = co_await sign_in();
    if (!in) {
      ++wrong;
      continue;
    }
    co_await welcome();
    for (;;) {
      tell_news();
      session_.doing("");
      LineEditor::Question question;
      question.prompt = session_.here().text() + "> ";
      at_prompt_ = true;
      const auto line = co_await terminal_.ask(std::move(question));
      at_prompt_ = false;
      if (!line) continue;
      const std::string_view first = std::string_view(*line).substr(0, line->find(' '));
      if (says_bye(first)) {
        session_.sign_out();
        terminal_.say("Good-bye.");
        co_return;
      }
      co_await obey(*line);
    }
  }
  terminal_.say("That was too often. Good-bye.");
}

Task<bool> Shell::sign_in() {
  const auto name = co_await terminal_.ask("Name: ");
  if (!name || name->empty()) {
    terminal_.say(guests_ ? "Type your name, or guest to look around."
                          : "Type your name. Whoever keeps this room can give you one.");
    co_return false;
  }
  if (fs::ascii_lower(*name) == "guest" && guests_) co_return true;
  if (!terminal_.echoes()) {
    terminal_.say("Mind: what you type next can be seen on this line.");
  }
  const auto password = co_await terminal_.ask_password("Password: ");
  if (!password) co_return false;
  auto proved = co_await session_.sign_in(*name, *password);
  if (!proved) terminal_.say(proved.error().message);
  co_return proved.has_value();
}

Task<void> Shell::welcome() {
  terminal_.say(fmt::format("Welcome, {}. Type help for help.", session_.name()));
  if (!session_.signed_in()) co_return;
  if (const auto space = session_.space(); space && space->nearly_full) {
    terminal_.say(fmt::format("Mind your space: {}.", percent_full(*space)));
    if (space->over_since)
      terminal_.say("Remove what you do not need, or soon nothing can be saved.");
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
    terminal_.say(fresh == 1 ? "A new printout is in your tray."
                             : fmt::format("{} new printouts are in your tray.", fresh));
  }
}

void Shell::tell_news() {
  for (const auto& text : session_.take_told()) terminal_.say(text);
}

Task<void> Shell::obey(std::string line) {
  auto words = split_words(line);
  if (!words) {
    terminal_.say(words.error().message);
    co_return;
  }
  if (words->empty()) co_return;
  auto command = find_command(words->front());
  if (!command) {
    terminal_.say(command.error().message);
    co_return;
  }
  const Command& known = **command;
  const std::size_t given = words->size() - 1;
  if (known.who == Who::signed_in && !session_.signed_in()) {
    terminal_.say("Guests can't do that. Type bye, then sign in with your name.");
    co_return;
  }
  if (given < known.least || given > known.most) {
    terminal_.say(fmt::format(
        "{}: {} {}", given < known.least ? "There is something missing" : "That is too much",
        known.name, known.usage));
    co_return;
  }
  session_.doing(std::string(known.name));
  terminal_.start_screen();
  static_cast<void>(terminal_.take_interrupt());
  Call call{session_, terminal_, {words->begin() + 1, words->end()}, {}};
  const auto start = line.find_first_not_of(' ');
  const auto gap = line.find(' ', start);
  const auto rest = gap == std::string::npos ? gap : line.find_first_not_of(' ', gap);
  if (rest != std::string::npos) call.rest = line.substr(rest);
  co_await known.run(std::move(call));
}

}  // namespace stationer::server
