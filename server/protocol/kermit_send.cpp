// The leading half of Kermit.
#include <algorithm>
#include <utility>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "server/protocol/kermit.h"

namespace stationer::server {

using namespace kermit;

namespace {

constexpr std::size_t fetch_size = std::size_t{16} * 1024;
constexpr std::size_t fetch_below = std::size_t{4} * 1024;
// Packets grow as long as the line bears them: one that is on its way can't be made smaller.
constexpr std::size_t first_packet = 500;
constexpr std::size_t smallest_packet = 60;
constexpr int good_before_growth = 12;
constexpr std::chrono::seconds start_wait{60};
// What an octet may take: 300 bit/s, and no time at all.
constexpr std::chrono::milliseconds slowest_octet{34};

}  // namespace

void Kermit::got_file(FileFacts facts) {
  facts_ = std::move(facts);
  ready_.clear();
  ready_at_ = 0;
  read_all_ = false;
  refusal_.clear();
  if (!heard_) return begin_sending();
  phase_ = Phase::header;
  go_on();
}

void Kermit::got_no_file() {
  if (!heard_) return batch_over();
  phase_ = Phase::batch_end;
  go_on();
}

void Kermit::begin_sending() {
  terms_ = {};
  reader_.use_check(Check::one);
  window_.clear();
  sequence_ = 0;
  retries_ = 0;
  stop_batch_ = false;
  an_octet_ = {};
  if (options_.role == Role::serve) give_up_ = now() + start_wait;
  phase_ = Phase::init;
  go_on();
}

void Kermit::go_on() {
  switch (phase_) {
    case Phase::init: return put_packet('S', write_offer(ours_));
    case Phase::header: return put_packet('F', encode_all(facts_.name, terms_));
    case Phase::attributes: return put_packet('A', attributes());
    case Phase::data: return fill_window();
    case Phase::end: return put_packet('Z', refusal_.empty() ? "" : "D");
    case Phase::batch_end: return put_packet('B', "");
    case Phase::serving:
    case Phase::waiting:
    case Phase::receiving: return;
  }
}

// Attributes are not encoded; each has a letter, its length and its value.
std::string Kermit::attributes() const {
  std::string out;
  const auto add = [&out](char letter, std::string_view value) {
    out += letter;
    out += to_char(static_cast<unsigned>(value.size()));
    out += value;
  };
  if (facts_.text) add('"', *facts_.text ? "AMJ" : "B8");
  if (facts_.size) {
    add('1', fmt::format("{}", *facts_.size));
    add('!', fmt::format("{}", (*facts_.size + 1023) / 1024));
  }
  if (facts_.modified) {
    const auto shown = *facts_.modified + options_.clock_ahead;
    add('#', fmt::format("{:%Y%m%d %H:%M:%S}",
                         fmt::gmtime(std::chrono::system_clock::to_time_t(shown))));
  }
  return out;
}

void Kermit::put_packet(char type, std::string data) {
  const Check check = phase_ == Phase::init ? Check::one : terms_.check;
  auto& sent = window_.push(sequence_, octets_of({sequence_, type, std::move(data)}, check));
  sequence_ = after(sequence_);
  send(sent.octets);
  sent.at = now();
  sent.before = window_.octets();
  wait_for_reply();
}

// As long as the other end asked for; longer when so much is on its way that it takes longer.
void Kermit::wait_for_reply() {
  const Time::duration on_the_way = 3 * an_octet_ * static_cast<int>(window_.octets());
  wait(std::max<Time::duration>(terms_.time, on_the_way + std::chrono::seconds(2)));
}

void Kermit::resend(SendWindow::Sent& sent) {
  send(sent.octets);
  sent.at = now();
  sent.before = window_.octets();
  sent.again = true;
  good_ = 0;
  packet_size_ = std::max(packet_size_ / 2, std::min(smallest_packet, terms_.most_data));
  wait_for_reply();
}

void Kermit::timed_out_as_sender() {
  if (!heard_) {
    if (now() >= give_up_) return break_off("The other side did not begin to receive.");
  } else if (gone_silent()) {
    return break_off("The other side went silent.");
  }
  resend(window_.oldest());
}

void Kermit::heard_as_sender(const Packet& packet) {
  if (packet.type == 'Y') return acknowledged(packet);
  if (packet.type != 'N') return;  // our own, coming back from a line that echoes
  if (auto* sent = window_.find(packet.sequence)) {
    if (++retries_ > most_retries && heard_) {
      return break_off("The line is too bad: the same packet failed too often.");
    }
    resend(*sent);
  } else if (packet.sequence == sequence_ && phase_ != Phase::init) {
    // Who asks for the next one has all before it (section 3.3).
    while (packet.sequence == sequence_ && !window_.empty()) {
      acknowledged({window_.oldest().sequence, 'Y', {}});
    }
  }
}

void Kermit::acknowledged(const Packet& packet) {
  auto* sent = window_.find(packet.sequence);
  if (sent == nullptr) return;
  if (!sent->again) {
    // Never less than it really takes; the longer what was on its way, the less of the delay is in
    // it.
    const auto one = (now() - sent->at) / static_cast<int>(sent->before + 1);
    an_octet_ = an_octet_ == Time::duration() ? one : std::min(an_octet_, one);
    an_octet_ = std::min<Time::duration>(an_octet_, slowest_octet);
  }
  window_.acknowledge(*sent);
  retries_ = 0;
  wait_for_reply();
  switch (phase_) {
    case Phase::init:
      terms_ = agree(ours_, read_offer(packet.data), true);
      reader_.use_check(terms_.check);
      packet_size_ = std::min(first_packet, terms_.most_data);
      heard_ = true;
      phase_ = Phase::header;
      return go_on();
    case Phase::header:
      phase_ = terms_.attributes ? Phase::attributes : Phase::data;
      return go_on();
    case Phase::attributes:
      if (packet.data.starts_with('N')) refusal_ = "The other side did not want it.";
      phase_ = Phase::data;
      return go_on();
    case Phase::data:
      if (packet.data == "X" || packet.data == "Z") refusal_ = "The other side did not want it.";
      if (packet.data == "Z") stop_batch_ = true;
      if (++good_ >= good_before_growth && packet_size_ < terms_.most_data) {
        good_ = 0;
        packet_size_ = std::min(packet_size_ * 3 / 2, terms_.most_data);
      }
      return go_on();
    case Phase::end: return ask_for(Asked::sent, Sent{refusal_});
    case Phase::batch_end: return batch_over();
    case Phase::serving:
    case Phase::waiting:
    case Phase::receiving: return;
  }
}

void Kermit::fill_window() {
  while (window_.size() < terms_.window) {
    const std::size_t left = ready_.size() - ready_at_;
    if (!refusal_.empty() || (left == 0 && read_all_)) {
      if (!window_.empty()) return;
      phase_ = Phase::end;
      return go_on();
    }
    if (left < fetch_below && !read_all_) return ask(Read{fetch_size});
    std::string_view bytes = std::string_view(ready_).substr(ready_at_);
    std::string data = encode(bytes, packet_size_, terms_);
    ready_at_ = ready_.size() - bytes.size();
    const bool high = std::any_of(data.begin(), data.end(), [](char c) { return (c & 0x80) != 0; });
    if (high && (options_.seven_bits || reader_.saw_parity())) {
      return break_off(
          "The line carries seven bits, and the program at the other end knows no way around that. "
          "Set both ends to eight bits, or send texts only.");
    }
    put_packet('D', std::move(data));
  }
}

void Kermit::got_bytes(std::string bytes) {
  read_all_ = bytes.size() < fetch_size;
  ready_.erase(0, ready_at_);
  ready_at_ = 0;
  ready_ += bytes;
  fill_window();
}

}  // namespace stationer::server
