#include "server/explain.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/local_time.h"
#include "server/shell_word.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr std::uint64_t mib = 1 << 20;

template <class... Words>
std::string command(const Words&... words) {
  std::string out = "stationer";
  ((out += ' ' + in_shell(words)), ...);
  return out;
}

std::string whose(const std::string& owner) {
  return owner.empty() ? "the room" : owner;
}

class Explaining {
 public:
  explicit Explaining(const Circumstances& circumstances) : circumstances_(circumstances) {}

  Explanation operator()(const fs::LacksBit& lacking) const {
    const char* const act = lacking.write ? "write" : "read";
    const std::string bits = fmt::format("{} has the access {}, and belongs to {}{}", lacking.path,
                                         lacking.access.text(), whose(lacking.owner),
                                         lacking.klass.empty() ? "" : ", class " + lacking.klass);
    char letter = 'e';
    std::string counted = "everyone";
    switch (lacking.as) {
      case fs::Counted::guest:
        if (lacking.write) {
          return {fmt::format("{}. Guests never may {}: signing in comes first.", bits, act), ""};
        }
        counted = "a guest, as everyone";
        break;
      case fs::Counted::in_class:
        letter = 'c';
        counted = "one of its class";
        break;
      case fs::Counted::owner:
        letter = 'o';
        counted = "its owner, or who leads them";
        break;
      case fs::Counted::manager:
      case fs::Counted::everyone: break;
    }
    Explanation out{
        fmt::format("{}. Who tried counts as {}, and the {} bit for that, {}, is not set.", bits,
                    counted, act, fmt::format("{}+{}", letter, act[0])),
        command("file", "access", lacking.path, fmt::format("{}+{}", letter, act[0]))};
    if (is_private(lacking)) {
      out.rule += fmt::format(" {} keeps it from all others, and can open it.", lacking.owner);
      out.remedy.clear();
    }
    return out;
  }

  Explanation operator()(const fs::NotTheirs& theirs) const {
    std::string rule = fmt::format(
        "{} belongs to {}. Only its owner, leaders of the owner's classes, and managers may do "
        "that.",
        theirs.path, whose(theirs.owner));
    if (!theirs.owner.empty() || circumstances_.who.empty()) return {std::move(rule), ""};
    return {std::move(rule), command("file", "owner", theirs.path, circumstances_.who)};
  }

  Explanation operator()(const fs::IsKept& kept) const {
    return {fmt::format("{} has the keep bit.", kept.path),
            command("file", "access", kept.path, "a-k")};
  }

  Explanation operator()(const fs::NoRoom& full) const {
    const auto amount = [&](std::uint64_t number) {
      return full.of_files ? counted(number, "file or folder", "files and folders")
                           : exact_size(number);
    };
    std::string rule = fmt::format(
        "The limit is {}{}, {} are in use, and it would have been {} at least. The limit is {}.",
        amount(full.limit), full.grace_over ? " now that the time of grace is over" : "",
        full.of_files ? std::to_string(full.used) : exact_size(full.used),
        full.of_files ? std::to_string(full.wanted) : exact_size(full.wanted),
        full.klass.empty() ? fmt::format("the account {}'s own", full.account)
                           : fmt::format("that of the class {}", full.klass));
    // Twice what was wanted: how much more would have come is not known.
    const std::uint64_t enough =
        full.of_files ? full.wanted * 2 : (full.wanted * 2 + mib - 1) / mib;
    const bool own = full.klass.empty();
    return {std::move(rule),
            command(own ? "account" : "class", "quota", own ? full.account : full.klass,
                    full.of_files ? "--files" : "--mib", std::to_string(enough))};
  }

  Explanation operator()(const fs::DiskFull& disk) const {
    return {fmt::format("The disk has {} free, of which {} are kept for the keeper (reserve_mib in "
                        "volume.toml).",
                        short_size(disk.free_bytes), short_size(disk.reserve)),
            ""};
  }

  Explanation operator()(const fs::HandInShut& shut) const {
    return {fmt::format("{} {} {}.", shut.path, shut.early ? "opens on" : "closed on",
                        fs::local_time_text(shut.at)),
            shut.early ? command("hand-in", "set", shut.path, "--opens", "never")
                       : command("hand-in", "set", shut.path, "--late", "yes")};
  }

  Explanation operator()(const fs::NotOfClass& other) const {
    if (other.klass.empty()) return {"It belongs to no class.", ""};
    std::string rule = fmt::format("Only {} of the class {} may.",
                                   other.leading ? "leaders" : "members and leaders", other.klass);
    // Who is no leader at all becomes one by more than a command.
    if (circumstances_.who.empty() || (other.leading && !circumstances_.may_lead)) {
      return {std::move(rule), ""};
    }
    std::string remedy = command("class", "join", other.klass, circumstances_.who);
    if (other.leading) remedy += " --leader";
    return {std::move(rule), std::move(remedy)};
  }

  Explanation operator()(const fs::ManagersOnly&) const {
    return {"Only managers may, and the keeper at the box.", ""};
  }

  Explanation operator()(const fs::NoEntry& entry) const {
    using Why = fs::NoEntry::Why;
    switch (entry.why) {
      case Why::unknown:
        return {"There is no account of the name that was typed. What was typed is not kept.", ""};
      case Why::closed:
        return {fmt::format("The account {} is closed.", entry.account),
                command("account", "open", entry.account)};
      case Why::over:
        return {fmt::format("The account {} had an end, and that has come.", entry.account),
                command("account", "change", entry.account, "--ends", "")};
      case Why::no_password:
        return {fmt::format("The account {} has no password yet.", entry.account),
                command("account", "password", entry.account)};
      case Why::wrong_password: break;
    }
    return {fmt::format("It was not the password of {}.", entry.account),
            command("account", "password", entry.account)};
  }

  Explanation operator()(const fs::TooManyGuesses& guesses) const {
    return {fmt::format("Too many wrong guesses came from there, or for that name: the next counts "
                        "after {} seconds. Waiting helps.",
                        guesses.wait.count()),
            ""};
  }

  Explanation operator()(const fs::DoorShut& shut) const {
    if (!shut.station.empty()) {
      std::string remedy = command("station", "change", shut.station);
      for (const auto& door : shut.doors) remedy += " --door " + in_shell(door);
      return {fmt::format("The station {} is kept to {}.", shut.station, listed(shut.doors)),
              remedy + " --door " + in_shell(shut.door)};
    }
    std::string rule = fmt::format("No station is registered with the address {}.", shut.address);
    if (!circumstances_.free_number) return {std::move(rule), ""};
    const auto [segment, number] = circumstances_.free_number();
    if (number == 0) return {std::move(rule), ""};
    return {std::move(rule), command("station", "adopt", shut.address, "--segment",
                                     std::to_string(segment), "--number", std::to_string(number),
                                     "--name", fmt::format("station-{}-{}", segment, number))};
  }

  Explanation operator()(const fs::NotForStations& outside) const {
    std::string rule = fmt::format(
        "By TFTP there is only what is in {} (folder under [door.tftp] in volume.toml), and what "
        "boot names give.",
        outside.folder);
    if (circumstances_.station.empty()) return {std::move(rule), ""};
    return {std::move(rule), command("station", "boot", circumstances_.station, outside.path,
                                     "--asked", circumstances_.asked)};
  }

  Explanation operator()(const fs::Frozen& frozen) const {
    return {fmt::format("{} froze the class {}: it can't save and print until {} thaws it.",
                        frozen.by, frozen.klass, frozen.by),
            ""};
  }

  Explanation operator()(const fs::SettingSays& setting) const {
    return {fmt::format("In volume.toml, {} {}.", setting.setting, setting.says), ""};
  }

 private:
  // Nobody but its owner, and who looks after them, may even read it: what is in it is theirs to
  // show.
  bool is_private(const fs::LacksBit& lacking) const {
    const bool for_others = lacking.access.has(fs::Access::class_read) ||
                            lacking.access.has(fs::Access::everyone_read) ||
                            lacking.access.has(fs::Access::class_write) ||
                            lacking.access.has(fs::Access::everyone_write);
    return lacking.as != fs::Counted::owner && !lacking.owner.empty() && !for_others;
  }

  const Circumstances& circumstances_;
};

class ExplainingToMember {
 public:
  std::string operator()(const fs::LacksBit& lacking) const {
    const char* const act = lacking.write ? "change" : "read";
    switch (lacking.as) {
      case fs::Counted::guest: return fmt::format("Guests may not {} it. Sign in first.", act);
      case fs::Counted::owner:
        return fmt::format(
            "It is yours to look after, but its access says not to {} it. access changes that.",
            act);
      case fs::Counted::in_class:
        return fmt::format("Its class, and so you, may not {} it. Ask a leader.", act);
      case fs::Counted::manager:
      case fs::Counted::everyone: break;
    }
    return fmt::format("Only some may {} it, and you are not among them. Ask {}.", act, keeper);
  }
  std::string operator()(const fs::NotTheirs&) const {
    return "It belongs to somebody else, who may do that, and whoever leads them.";
  }
  std::string operator()(const fs::IsKept&) const {
    return "It has the keep bit. Its owner can end that: access NAME -k";
  }
  std::string operator()(const fs::NoRoom& full) const {
    return fmt::format(
        "More than {} may not be kept. space shows the figures. Remove something, or ask {}.",
        full.of_files ? counted(full.limit, "file or folder", "files and folders")
                      : short_size(full.limit),
        keeper);
  }
  std::string operator()(const fs::HandInShut&) const {
    return "due shows the times. Ask a leader of the class.";
  }
  std::string operator()(const fs::NotOfClass& other) const {
    return other.leading ? "Only leaders of the class may." : "Only the class may.";
  }
  std::string operator()(const fs::ManagersOnly&) const { return ask_keeper(); }
  std::string operator()(const fs::NoEntry& entry) const {
    if (entry.why == fs::NoEntry::Why::wrong_password) {
      return fmt::format("It was not the password. A leader, or {}, can give you a new one.",
                         keeper);
    }
    return ask_keeper();
  }
  std::string operator()(const fs::TooManyGuesses&) const { return "Wait, then try again."; }
  std::string operator()(const fs::Frozen& frozen) const {
    return fmt::format("It goes on when {} says so.", frozen.by);
  }
  // The rest is the keeper's to know.
  template <class Other>
  std::string operator()(const Other&) const {
    return ask_keeper();
  }

 private:
  static constexpr const char* keeper = "whoever keeps this room";
  static std::string ask_keeper() { return fmt::format("Ask {}.", keeper); }
};

// Of what no rule tells more.
std::string by_code(fs::Code code) {
  switch (code) {
    case fs::Code::not_found:
      return "Nothing of that name was there. Was it typed as it is called?";
    case fs::Code::exists: return "The name was taken, and nothing was to be replaced.";
    case fs::Code::bad_name: return "That can't be a name here.";
    case fs::Code::not_a_folder:
    case fs::Code::is_a_folder: return "A file was taken for a folder, or a folder for a file.";
    case fs::Code::damaged: return "What is on the disk is not what was written: stationer check.";
    case fs::Code::read_only: return "The volume can't be written to.";
    default: return "";
  }
}

}  // namespace

Explanation explain(const fs::Error& error, const Circumstances& circumstances) {
  if (!error.cause) return {by_code(error.code), ""};
  return std::visit(Explaining(circumstances), error.cause->rule);
}

std::string explain_to_member(const fs::Error& error) {
  if (!error.cause) return by_code(error.code);
  return std::visit(ExplainingToMember(), error.cause->rule);
}

}  // namespace stationer::server
