#include "tests/support/transfer_line.h"

#include <algorithm>
#include <deque>
#include <stdexcept>
#include <utility>

namespace stationer::tests {

using server::Time;
using server::Transfer;

Spoiling noise(unsigned seed, double chance) {
  return [random = std::mt19937(seed), chance](std::string_view octets) mutable {
    std::string out;
    std::uniform_real_distribution<double> dice(0, 1);
    for (const char octet : octets) {
      if (dice(random) >= chance) {
        out += octet;
        continue;
      }
      switch (random() % 3) {
        case 0: break;
        case 1: out.append(2, octet); break;
        default: out += static_cast<char>(octet ^ (1 << random() % 8));
      }
    }
    return out;
  };
}

Spoiling eats_flow_control() {
  return [](std::string_view octets) {
    std::string out;
    for (const char octet : octets) {
      if (octet != 0x11 && octet != 0x13) out += octet;
    }
    return out;
  };
}

Spoiling seven_bits() {
  return [](std::string_view octets) {
    std::string out(octets);
    for (char& octet : out) octet = static_cast<char>(octet & 0x7F);
    return out;
  };
}

std::string random_bytes(std::mt19937& random, std::size_t size) {
  std::string out(size, '\0');
  for (char& byte : out) byte = static_cast<char>(random());
  return out;
}

Player::Player(Transfer& machine, std::vector<CarriedFile> files)
    : machine_(machine), to_send_(std::move(files)) {}

void Player::begin() {
  handle(machine_.begin(now_), {});
}

void Player::hear(std::string_view octets) {
  if (machine_.outcome()) return;
  handle(machine_.feed(octets, now_), octets);
}

void Player::cancel(std::string why) {
  handle(machine_.cancel(std::move(why), now_), {});
}

void Player::sleep(std::chrono::milliseconds how_long) {
  const Time end = now_ + how_long;
  while (machine_.deadline() && *machine_.deadline() <= end && !machine_.outcome()) {
    now_ = std::max(now_, *machine_.deadline());
    handle(machine_.tick(now_), {});
  }
  now_ = end;
}

void Player::handle(Transfer::Step step, std::string_view octets) {
  for (;;) {
    sent_ += step.send;
    octets.remove_prefix(step.used);
    if (!step.request) {
      if (machine_.outcome() || octets.empty()) return;
      step = machine_.feed(octets, now_);
      if (step.used == 0 && !step.request && !machine_.outcome()) {
        throw std::logic_error("a transfer takes nothing and asks for nothing");
      }
      continue;
    }
    if (std::holds_alternative<Transfer::NextFile>(*step.request)) {
      position_ = 0;
      step = next_ < to_send_.size() ? machine_.file(to_send_[next_++].facts, now_)
                                     : machine_.no_more_files(now_);
    } else if (const auto* read = std::get_if<Transfer::Read>(&*step.request)) {
      const std::string bytes = to_send_[next_ - 1].bytes.substr(position_, read->most);
      position_ += bytes.size();
      step = machine_.bytes(bytes, now_);
    } else if (const auto* sent = std::get_if<Transfer::Sent>(&*step.request)) {
      told_.push_back(sent->refusal);
      step = machine_.accept(now_);
    } else if (const auto* open = std::get_if<Transfer::Open>(&*step.request)) {
      open_ = {open->facts, {}};
      const bool refuse =
          std::find(refused.begin(), refused.end(), open->facts.name) != refused.end();
      step = refuse ? machine_.refuse({fs::Code::denied, "You may not change that."}, now_)
                    : machine_.accept(now_);
    } else if (const auto* write = std::get_if<Transfer::Write>(&*step.request)) {
      open_.bytes += write->bytes;
      step = machine_.accept(now_);
    } else if (std::holds_alternative<Transfer::Close>(*step.request)) {
      closed_.push_back(std::exchange(open_, {}));
      step = machine_.accept(now_);
    } else if (const auto* find = std::get_if<Transfer::Find>(&*step.request)) {
      next_ = 0;
      const bool there = std::any_of(to_send_.begin(), to_send_.end(), [&](const auto& each) {
        return each.facts.name == find->name;
      });
      std::erase_if(to_send_,
                    [&](const auto& each) { return there && each.facts.name != find->name; });
      step = there ? machine_.accept(now_)
                   : machine_.refuse({fs::Code::not_found, "There is no such file."}, now_);
    } else {
      ++abandoned_;
      open_ = {};
      step = machine_.accept(now_);
    }
  }
}

namespace {

// One direction: bytes with the times at which they arrive.
class Way {
 public:
  Way(double bits_a_second, Time::duration delay, Spoiling spoiling)
      : a_byte_(std::chrono::duration_cast<Time::duration>(
            std::chrono::duration<double>(10 / bits_a_second))),
        delay_(delay),
        spoiling_(std::move(spoiling)) {}

  void send(std::string_view octets, Time now) {
    free_ = std::max(free_, now);
    for (const char octet : octets) {
      free_ += a_byte_;
      ++count_;
      const std::string arriving =
          spoiling_ ? spoiling_(std::string_view(&octet, 1)) : std::string(1, octet);
      for (const char each : arriving) on_the_way_.emplace_back(free_ + delay_, each);
    }
  }

  std::optional<Time> next() const {
    if (on_the_way_.empty()) return std::nullopt;
    return on_the_way_.front().first;
  }

  std::string arrived(Time now) {
    std::string out;
    while (!on_the_way_.empty() && on_the_way_.front().first <= now) {
      out += on_the_way_.front().second;
      on_the_way_.pop_front();
    }
    return out;
  }

  std::uint64_t count() const { return count_; }

 private:
  Time::duration a_byte_;
  Time::duration delay_;
  Spoiling spoiling_;
  Time free_{};
  std::uint64_t count_ = 0;
  std::deque<std::pair<Time, char>> on_the_way_;
};

}  // namespace

Carried carry(const Ends& ends, std::vector<CarriedFile> files, const LineKind& line) {
  Player sender(ends.sender, std::move(files));
  Player receiver(ends.receiver);
  receiver.refused = ends.refused;
  Way forth(line.bits_a_second, line.delay, line.forth);
  Way back(line.bits_a_second, line.delay, line.back);
  const Time start = Time(std::chrono::hours(1));
  Time now = start;
  sender.set_now(now);
  sender.begin();
  bool receiving = false;
  Time over = start;
  for (;;) {
    if (!receiving && now >= start + ends.late) {
      receiving = true;
      receiver.set_now(now);
      receiver.begin();
    }
    forth.send(sender.take_sent(), now);
    back.send(receiver.take_sent(), now);
    const bool both_over = ends.sender.outcome() && ends.receiver.outcome();
    if (both_over) break;
    over = now;

    std::optional<Time> next;
    const auto sooner = [&next](std::optional<Time> time) {
      if (time && (!next || *time < *next)) next = time;
    };
    sooner(forth.next());
    sooner(back.next());
    sooner(ends.sender.deadline());
    if (receiving) {
      sooner(ends.receiver.deadline());
    } else {
      sooner(start + ends.late);
    }
    if (!next || *next > start + std::chrono::hours(24)) break;
    now = std::max(now, *next);
    sender.set_now(now);
    receiver.set_now(now);
    if (const std::string octets = forth.arrived(now); receiving && !octets.empty()) {
      receiver.hear(octets);
    }
    if (const std::string octets = back.arrived(now); !octets.empty()) sender.hear(octets);
    sender.sleep({});
    if (receiving) receiver.sleep({});
  }
  Carried out;
  out.files = receiver.files();
  out.abandoned = receiver.abandoned();
  out.sent = sender.told();
  out.sender = ends.sender.outcome().value_or(Transfer::Outcome{false, "it never ended"});
  out.receiver = ends.receiver.outcome().value_or(Transfer::Outcome{false, "it never ended"});
  out.time = over - start;
  out.bytes_forth = forth.count();
  out.bytes_back = back.count();
  return out;
}

}  // namespace stationer::tests
