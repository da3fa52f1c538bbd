// The host's own print system, by its library: a PDF goes to one of its printers (IPP, RFC 8011).
#pragma once

#include <string>

#include "fs/result.h"
#include "print/open_content.h"

namespace stationer::print {

// Hands a PDF over to a printer by its name there. `server` is a host, HOST:PORT or the path of a
// socket; empty: what the host is set up with. May wait half a minute for it.
//
// Done means that the print system has the whole of it and prints it when it can. Code::not_found
// when it has no such printer, else Code::busy with the print system's own reason: worth another
// try.
fs::Status hand_to_printer(const std::string& server, const std::string& printer,
                           const std::string& title, const OpenContent& open);

}  // namespace stationer::print
