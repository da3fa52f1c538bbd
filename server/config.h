// The doors as the keeper sets them up in volume.toml:
//
//   [door.terminal]
//   open = true
//   address = "private"      # "loopback"; "private", which is loopback and private networks; or an
//   port = 8023              # address of this machine. 0 picks a free port
//   public = false           # true allows an address that the whole Internet can reach
//   telnet = "auto"          # or "always", "never"
//   guests = true            # may one look around without an account?
//   charset = "ascii"        # what stations show, unless they say more
//   capitals = false         # stations without small letters
//   columns = 80
//   rows = 24
//   sign_on = ""             # the visitors' account that everybody there has ("visitor"), instead
//   of
//                            # asking for a name; fs/visitors.h has who may be one
//   idle_minutes = 60        # who types nothing for so long is signed off; 0: never
//   names = "long"           # how names are shown: a style of fs/name_style.h
//   most = 2000              # connections at once, and from one address
//   most_per_address = 64
//   [door.terminal.station."10.0.0.7"]   # other than that for the machine with this address
//   sign_on = "visitor"
//
//   [serial.bench]           # a serial line, by a name of the keeper's
//   device = "/dev/ttyUSB0"  # best one of /dev/serial/by-id, which stays with its adapter
//   speed = 9600             # bit/s, any that the port can do
//   bits = 8                 # or 7
//   parity = "none"          # or "even", "odd"
//   stop_bits = 1            # or 2
//   flow = "none"            # or "rts-cts", "xon-xoff"
//   carrier = false          # true: the carrier tells whether somebody is there, as of a modem
//   character_ms = 0         # pauses for stations that are slow to show what comes: after each
//   line_ms = 0              # character, after each line
//   guests, sign_on, charset, capitals, columns, rows, idle_minutes, names as above
//
//   [door.lpd]  …, port = 8515
//   believe_names = true     # a job goes to the tray of the account that the sender names
//
//   [door.raw]  …, port = 9100
//   queue = ""               # "" is the default queue
//   idle_seconds = 60        # silence that ends a job
//   [door.raw.station."10.0.0.7"]   # other than that for the machine with this address
//   queue = "listing"
//   idle_seconds = 300
//
//   [door.tftp]  …, port = 8069, most = 40000 (transfers at once)
//   folder = "/programs"     # what stations may load lies in here
//   hand_in = ""             # a hand-in folder into which stations that are known may save
//   hand_in_for = ""         # the account whose work that is when nobody is signed in at them
//
//   [door.ftp]  …, port = 8021
//   guests = true            # may one look around without an account?
//   idle_minutes = 15        # who asks for nothing, or a transfer that stands still, is let go
//   certificate = ""         # files in PEM form: a certificate with those above it,
//   key = ""                 # and its key. With both, FTP goes by TLS for clients that ask for it
//   needs_tls = false        # true: names, passwords and data go by TLS only
//
//   [door.time]  …, port = 8037      # RFC 868, TCP and UDP
//   [door.daytime]  …, port = 8013   # RFC 867, TCP and UDP
//
//   [door.http]  …, port = 8080
//   idle_seconds = 300       # who takes nothing for so long is hung up on
#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/path.h"
#include "fs/result.h"
#include "print/queue.h"
#include "server/net/serial_stream.h"
#include "server/profile.h"
#include "server/protocol/dialect.h"
#include "server/terminal/terminal.h"

namespace stationer::server {

struct DoorConfig {
  bool open = true;
  std::string address = "private";
  std::uint16_t port = 0;
  bool is_public = false;
  std::size_t most = 2000;
  std::size_t most_per_address = 64;
};

// What a line with a terminal on it is like.
struct TerminalConfig {
  std::string door = "terminal";  // as the journal has it
  Dialect::Door telnet = Dialect::Door::automatic;
  bool guests = true;
  std::string sign_on;                                         // empty: a name is asked for
  std::map<std::string, std::string, std::less<>> sign_on_at;  // by address
  std::chrono::minutes idle{60};                               // 0: for ever
  Terminal::Setup setup;

  const std::string& sign_on_of(std::string_view station) const {
    const auto found = sign_on_at.find(station);
    return found == sign_on_at.end() ? sign_on : found->second;
  }
};

struct TerminalDoorConfig : DoorConfig, TerminalConfig {};

struct SerialLineConfig : TerminalConfig {
  std::string name;
  SerialSettings port;
  Pacing pacing;
};

struct LpdDoorConfig : DoorConfig {
  bool believe_names = true;
};

// What becomes of what a machine sends.
struct RawStation {
  std::string queue;
  bool own_queue = false;  // it was said for this machine, and goes before its profile's
  std::chrono::seconds idle{60};
};

struct RawDoorConfig : DoorConfig {
  RawStation usual;
  std::map<std::string, RawStation, std::less<>> stations;  // by address

  const RawStation& station(std::string_view sender) const {
    const auto found = stations.find(sender);
    return found == stations.end() ? usual : found->second;
  }
};

struct TftpDoorConfig : DoorConfig {
  TftpDoorConfig() { most = 40'000; }
  fs::Path folder;
  std::optional<fs::Path> hand_in;
  std::string hand_in_for;
};

struct FtpDoorConfig : DoorConfig {
  bool guests = true;
  std::chrono::minutes idle{15};  // RFC 1123 §4.1.3.2: five at least, unless the keeper says less
  std::string certificate;        // both empty: no TLS
  std::string key;
  bool needs_tls = false;
};

struct HttpDoorConfig : DoorConfig {
  std::chrono::seconds idle{300};
};

struct Config {
  TerminalDoorConfig terminal;
  std::vector<SerialLineConfig> lines;
  LpdDoorConfig lpd;
  RawDoorConfig raw;
  TftpDoorConfig tftp;
  DoorConfig time;
  DoorConfig daytime;
  HttpDoorConfig http;
  StationPlan stations;  // server/profile.h
  FtpDoorConfig ftp;
};

// Reads the text of volume.toml. Code::bad_input with the line for what can't be right. `queues`
// are those of the same text.
fs::Result<Config> read_config(std::string_view settings_text, const print::Queues& queues);

// What a new volume's settings say about doors.
struct NewDoors {
  std::string address = "private";
  std::vector<std::string> closed;  // by their names
};
std::string new_door_settings(const NewDoors& doors = {});

}  // namespace stationer::server
