// What the card of each kind says.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "admin/cards/card.h"
#include "fs/text.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

constexpr std::array kinds = {
    CardKind{"serial-80", "Serial terminal, 80 columns", "", 80},
    CardKind{"serial-40", "Serial terminal, 40 columns", "", 40},
    CardKind{"serial-20", "Serial terminal, 20 columns", "", 20},
    CardKind{"telnet", "Network terminal, by Telnet", "terminal"},
    CardKind{"tftp", "Machine that loads or boots by TFTP", "tftp"},
    CardKind{"ftp", "Machine with an FTP client", "ftp"},
    CardKind{"lpd", "Printing by LPD", "lpd"},
    CardKind{"raw", "Printing to a raw port", "raw"},
    CardKind{"http", "Browser, by HTTP", "http"},
};

constexpr std::string_view no_program = "NAME";

class Writer {
 public:
  Writer(const CardKind& kind, const CardFacts& facts) : kind_(kind), facts_(facts) {
    card_.kind = kind.name;
    card_.title = kind.title;
  }

  Card write() {
    if (kind_.door.empty()) {
      serial();
      return std::move(card_);
    }
    const auto found =
        std::find_if(facts_.doors.begin(), facts_.doors.end(),
                     [this](const CardDoor& each) { return each.name == kind_.door; });
    if (found == facts_.doors.end()) {
      note("This volume knows no such door.");
      return std::move(card_);
    }
    door_ = &*found;
    if (!door_->open) {
      note(
          fmt::format("The {0} door is closed. Write open = true below [door.{0}] in volume.toml, "
                      "start the service anew, and print this card again.",
                      door_->name));
      return std::move(card_);
    }
    where();
    if (kind_.name == "telnet") telnet();
    if (kind_.name == "tftp") tftp();
    if (kind_.name == "ftp") ftp();
    if (kind_.name == "lpd") lpd();
    if (kind_.name == "raw") raw();
    if (kind_.name == "http") http();
    return std::move(card_);
  }

 private:
  void setting(std::string name, std::string value) {
    card_.settings.push_back({std::move(name), std::move(value)});
  }
  void step(std::string words, std::vector<std::string> typed = {}) {
    card_.steps.push_back({std::move(words), std::move(typed)});
  }
  void note(std::string sentence) { card_.notes.push_back(std::move(sentence)); }
  void caution(std::string sentence) { card_.cautions.push_back(std::move(sentence)); }

  const std::string& address() const { return door_->addresses.front(); }
  std::string port() const { return door_->port == 0 ? "PORT" : fmt::format("{}", door_->port); }
  std::string program() const {
    return facts_.program.empty() ? std::string(no_program) : facts_.program;
  }

  void where() {
    setting("address", address());
    setting("port", port());
    if (door_->port == 0) {
      note(
          "The port is a free one, chosen whenever the service starts. Print this card while it "
          "runs, or write a port of your own in volume.toml.");
    }
    if (door_->addresses.size() > 1) {
      const std::vector<std::string> others(door_->addresses.begin() + 1, door_->addresses.end());
      note(fmt::format("On another network the address may be {}.", server::listed(others, "or")));
    }
    if (address() == "127.0.0.1") {
      note(door_->reach == "private"
               ? fmt::format("This machine has no address on a network yet, so only programs on it "
                             "reach the door. Connect it, and print this card again.")
               : fmt::format("Only programs on this machine reach the door. For the room write "
                             "address = \"private\" below [door.{}] in volume.toml.",
                             door_->name));
    }
  }

  void usual_port(unsigned usual) {
    if (door_->port == usual) return;
    note(
        fmt::format("If the machine can use port {0} only, write port = {0} below [door.{1}] in "
                    "volume.toml, and give the program the right to use it (the README says how).",
                    usual, door_->name));
  }

  // Signing in at a terminal, from the first Enter on.
  void visit(bool guests, const std::string& sign_on) {
    if (!sign_on.empty()) {
      step(fmt::format("Press Enter. You are signed on as {}.", sign_on));
      return;
    }
    step("Press Enter. When you are asked for a name and a password, type your own" +
             std::string(guests ? "; to look around without:" : "."),
         guests ? std::vector<std::string>{"guest"} : std::vector<std::string>{});
  }

  void commands() { step("Then these go on from there:", {"help", "list /programs", "bye"}); }

  void telnet() {
    step("At the machine, start its Telnet program:",
         {fmt::format("telnet {} {}", address(), port())});
    visit(door_->guests, door_->sign_on);
    commands();
    note(
        "A modem emulator or a serial port server connects to the same address and port, without "
        "Telnet.");
    note(
        "Who has capitals only types their name in capitals. screen 40 16 says that a screen has "
        "40 columns and 16 rows.");
    usual_port(23);
    caution(
        "Telnet carries passwords and work in the clear. Use no password here that opens "
        "something elsewhere.");
  }

  void tftp() {
    setting("file name", facts_.program.empty() ? "of a file in " + door_->folder : program());
    setting("mode", "octet (binary)");
    step("Set these in the machine, if it loads by itself. By hand, with a usual client:",
         {fmt::format("tftp {} {}", address(), port()), "binary", "get " + program(), "quit"});
    note(
        fmt::format("It gets what everybody may read in {0}. Put a program there with: stationer "
                    "file put FILE {0}",
                    door_->folder));
    note("For a machine whose file name nobody can choose: stationer station boot STATION " +
         (door_->folder == "/" ? "" : door_->folder) + "/" + program());
    usual_port(69);
    caution("TFTP asks for no password: whoever is on the network can load these files.");
  }

  void ftp() {
    setting("mode", "passive or active; binary for programs, ascii for texts");
    step("At the machine, start its FTP program:", {fmt::format("ftp {} {}", address(), port())});
    step("When it asks for a name and a password, type your own" +
             std::string(door_->guests ? "; to look around without, this name, and anything as the "
                                         "password:"
                                       : "."),
         door_->guests ? std::vector<std::string>{"anonymous"} : std::vector<std::string>{});
    step("Fetch a program, and look around:",
         {"binary", "cd " + folder_of_program(), "get " + program(), "dir", "quit"});
    note(
        "put NAME saves a file of the machine's in your own folder, where you are after you signed "
        "in with your name.");
    if (door_->needs_tls) note("The door wants FTP by TLS: set the client to explicit TLS.");
    usual_port(21);
    caution("FTP without TLS carries passwords and work in the clear.");
  }

  std::string folder_of_program() const {
    const auto door = std::find_if(facts_.doors.begin(), facts_.doors.end(),
                                   [](const CardDoor& each) { return each.name == "tftp"; });
    return facts_.program.empty() || door == facts_.doors.end() ? "/programs" : door->folder;
  }

  void lpd() {
    setting("queue", door_->queue);
    step("Set these in the machine's own printing program. With a client for the command line:",
         {fmt::format("rlpr -N --printhost={} --port={} --printer={} --user=NAME FILE", address(),
                      port(), door_->queue)});
    note(
        "The printout goes to the tray of the account that NAME is; without one it waits to be "
        "claimed.");
    usual_port(515);
  }

  void raw() {
    setting("queue", door_->queue);
    step(
        "Set these as a network printer, of the kind \"raw\" or \"direct\". With a client for the "
        "command line:",
        {fmt::format("nc -N {} {} <FILE", address(), port())});
    note(
        "The printout is of whoever is signed in at the machine. If nobody is, it waits to be "
        "claimed by the code that stationer printout list --unclaimed shows.");
  }

  void http() {
    step("Open this in the browser:", {fmt::format("http://{}:{}/", address(), port())});
    note("It shows what everybody may read, in pages of 40 columns.");
    usual_port(80);
  }

  // ---- serial lines ----

  void serial() {
    if (facts_.lines.empty()) {
      step(
          "Stationer has no serial line yet. Write this into volume.toml, with the name of your "
          "port (ls /dev/serial/by-id shows it), and start the service anew:",
          {"[serial.bench]", "device = \"/dev/ttyUSB0\"", "speed = 9600", "flow = \"none\""});
      note(
          "A volume that was made for serial machines has these lines already, with a # before "
          "each.");
      note("Then print this card again: it tells how to set the machine.");
    }
    for (const CardLine& line : facts_.lines) {
      setting("line " + line.name, line.device);
      setting(facts_.lines.size() == 1 ? "set to" : "  set to", form_of(line));
    }
    if (!facts_.lines.empty()) {
      const CardLine& line = facts_.lines.front();
      step(
          "Connect the machine as below, and set it to what is above: speed, bits, parity, stop "
          "bits, handshake.");
      visit(line.guests, line.sign_on);
      if (line.columns != static_cast<std::uint64_t>(kind_.columns)) {
        step("Say how wide the screen is, each time or by columns in volume.toml:",
             {fmt::format("screen {}", kind_.columns)});
      }
      commands();
    }
    setting("cable", "crossed, as between two computers, RS-232:");
    setting("  9 pins", "2-3, 3-2, 5-5; with rts-cts 7-8, 8-7");
    setting("  9 to 25", "2-2, 3-3, 5-7; with rts-cts 7-5, 8-4");
    note(
        "Rubbish on the screen: another speed, or other bits and parity. Nothing at all: 2 and 3 "
        "are "
        "not crossed. Letters go missing: a handshake, or slower.");
    note("To test the line at the box: stationer line test " +
         (facts_.lines.empty() ? "bench" : facts_.lines.front().name));
    note("Who has capitals only types their name in capitals.");
    caution(
        "A serial line joins the earths of two machines. Different circuits, a missing earth or a "
        "long cable can destroy both and hurt you: use an isolated adapter, and ask somebody who "
        "knows.");
    caution(
        "RS-232 carries up to 15 volts of either sign. A machine whose port is of another kind "
        "(5 volts, current loop) needs a converter, or it is destroyed.");
  }

  static std::string form_of(const CardLine& line) {
    return fmt::format("{} bit/s, {} bits, {} parity, {}, {}", line.speed, line.bits,
                       line.parity == "none" ? "no" : line.parity,
                       server::counted(line.stop_bits, "stop bit"),
                       line.flow == "none" ? "no handshake" : "handshake " + line.flow);
  }

  const CardKind& kind_;
  const CardFacts& facts_;
  const CardDoor* door_ = nullptr;
  Card card_;
};

}  // namespace

std::span<const CardKind> card_kinds() {
  return kinds;
}

fs::Result<CardKind> find_card_kind(std::string_view name) {
  const std::string lower = fs::ascii_lower(name);
  for (const CardKind& each : kinds) {
    if (each.name == lower) return each;
  }
  std::vector<std::string_view> names;
  for (const CardKind& each : kinds) names.push_back(each.name);
  return fs::Error{fs::Code::not_found, fmt::format("There is no card for \"{}\". There are: {}.",
                                                    fs::clip(name, 40), fmt::join(names, ", "))};
}

Card card_for(const CardKind& kind, const CardFacts& facts) {
  return Writer(kind, facts).write();
}

}  // namespace stationer::admin
