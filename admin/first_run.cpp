#include "admin/first_run.h"

#include <algorithm>

#include <boost/asio/ip/address.hpp>
#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "fs/account.h"
#include "fs/crypto.h"
#include "fs/settings_words.h"
#include "fs/station.h"
#include "fs/text.h"
#include "fs/volume.h"
#include "print/queue.h"
#include "server/config.h"
#include "server/net/addresses.h"
#include "server/net/own_addresses.h"
#include "server/settings_words.h"

namespace stationer::admin {
namespace {

using fs::Code;
using fs::Error;
using fs::Result;

constexpr std::size_t longest_room = 200;
constexpr std::size_t longest_shown = 40;
constexpr std::string_view usual_machines = "telnet tftp ftp lpd raw http";
constexpr std::string_view blanks = " \t,";

// For somebody who has machines at serial lines: the ports of their box are not known here.
std::string serial_example() {
  const auto words = server::settings_words();
  const std::string table = fs::write_settings(
      fs::TableWords{"serial.bench", "", fs::table_words(words, "serial.NAME").settings},
      {{"device", "\"/dev/ttyUSB0\""}, {"speed", ""}, {"flow", ""}});
  std::string out =
      "\n# A serial line: take the # away, and write the name of its port. ls /dev/serial/by-id "
      "shows it.\n";
  for (std::string_view rest = table; !rest.empty();) {
    const auto end = rest.find('\n') + 1;
    out += "# " + std::string(rest.substr(0, end));
    rest.remove_prefix(end);
  }
  return out;
}

std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> out;
  for (;;) {
    const auto start = text.find_first_not_of(blanks);
    if (start == std::string_view::npos) return out;
    text.remove_prefix(start);
    const auto end = std::min(text.find_first_of(blanks), text.size());
    out.push_back(fs::ascii_lower(text.substr(0, end)));
    text.remove_prefix(end);
  }
}

std::string trimmed(std::string_view text) {
  const auto start = std::min(text.find_first_not_of(blanks), text.size());
  const auto end = text.find_last_not_of(blanks);
  return start == text.size() ? "" : std::string(text.substr(start, end + 1 - start));
}

// Asks until the answer makes sense; Enter takes `usual`.
template <class Value>
Result<Value> ask_until(const std::string& question, std::string_view usual,
                        Result<Value> (*meaning)(std::string_view)) {
  show_on_error("\n" + question);
  for (;;) {
    const auto typed = ask(fmt::format("[{}]: ", usual));
    if (!typed) return typed.error();
    const std::string answer = trimmed(*typed);
    auto value = meaning(answer.empty() ? usual : answer);
    if (value) return value;
    show_on_error(value.error().message + '\n');
  }
}

std::string machines_question() {
  std::string out =
      "3 of 5. Which kinds of machines are there? Several, with blanks between them, or all; doors "
      "that\nnone of them needs stay shut.\n";
  for (const CardKind& each : card_kinds()) {
    out += fmt::format("  {:<10} {}\n", each.name, each.title);
  }
  return out;
}

std::string reach_question() {
  const auto own = server::own_addresses();
  std::string out = fmt::format(
      "4 of 5. Who may connect?\n"
      "  {:<15} the machines on this box's private networks\n"
      "  {:<15} only programs on this box, to try it out\n",
      "room", "box");
  for (const std::string& each : own) {
    out += fmt::format("  {:<15} only who comes in at this address of the box\n", each);
  }
  return out;
}

}  // namespace

Result<std::string> room_name(std::string_view typed) {
  if (typed.empty()) return Error{Code::bad_input, "A room needs a name."};
  if (auto fine = fs::check_line(typed, longest_room, "The name"); !fine) return fine.error();
  return std::string(typed);
}

Result<std::vector<CardKind>> machine_kinds(std::string_view typed) {
  std::vector<CardKind> out;
  const auto words = words_of(typed);
  if (words == std::vector<std::string>{"all"}) {
    return std::vector<CardKind>(card_kinds().begin(), card_kinds().end());
  }
  for (const std::string& word : words) {
    const auto kind = find_card_kind(word);
    if (!kind) {
      std::string names;
      for (const CardKind& each : card_kinds()) names += std::string(each.name) + ", ";
      return Error{Code::not_found,
                   fmt::format("\"{}\" is no kind of machine. There are: {}or all.",
                               fs::clip(word, longest_shown), names)};
    }
    const bool again = std::any_of(out.begin(), out.end(),
                                   [&](const CardKind& each) { return each.name == kind->name; });
    if (!again) out.push_back(*kind);
  }
  if (out.empty()) return Error{Code::bad_input, "Name one kind of machine, or all."};
  return out;
}

Result<std::string> door_reach(std::string_view typed) {
  const std::string word = fs::ascii_lower(typed);
  if (word == "room" || word == "private") return std::string("private");
  if (word == "box" || word == "loopback") return std::string("loopback");
  const auto address = fs::network_address(typed);
  if (!address) {
    return Error{Code::bad_input,
                 fmt::format("\"{}\" is neither room nor box nor an address such as 192.168.1.5.",
                             fs::clip(typed, longest_shown))};
  }
  boost::system::error_code failed;
  if (!server::is_private(boost::asio::ip::make_address(*address, failed)) || failed) {
    return Error{
        Code::bad_input,
        fmt::format("{} can be reached from the whole Internet, which old protocols are not "
                    "made for. Choose another.",
                    *address)};
  }
  return *address;
}

Result<std::string> printing_paper(std::string_view typed) {
  const std::string word = fs::ascii_lower(typed);
  if (word == "a4" || word == "letter") return word;
  return Error{
      Code::bad_input,
      fmt::format("Paper is a4 or letter here, not \"{}\". Other paper can be set for each "
                  "queue later.",
                  fs::clip(typed, longest_shown))};
}

std::string first_settings(const FirstAnswers& answers) {
  server::NewDoors doors;
  doors.address = answers.address;
  for (const CardKind& kind : card_kinds()) {
    const bool wanted = answers.machines.empty() ||
                        std::any_of(answers.machines.begin(), answers.machines.end(),
                                    [&](const CardKind& each) { return each.door == kind.door; });
    if (!wanted && !kind.door.empty()) doors.closed.emplace_back(kind.door);
  }
  const bool serial = std::any_of(answers.machines.begin(), answers.machines.end(),
                                  [](const CardKind& each) { return each.door.empty(); });
  return print::new_queue_settings(answers.paper == "letter" ? "plain-80-letter" : "plain-80") +
         server::new_door_settings(doors) + (serial ? serial_example() : "") +
         std::string(fs::new_snapshot_settings());
}

Result<std::string> ask_for_manager_name(std::string_view prompt) {
  for (;;) {
    auto typed = ask(prompt);
    if (!typed) return typed;
    auto name = fs::account_name(*typed);
    if (name) return name;
    show_on_error(name.error().message + '\n');
  }
}

Result<FirstAnswers> ask_first_questions(const std::string& room) {
  FirstAnswers answers;
  show_on_error(
      "Five questions, and the room has a volume. Enter alone takes what stands in [ ]. Ctrl-C "
      "gives "
      "up\nand leaves nothing behind. All of it can be changed later, in volume.toml.\n");
  if (room.empty()) {
    auto name = ask_until<std::string>("1 of 5. What is the room called?\n", "Our room", room_name);
    if (!name) return name.error();
    answers.room = std::move(*name);
  } else {
    answers.room = room;
  }
  show_on_error("\n2 of 5. Who manages it? One who may do everything; others are added later.\n");
  auto manager = ask_for_manager_name("The manager's name to sign in with: ");
  if (!manager) return manager.error();
  answers.manager = std::move(*manager);
  auto password = new_password({true, false}, answers.manager);
  if (!password) return password.error();
  answers.password = std::move(*password);
  const auto rest = [&]() -> fs::Status {
    auto machines =
        ask_until<std::vector<CardKind>>(machines_question(), usual_machines, machine_kinds);
    if (!machines) return machines.error();
    answers.machines = std::move(*machines);
    auto address = ask_until<std::string>(reach_question(), "room", door_reach);
    if (!address) return address.error();
    answers.address = std::move(*address);
    auto paper = ask_until<std::string>("5 of 5. Which paper do printouts have, a4 or letter?\n",
                                        "a4", printing_paper);
    if (!paper) return paper.error();
    answers.paper = std::move(*paper);
    return {};
  };
  if (auto asked = rest(); !asked) {
    fs::wipe(answers.password);
    return asked.error();
  }
  return answers;
}

}  // namespace stationer::admin
