#include "server/protocol/ftp_command.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <vector>

#include "fs/text.h"
#include "server/protocol/parts.h"

namespace stationer::server {
namespace {

using Argument = FtpCommand::Argument;
using enum FtpVerb;

// PWD is told apart from "not signed in" by its own reply (959 §5.4), ABOR and SYST have none.
constexpr std::array commands = {
    FtpCommand{abor, "ABOR", false, Argument::none},
    FtpCommand{acct, "ACCT", false, Argument::needed},
    FtpCommand{allo, "ALLO", true, Argument::needed},
    FtpCommand{appe, "APPE", true, Argument::needed},
    FtpCommand{auth, "AUTH", false, Argument::needed},
    FtpCommand{ccc, "CCC", false, Argument::none},
    FtpCommand{cdup, "CDUP", true, Argument::none},
    FtpCommand{cwd, "CWD", true, Argument::needed},
    FtpCommand{dele, "DELE", true, Argument::needed},
    FtpCommand{eprt, "EPRT", true, Argument::needed},
    FtpCommand{epsv, "EPSV", true, Argument::optional},
    FtpCommand{feat, "FEAT", false, Argument::none},
    FtpCommand{help, "HELP", false, Argument::optional},
    FtpCommand{list, "LIST", true, Argument::optional},
    FtpCommand{mdtm, "MDTM", true, Argument::needed},
    FtpCommand{mkd, "MKD", true, Argument::needed},
    FtpCommand{mlsd, "MLSD", true, Argument::optional},
    FtpCommand{mlst, "MLST", true, Argument::optional},
    FtpCommand{mode, "MODE", true, Argument::needed},
    FtpCommand{nlst, "NLST", true, Argument::optional},
    FtpCommand{noop, "NOOP", false, Argument::optional},
    FtpCommand{opts, "OPTS", false, Argument::needed},
    FtpCommand{pass, "PASS", false, Argument::optional},
    FtpCommand{pasv, "PASV", true, Argument::none},
    FtpCommand{pbsz, "PBSZ", false, Argument::needed},
    FtpCommand{port, "PORT", true, Argument::needed},
    FtpCommand{prot, "PROT", false, Argument::needed},
    FtpCommand{pwd, "PWD", false, Argument::none},
    FtpCommand{quit, "QUIT", false, Argument::none},
    FtpCommand{rein, "REIN", false, Argument::none},
    FtpCommand{rest, "REST", true, Argument::needed},
    FtpCommand{retr, "RETR", true, Argument::needed},
    FtpCommand{rmd, "RMD", true, Argument::needed},
    FtpCommand{rnfr, "RNFR", true, Argument::needed},
    FtpCommand{rnto, "RNTO", true, Argument::needed},
    FtpCommand{site, "SITE", true, Argument::optional},
    FtpCommand{size, "SIZE", true, Argument::needed},
    FtpCommand{smnt, "SMNT", true, Argument::optional},
    FtpCommand{stat, "STAT", true, Argument::optional},
    FtpCommand{stor, "STOR", true, Argument::needed},
    FtpCommand{stou, "STOU", true, Argument::optional},
    FtpCommand{stru, "STRU", true, Argument::needed},
    FtpCommand{syst, "SYST", false, Argument::none},
    FtpCommand{type, "TYPE", true, Argument::needed},
    FtpCommand{user, "USER", false, Argument::needed},
};

const FtpCommand* find(std::string_view name) {
  for (const FtpCommand& each : commands) {
    if (each.name == name) return &each;
  }
  // 1123 §4.1.3.1
  constexpr std::array<std::array<std::string_view, 2>, 5> synonyms = {
      {{"XCUP", "CDUP"}, {"XCWD", "CWD"}, {"XMKD", "MKD"}, {"XPWD", "PWD"}, {"XRMD", "RMD"}}};
  for (const auto& [other, real] : synonyms) {
    if (other == name) return find(real);
  }
  return nullptr;
}

template <class Number>
std::optional<Number> number(std::string_view digits) {
  Number value{};
  const auto [end, failed] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (failed != std::errc() || end != digits.data() + digits.size()) return std::nullopt;
  return value;
}

}  // namespace

FtpLine read_ftp_line(std::string_view line) {
  const auto verb_end = std::min(line.find(' '), line.size());
  constexpr std::size_t longest_verb = 4;
  if (verb_end > longest_verb) return {};
  const auto argument = std::min(line.find_first_not_of(' ', verb_end), line.size());
  return {find(fs::ascii_upper(line.substr(0, verb_end))), line.substr(argument)};
}

std::string ftp_commands() {
  std::string out;
  std::size_t in_row = 0;
  constexpr std::size_t row = 12;
  for (const FtpCommand& each : commands) {
    if (in_row == row) out += '\n';
    in_row = in_row == row ? 1 : in_row + 1;
    if (in_row > 1) out += ' ';
    out += each.name;
  }
  return out;
}

std::optional<FtpEnd> read_port(std::string_view argument) {
  const auto numbers = parts(argument, ',');
  std::array<std::uint8_t, 6> bytes{};
  if (numbers.size() != bytes.size()) return std::nullopt;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    const auto byte = number<std::uint8_t>(numbers[i]);
    if (!byte) return std::nullopt;
    bytes[i] = *byte;
  }
  const boost::asio::ip::address_v4 address({bytes[0], bytes[1], bytes[2], bytes[3]});
  return FtpEnd{address, static_cast<std::uint16_t>(bytes[4] << 8 | bytes[5])};
}

ExtendedPort read_extended_port(std::string_view argument) {
  ExtendedPort out;
  if (argument.empty() || argument.front() < '!' || argument.front() > '~') return out;
  const auto fields = parts(argument, argument.front());
  if (fields.size() != 5 || !fields[0].empty() || !fields[4].empty()) return out;
  const auto protocol = number<std::uint32_t>(fields[1]);
  if (!protocol) return out;
  if (*protocol != 1 && *protocol != 2) {
    out.is = ExtendedPort::Is::unknown_protocol;
    return out;
  }
  boost::system::error_code failed;
  const auto address = boost::asio::ip::make_address(std::string(fields[2]), failed);
  const auto port = number<std::uint16_t>(fields[3]);
  if (failed || !port || address.is_v4() != (*protocol == 1)) return out;
  out.is = ExtendedPort::Is::good;
  out.end = {address, *port};
  return out;
}

std::optional<std::uint64_t> read_ftp_number(std::string_view digits) {
  return number<std::uint64_t>(digits);
}

}  // namespace stationer::server
