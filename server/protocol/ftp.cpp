#include "server/protocol/ftp.h"

#include <algorithm>
#include <array>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>

#include "fs/crypto.h"
#include "fs/text.h"

namespace stationer::server {
namespace {

using fs::Code;
using fs::Error;

constexpr unsigned char IAC = 0xFF;
constexpr unsigned char DONT = 0xFE;
constexpr unsigned char DO = 0xFD;
constexpr unsigned char WONT = 0xFC;
constexpr unsigned char WILL = 0xFB;
constexpr unsigned char SB = 0xFA;
constexpr unsigned char IP = 0xF4;
constexpr unsigned char DM = 0xF2;
constexpr unsigned char SE = 0xF0;

// Of every text that goes out: what would end a line, or be a command of Telnet's.
char harmless(char c) {
  const auto octet = static_cast<unsigned char>(c);
  return octet < ' ' || octet == 0x7F || octet == IAC ? '?' : c;
}

// One line, or several by 959 §4.2. `indent` goes before the lines between the first and the last;
// it must not be empty where they may start with three digits.
void reply(Ftp::Step& step, int code, std::string_view text, std::string_view indent = " ") {
  while (text.ends_with('\n')) text.remove_suffix(1);
  for (bool first = true;; first = false) {
    const auto end = std::min(text.find('\n'), text.size());
    const bool last = end == text.size();
    if (first || last) {
      step.send += fmt::format("{}{}", code, last ? ' ' : '-');
    } else {
      step.send += indent;
    }
    for (const char c : text.substr(0, end)) step.send += harmless(c);
    step.send += "\r\n";
    if (last) return;
    text.remove_prefix(end + 1);
  }
}

// 959, Appendix II: the path between quotes, those in it doubled.
std::string quoted(std::string_view path) {
  std::string out = "\"";
  for (const char c : path) {
    if (c == '"') out += c;
    out += c;
  }
  return out + '"';
}

bool is_guest_name(std::string_view name) {
  const std::string small = fs::ascii_lower(name);
  return small == "anonymous" || small == "ftp" || small == "guest";
}

bool is_upload(Ftp::Transfer::What what) {
  using What = Ftp::Transfer::What;
  return what == What::save || what == What::append || what == What::save_new;
}

bool keeps_offset(FtpVerb verb) {
  return verb == FtpVerb::retr || verb == FtpVerb::stor || verb == FtpVerb::pasv ||
         verb == FtpVerb::epsv || verb == FtpVerb::port || verb == FtpVerb::eprt;
}

bool obeyed_in_transfers(FtpVerb verb) {
  return verb == FtpVerb::abor || verb == FtpVerb::stat || verb == FtpVerb::noop ||
         verb == FtpVerb::quit;
}

}  // namespace

std::string Ftp::greeting() const {
  Step step;
  reply(step, 220, setup_.greeting);
  return step.send;
}

// ---- lines ----

Ftp::Step Ftp::feed(std::string_view octets, Time now) {
  Step step;
  active_ = now;
  while (step.used < octets.size() && takes_input() && !step.request && !step.close &&
         step.send.size() < much_sent) {
    hear(static_cast<unsigned char>(octets[step.used++]), step);
  }
  return step;
}

void Ftp::hear(unsigned char octet, Step& step) {
  if (telnet(octet, step)) return;
  if (octet == '\n') {
    if (line_.ends_with('\r')) line_.pop_back();
    return line(step);
  }
  if (octet == 0) return;  // Telnet's, after a CR
  if (line_.size() < longest_line) {
    line_ += static_cast<char>(octet);
  } else {
    too_long_ = true;
  }
}

// Whether it belongs to Telnet. A Data Mark may have lost its IAC, which travels as urgent data.
bool Ftp::telnet(unsigned char octet, Step& step) {
  const auto refuse = [&](unsigned char how) {
    step.send += static_cast<char>(IAC);
    step.send += static_cast<char>(how);
    step.send += static_cast<char>(octet);
  };
  switch (std::exchange(telnet_, Telnet::text)) {
    case Telnet::text:
      if (octet == DM && line_.empty()) return true;
      if (octet != IAC) return false;
      telnet_ = Telnet::command;
      return true;
    case Telnet::command:
      if (octet == IAC) return false;  // an octet 255 of a name
      if (octet == DO) telnet_ = Telnet::refuse_do;
      if (octet == WILL) telnet_ = Telnet::refuse_will;
      if (octet == DONT || octet == WONT) telnet_ = Telnet::option;
      if (octet == SB) telnet_ = Telnet::sub;
      if (octet == IP || octet == DM) {
        line_.clear();
        too_long_ = false;
      }
      return true;
    case Telnet::refuse_do: refuse(WONT); return true;
    case Telnet::refuse_will: refuse(DONT); return true;
    case Telnet::option: return true;
    case Telnet::sub: telnet_ = octet == IAC ? Telnet::sub_command : Telnet::sub; return true;
    case Telnet::sub_command:
      if (octet != SE) telnet_ = Telnet::sub;
      return true;
  }
  return false;
}

void Ftp::line(Step& step) {
  if (std::exchange(too_long_, false)) {
    line_ = {};
    return reply(step, 500, "That line is too long.");
  }
  if (transferring_) {
    const FtpCommand* command = read_ftp_line(line_).command;
    held_ = command == nullptr || !obeyed_in_transfers(command->verb);
    if (held_) return;
  }
  std::string whole = std::exchange(line_, {});
  obey(whole, step);
  fs::wipe(whole);  // it may have been a password
}

void Ftp::obey(std::string_view line, Step& step) {
  const auto [command, argument] = read_ftp_line(line);
  if (command == nullptr) {
    return reply(step, 500,
                 line.empty() ? "Type a command; HELP lists them."
                              : "There is no such command; HELP lists them.");
  }
  // RNTO follows RNFR at once, and a transfer REST (959 §4.1.3), but for what tells where it goes.
  if (command->verb != FtpVerb::rnto) rename_from_.clear();
  if (!keeps_offset(command->verb)) offset_ = 0;
  using Argument = FtpCommand::Argument;
  if (command->argument == Argument::none && !argument.empty()) {
    return reply(step, 501, fmt::format("{} stands alone.", command->name));
  }
  if (command->argument == Argument::needed && argument.empty()) {
    return reply(step, 501, fmt::format("{} needs something behind it.", command->name));
  }
  const bool about_connection = command->verb == FtpVerb::stat && argument.empty();
  if (command->signed_in && !signed_in_ && !about_connection) {
    return reply(step, 530, "Sign in first: USER and a name.");
  }
  obey(*command, argument, step);
}

void Ftp::obey(const FtpCommand& command, std::string_view argument, Step& step) {
  using What = Transfer::What;
  using enum FtpVerb;
  asked_ = command.verb;
  switch (command.verb) {
    case user: return this->user(argument, step);
    case pass: return this->pass(argument, step);
    case acct:
      if (!signed_in_) return reply(step, 503, "USER and PASS come first.");
      return reply(step, 202, "A name and a password are enough here.");
    case rein:
      forget_person();
      step.request = SignOut{};
      return reply(step, 220, "As at the beginning.");
    case quit:
      if (transferring_) {
        quits_ = true;  // its answer comes after that of the transfer
        return;
      }
      over_ = step.close = true;
      return reply(step, 221, "Good-bye.");

    case cwd: return ask_about(Ask::What::change_folder, argument, step);
    case cdup: return ask_about(Ask::What::change_folder, "..", step);
    case rmd: return ask_about(Ask::What::remove_folder, argument, step);
    case mkd: return ask_about(Ask::What::make_folder, argument, step);
    case dele: return ask_about(Ask::What::remove_file, argument, step);
    case pwd:
      if (!signed_in_) return reply(step, 550, "Sign in first: USER and a name.");
      return ask_about(Ask::What::where, "", step);
    case size: return ask_about(Ask::What::size, argument, step);
    case mdtm: return ask_about(Ask::What::time, argument, step);
    case mlst: return ask_about(Ask::What::facts, argument, step);
    case rnfr: rename_from_ = argument; return ask_about(Ask::What::find, argument, step);
    case rnto:
      if (rename_from_.empty()) return reply(step, 503, "RNFR comes first.");
      return ask(Rename{std::exchange(rename_from_, {}), std::string(argument)}, Waits::rename,
                 step);

    case type: return this->type(argument, step);
    case mode:
      if (fs::ascii_upper(argument) != "S")
        return reply(step, 504, "Only stream mode, S, is known.");
      return reply(step, 200, "Stream mode.");
    case stru:
      if (fs::ascii_upper(argument) != "F") return reply(step, 504, "Only files, F, are known.");
      return reply(step, 200, "Files.");
    case allo: {
      const auto digits = argument.substr(0, argument.find(' '));
      if (!read_ftp_number(digits)) return reply(step, 501, "How many octets?");
      return reply(step, 202, "Room is made as it is needed.");
    }
    case rest: {
      const auto number = read_ftp_number(argument);
      if (!number) return reply(step, 501, "From which octet on?");
      offset_ = *number;
      return reply(step, 350, fmt::format("The next transfer begins at octet {}.", offset_));
    }

    case FtpVerb::port:
    case eprt: return this->port(command, argument, step);
    case pasv:
      if (only_extended_) return reply(step, 503, "After EPSV ALL there is only EPSV.");
      if (!setup_.peer.address.is_v4()) return reply(step, 502, "Over IPv6, use EPSV.");
      return ask(OpenPort{false}, Waits::port, step);
    case epsv: return extended_passive(argument, step);

    case retr: return transfer(What::send, argument, step);
    case stor: return transfer(What::save, argument, step);
    case appe: return transfer(What::append, argument, step);
    case stou: return transfer(What::save_new, argument, step);
    case list: return transfer(What::list, without_options(argument), step);
    case nlst: return transfer(What::names, without_options(argument), step);
    case mlsd: return transfer(What::facts, argument, step);

    case abor:
      if (!transferring_) return reply(step, 225, "Nothing is on its way.");
      transferring_ = false;
      step.request = Abort{};
      reply(step, 426, "The transfer is broken off.");
      return reply(step, 226, "As you wished.");
    case stat: return status(argument, step);
    case syst: return reply(step, 215, "UNIX Type: L8");
    case help:
      return reply(step, 214,
                   fmt::format("These are understood:\n{}\nThat is all.", ftp_commands()));
    case site: return reply(step, 501, "There is nothing of that kind here.");
    case noop: return reply(step, 200, "Yes.");
    case feat: return features(step);
    case opts: return options(argument, step);
    case auth:
    case pbsz:
    case prot:
    case ccc: return security(command, argument, step);
    case smnt: return reply(step, 502, "There is only one tree here.");
  }
}

// ---- who ----

void Ftp::forget_person() {
  user_.clear();
  user_given_ = signed_in_ = false;
  ascii_ = true;
  passive_ = false;
  active_end_.reset();
  only_extended_ = false;
  facts_ = FtpFacts();
}

// Every name is asked for a password, so that nobody learns which there are (2577 §7).
void Ftp::user(std::string_view name, Step& step) {
  if (setup_.needs_tls && !tls_on_) {
    return reply(step, 530, "Names and passwords are taken over TLS only: AUTH TLS comes first.");
  }
  if (signed_in_) step.request = SignOut{};
  signed_in_ = false;
  user_ = name;
  user_given_ = true;
  reply(step, 331,
        setup_.guests && is_guest_name(name) ? "A guest: any password will do."
                                             : "And the password?");
}

void Ftp::pass(std::string_view password, Step& step) {
  if (!std::exchange(user_given_, false)) return reply(step, 503, "USER and a name come first.");
  if (setup_.guests && is_guest_name(user_)) {
    signed_in_ = true;
    return reply(step, 230, "Welcome. Look around.");
  }
  ask(SignIn{user_, std::string(password)}, Waits::sign_in, step);
}

void Ftp::wrong_password(const Error& error, Step& step) {
  if (++wrong_ < most_wrong) return reply(step, 530, error.message);
  over_ = step.close = true;
  reply(step, 421, "That did not work five times. Ask whoever keeps this room for help.");
}

// ---- how ----

void Ftp::type(std::string_view argument, Step& step) {
  const std::string typed = fs::ascii_upper(argument);
  if (typed == "A" || typed == "A N" || typed == "A T") {
    ascii_ = true;
    return reply(step, 200, "Texts, in ASCII.");
  }
  if (typed == "I" || typed == "L 8") {
    ascii_ = false;
    return reply(step, 200, "Octets as they are.");
  }
  reply(step, 504, "The types are A, I and L 8.");
}

// Never to another machine, and never to where services are (2577 §3).
void Ftp::port(const FtpCommand& command, std::string_view argument, Step& step) {
  if (only_extended_) return reply(step, 503, "After EPSV ALL there is only EPSV.");
  FtpEnd end;
  if (command.verb == FtpVerb::eprt) {
    const ExtendedPort read = read_extended_port(argument);
    if (read.is == ExtendedPort::Is::unknown_protocol) {
      return reply(step, 522, "That network protocol is not known, use (1,2)");
    }
    if (read.is == ExtendedPort::Is::malformed) return reply(step, 501, "That is no address.");
    end = read.end;
  } else {
    const auto read = read_port(argument);
    if (!read) return reply(step, 501, "That is no address.");
    end = *read;
  }
  if (end.address != setup_.peer.address) {
    return reply(step, 504, "Data go to the machine that asks for them, and no other.");
  }
  if (end.port < lowest_port) return reply(step, 504, "Data go to ports from 1024 up.");
  passive_ = false;
  active_end_ = end;
  reply(step, 200, "That is where data will go.");
}

void Ftp::extended_passive(std::string_view argument, Step& step) {
  const std::string typed = fs::ascii_upper(argument);
  if (typed == "ALL") {
    only_extended_ = true;
    return reply(step, 200, "Only EPSV from now on.");
  }
  const bool v4 = setup_.peer.address.is_v4();
  if (!typed.empty() && typed != "1" && typed != "2") {
    if (!read_ftp_number(typed)) return reply(step, 501, "EPSV, EPSV 1, EPSV 2 or EPSV ALL.");
    return reply(step, 522, "That network protocol is not known, use (1,2)");
  }
  if (!typed.empty() && (typed == "1") != v4) {
    return reply(step, 522,
                 fmt::format("This connection has the other protocol, use ({})", v4 ? 1 : 2));
  }
  ask(OpenPort{true}, Waits::port, step);
}

void Ftp::features(Step& step) const {
  std::string lines = "Beyond RFC 959:\n";
  if (setup_.tls) lines += "AUTH TLS\n";
  lines += "EPRT\nEPSV\nMDTM\n";
  lines += fmt::format("MLST {}\n", facts_.features());
  if (setup_.tls) lines += "PBSZ\nPROT\n";
  lines += "REST STREAM\nSIZE\nTVFS\nUTF8\nEnd";
  reply(step, 211, lines);
}

void Ftp::options(std::string_view argument, Step& step) {
  const auto space = std::min(argument.find(' '), argument.size());
  const std::string of = fs::ascii_upper(argument.substr(0, space));
  const std::string_view what = argument.substr(std::min(space + 1, argument.size()));
  if (of == "MLST") {
    if (!facts_.choose(what)) return reply(step, 501, "Facts are named like this: Type;Size;");
    const std::string chosen = facts_.chosen();
    return reply(step, 200, chosen.empty() ? "MLST OPTS" : "MLST OPTS " + chosen);
  }
  if (of == "UTF8" && fs::ascii_upper(what) != "OFF") {
    return reply(step, 200, "Names are in UTF-8.");
  }
  reply(step, 501, "There is nothing of that kind to choose.");
}

void Ftp::status(std::string_view path, Step& step) {
  if (transferring_) {
    return reply(
        step, 211,
        fmt::format("{} so far: {} octets.", is_upload(transfer_) ? "Come" : "Sent", moved_));
  }
  if (!path.empty()) return ask_about(Ask::What::listing, without_options(path), step);
  reply(step, 211,
        fmt::format("{}\n{}\nType {}, mode S, structure F\nData connections {}\nThat is all.",
                    setup_.greeting, signed_in_ ? "Signed in as " + user_ : "Not signed in",
                    ascii_ ? "A N" : "I", secret_ ? "by TLS" : "in the clear"));
}

// RFC 4217 §4, §8 to §10; reply codes by RFC 2228 §3 (from memory, as the sheet of these has none).
void Ftp::security(const FtpCommand& command, std::string_view argument, Step& step) {
  const std::string typed = fs::ascii_upper(argument);
  if (!setup_.tls) return reply(step, 502, "There is no certificate here for TLS.");
  if (command.verb == FtpVerb::auth) {
    if (tls_on_) return reply(step, 503, "That is done already.");
    if (typed != "TLS" && typed != "TLS-C") return reply(step, 504, "Only TLS is known.");
    forget_person();
    tls_on_ = true;
    step.request = StartTls{};
    return reply(step, 234, "Begin.");
  }
  if (!tls_on_) return reply(step, 503, "AUTH TLS comes first.");
  if (command.verb == FtpVerb::ccc) return reply(step, 534, "TLS stays once it is there.");
  if (command.verb == FtpVerb::pbsz) {
    if (!read_ftp_number(typed)) return reply(step, 501, "PBSZ 0 is what TLS needs.");
    buffer_size_given_ = true;
    return reply(step, 200, "PBSZ=0");
  }
  if (!buffer_size_given_) return reply(step, 503, "PBSZ 0 comes first.");
  if (typed == "S" || typed == "E")
    return reply(step, 536, "Data go in the clear, C, or by TLS, P.");
  if (typed != "C" && typed != "P")
    return reply(step, 504, "Data go in the clear, C, or by TLS, P.");
  if (typed == "C" && setup_.needs_tls) return reply(step, 534, "Data go by TLS only here.");
  secret_ = typed == "P";
  reply(step, 200, secret_ ? "Data go by TLS." : "Data go in the clear.");
}

// ---- requests ----

void Ftp::transfer(Transfer::What what, std::string_view path, Step& step) {
  const bool file = what == Transfer::What::send || is_upload(what);
  if (setup_.needs_tls && !secret_) {
    return reply(step, 521, "Data go by TLS only here: PBSZ 0 and PROT P come first.");
  }
  Transfer request;
  request.what = what;
  request.path = path;
  request.ascii = file && ascii_;
  request.offset = std::exchange(offset_, 0);
  request.secret = secret_;
  // Where nothing else was said, to the client's end of the control connection (959 §3.2).
  if (!std::exchange(passive_, false)) request.active = active_end_.value_or(setup_.peer);
  transfer_ = what;
  ask(std::move(request), Waits::transfer, step);
}

void Ftp::ask(Request request, Waits waits, Step& step) {
  step.request = std::move(request);
  waits_ = waits;
}

void Ftp::ask_about(Ask::What what, std::string_view path, Step& step) {
  ask(Ask{what, std::string(path), ascii_}, Waits::ask, step);
}

Ftp::Waits Ftp::take_wait() {
  if (waits_ == Waits::no) throw std::logic_error("an answer that FTP does not wait for");
  return std::exchange(waits_, Waits::no);
}

// What waited for the end of a transfer.
void Ftp::next(Step& step) {
  if (std::exchange(quits_, false)) {
    over_ = step.close = true;
    return reply(step, 221, "Good-bye.");
  }
  if (!std::exchange(held_, false)) return;
  line(step);
}

// ---- answers ----

Ftp::Step Ftp::accept(Time now, std::string_view text) {
  active_ = now;
  Step step;
  switch (take_wait()) {
    case Waits::sign_in:
      signed_in_ = true;
      wrong_ = 0;
      reply(step, 230, text.empty() ? "Welcome." : text);
      break;
    case Waits::ask:
      reply(step, asked_ == FtpVerb::rnfr ? 350 : 250,
            asked_ == FtpVerb::rnfr ? "And the new name?"
            : text.empty()          ? "Done."
                                    : text);
      break;
    case Waits::rename: reply(step, 250, "Done."); break;
    default: throw std::logic_error("FTP can't accept that");
  }
  return step;
}

Ftp::Step Ftp::answer(std::string_view text, Time now) {
  active_ = now;
  Step step;
  if (take_wait() != Waits::ask) throw std::logic_error("FTP has not asked that");
  switch (asked_) {
    case FtpVerb::mkd: reply(step, 257, quoted(text) + " is there."); break;
    case FtpVerb::pwd: reply(step, 257, quoted(text) + " is where you are."); break;
    case FtpVerb::mlst: reply(step, 250, fmt::format("Facts:\n{}\nEnd", text)); break;
    case FtpVerb::stat:
      reply(step, 212, fmt::format("What is there:\n{}\nThat is all.", text));
      break;
    default: reply(step, 213, text);  // SIZE and MDTM
  }
  return step;
}

Ftp::Step Ftp::listening(const FtpEnd& at, Time now) {
  active_ = now;
  Step step;
  if (take_wait() != Waits::port) throw std::logic_error("FTP has asked for no port");
  passive_ = true;
  active_end_.reset();
  if (asked_ == FtpVerb::epsv) {
    // The very words of 2428 §3, which clients are known to compare.
    reply(step, 229, fmt::format("Entering Extended Passive Mode (|||{}|)", at.port));
  } else {
    const auto bytes = at.address.to_v4().to_bytes();
    reply(step, 227,
          fmt::format("Entering Passive Mode ({},{},{},{},{},{})", bytes[0], bytes[1], bytes[2],
                      bytes[3], at.port >> 8, at.port & 0xFF));
  }
  return step;
}

// By the table of 959 §5.4, and where that has nothing to tell apart, by its §4.2.
int Ftp::refusal(const Error& error) const {
  using enum FtpVerb;
  const Code code = error.code;
  switch (asked_) {
    case stor:
    case stou:
    case appe:
      if (code == Code::bad_name || code == Code::is_a_folder) return 553;
      if (code == Code::over_quota || code == Code::no_space) return 452;
      [[fallthrough]];
    case retr:
      if (code == Code::busy) return 450;
      // 1123 §4.1.3.4, from memory: an offset that is not in the file.
      return code == Code::bad_input ? 554 : 550;
    case list:
    case nlst:
    case stat: return 450;
    case mlsd: return code == Code::not_a_folder ? 501 : 550;
    case rnto: return 553;
    case dele:
    case rnfr: return code == Code::busy ? 450 : 550;
    default: return 550;
  }
}

Ftp::Step Ftp::refuse(const Error& error, Time now) {
  active_ = now;
  Step step;
  switch (take_wait()) {
    case Waits::sign_in: wrong_password(error, step); break;
    case Waits::port:
      over_ = step.close = true;
      reply(step, 421, error.message);
      break;
    case Waits::ask:
      if (asked_ == FtpVerb::rnfr) rename_from_.clear();
      [[fallthrough]];
    default: reply(step, refusal(error), error.message);
  }
  return step;
}

Ftp::Step Ftp::begin(std::string_view text) {
  Step step;
  if (take_wait() != Waits::transfer) throw std::logic_error("FTP has asked for no transfer");
  transferring_ = true;
  moved_ = 0;
  reply(step, 150, text);
  return step;
}

Ftp::Step Ftp::end(End how, std::string_view text, Time now) {
  if (!std::exchange(transferring_, false)) throw std::logic_error("FTP has no transfer to end");
  active_ = now;
  Step step;
  switch (how) {
    case End::done: reply(step, 226, text.empty() ? "Done." : text); break;
    case End::no_connection: reply(step, 425, "No data connection was made."); break;
    case End::broken: reply(step, 426, text.empty() ? "The data connection broke." : text); break;
    case End::failed: reply(step, 451, text); break;
  }
  next(step);
  return step;
}

Ftp::Step Ftp::end(const Error& error, Time now) {
  if (!std::exchange(transferring_, false)) throw std::logic_error("FTP has no transfer to end");
  active_ = now;
  Step step;
  const bool room = error.code == Code::over_quota || error.code == Code::no_space;
  reply(step, is_upload(transfer_) && room ? 552 : 451, error.message);
  next(step);
  return step;
}

// ---- time ----

std::optional<Time> Ftp::deadline() const {
  if (over_ || transferring_ || waits_ != Waits::no) return std::nullopt;
  return active_ + setup_.idle;
}

Ftp::Step Ftp::tick(Time now) {
  const auto due = deadline();
  if (!due || now < *due) return {};
  return say_good_bye("Nothing was asked for a long time. Good-bye.");
}

Ftp::Step Ftp::say_good_bye(std::string_view why) {
  Step step;
  if (std::exchange(over_, true)) return step;
  waits_ = Waits::no;
  transferring_ = held_ = false;
  step.close = true;
  reply(step, 421, why);
  return step;
}

}  // namespace stationer::server
