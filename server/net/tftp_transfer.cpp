#include "server/net/tftp_transfer.h"

#include <fmt/format.h>

#include "fs/text.h"
#include "server/protocol/clean_text.h"

namespace stationer::server {
namespace {

constexpr std::size_t longest_reason = 80;  // bytes of a station's own words
constexpr std::chrono::seconds latest{3};   // that a request may come

}  // namespace

bool TftpTransfer::is_begun_by(const tftp::Request& request, Time now) const {
  if (request.file != file_ || request.write != writes()) return false;
  return !heard_ || now - *heard_ < latest;
}

void TftpTransfer::heard(const tftp::Packet& packet, Time now) {
  if (state_ != State::going) return;
  heard_ = now;
  if (const auto* data = std::get_if<tftp::Data>(&packet)) return got(*data, now);
  if (const auto* ack = std::get_if<tftp::Ack>(&packet)) return got(*ack, now);
  if (const auto* error = std::get_if<tftp::Error>(&packet)) {
    state_ = State::failed;
    const std::string words = std::string(fs::clip(clean_text(error->text), longest_reason));
    failure_ = words.empty()
                   ? fmt::format("The station broke off, with error {}.", error->code)
                   : fmt::format("The station broke off, with error {}: {}", error->code, words);
    return;
  }
  // A request in the middle, or no packet at all.
  fail(tftp::ErrorCode::illegal, "That is no packet for the middle of a transfer.",
       "The station sent something that makes no sense in the middle of a transfer.");
}

void TftpTransfer::fail(tftp::ErrorCode code, std::string_view to_station, std::string to_keeper) {
  line_.say(tftp::error(code, to_station));
  failure_ = std::move(to_keeper);
  state_ = State::failed;
}

void TftpTransfer::silence_failed() {
  failure_ = "The station did not answer any more. Is it switched on, and its cable in?";
  state_ = State::failed;
}

tftp::ErrorCode tftp_code(const fs::Error& error) {
  switch (error.code) {
    case fs::Code::not_found: return tftp::ErrorCode::not_found;
    case fs::Code::denied:
    case fs::Code::kept:
    case fs::Code::bad_name:
    case fs::Code::not_a_folder:
    case fs::Code::is_a_folder:
    case fs::Code::read_only: return tftp::ErrorCode::denied;
    case fs::Code::over_quota:
    case fs::Code::no_space: return tftp::ErrorCode::full;
    case fs::Code::exists: return tftp::ErrorCode::exists;
    default: return tftp::ErrorCode::see_text;
  }
}

}  // namespace stationer::server
