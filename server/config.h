// The doors and serial lines as the keeper sets them up in volume.toml: [door.…] and [serial.…].
// server/settings_words.cpp says of each key what it is for.
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
