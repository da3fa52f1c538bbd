// Finds out whether the far end of a terminal connection speaks Telnet or is a plain line (a serial
// adapter, a modem, a bare TCP client), without spoiling the screen of either. Then keeps speaking
// what it found: session above, bytes below, no I/O.
//
// A door is set to always, never or automatic. With automatic:
//
//   first thing heard       means                       what happens
//   IAC and a command       Telnet                      offers go out at once
//   CR LF or CR NUL         Telnet, or a plain line     one question, IAC WILL ECHO; DO or DONT
//   ECHO
//                           that adds LF, or NUL        within a second: Telnet, the other offers
//                           go for padding                 out; otherwise plain
//   CR alone                a raw plain terminal        plain
//   LF alone                a plain host that sends     plain
//                           finished lines
//   1,024 bytes, no Enter   a program                   plain
//
// CR NUL is asked about too, though Telnet sends it: terminals that pad with NUL exist, and on them
// the full set of offers would stay on the screen, whereas a Telnet client only answers a moment
// later. An Enter is taken to be CR alone when nothing follows for a fifth of a second.
//
// The question is sent from the start of a line and wiped: CR LF, IAC WILL ECHO, CR NUL, four
// spaces, CR LF. On paper it stays; a door for printing terminals is set to never.
//
// Who echoes: on Telnet we do once the client agreed (RFC 857). On a plain line the form of Enter
// tells: a far end that sends CR, or CR NUL, is a raw keyboard and wants us to; one that sends LF
// or CR LF shows its own typing. A profile may know better and overrule it above.
//
// An answer that comes late, up to ten seconds after the question, still makes the line Telnet.
// Nothing typed meanwhile is lost: it is delivered once the matter is settled. Only an Enter with
// nothing before it, the answer to "press Enter", is swallowed when it settles the matter.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "server/protocol/enter.h"
#include "server/protocol/telnet.h"
#include "server/protocol/time.h"

namespace stationer::server {

class Dialect {
 public:
  enum class Door { automatic, always, never };

  static constexpr std::chrono::milliseconds enter_wait{200};
  static constexpr std::chrono::seconds answer_wait{1};
  static constexpr std::chrono::seconds late_answer_wait{10};
  static constexpr std::size_t most_held = 1024;

  // What the line is from here on. Comes before the first Data, and again when something changes
  // (the client agreed to our echo; a late answer).
  struct Known {
    bool telnet;
    bool echo;  // we are to echo what is typed
  };

  // Data, on either kind of line, has each Enter as one CR; see Telnet::Data.
  using Event = std::variant<Known, Telnet::Data, Telnet::Send, Telnet::Signal, Telnet::WindowSize,
                             Telnet::TerminalType, Telnet::Settled>;

  explicit Dialect(Door door) : door_(door) {}

  // Once, at connection: a door that is always Telnet makes its offers. All others stay silent.
  std::vector<Event> start();

  std::vector<Event> feed(std::string_view received, Time now);

  // Call when deadline() is reached. Calling early or late does no harm.
  std::vector<Event> tick(Time now);
  std::optional<Time> deadline() const;

  // Output as it has to travel. What is sent before Known has come should be plain ASCII with CR
  // LF.
  std::string encode(std::string_view bytes) const;

  // From then on bytes are data, not typing, until it is switched off: they come as they are. On
  // Telnet, Binary is asked for both ways, and settled() tells when that is answered. What is
  // returned is to be sent.
  std::string carry(bool on);
  bool settled() const;

  // Bytes that ask for a Telnet option; none on a line that is not Telnet.
  std::string request(Telnet::Side side, Telnet::Option option, bool on);

  // TCP says that urgent data are on the way; see Telnet::urgent().
  void urgent();

 private:
  enum class State { listening, asked, plain, telnet };
  enum class Form { none, cr, lf, cr_lf, cr_nul };  // of the first Enter

  void expire(Time now, std::vector<Event>& events);
  void consider(Time now, std::vector<Event>& events);
  void first_enter(Form form, std::size_t begin, std::size_t end, Time now,
                   std::vector<Event>& events);
  void become_telnet(std::size_t decided, std::vector<Event>& events);
  void become_plain(std::vector<Event>& events);
  void plain_data(std::string_view bytes, std::vector<Event>& events);
  void pass_on(std::vector<Telnet::Event> from, std::vector<Event>& to);

  Door door_;
  State state_ = State::listening;
  Form form_ = Form::none;
  Telnet telnet_;
  bool echo_ = false;  // on Telnet: we are to echo
  Enter enter_;        // on a plain line
  bool carrying_ = false;
  std::string held_;           // undecided: all that came; plain: the start of a late answer
  std::size_t looked_at_ = 0;  // how much of held_ says nothing
  std::optional<Time> due_;    // listening: a CR is alone; asked: no answer came
  std::optional<Time> late_;   // plain: until when an answer still counts
};

}  // namespace stationer::server
