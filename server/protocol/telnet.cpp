#include "server/protocol/telnet.h"

#include <algorithm>
#include <optional>
#include <stdexcept>
#include <utility>

namespace stationer::server {
namespace {

// RFC 854, "TELNET command structure"; EOR from RFC 1123 §3.2.3.
enum Byte : unsigned char {
  LF = 10,
  CR = 13,
  EOR = 239,
  SE = 240,
  DM = 242,
  BRK = 243,
  IP = 244,
  AO = 245,
  AYT = 246,
  EC = 247,
  EL = 248,
  SB = 250,
  WILL = 251,
  WONT = 252,
  DO = 253,
  DONT = 254,
  IAC = 255,
};
constexpr unsigned char timing_mark = 6;  // RFC 860; not a state, so not among the options
constexpr unsigned char type_is = 0;      // RFC 1091 §2
constexpr unsigned char type_send = 1;
constexpr std::size_t longest_sub = 64;
constexpr std::size_t longest_type = 40;  // RFC 1091 §5

using Side = Telnet::Side;
using Option = Telnet::Option;

constexpr std::array known = {Option::binary, Option::echo, Option::suppress_go_ahead,
                              Option::terminal_type, Option::window_size};

std::optional<Option> find(unsigned char number) {
  for (const Option option : known) {
    if (static_cast<unsigned char>(option) == number) return option;
  }
  return {};
}

bool supported(Side side, Option option) {
  switch (option) {
    case Option::binary:
    case Option::suppress_go_ahead: return true;
    case Option::echo: return side == Side::us;
    case Option::terminal_type:
    case Option::window_size: return side == Side::them;
  }
  return false;
}

std::size_t index(Side side, Option option) {
  const auto at = std::find(known.begin(), known.end(), option) - known.begin();
  return static_cast<std::size_t>(at) + (side == Side::us ? 0 : known.size());
}

std::string bytes(std::initializer_list<unsigned char> list) {
  return {list.begin(), list.end()};
}

std::string say(Side side, bool on, unsigned char option) {
  const unsigned char verb = side == Side::us ? (on ? WILL : WONT) : (on ? DO : DONT);
  return bytes({IAC, verb, option});
}

void send(std::vector<Telnet::Event>& events, std::string_view what) {
  auto* last = events.empty() ? nullptr : std::get_if<Telnet::Send>(&events.back());
  if (last != nullptr && !last->urgent) {
    last->bytes += what;
  } else {
    events.emplace_back(Telnet::Send{std::string(what)});
  }
}

void typed(std::vector<Telnet::Event>& events, std::string_view what) {
  if (auto* last = events.empty() ? nullptr : std::get_if<Telnet::Data>(&events.back())) {
    last->bytes += what;
  } else {
    events.emplace_back(Telnet::Data{std::string(what)});
  }
}

}  // namespace

bool Telnet::active(Side side, Option option) const {
  return options_[index(side, option)] == Negotiation::yes;
}

bool Telnet::settled(Side side, Option option) const {
  const Negotiation state = options_[index(side, option)];
  return state == Negotiation::yes || state == Negotiation::no;
}

// What is on its way while we wait for "off" to be agreed was still sent as Binary.
bool Telnet::receiving_binary() const {
  const Negotiation state = options_[index(Side::them, Option::binary)];
  return state == Negotiation::yes || state == Negotiation::want_no ||
         state == Negotiation::want_no_then_yes;
}

std::string Telnet::request(Side side, Option option, bool on) {
  if (!supported(side, option)) throw std::logic_error("a Telnet option asked of the wrong side");
  Negotiation& state = options_[index(side, option)];
  const Move move = wanted(state, on);
  state = move.next;
  return move.say ? say(side, *move.say, static_cast<unsigned char>(option)) : "";
}

std::string Telnet::offer() {
  // A server that never sends Go-Ahead must offer to suppress it (RFC 1123 §3.2.2).
  return request(Side::us, Option::echo, true) +
         request(Side::us, Option::suppress_go_ahead, true) +
         request(Side::them, Option::terminal_type, true) +
         request(Side::them, Option::window_size, true);
}

std::vector<Telnet::Event> Telnet::feed(std::string_view received) {
  std::vector<Event> events;
  for (std::size_t at = 0; at < received.size(); ++at) {
    const auto byte = static_cast<unsigned char>(received[at]);
    switch (state_) {
      case State::data:
        if (byte == IAC) {
          state_ = State::command;
        } else {
          data(byte, events);
        }
        break;
      case State::command: command(byte, events); break;
      case State::option:
        state_ = State::data;
        negotiate(byte, events);
        break;
      case State::subnegotiation:
        if (byte == IAC) {
          state_ = State::sub_command;
        } else {
          keep(byte);
        }
        break;
      case State::sub_command:
        if (byte == IAC) {  // doubled: a byte of data (RFC 855)
          state_ = State::subnegotiation;
          keep(byte);
        } else if (byte == SE) {
          state_ = State::data;
          subnegotiated(events);
        } else {
          // No end, but another command: the subnegotiation was cut off. Obey the command.
          command(byte, events);
        }
        break;
    }
  }
  return events;
}

void Telnet::data(unsigned char byte, std::vector<Event>& events) {
  if (dropping_) return;
  const char c = static_cast<char>(byte);
  if (receiving_binary()) return typed(events, {&c, 1});
  if (keep_line_ends_) {
    const bool added = std::exchange(after_cr_, byte == CR) && byte == 0;
    return added ? void() : typed(events, {&c, 1});
  }
  if (const auto passed = enter_(c)) typed(events, {&*passed, 1});
}

void Telnet::command(unsigned char byte, std::vector<Event>& events) {
  state_ = State::data;
  switch (byte) {
    case IAC: return data(byte, events);
    case WILL:
    case WONT:
    case DO:
    case DONT:
      verb_ = byte;
      state_ = State::option;
      return;
    case SB:
      sub_.clear();
      sub_too_long_ = false;
      state_ = State::subnegotiation;
      return;
    case DM: dropping_ = false; return;  // outside a Synch it does nothing
    case IP: events.emplace_back(Signal::interrupt); return;
    case BRK: events.emplace_back(Signal::break_key); return;
    case EC: events.emplace_back(Signal::erase_character); return;
    case EL: events.emplace_back(Signal::erase_line); return;
    case EOR: events.emplace_back(Signal::end_of_record); return;
    case AO:  // to be answered with a Synch (RFC 1123 §3.2.4)
      events.emplace_back(Send{bytes({IAC, DM}), true});
      events.emplace_back(Signal::abort_output);
      return;
    case AYT:  // answered here, so that a busy session is still seen to be alive
      send(events, "\r\n[yes]\r\n");
      events.emplace_back(Signal::are_you_there);
      return;
    default: return;  // NOP, GA, and codes nobody has defined
  }
}

void Telnet::negotiate(unsigned char number, std::vector<Event>& events) {
  const bool on = verb_ == WILL || verb_ == DO;
  const Side side = verb_ == WILL || verb_ == WONT ? Side::them : Side::us;
  if (number == timing_mark && side == Side::us) {
    // RFC 860: WILL at the very place among the events where the question came.
    if (on) send(events, say(Side::us, true, timing_mark));
    return;
  }
  const auto option = find(number);
  if (!option || !supported(side, *option)) {
    // Off for good: refuse to switch it on, ignore that it is off.
    const Move move = heard(Negotiation::no, on, false);
    if (move.say) send(events, say(side, *move.say, number));
    return;
  }
  Negotiation& state = options_[index(side, *option)];
  const Negotiation before = state;
  const Move move = heard(state, on, true);
  state = move.next;
  if (move.say) send(events, say(side, *move.say, number));
  settle(side, *option, before, events);
}

void Telnet::settle(Side side, Option option, Negotiation before, std::vector<Event>& events) {
  const Negotiation now = options_[index(side, option)];
  if (now == before || (now != Negotiation::yes && now != Negotiation::no)) return;
  const bool on = now == Negotiation::yes;
  if (side == Side::them && option == Option::binary) enter_.forget();
  if (option == Option::terminal_type) {
    type_asked_ = on;
    if (on) send(events, bytes({IAC, SB, static_cast<unsigned char>(option), type_send, IAC, SE}));
  }
  events.emplace_back(Settled{side, option, on});
}

void Telnet::keep(unsigned char byte) {
  if (sub_.size() < longest_sub) {
    sub_ += static_cast<char>(byte);
  } else {
    sub_too_long_ = true;
  }
}

void Telnet::subnegotiated(std::vector<Event>& events) {
  if (sub_too_long_ || sub_.empty()) return;
  const auto number = static_cast<unsigned char>(sub_[0]);
  const std::string_view rest = std::string_view(sub_).substr(1);
  if (number == static_cast<unsigned char>(Option::window_size)) {
    if (!active(Side::them, Option::window_size) || rest.size() != 4) return;
    const auto word = [&](std::size_t at) {
      return static_cast<std::uint16_t>(static_cast<unsigned char>(rest[at]) << 8 |
                                        static_cast<unsigned char>(rest[at + 1]));
    };
    events.emplace_back(WindowSize{word(0), word(2)});
  } else if (number == static_cast<unsigned char>(Option::terminal_type)) {
    // The client may speak only when asked (RFC 1091 §5).
    if (!type_asked_ || rest.size() < 2 || rest[0] != type_is) return;
    type_asked_ = false;
    std::string name(rest.substr(1));
    if (name.size() > longest_type) return;
    for (char& c : name) {
      if (c < ' ' || c > '~') return;
      if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
    }
    events.emplace_back(TerminalType{std::move(name)});
  }
}

std::string Telnet::encode(std::string_view plain) const {
  const bool binary = active(Side::us, Option::binary);
  std::string out;
  out.reserve(plain.size() + 8);
  for (std::size_t at = 0; at < plain.size(); ++at) {
    const auto byte = static_cast<unsigned char>(plain[at]);
    out += plain[at];
    if (byte == IAC) out += plain[at];
    const bool bare_cr = byte == CR && (at + 1 == plain.size() || plain[at + 1] != LF);
    if (bare_cr && !binary) out += '\0';
  }
  return out;
}

}  // namespace stationer::server
