// TFTP: what is read of any packet, what is agreed on, and both ends with a network between them
// that loses, repeats and delays as the script says.
#include <algorithm>
#include <map>
#include <string>

#include "server/protocol/netascii.h"
#include "server/protocol/tftp_packet.h"
#include "server/protocol/tftp_receive.h"
#include "server/protocol/tftp_send.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;
using namespace std::chrono_literals;

constexpr std::size_t most_events = 20'000;

void check_terms(const tftp::Request& request) {
  const TftpTerms terms = agree(request, {}, 1000);
  require(terms.block >= 8 && terms.block <= tftp::largest_block, "blocks are within RFC 2348");
  require(terms.window >= 1, "a window has a block");
  require(std::size_t{terms.window} * terms.block <= TftpLimits().in_flight || terms.window == 1,
          "no more is in flight than is bounded");
  require(terms.oack.size() <= tftp::most_request, "an answer is no longer than a request");
  require(!request.options.empty() || terms.oack.empty(), "what was not asked is not answered");
}

// A text, out and back in pieces.
void check_netascii(std::string_view text, std::size_t at_once) {
  NetasciiPlace place;
  FromNetascii back;
  std::string returned;
  while (place.offset < text.size()) {
    std::string piece(at_once, '\0');
    const std::size_t size = to_netascii(text.substr(place.offset), place, piece);
    require(size > 0 && size <= at_once, "something comes, and no more than there is room for");
    returned += back.feed(std::string_view(piece).substr(0, size));
  }
  returned += back.finish();
  require(returned == text, "a text is the same when it is back");
}

// One direction of the network.
class Way {
 public:
  explicit Way(Script& script) : script_(script) {}

  void send(std::uint64_t block, Time now) {
    ++sent_;
    const std::uint8_t fate = script_.number();
    if ((fate & 7) == 1) return;
    const auto late = (fate & 7) == 2 ? 20ms * (fate >> 3) : 1ms;
    coming_.emplace(now + late, block);
    if ((fate & 7) == 3) coming_.emplace(now + 20ms * (fate >> 3), block);
  }
  std::optional<Time> next() const {
    return coming_.empty() ? std::nullopt : std::optional(coming_.begin()->first);
  }
  std::optional<std::uint64_t> arrived(Time now) {
    if (coming_.empty() || coming_.begin()->first > now) return std::nullopt;
    const std::uint64_t block = coming_.begin()->second;
    coming_.erase(coming_.begin());
    return block;
  }
  std::size_t sent() const { return sent_; }

 private:
  Script& script_;
  std::multimap<Time, std::uint64_t> coming_;
  std::size_t sent_ = 0;
};

void check_transfer(Script& script) {
  TftpTerms terms;
  terms.window = static_cast<std::uint16_t>(1 + script.number() % 16);
  terms.block_after_last = script.number() & 1;
  if ((script.number() & 1) != 0) terms.timeout = 1s;
  const std::uint64_t blocks = 1 + script.number() % 64;
  Way forth(script);
  Way back(script);
  Time now(1h);
  TftpSend sender(terms, now);
  TftpReceive receiver(terms, now);
  receiver.answered(now);
  std::uint64_t taken = 0;
  for (std::size_t events = 0; sender.state() == TftpSend::State::sending; ++events) {
    require(events < most_events, "it ends");
    std::size_t at_once = 0;
    while (const auto block = sender.next()) {
      require(*block <= blocks, "nothing goes that is not there");
      require(++at_once <= terms.window, "no more than a window goes at once");
      forth.send(*block, now);
      sender.sent(*block == blocks, now);
    }
    Time next = sender.deadline();
    if (receiver.state() < TftpReceive::State::over) next = std::min(next, receiver.deadline());
    require(next > now - 1ms || !sender.next(), "deadlines are to come");
    for (const auto& way : {forth.next(), back.next()}) next = way ? std::min(next, *way) : next;
    now = std::max(now, next);
    while (const auto block = forth.arrived(now)) {
      if (receiver.take(sender.shown(*block), *block == blocks, now)) {
        require(*block == ++taken, "blocks are taken in their order, once each");
      }
      if (const auto due = receiver.due()) {
        require(*due == taken, "what is acknowledged has come");
        back.send(*due, now);
        receiver.answered(now);
      }
    }
    while (const auto block = back.arrived(now)) sender.acked(sender.shown(*block), now);
    sender.tick(now);
    receiver.tick(now);
    if (receiver.due()) {
      back.send(*receiver.due(), now);
      receiver.answered(now);
    }
  }
  require(sender.state() != TftpSend::State::done || taken == blocks, "done means that all came");
}

}  // namespace

void tftp_transfer(std::string_view input) {
  Script script(input);
  const unsigned how = script.number();
  if (how % 4 == 0) {
    const auto packet = tftp::read(script.bytes(600));
    if (const auto* request = std::get_if<tftp::Request>(&packet)) check_terms(*request);
  } else if (how % 4 == 1) {
    check_netascii(script.bytes(600), 1 + how / 4);
  } else {
    check_transfer(script);
  }
}

}  // namespace stationer::fuzz
