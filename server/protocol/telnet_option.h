// One Telnet option on one side of the connection: the Q method of RFC 1143 §7, which makes it
// impossible for two ends to answer each other for ever. Pure: a state and what happened give the
// next state and what to send.
//
// The table is written for the other side's option, as in the RFC: "on" is WILL heard or DO sent,
// "off" is WONT heard or DONT sent. For our own side read DO for WILL, and WILL for DO.
#pragma once

#include <cstdint>
#include <optional>

namespace stationer::server {

enum class Negotiation : std::uint8_t {
  no,
  yes,               // the only state in which the option is active
  want_no,           // we asked for off and wait for the answer
  want_no_then_yes,  // the same, and ask for on again afterwards
  want_yes,          // we asked for on and wait for the answer
  want_yes_then_no,  // the same, and ask for off afterwards
};

struct Move {
  Negotiation next;
  std::optional<bool> say;  // true: send DO (our side: WILL); false: send DONT (WONT)

  bool operator==(const Move&) const = default;
};

// What to do when the other end says on or off. `agree` tells whether we let it be switched on.
Move heard(Negotiation state, bool on, bool agree);

// What to do when we want it on or off. Asking for what is already so, or already asked for,
// changes nothing.
Move wanted(Negotiation state, bool on);

}  // namespace stationer::server
