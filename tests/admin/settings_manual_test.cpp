// The page of volume.toml, held to those who read it: they accept each key that is on it, with what
// it says of values and of what holds when nothing is said, and no other.
#include "admin/settings_manual.h"

#include <algorithm>
#include <initializer_list>
#include <map>
#include <set>
#include <sstream>

#include <catch2/catch.hpp>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <toml++/toml.h>

#include "fs/snapshot_plan.h"
#include "fs/visitors.h"
#include "fs/volume_file.h"
#include "print/finder.h"
#include "print/forwarder.h"
#include "print/queue.h"
#include "server/config.h"
#include "tests/admin/process.h"

using namespace stationer;
using namespace stationer::admin;
using fs::SettingWords;
using fs::TableWords;

namespace {

// ---- all that is read, as text: what changes in it is what a setting does ----

class Told {
 public:
  template <class... Values>
  void operator()(const Values&... values) {
    ((text_ += fmt::format("{}|", values)), ...);
    text_ += '\n';
  }
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

void tell(Told& told, const server::Screen& screen, int rows, const fs::NameStyle& names) {
  told(print::name_of(screen.charset), screen.capitals, screen.columns,
       static_cast<int>(screen.ending), rows, names.name);
}

void tell_line(Told& told, const server::TerminalConfig& line) {
  told(static_cast<int>(line.telnet), line.guests, line.sign_on, line.idle.count(),
       line.setup.seven_bits);
  for (const auto& [address, name] : line.sign_on_at) told(address, name);
  tell(told, line.setup.screen, line.setup.rows, *line.setup.names);
}

void tell(Told& told, const server::RawStation& station) {
  told(station.queue, station.own_queue, station.idle.count());
}

void tell(Told& told, const server::Config& config) {
  const server::TerminalDoorConfig& terminal = config.terminal;
  for (const server::DoorConfig& door : std::initializer_list<server::DoorConfig>{
           terminal, config.lpd, config.raw, config.tftp, config.ftp, config.time, config.daytime,
           config.http}) {
    told(door.open, door.address, door.port, door.is_public, door.most, door.most_per_address);
  }
  tell_line(told, terminal);
  for (const auto& line : config.lines) {
    told(line.name, line.port.device, line.port.speed, line.port.bits,
         static_cast<int>(line.port.parity), line.port.stop_bits, static_cast<int>(line.port.flow),
         line.port.carrier, line.pacing.character.count(), line.pacing.line.count());
    tell_line(told, line);
  }
  told(config.lpd.believe_names);
  tell(told, config.raw.usual);
  for (const auto& [address, station] : config.raw.stations) {
    told(address);
    tell(told, station);
  }
  told(config.tftp.folder.text(), config.tftp.hand_in ? config.tftp.hand_in->text() : "nowhere",
       config.tftp.hand_in_for);
  told(config.ftp.guests, config.ftp.idle.count(), config.ftp.certificate, config.ftp.key,
       config.ftp.needs_tls);
  told(config.http.idle.count());
  for (const auto& [name, profile] : config.stations.profiles) {
    told(name, profile.queue, profile.block_after_last);
    tell(told, profile.screen, profile.rows, *profile.names);
  }
  told(config.stations.unknown);
}

void tell(Told& told, const print::Queues& queues) {
  for (const auto& queue : queues.all) {
    told(queue.name, queue.title, queue.profile, static_cast<int>(queue.policy),
         queue.settings.text.most_pages, queue.limits.day, queue.limits.week, queue.split.pages,
         queue.split.marker, queue.banner,
         print::write_profile({queue.name, queue.title, queue.settings}));
  }
  for (const auto& printer : queues.printers) told(printer.name, print::write_profile(printer));
  told(queues.otherwise, queues.keeping.printout_days, queues.keeping.again_days,
       queues.keeping.again_bytes, queues.confined);
}

// What the whole program makes of the text of volume.toml.
fs::Result<std::string> read_all(const std::string& text) {
  const auto volume = fs::parse_volume_file(text);
  if (!volume) return volume.error();
  const auto snapshots = fs::read_snapshot_plan(text);
  if (!snapshots) return snapshots.error();
  const auto visitors = fs::read_visitor_plan(text);
  if (!visitors) return visitors.error();
  const auto queues = print::read_queues(text);
  if (!queues) return queues.error();
  const auto forwarding = print::read_forwarding(text);
  if (!forwarding) return forwarding.error();
  const auto index = print::read_index_size(text);
  if (!index) return index.error();
  const auto config = server::read_config(text, *queues);
  if (!config) return config.error();
  Told told;
  told(volume->name, volume->reserve, volume->new_account.soft_bytes,
       volume->new_account.hard_bytes, volume->new_account.soft_files,
       volume->new_account.hard_files, volume->grace.count(), volume->retention.days,
       volume->retention.versions, volume->retention.account_bytes, volume->journal.entries,
       volume->journal.days, volume->watch);
  told(snapshots->folder, snapshots->daily_at ? snapshots->daily_at->count() : -1, snapshots->days,
       snapshots->weeks, snapshots->months);
  told(fmt::format("{}", fmt::join(visitors->accounts, ",")),
       visitors->tidy_at ? visitors->tidy_at->count() : -1);
  tell(told, *queues);
  told(forwarding->server, *index);
  for (const auto& [name, queue] : forwarding->queues) told(name, queue.printer, queue.asked);
  tell(told, *config);
  return told.text();
}

std::string complaint(const std::string& text) {
  const auto read = read_all(text);
  return read ? "none" : read.error().message;
}

// ---- a file with one setting in it ----

using Pairs = std::vector<std::pair<std::string, std::string>>;  // "door.ftp", "key = \"x\""

// Each line of `settings` takes the place of the same key before it.
std::string file_of(const Pairs& settings) {
  toml::table file;
  for (const auto& [table, line] : settings) {
    toml::table* into = &file;
    const toml::table parsed = toml::parse('[' + table + "]\n" + line);
    const toml::table* from = &parsed;
    while (from->size() == 1 && from->begin()->second.is_table()) {
      const auto name = from->begin()->first.str();
      into = into->insert(name, toml::table()).first->second.as_table();
      from = from->begin()->second.as_table();
    }
    for (const auto& [key, value] : *from) into->insert_or_assign(key.str(), value);
  }
  std::ostringstream out;
  out << file;
  return out.str();
}

// The name of a table with everything in it that the keeper chooses; of "door.NAME" each door.
std::vector<std::string> real_names(const std::string& name) {
  if (name == "door.NAME") {
    std::vector<std::string> doors;
    for (const auto& table : all_settings_words()) {
      if (table.name.starts_with("door.") && table.name.find('.', 5) == std::string::npos &&
          table.name != name) {
        doors.push_back(table.name);
      }
    }
    return doors;
  }
  std::string real = name;
  for (const auto& [word, instead] :
       {std::pair("NAME", "bench"), std::pair("ADDRESS", "10.0.0.7")}) {
    if (const auto at = real.find(word); at != std::string::npos) {
      real.replace(at, std::string(word).size(), instead);
    }
  }
  return {real};
}

// What else has to be said so that a setting can be.
enum class Set : std::uint8_t { as_usual, otherwise };
Pairs around(const std::string& table, const std::string& key, Set how = Set::otherwise) {
  Pairs out = {{"volume", "format = 2"},
               {"visitors", "accounts = [\"visitor\"]"},
               {"queue.lists", "title = \"Lists\""},
               {"queue.again", "title = \"The first by name\""}};
  if (table == "visitors") out.erase(out.begin() + 1);
  if (table.starts_with("serial.")) out.emplace_back(table, "device = \"/dev/ttyUSB0\"");
  if (table.starts_with("printer.")) out.emplace_back(table, "paper = \"a4\"");
  if (key == "like") out.pop_back();  // then the paper is the other printer's
  if (key == "like") out.emplace_back(table, "like = \"plain-80\"");
  if (key == "forward_when") out.emplace_back(table, "forward = \"laser\"");
  if (key == "edges") {
    out.emplace_back(
        table, table.starts_with("queue.") ? "profile = \"fanfold-11\"" : "paper = \"fanfold-11\"");
  }
  // Neither of the two without the other.
  if (key == "needs_tls" || ((key == "certificate" || key == "key") && how == Set::otherwise)) {
    out.emplace_back(table, "certificate = \"/a.pem\"");
    out.emplace_back(table, "key = \"/a.key\"");
  }
  return out;
}

std::vector<std::string> split(std::string_view text, std::string_view by) {
  std::vector<std::string> out;
  for (;;) {
    const auto end = std::min(text.find(by), text.size());
    out.emplace_back(text.substr(0, end));
    if (end == text.size()) return out;
    text.remove_prefix(end + by.size());
  }
}

// What a complaint lists at its end: "… one of: a, b, c."
std::set<std::string> listed_in(std::string text, std::initializer_list<const char*> behind) {
  for (const char* words : behind) {
    if (const auto at = text.rfind(words); at != std::string::npos) {
      text.erase(0, at + std::string(words).size());
    }
  }
  if (text.ends_with('.')) text.pop_back();
  std::set<std::string> out;
  for (std::string each : split(text, ", ")) {
    std::erase(each, '"');
    out.insert(each);
  }
  return out;
}

// All that is on the page: the table as it is written, and the words.
struct OnPage {
  std::string table;
  SettingWords words;
};
std::vector<OnPage> on_page() {
  const auto tables = all_settings_words();
  std::vector<OnPage> out;
  for (const TableWords& table : tables) {
    for (const std::string& name : real_names(table.name)) {
      for (const SettingWords& words : table.settings) {
        // A door's own words go before those about every door.
        if (table.name == "door.NAME") {
          const auto& own = fs::table_words(tables, name).settings;
          if (std::any_of(own.begin(), own.end(),
                          [&](const auto& each) { return each.key == words.key; })) {
            continue;
          }
        }
        out.push_back({name, words});
      }
    }
  }
  return out;
}

// Written when the volume is made, and for no one to change; the format decides what else is read.
bool is_fixed(const OnPage& each) {
  return each.table == "volume" && (each.words.key == "format" || each.words.key == "created");
}

std::string with(const OnPage& each, const std::string& value, Set how = Set::otherwise) {
  Pairs all = around(each.table, each.words.key, how);
  all.emplace_back(each.table, each.words.key + " = " + value);
  return file_of(all);
}

std::string without(const OnPage& each, Set how) {
  Pairs all = around(each.table, each.words.key, how);
  all.emplace_back(each.table, "");
  return file_of(all);
}

bool is_number(const std::string& values) {
  return values.find("..") != std::string::npos;
}

long least_of(const std::string& values) {
  return std::stol(values);
}

long most_of(const std::string& values) {
  return std::stol(values.substr(values.find("..") + 2));
}

bool is_choice(const std::string& values) {
  return values.find('|') != std::string::npos;
}

// Values that a setting may have, besides what it has when nothing is said.
std::vector<std::string> others(const SettingWords& words) {
  std::vector<std::string> out;
  if (is_number(words.values)) {
    const long least = least_of(words.values);
    const long usual = words.otherwise.empty() ? least : std::stol(words.otherwise);
    out.push_back(fmt::format("{}", usual == most_of(words.values) ? least : usual + 1));
  } else if (is_choice(words.values)) {
    for (const auto& each : split(words.values, "|")) {
      if (each != words.otherwise) out.push_back(each);
    }
  } else {
    out.push_back(words.example);
  }
  return out;
}

}  // namespace

TEST_CASE("the settings that are read are those on the page, all of them and no others") {
  std::map<std::string, std::set<std::string>> keys;  // by table
  std::set<std::string> tables;
  std::set<std::string> doors;
  for (const auto& each : on_page()) {
    keys[each.table].insert(each.words.key);
    const auto parts = split(each.table, ".");
    tables.insert(parts[0]);
    if (parts[0] == "door") doors.insert(parts[1]);
    if (parts.size() > 2) keys[parts[0] + '.' + parts[1]].insert(parts[2]);  // a table within
  }
  const auto accepted = [](const std::string& table) {
    Pairs all = around(table, "");
    all.emplace_back(table, "no-such-setting = 1");
    const std::string said = complaint(file_of(all));
    INFO(table << ": " << said);
    CHECK(said.find("there is no setting \"no-such-setting\" in [") != std::string::npos);
    return listed_in(said, {"; there are: "});
  };
  for (const auto& [table, on_it] : keys) {
    INFO(table);
    CHECK(accepted(table) == on_it);
  }
  CHECK(accepted("door") == doors);
  const std::string said = complaint("no-such-table = 1\n" + file_of(around("", "")));
  INFO(said);
  CHECK(listed_in(said, {"; there are: "}) == tables);
}

TEST_CASE("what the page says of a setting is what holds when nothing is said") {
  for (const auto& each : on_page()) {
    INFO(each.table << ": " << each.words.key << " = " << each.words.otherwise);
    if (each.words.otherwise.empty()) continue;
    const auto silent = read_all(without(each, Set::as_usual));
    const auto said = read_all(with(each, each.words.otherwise, Set::as_usual));
    INFO((silent ? "" : silent.error().message) << (said ? "" : said.error().message));
    REQUIRE(silent);
    REQUIRE(said);
    CHECK(*said == *silent);
  }
}

TEST_CASE("every setting on the page can be set, and something changes by it") {
  for (const auto& each : on_page()) {
    if (is_fixed(each)) continue;
    const auto before = read_all(without(each, Set::otherwise));
    INFO(each.table << ": " << each.words.key << (before ? "" : before.error().message));
    REQUIRE(before);
    std::size_t changes = 0;
    for (const std::string& value : others(each.words)) {
      const auto read = read_all(with(each, value));
      INFO(value << (read ? "" : ": " + read.error().message));
      REQUIRE(read);
      changes += *read != *before ? 1 : 0;
    }
    CHECK(changes > 0);
  }
}

TEST_CASE("what the page says of a setting's values is what is refused otherwise") {
  for (const auto& each : on_page()) {
    const std::string& values = each.words.values;
    INFO(each.table << ": " << each.words.key << ", " << values);
    if (values == "true|false") {
      CHECK(complaint(with(each, "2")).find("must be true or false") != std::string::npos);
    } else if (is_number(values)) {
      const std::string range = fmt::format("from {} to {}.", least_of(values), most_of(values));
      CHECK(complaint(with(each, "-7")).find(range) != std::string::npos);
    } else if (is_choice(values)) {
      std::set<std::string> choices;
      for (std::string choice : split(values, "|")) {
        std::erase(choice, '"');
        choices.insert(choice);
      }
      const bool of_numbers = values.front() != '"';
      const std::string said = complaint(with(each, of_numbers ? "3" : "\"no-such\""));
      INFO(said);
      // Of a few numbers the complaint need not be a list.
      if (of_numbers && said.find("hoose one of") == std::string::npos) {
        CHECK(said != "none");
      } else {
        CHECK(listed_in(said, {" is one of ", "There are ", "hoose one of: "}) == choices);
      }
    } else {
      CHECK_FALSE(values.empty());
      CHECK((is_fixed(each) || !each.words.example.empty()));
    }
  }
}

TEST_CASE("the page says of each setting what it is for, in sentences") {
  const std::string page = settings_manual_page();
  for (const TableWords& table : all_settings_words()) {
    INFO(table.name);
    CHECK(table.what.ends_with('.'));
    for (const SettingWords& words : table.settings) {
      INFO(words.key);
      CHECK(words.remark.size() > 5);
      CHECK_FALSE(words.remark.ends_with('.'));
      CHECK((words.more.empty() || words.more.ends_with('.')));
      std::string entry = words.key + (words.otherwise.empty() ? "" : " = " + words.otherwise);
      for (std::size_t at = 0; (at = entry.find('"', at)) != std::string::npos; at += 2) {
        entry.insert(at, "\"");
      }
      for (std::size_t at = 0; (at = entry.find('-', at)) != std::string::npos; at += 2) {
        entry.insert(at, "\\");
      }
      CHECK(page.find("\n.B \"" + entry + "\"\n") != std::string::npos);
    }
  }
}

TEST_CASE("the example on the page is read without complaint") {
  CHECK(complaint(std::string(settings_example())) == "none");
}

TEST_CASE("a new volume's file says no more than the page, with the same remarks") {
  const std::string file = fs::new_volume_file("Tidewrack Mill", fs::Time()) +
                           print::new_queue_settings() + server::new_door_settings() +
                           std::string(fs::new_snapshot_settings());
  CHECK(complaint(file) == "none");
  CHECK(file.find("\nreserve_mib = 64      # disk kept free for the keeper\n") !=
        std::string::npos);
  CHECK(file.find("\n# Stations load programs here without an account.\n[door.tftp]\n") !=
        std::string::npos);
}

TEST_CASE("the program writes the page about settings") {
  const test::Keeper keeper;
  CHECK(keeper.done("manual settings") == settings_manual_page());
}
