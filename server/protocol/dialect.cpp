#include "server/protocol/dialect.h"

#include <algorithm>

namespace stationer::server {
namespace {

constexpr char iac = '\xFF';
using namespace std::string_view_literals;

// Between EOR and DONT: a byte that makes a command of the FF before it. FF FF is left out: it may
// as well be two bytes of noise.
bool is_command(char byte) {
  return byte >= '\xEF' && byte < '\xFF';
}

// WILL, WONT, DO and DONT are followed by an option.
bool has_option(char byte) {
  return byte >= '\xFB' && byte <= '\xFE';
}

// DO ECHO or DONT ECHO, and nothing else: on a line thought plain, less is not enough.
bool is_answer(std::string_view bytes) {
  return bytes == "\xFF\xFD\x01"sv || bytes == "\xFF\xFE\x01"sv;
}
bool may_become_answer(std::string_view bytes) {
  return bytes == "\xFF"sv || bytes == "\xFF\xFD"sv || bytes == "\xFF\xFE"sv;
}

}  // namespace

std::vector<Dialect::Event> Dialect::start() {
  std::vector<Event> events;
  if (door_ == Door::always) become_telnet(0, events);
  return events;
}

std::vector<Dialect::Event> Dialect::feed(std::string_view received, Time now) {
  std::vector<Event> events;
  expire(now, events);
  while (!received.empty()) {
    if (state_ == State::telnet) {
      pass_on(telnet_.feed(received), events);
      return events;
    }
    if (state_ == State::plain) {
      if (!late_) {
        plain_data(received, events);
        return events;
      }
      held_ += received.front();
      received.remove_prefix(1);
      if (is_answer(held_)) {
        become_telnet(held_.size(), events);
      } else if (!may_become_answer(held_)) {
        // The last byte may begin an answer of its own.
        const bool keep = held_.size() > 1 && held_.back() == iac;
        plain_data(std::string_view(held_).substr(0, held_.size() - (keep ? 1 : 0)), events);
        held_.assign(keep ? 1 : 0, iac);
      }
      continue;
    }
    const std::size_t room = std::min(most_held - held_.size(), received.size());
    held_ += received.substr(0, room);
    received.remove_prefix(room);
    consider(now, events);
  }
  return events;
}

std::vector<Dialect::Event> Dialect::tick(Time now) {
  std::vector<Event> events;
  expire(now, events);
  return events;
}

std::optional<Time> Dialect::deadline() const {
  // While a late answer is possible there is nothing to do at its end, unless bytes wait for it.
  if (state_ == State::plain) return held_.empty() ? std::nullopt : late_;
  return due_;
}

void Dialect::expire(Time now, std::vector<Event>& events) {
  if (due_ && now >= *due_) {
    due_.reset();
    if (state_ == State::listening) {
      first_enter(Form::cr, looked_at_, looked_at_ + 1, now, events);
    } else {
      become_plain(events);
    }
  }
  if (state_ == State::plain && late_ && now >= *late_) {
    late_.reset();
    plain_data(held_, events);
    held_.clear();
  }
}

// Looks at what is held for something that settles the matter.
void Dialect::consider(Time now, std::vector<Event>& events) {
  for (; looked_at_ < held_.size(); ++looked_at_) {
    const char byte = held_[looked_at_];
    const bool more = looked_at_ + 1 < held_.size();
    const char next = more ? held_[looked_at_ + 1] : '\0';
    if (byte == iac && door_ == Door::automatic) {
      if (!more) break;
      const std::size_t length = has_option(next) ? 3 : 2;
      if (is_command(next) && looked_at_ + length <= held_.size()) {
        return become_telnet(looked_at_ + length, events);
      }
      if (is_command(next)) break;
    }
    if (state_ == State::asked) continue;
    if (byte == '\n') return first_enter(Form::lf, looked_at_, looked_at_ + 1, now, events);
    if (byte != '\r') continue;
    if (!more) {
      if (!due_) due_ = now + enter_wait;
      break;
    }
    const Form form = next == '\n' ? Form::cr_lf : next == '\0' ? Form::cr_nul : Form::cr;
    return first_enter(form, looked_at_, looked_at_ + (form == Form::cr ? 1u : 2u), now, events);
  }
  if (held_.size() == most_held) become_plain(events);
}

void Dialect::first_enter(Form form, std::size_t begin, std::size_t end, Time now,
                          std::vector<Event>& events) {
  form_ = form;
  due_.reset();
  looked_at_ = end;
  if (begin == 0) {
    held_.erase(0, end);
    looked_at_ = 0;
    // Its second half may come later still.
    if (form == Form::cr) enter_('\r');
  }
  if (door_ == Door::never || form == Form::cr || form == Form::lf) return become_plain(events);
  state_ = State::asked;
  due_ = now + answer_wait;
  late_ = now + late_answer_wait;
  events.emplace_back(Telnet::Send{"\r\n" +
                                   telnet_.request(Telnet::Side::us, Telnet::Option::echo, true) +
                                   std::string("\r\0    \r\n"sv)});
  consider(now, events);
}

// `decided`: how much of what is held it took to know.
void Dialect::become_telnet(std::size_t decided, std::vector<Event>& events) {
  state_ = State::telnet;
  due_.reset();
  late_.reset();
  std::string offers = telnet_.offer();
  // Often it is the answer about echo itself that settles the matter: then say so at once.
  auto first = telnet_.feed(std::string_view(held_).substr(0, decided));
  echo_ = telnet_.active(Telnet::Side::us, Telnet::Option::echo);
  events.emplace_back(Known{true, echo_});
  if (!offers.empty()) events.emplace_back(Telnet::Send{std::move(offers)});
  pass_on(std::move(first), events);
  pass_on(telnet_.feed(std::string_view(held_).substr(decided)), events);
  held_.clear();
  held_.shrink_to_fit();
}

void Dialect::become_plain(std::vector<Event>& events) {
  state_ = State::plain;
  due_.reset();
  events.emplace_back(Known{false, form_ == Form::cr || form_ == Form::cr_nul});
  plain_data(held_, events);
  held_.clear();
  held_.shrink_to_fit();
}

void Dialect::plain_data(std::string_view bytes, std::vector<Event>& events) {
  std::string out;
  if (carrying_) {
    out = bytes;
  } else {
    for (const char byte : bytes) {
      if (const auto passed = enter_(byte)) out += *passed;
    }
  }
  if (out.empty()) return;
  if (auto* last = events.empty() ? nullptr : std::get_if<Telnet::Data>(&events.back())) {
    last->bytes += out;
  } else {
    events.emplace_back(Telnet::Data{std::move(out)});
  }
}

void Dialect::pass_on(std::vector<Telnet::Event> from, std::vector<Event>& to) {
  for (auto& event : from) {
    const auto* settled = std::get_if<Telnet::Settled>(&event);
    const bool about_echo = settled != nullptr && settled->side == Telnet::Side::us &&
                            settled->option == Telnet::Option::echo;
    const bool changed = about_echo && settled->on != echo_;
    std::visit([&](auto& e) { to.emplace_back(std::move(e)); }, event);
    if (changed) {
      echo_ = !echo_;
      to.emplace_back(Known{true, echo_});
    }
  }
}

std::string Dialect::encode(std::string_view bytes) const {
  return state_ == State::telnet ? telnet_.encode(bytes) : std::string(bytes);
}

std::string Dialect::carry(bool on) {
  carrying_ = on;
  enter_.forget();
  telnet_.keep_line_ends(on);
  if (state_ != State::telnet) {
    // Data may look like the answer that is not waited for any more.
    late_.reset();
    held_.clear();
    return "";
  }
  return telnet_.request(Telnet::Side::us, Telnet::Option::binary, on) +
         telnet_.request(Telnet::Side::them, Telnet::Option::binary, on);
}

bool Dialect::settled() const {
  return state_ != State::telnet || (telnet_.settled(Telnet::Side::us, Telnet::Option::binary) &&
                                     telnet_.settled(Telnet::Side::them, Telnet::Option::binary));
}

std::string Dialect::request(Telnet::Side side, Telnet::Option option, bool on) {
  return state_ == State::telnet ? telnet_.request(side, option, on) : "";
}

void Dialect::urgent() {
  if (state_ == State::telnet) telnet_.urgent();
}

}  // namespace stationer::server
