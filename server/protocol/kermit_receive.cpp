// The following half of Kermit.
#include <algorithm>
#include <charconv>
#include <utility>

#include "server/protocol/kermit.h"

namespace stationer::server {

using namespace kermit;

namespace {

constexpr std::chrono::seconds invitation_wait{10};
constexpr const char* out_of_order =
    "The other side sent its packets in an order that makes no sense.";

std::optional<std::uint64_t> number_of(std::string_view digits) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (error != std::errc() || end != digits.data() + digits.size()) return std::nullopt;
  return value;
}

// "yyyymmdd" with " hh:mm" and ":ss" or without.
std::optional<std::chrono::sys_seconds> moment_of(std::string_view text) {
  const auto part = [&](std::size_t at, std::size_t size) -> std::optional<unsigned> {
    if (text.size() < at + size) return std::nullopt;
    const auto value = number_of(text.substr(at, size));
    if (!value) return std::nullopt;
    return static_cast<unsigned>(*value);
  };
  const auto year = part(0, 4);
  const auto month = part(4, 2);
  const auto day = part(6, 2);
  if (!year || !month || !day) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(static_cast<int>(*year)),
                                         std::chrono::month(*month), std::chrono::day(*day)};
  if (!date.ok()) return std::nullopt;
  return std::chrono::sys_seconds(std::chrono::sys_days(date)) +
         std::chrono::hours(std::min(part(9, 2).value_or(0), 23u)) +
         std::chrono::minutes(std::min(part(12, 2).value_or(0), 59u)) +
         std::chrono::seconds(std::min(part(15, 2).value_or(0), 59u));
}

}  // namespace

void Kermit::begin_receiving() {
  phase_ = Phase::waiting;
  received_.expect(0);
  reader_.use_check(Check::one);
  wait(invitation_wait);
}

void Kermit::heard_as_receiver(Packet packet) {
  if (packet.type == 'S' && phase_ == Phase::waiting) return heard_init(packet);
  if (packet.type == 'S') {
    if (after(packet.sequence) == received_.expected()) send(init_reply_);  // it was not heard
    return;
  }
  const bool is_ours = std::string_view("FXADZB").find(packet.type) != std::string_view::npos;
  if (!is_ours || phase_ == Phase::waiting) return;  // an echo, or of an earlier batch
  const unsigned sequence = packet.sequence;
  const bool is_data = packet.type == 'D';
  switch (received_.put(std::move(packet), terms_.window)) {
    case ReceiveWindow::Kind::repeated: return reply(sequence, is_data && unwanted_ ? "X" : "");
    case ReceiveWindow::Kind::outside: return;
    case ReceiveWindow::Kind::fresh: break;
  }
  retries_ = 0;
  std::erase(asked_again_, sequence);
  if (is_data) reply(sequence, unwanted_ ? "X" : "");
  if (sequence != received_.expected()) ask_for_holes(sequence);
  use_next();
}

void Kermit::heard_init(const Packet& packet) {
  const Offer theirs = read_offer(packet.data);
  const Offer answer = answer_to(theirs, ours_);
  terms_ = agree(theirs, answer, false);
  init_reply_ = octets_of({packet.sequence, 'Y', write_offer(answer)}, Check::one);
  send(init_reply_);
  reader_.use_check(terms_.check);
  received_.expect(after(packet.sequence));
  asked_again_.clear();
  opened_ = unwanted_ = false;
  held_.reset();
  retries_ = 0;
  heard_ = true;
  phase_ = Phase::receiving;
  wait(terms_.time);
}

void Kermit::use_next() {
  while (!waits() && phase_ == Phase::receiving && !outcome()) {
    const auto packet = received_.next();
    if (!packet) return;
    use(*packet);
  }
}

void Kermit::use(const Packet& packet) {
  switch (packet.type) {
    case 'F':
    case 'X':
      if (opened_) return break_off(out_of_order);
      facts_ = {};
      facts_.name = decode(packet.data, terms_).value_or(packet.data);
      unwanted_ = false;
      // Attributes come first, if there are any.
      if (terms_.attributes) return reply(packet.sequence);
      to_answer_ = packet.sequence;
      return ask_for(Asked::open, Open{facts_});
    case 'A':
      if (opened_) return break_off(out_of_order);
      use_attributes(packet.data);
      to_answer_ = packet.sequence;
      return ask_for(Asked::open, Open{facts_});
    case 'D': {
      if (unwanted_) return;
      if (!opened_) return open_or(packet);
      auto bytes = decode(packet.data, terms_);
      if (!bytes) return break_off("The other side sent something that can't be read.");
      return ask_for(Asked::write, Write{std::move(*bytes)});
    }
    case 'Z':
      if (!opened_ && !unwanted_) return open_or(packet);
      to_answer_ = packet.sequence;
      if (opened_ && packet.data == "D") return ask_for(Asked::abandon, Abandon());
      if (opened_) return ask_for(Asked::close, Close());
      reply(*std::exchange(to_answer_, std::nullopt));
      return;
    case 'B':
      if (opened_) return break_off(out_of_order);
      reply(packet.sequence);
      return batch_over();
    default: return;
  }
}

// It has no attributes, so it is opened when the first of it comes.
void Kermit::open_or(const Packet& packet) {
  held_ = packet;
  ask_for(Asked::open, Open{facts_});
}

void Kermit::use_attributes(std::string_view data) {
  while (data.size() >= 2) {
    const char letter = data[0];
    const std::size_t size = un_char(data[1]);
    if (size > data.size() - 2) return;
    const std::string_view value = data.substr(2, size);
    data.remove_prefix(2 + size);
    if (letter == '"' && !value.empty()) facts_.text = value.front() == 'A';
    if (letter == '1') facts_.size = number_of(value);
    if (letter == '#') {
      facts_.modified = moment_of(value);
      if (facts_.modified) *facts_.modified -= options_.clock_ahead;
    }
  }
}

void Kermit::reply(unsigned sequence, std::string data) {
  transmit({sequence, 'Y', std::move(data)}, terms_.check);
  wait(terms_.time);
}

void Kermit::ask_again(unsigned sequence) {
  if (terms_.window > 1) {
    if (std::find(asked_again_.begin(), asked_again_.end(), sequence) != asked_again_.end()) return;
    asked_again_.push_back(sequence);
  }
  transmit({sequence, 'N', {}}, terms_.check);
}

// What lies between the next packet and one that came before its turn.
void Kermit::ask_for_holes(unsigned upto) {
  for (unsigned each = received_.expected(); each != upto; each = after(each)) {
    if (!received_.has(each)) ask_again(each);
  }
}

void Kermit::timed_out_as_receiver() {
  if (phase_ == Phase::waiting) {
    if (now() >= give_up_) return break_off("The other side did not begin to send.");
    transmit({0, 'N', {}}, Check::one);
    return wait(invitation_wait);
  }
  if (gone_silent()) return break_off("The other side went silent.");
  asked_again_.clear();
  ask_again(received_.expected());
  wait(terms_.time);
}

}  // namespace stationer::server
