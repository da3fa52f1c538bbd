#include "server/protocol/kermit.h"

#include <utility>

namespace stationer::server {

using namespace kermit;

Kermit::Kermit(const Options& options) : options_(options) {
  reader_.use_seven_bits(options.seven_bits);
  ours_.longest = longest_short;
  ours_.time = std::chrono::seconds(10);
  ours_.eighth_bit = options.seven_bits ? '&' : 'Y';
  ours_.check = options.check;
  ours_.repeat_prefix = '~';
  ours_.attributes = true;
  ours_.long_packets = options.longest > longest_short;
  ours_.longest_long = options.longest;
  ours_.window = options.window;
}

void Kermit::started() {
  give_up_ = now() + options_.patience;
  switch (options_.role) {
    case Role::send: ask(NextFile()); return;
    case Role::receive: return begin_receiving();
    case Role::serve: return begin_serving();
  }
}

std::size_t Kermit::take(std::string_view octets) {
  std::string_view rest = octets;
  auto found = reader_.take(rest);
  if (reader_.saw_parity()) ours_.eighth_bit = '&';
  // A long packet may take longer than the patience with silence.
  if (phase_ == Phase::receiving) wait(terms_.time);
  if (reader_.broken_off()) {
    break_off("Ctrl-C was typed.");
  } else if (found && found->well) {
    heard(std::move(found->packet));
  } else if (found) {
    spoilt();
  }
  return octets.size() - rest.size();
}

void Kermit::heard(Packet packet) {
  heard_at_ = now();
  if (packet.type == 'E' && phase_ != Phase::serving) {
    const auto words = decode(packet.data, terms_);
    fail(words && !words->empty() ? "The other side broke it off: " + *words
                                  : "The other side broke it off.");
  } else if (leads()) {
    heard_as_sender(packet);
  } else if (phase_ == Phase::serving) {
    heard_as_server(packet);
  } else {
    heard_as_receiver(std::move(packet));
  }
}

// One came that does not check.
void Kermit::spoilt() {
  if (leads()) {
    // Of several on their way nobody knows which it was about.
    if (window_.size() == 1) resend(window_.oldest());
  } else if (phase_ == Phase::receiving) {
    ask_again(received_.expected());
  }
}

void Kermit::timed_out() {
  reader_.reset();
  if (leads()) {
    timed_out_as_sender();
  } else if (phase_ == Phase::serving) {
    fail("Nothing was asked for, for a long time.");
  } else {
    timed_out_as_receiver();
  }
}

// Counts one more question that was not answered in time.
bool Kermit::gone_silent() {
  ++retries_;
  const bool silent = retries_ > most_unanswered && now() - heard_at_ >= most_silence;
  return silent || retries_ > most_retries;
}

std::string Kermit::octets_of(const Packet& packet, Check check) const {
  std::string octets(terms_.padding, terms_.padded_with);
  octets += write_packet(packet, check);
  octets += terms_.end;
  return octets;
}

void Kermit::transmit(const Packet& packet, Check check) {
  send(octets_of(packet, check));
}

std::string Kermit::cancellation(const std::string& why) const {
  // Long words would not fit a packet that the other is sure to take.
  constexpr std::size_t most_words = 60;
  Terms plain;
  plain.control_prefix = terms_.control_prefix;
  const Check check = phase_ == Phase::init || phase_ == Phase::waiting ? Check::one : terms_.check;
  return octets_of({leads() ? sequence_ : received_.expected(), 'E',
                    encode_all(why.substr(0, most_words), plain)},
                   check);
}

void Kermit::ask_for(Asked what, Request request) {
  asked_ = what;
  ask(std::move(request));
}

void Kermit::accepted() {
  switch (std::exchange(asked_, Asked::nothing)) {
    case Asked::find:
    case Asked::sent:
      if (!std::exchange(stop_batch_, false)) return ask(NextFile());
      phase_ = Phase::batch_end;
      return go_on();
    case Asked::open:
      opened_ = true;
      if (to_answer_) reply(*std::exchange(to_answer_, std::nullopt));
      if (held_) use(*std::exchange(held_, std::nullopt));
      return use_next();
    case Asked::close:
    case Asked::abandon:
      opened_ = false;
      reply(*std::exchange(to_answer_, std::nullopt));
      return use_next();
    case Asked::write: return use_next();
    case Asked::nothing: return;
  }
}

void Kermit::refused(const fs::Error& error) {
  switch (std::exchange(asked_, Asked::nothing)) {
    case Asked::open:
      unwanted_ = true;
      // To attributes the answer can be no; else the first data are answered so.
      if (to_answer_) reply(*std::exchange(to_answer_, std::nullopt), terms_.attributes ? "N" : "");
      if (held_) use(*std::exchange(held_, std::nullopt));
      return use_next();
    case Asked::find:
      transmit({0, 'E', encode_all(error.message, terms_)}, Check::one);
      return begin_serving();
    default: return break_off(error.message);
  }
}

void Kermit::batch_over() {
  if (options_.role == Role::serve) {
    begin_serving();
  } else {
    done();
  }
}

// ---- serving ----

void Kermit::begin_serving() {
  phase_ = Phase::serving;
  heard_ = false;
  wait(idle_wait);
}

void Kermit::heard_as_server(const Packet& packet) {
  wait(idle_wait);
  switch (packet.type) {
    case 'S': return heard_init(packet);
    case 'I': {
      const Offer answer = answer_to(read_offer(packet.data), ours_);
      return transmit({packet.sequence, 'Y', write_offer(answer)}, Check::one);
    }
    case 'R': {
      const auto name = decode(packet.data, Terms());
      return ask_for(Asked::find, Find{name.value_or(packet.data)});
    }
    case 'G':
      if (packet.data == "F" || packet.data == "L") {
        transmit({packet.sequence, 'Y', {}}, Check::one);
        return done();
      }
      break;
    case 'B': return transmit({packet.sequence, 'Y', {}}, terms_.check);  // it did not hear it
    case 'Y':
    case 'N':
    case 'E': return;
    default: break;
  }
  transmit({packet.sequence, 'E', "This server only sends and receives files."}, Check::one);
}

}  // namespace stationer::server
