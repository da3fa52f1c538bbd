// The server's end of FTP's control connection. Bytes and the time in; replies and requests out. No
// I/O; what travels over data connections is its caller's.
//
// RFC 959 with 1123 §4.1, 2228 and 4217 (TLS), 2389 (FEAT, OPTS), 2428 (EPRT, EPSV), 2577 (abuse),
// 2640 (names are UTF-8), 3659 (SIZE, MDTM, REST, MLST, MLSD). Types A N and A T, I, L 8; mode S;
// structure F.
//
// For each request that asks for it, the caller gives one answer, and no more input is taken until
// then. What a request needs:
//
//   SignIn     accept or refuse     is the password right?
//   SignOut    nothing
//   OpenPort   listening or refuse  a fresh port for the next data connection
//   Ask        accept or refuse     of change_folder, remove_folder, remove_file, find
//              answer or refuse     of make_folder and where: the path; size: digits; time: as
//                                   ftp_time(); facts and listing: lines ended by LF, no spaces
//                                   before them
//   Rename     accept or refuse
//   Transfer   refuse, or begin     once all that can be known beforehand speaks for it; after that
//              and then end         input is taken again, and moved() tells how far it is
//   Abort      nothing              the transfer is to be broken off and forgotten; no end
//   StartTls   nothing              once `send` is out; what is left of the input must be dropped,
//                                   and who was signed in is so no more
//
// While a transfer goes on, ABOR, STAT, NOOP and QUIT are obeyed at once (959 §4.1.3); any other
// command waits for its end, and all after it.
//
// A line ends with CR LF; an LF alone is taken for it. Telnet's commands in it are skipped, and its
// negotiations refused (1123 §4.1.2.12). IP and Data Mark void what came of a line before them.
//
// Bounds: a line 4,096 octets, a longer one is skipped and refused. Replies of 4 KiB end a step, so
// that nobody can make us pile them up. Silence of `idle` ends the connection, but in transfers,
// which are the caller's to bound. Five wrong passwords end it, too (2577 §5).
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include <boost/asio/ip/address.hpp>

#include "fs/result.h"
#include "server/protocol/ftp_command.h"
#include "server/protocol/ftp_listing.h"
#include "server/protocol/time.h"

namespace stationer::server {

class Ftp {
 public:
  static constexpr std::size_t longest_line = 4096;
  static constexpr std::size_t much_sent = 4096;
  static constexpr int most_wrong = 5;
  static constexpr std::uint16_t lowest_port = 1024;  // for data connections to the client

  struct Setup {
    std::string greeting;  // a sentence
    FtpEnd peer;           // the client's end of the control connection
    bool guests = true;    // anonymous, ftp and guest need no password
    bool tls = false;      // there is a certificate
    bool needs_tls = false;
    std::chrono::seconds idle{900};
  };

  struct SignIn {
    std::string name;
    std::string password;
  };
  struct SignOut {};
  struct OpenPort {
    bool extended;  // for EPSV: any family will do; for PASV the address must be one of IPv4
  };
  struct Ask {
    enum class What : std::uint8_t {
      change_folder,
      make_folder,
      remove_folder,
      remove_file,
      find,
      where,
      size,
      time,
      facts,
      listing,
    };
    What what;
    std::string path;    // as typed; empty where the command may do without: where one stands
    bool ascii = false;  // size: under type A
  };
  struct Rename {
    std::string from;
    std::string to;
  };
  struct Transfer {
    enum class What : std::uint8_t { send, save, append, save_new, list, names, facts };
    What what;
    std::string path;
    bool ascii = false;
    std::uint64_t offset = 0;      // in octets as they travel, for send and save
    bool secret = false;           // by TLS
    std::optional<FtpEnd> active;  // where to connect; nothing: who comes to the port is served
  };
  struct Abort {};
  struct StartTls {};
  using Request = std::variant<SignIn, SignOut, OpenPort, Ask, Rename, Transfer, Abort, StartTls>;

  enum class End : std::uint8_t {
    done,
    no_connection,  // none came, or none could be made
    broken,         // it was lost
    failed,         // for reasons of ours, with an error
  };

  struct Step {
    std::size_t used = 0;  // octets taken from the input; hand in the rest again
    std::string send;
    std::optional<Request> request;
    bool close = false;  // send, then close
  };

  Ftp(Setup setup, Time now) : setup_(std::move(setup)), active_(now) {}

  // What is said first.
  std::string greeting() const;
  // Takes input up to the first request. Takes nothing while a request waits for its answer, or a
  // command for the end of a transfer.
  Step feed(std::string_view octets, Time now);
  bool takes_input() const { return waits_ == Waits::no && !held_ && !over_; }
  Step tick(Time now);
  std::optional<Time> deadline() const;
  // The session is over for a reason of ours, told in a sentence.
  Step say_good_bye(std::string_view why);

  // The answers. One that nobody waits for is a bug and throws. A step that follows may bring the
  // next request. Texts may have several lines, ended by LF.
  Step accept(Time now, std::string_view text = {});
  Step refuse(const fs::Error& error, Time now);
  Step answer(std::string_view text, Time now);
  Step listening(const FtpEnd& at, Time now);
  Step begin(std::string_view text);
  Step end(End how, std::string_view text, Time now);
  Step end(const fs::Error& error, Time now);
  void moved(std::uint64_t octets) { moved_ += octets; }

  bool transferring() const { return transferring_; }
  const FtpFacts& facts() const { return facts_; }

 private:
  enum class Waits : std::uint8_t { no, sign_in, port, ask, rename, transfer };
  enum class Telnet : std::uint8_t {
    text,
    command,
    refuse_do,
    refuse_will,
    option,
    sub,
    sub_command
  };

  void hear(unsigned char octet, Step& step);
  bool telnet(unsigned char octet, Step& step);
  void line(Step& step);
  void obey(std::string_view line, Step& step);
  void obey(const FtpCommand& command, std::string_view argument, Step& step);
  void user(std::string_view name, Step& step);
  void pass(std::string_view password, Step& step);
  void wrong_password(const fs::Error& error, Step& step);
  void type(std::string_view argument, Step& step);
  void port(const FtpCommand& command, std::string_view argument, Step& step);
  void extended_passive(std::string_view argument, Step& step);
  void options(std::string_view argument, Step& step);
  void status(std::string_view path, Step& step);
  void security(const FtpCommand& command, std::string_view argument, Step& step);
  void transfer(Transfer::What what, std::string_view path, Step& step);
  void features(Step& step) const;
  void forget_person();
  void next(Step& step);
  void ask(Request request, Waits waits, Step& step);
  void ask_about(Ask::What what, std::string_view path, Step& step);
  Waits take_wait();
  int refusal(const fs::Error& error) const;

  Setup setup_;
  Time active_;  // when the client last did something
  Waits waits_ = Waits::no;
  FtpVerb asked_ = FtpVerb::noop;  // what the request that waits came from
  Telnet telnet_ = Telnet::text;
  std::string line_;
  bool too_long_ = false;
  bool held_ = false;  // line_ waits for the end of the transfer
  bool over_ = false;

  std::string user_;
  bool user_given_ = false;
  bool signed_in_ = false;
  int wrong_ = 0;

  bool ascii_ = true;
  std::uint64_t offset_ = 0;
  std::string rename_from_;
  FtpFacts facts_;

  bool passive_ = false;              // the next transfer is for who comes to the port
  std::optional<FtpEnd> active_end_;  // by PORT or EPRT
  bool only_extended_ = false;        // since EPSV ALL (2428 §4)

  bool transferring_ = false;
  Transfer::What transfer_{};
  std::uint64_t moved_ = 0;
  bool quits_ = false;  // at the end of the transfer

  bool tls_on_ = false;
  bool buffer_size_given_ = false;
  bool secret_ = false;
};

}  // namespace stationer::server
