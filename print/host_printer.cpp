#include "print/host_printer.h"

#include <memory>

#include <cups/cups.h>
#include <fmt/format.h>

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;

constexpr int connect_patience = 10'000;  // milliseconds
constexpr double answer_patience = 10;    // seconds
constexpr std::size_t piece = std::size_t{64} << 10;

struct Closer {
  void operator()(http_t* connection) const { httpClose(connection); }
};

Error refusal(const std::string& printer) {
  const char* why = cupsLastErrorString();
  return {Code::busy, fmt::format("The host's print system did not take it for \"{}\": {}.",
                                  printer, why == nullptr ? "no reason given" : why)};
}

}  // namespace

fs::Status hand_to_printer(const std::string& server, const std::string& printer,
                           const std::string& title, const OpenContent& open) {
  auto content = open();
  if (!content) return content.error();
  // The library keeps this for each thread.
  cupsSetServer(server.empty() ? nullptr : server.c_str());
  const std::unique_ptr<http_t, Closer> connection(httpConnect2(
      cupsServer(), ippPort(), nullptr, AF_UNSPEC, cupsEncryption(), 1, connect_patience, nullptr));
  if (!connection) {
    return Error{Code::busy, fmt::format("The host's print system does not answer at {}. Is CUPS "
                                         "installed, and running?",
                                         cupsServer())};
  }
  http_t* http = connection.get();
  httpSetTimeout(
      http, answer_patience, [](http_t*, void*) { return 0; }, nullptr);
  cups_dest_t* known = cupsGetNamedDest(http, printer.c_str(), nullptr);
  if (known == nullptr) {
    return Error{Code::not_found,
                 fmt::format("The host's print system has no printer \"{}\".", printer)};
  }
  cupsFreeDests(1, known);
  const int job = cupsCreateJob(http, printer.c_str(), title.c_str(), 0, nullptr);
  if (job == 0) return refusal(printer);
  const auto send = [&]() -> fs::Status {
    if (cupsStartDocument(http, printer.c_str(), job, title.c_str(), CUPS_FORMAT_PDF, 1) !=
        HTTP_STATUS_CONTINUE) {
      return refusal(printer);
    }
    std::string buffer(piece, '\0');
    for (std::uint64_t at = 0;;) {
      auto got = content->read_at(at, buffer);
      if (!got) return got.error();
      if (*got == 0) break;
      if (cupsWriteRequestData(http, buffer.data(), *got) != HTTP_STATUS_CONTINUE) {
        return refusal(printer);
      }
      at += *got;
    }
    if (cupsFinishDocument(http, printer.c_str()) > IPP_STATUS_OK_CONFLICTING) {
      return refusal(printer);
    }
    return {};
  };
  auto sent = send();
  // Half a document must not be printed.
  if (!sent) cupsCancelJob2(CUPS_HTTP_DEFAULT, printer.c_str(), job, 0);
  return sent;
}

}  // namespace stationer::print
