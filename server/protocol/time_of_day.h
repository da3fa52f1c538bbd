// The time for machines that have no clock: RFC 868 in four octets, RFC 867 in a line of text.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>

#include "fs/ids.h"

namespace stationer::server {

// Seconds since 1900-01-01 00:00 UTC as a number without sign, highest octet first (RFC 868). In
// 2036 it begins again at 0 (RFC 5905 §6); what was before 1900 is 0.
std::string time_octets(fs::Time time);

// "Tuesday, February 23, 1982 17:37:43 UTC-08:00" and CR LF, by what the host's clock shows more
// than UTC: one of the syntaxes that RFC 867 suggests. Printing ASCII.
std::string daytime_line(fs::Time time, std::chrono::seconds zone);

// Whether a datagram from that port may be one of a machine that wants an answer. Those of services
// that answer whatever comes would go to and fro for ever: echo, daytime, quote, chargen, time (RFC
// 862 to 868), and port 0, which is none.
bool may_be_asking(std::uint16_t port);

}  // namespace stationer::server
