// One line of FTP's control connection, taken apart: its command, by RFC 959 §5.3, 1123 §4.1.3.1,
// 2228, 2389, 2428 and 3659, and what the arguments of some say. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include <boost/asio/ip/address.hpp>

namespace stationer::server {

enum class FtpVerb : std::uint8_t {
  abor,
  acct,
  allo,
  appe,
  auth,
  ccc,
  cdup,
  cwd,
  dele,
  eprt,
  epsv,
  feat,
  help,
  list,
  mdtm,
  mkd,
  mlsd,
  mlst,
  mode,
  nlst,
  noop,
  opts,
  pass,
  pasv,
  pbsz,
  port,
  prot,
  pwd,
  quit,
  rein,
  rest,
  retr,
  rmd,
  rnfr,
  rnto,
  site,
  size,
  smnt,
  stat,
  stor,
  stou,
  stru,
  syst,
  type,
  user,
};

struct FtpCommand {
  // What has to hold before it is looked at.
  enum class Argument : std::uint8_t { none, optional, needed };

  FtpVerb verb;
  std::string_view name;  // as clients write it
  bool signed_in;         // for those who are
  Argument argument;
};

// What a line asks for, with its argument; nothing when there is no such command. The verb is read
// in any case, and all spaces before the argument are left out (1123 §4.1.2.10 and 959 §5.3); no
// name in the store begins with one.
struct FtpLine {
  const FtpCommand* command = nullptr;
  std::string_view argument;
};
FtpLine read_ftp_line(std::string_view line);

// The names of all commands but the synonyms, in rows for HELP.
std::string ftp_commands();

// Where a client waits for a data connection.
struct FtpEnd {
  boost::asio::ip::address address;
  std::uint16_t port = 0;
  bool operator==(const FtpEnd&) const = default;
};

// "132,235,1,2,24,131" (959 §4.1.2, numbers from 0 to 255); nothing when it is something else.
std::optional<FtpEnd> read_port(std::string_view argument);

// "|1|132.235.1.2|6275|" (2428 §2).
struct ExtendedPort {
  enum class Is : std::uint8_t { good, unknown_protocol, malformed };
  Is is = Is::malformed;
  FtpEnd end;
};
ExtendedPort read_extended_port(std::string_view argument);

// A whole number in digits; nothing when it is not, or is too large.
std::optional<std::uint64_t> read_ftp_number(std::string_view digits);

}  // namespace stationer::server
