// The server's end of Telnet: received bytes in; data, signals and bytes to send out. No I/O.
//
// RFC 854 (commands, line ends), 855 (subnegotiation), 856 (Binary), 857 (Echo), 858 (Suppress
// Go-Ahead), 860 (Timing Mark), 1073 (window size), 1091 (terminal type), 1123 §3, 1143 (Q method).
//
// Promises:
// - Nothing is sent unasked: only answers, and what offer() or request() return.
// - The same bytes give the same events however they are cut into reads (neighbouring Data apart).
// - Memory is bounded: a subnegotiation keeps at most 64 bytes, a longer one is skipped whole.
// - Answers are bounded: at most five bytes for each byte received, so nobody can make us talk more
//   than they do themselves by more than that.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "server/protocol/enter.h"
#include "server/protocol/telnet_option.h"

namespace stationer::server {

class Telnet {
 public:
  enum class Side : std::uint8_t { us, them };

  // The options we know, by their registered numbers. All others are refused.
  enum class Option : std::uint8_t {
    binary = 0,             // either side
    echo = 1,               // ours only: two ends echoing for each other never stop (RFC 857 §3)
    suppress_go_ahead = 3,  // either side
    terminal_type = 24,     // theirs only
    window_size = 31,       // theirs only
  };

  // What was typed. Unless the client sends Binary, Enter is one CR, whether it came as CR LF,
  // CR NUL, CR or LF (RFC 1123 §3.3.1), and there are no other CR, LF or NUL after CR.
  // In Binary nothing is changed but the doubled FF.
  struct Data {
    std::string bytes;
  };

  // Bytes to send now, in this order among the other events. When `urgent`, the last byte is to be
  // marked as TCP urgent data, and output still waiting is to be dropped first.
  struct Send {
    std::string bytes;
    bool urgent = false;
  };

  enum class Signal : std::uint8_t {
    interrupt,        // IP
    abort_output,     // AO; the Synch it asks for comes before, as a Send
    are_you_there,    // AYT; answered already by a Send: a chance to show the typed line again
    break_key,        // BRK
    erase_character,  // EC
    erase_line,       // EL
    end_of_record,    // EOR
  };

  // In characters; 0 means that the client does not say (RFC 1073 §2). Any value may come.
  struct WindowSize {
    std::uint16_t columns;
    std::uint16_t rows;
  };

  // Upper case, 1 to 40 printable ASCII characters (RFC 1091 §5).
  struct TerminalType {
    std::string name;
  };

  // An option is now on or off, or our request for it has been refused.
  struct Settled {
    Side side;
    Option option;
    bool on;
  };

  using Event = std::variant<Data, Send, Signal, WindowSize, TerminalType, Settled>;

  std::vector<Event> feed(std::string_view received);

  // TCP says that urgent data are on the way: what was typed before the Data Mark is dropped, while
  // commands among it are obeyed (RFC 854, "the TELNET Synch signal").
  void urgent() { dropping_ = true; }

  // What a terminal session wants: WILL Echo, WILL Suppress Go-Ahead, DO terminal type, DO window
  // size, without those that are on or asked for already. Returns the bytes to send.
  std::string offer();

  // Asks for one option to be on or off. Returns the bytes to send: none when it is so, is asked
  // for already, or has to wait for the answer to an earlier request.
  std::string request(Side side, Option option, bool on);

  bool active(Side side, Option option) const;
  // Nothing about it waits for an answer.
  bool settled(Side side, Option option) const;

  // Whether what is typed is data as they are, also where the client does not send Binary: only the
  // NUL goes that Telnet adds to a CR.
  void keep_line_ends(bool keep) {
    keep_line_ends_ = keep;
    enter_.forget();
    after_cr_ = false;
  }

  // Output as it has to travel: FF doubled and, unless we send Binary, a CR without LF made CR NUL.
  // Every result is complete in itself, so that answers may be sent between any two; a CR at the
  // end therefore counts as bare (a CR LF cut in two arrives as CR NUL LF, which looks the same).
  // Bit 7 is left alone: whoever calls decides whether to send 8-bit text without Binary, which RFC
  // 1123 §3.2.5 advises against.
  std::string encode(std::string_view bytes) const;

 private:
  bool receiving_binary() const;

  enum class State : std::uint8_t { data, command, option, subnegotiation, sub_command };

  void data(unsigned char byte, std::vector<Event>& events);
  void command(unsigned char byte, std::vector<Event>& events);
  void negotiate(unsigned char option, std::vector<Event>& events);
  void keep(unsigned char byte);
  void subnegotiated(std::vector<Event>& events);
  void settle(Side side, Option option, Negotiation before, std::vector<Event>& events);

  std::array<Negotiation, 10> options_{};  // by side, then as in the list of known options
  std::string sub_;                        // the subnegotiation so far, its option number first
  State state_ = State::data;
  unsigned char verb_ = 0;     // WILL, WONT, DO or DONT, while its option is awaited
  bool sub_too_long_ = false;  // skip the rest of it
  Enter enter_;
  bool keep_line_ends_ = false;
  bool after_cr_ = false;    // while they are kept
  bool dropping_ = false;    // until the Data Mark
  bool type_asked_ = false;  // SEND is out, so one IS is welcome
};

}  // namespace stationer::server
