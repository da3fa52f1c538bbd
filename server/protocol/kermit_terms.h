// What the two ends of a Kermit transfer tell each other at its beginning, and what they have
// agreed on then. Source: Kermit Protocol Manual, 6th ed., F. da Cruz, June 1986: chapter 5.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "server/protocol/kermit_packet.h"

namespace stationer::server::kermit {

// One end's side of it. The defaults are those of fields that are left out.
struct Offer {
  std::size_t longest = 80;      // packet that it takes, as its length field counts
  std::chrono::seconds time{5};  // after which it wants to be asked again
  unsigned padding = 0;          // characters it needs before each packet
  char padded_with = '\0';
  char end = '\r';            // what it needs after each packet
  char control_prefix = '#';  // that it will send
  char eighth_bit = 'N';      // 'Y': as the other wishes; 'N': can't; else the prefix it wants
  Check check = Check::one;
  char repeat_prefix = ' ';  // none
  bool attributes = false;
  bool long_packets = false;
  std::size_t longest_long = 500;  // of those
  unsigned window = 1;             // packets on the way at once

  bool operator==(const Offer&) const = default;
};

std::string write_offer(const Offer& offer);
// Fields that make no sense are as if left out.
Offer read_offer(std::string_view data);

// What holds from then on, as seen from one end.
struct Terms {
  std::size_t most_data = 77;  // characters of data in a packet that we send
  char control_prefix = '#';   // that we send
  char their_control_prefix = '#';
  std::optional<char> eighth_bit;
  std::optional<char> repeat;
  Check check = Check::one;
  bool attributes = false;
  unsigned window = 1;
  std::chrono::seconds time{5};
  unsigned padding = 0;
  char padded_with = '\0';
  char end = '\r';
};

// `first` says what it would like, `second` answers; `we_are_first` says which of them we are.
Terms agree(const Offer& first, const Offer& second, bool we_are_first);
// What we answer to an offer, given what we would like: no more than both can do.
Offer answer_to(const Offer& theirs, Offer ours);

}  // namespace stationer::server::kermit
