#include "server/protocol/kermit_terms.h"

#include <algorithm>

namespace stationer::server::kermit {
namespace {

constexpr unsigned more_follows = 1;
constexpr unsigned can_long = 2;
constexpr unsigned can_windows = 4;
constexpr unsigned can_attributes = 8;
constexpr unsigned most_window = 31;
constexpr std::size_t shortest = 10;  // a packet that can still carry something

bool is_prefix(char c) {
  return (c > 32 && c < 63) || (c > 95 && c < 127);
}

// Takes the fields of an offer one by one; past the end there is nothing.
class Fields {
 public:
  explicit Fields(std::string_view data) : data_(data) {}

  std::optional<char> next() {
    if (data_.empty()) return std::nullopt;
    const char field = data_.front();
    data_.remove_prefix(1);
    return field;
  }
  std::optional<unsigned> number() {
    const auto field = next();
    if (!field || *field < 32 || *field == 127) return std::nullopt;
    return un_char(*field);
  }

 private:
  std::string_view data_;
};

}  // namespace

std::string write_offer(const Offer& offer) {
  std::string out;
  out += to_char(static_cast<unsigned>(offer.longest));
  out += to_char(static_cast<unsigned>(offer.time.count()));
  out += to_char(offer.padding);
  out += ctl(offer.padded_with);
  out += to_char(static_cast<unsigned char>(offer.end));
  out += offer.control_prefix;
  out += offer.eighth_bit;
  out += static_cast<char>('0' + static_cast<int>(offer.check));
  out += offer.repeat_prefix;
  unsigned can = 0;
  if (offer.long_packets) can |= can_long;
  if (offer.window > 1) can |= can_windows;
  if (offer.attributes) can |= can_attributes;
  out += to_char(can);
  out += to_char(offer.window > 1 ? offer.window : 0);
  if (offer.long_packets) {
    out += to_char(static_cast<unsigned>(offer.longest_long / 95));
    out += to_char(static_cast<unsigned>(offer.longest_long % 95));
  }
  return out;
}

Offer read_offer(std::string_view data) {
  Offer offer;
  Fields fields(data);
  if (const auto longest = fields.number(); longest && *longest >= shortest) {
    offer.longest = std::min<std::size_t>(*longest, longest_short);
  }
  if (const auto time = fields.number(); time && *time > 0) {
    offer.time = std::chrono::seconds(*time);
  }
  offer.padding = fields.number().value_or(0);
  if (const auto padded_with = fields.next()) offer.padded_with = ctl(*padded_with);
  if (const auto end = fields.number()) {
    // 32 and above would be no control character; then none is wanted.
    offer.end = *end < 32 ? static_cast<char>(*end) : '\r';
  }
  if (const auto prefix = fields.next(); prefix && is_prefix(*prefix)) {
    offer.control_prefix = *prefix;
  }
  if (const auto eighth = fields.next(); eighth && (*eighth == 'Y' || is_prefix(*eighth))) {
    offer.eighth_bit = *eighth;
  }
  if (const auto check = fields.next(); check && *check >= '1' && *check <= '3') {
    offer.check = static_cast<Check>(*check - '0');
  }
  if (const auto repeat = fields.next(); repeat && is_prefix(*repeat)) {
    offer.repeat_prefix = *repeat;
  }
  const unsigned can = fields.number().value_or(0);
  for (unsigned more = can; (more & more_follows) != 0;) more = fields.number().value_or(0);
  offer.long_packets = (can & can_long) != 0;
  offer.attributes = (can & can_attributes) != 0;
  const unsigned window = fields.number().value_or(0);
  if ((can & can_windows) != 0) offer.window = std::clamp(window, 1u, most_window);
  const auto high = fields.number();
  const auto low = fields.number();
  if (high && low && *high * 95 + *low >= shortest) {
    offer.longest_long = std::min<std::size_t>(*high * 95 + *low, longest_long);
  }
  return offer;
}

Offer answer_to(const Offer& theirs, Offer ours) {
  if (theirs.check != ours.check) ours.check = Check::one;
  ours.repeat_prefix = theirs.repeat_prefix == ours.repeat_prefix ? ours.repeat_prefix : ' ';
  ours.attributes = ours.attributes && theirs.attributes;
  ours.long_packets = ours.long_packets && theirs.long_packets;
  ours.window = std::min(ours.window, theirs.window);
  if (theirs.eighth_bit != 'Y' && ours.eighth_bit != 'Y') {
    // Two who want prefixes must want the same one.
    ours.eighth_bit = ours.eighth_bit == theirs.eighth_bit ? ours.eighth_bit : 'N';
  }
  return ours;
}

Terms agree(const Offer& first, const Offer& second, bool we_are_first) {
  const Offer& ours = we_are_first ? first : second;
  const Offer& theirs = we_are_first ? second : first;
  Terms terms;
  terms.control_prefix = ours.control_prefix;
  terms.their_control_prefix = theirs.control_prefix;
  terms.check = first.check == second.check ? first.check : Check::one;
  if (is_prefix(first.repeat_prefix) && first.repeat_prefix == second.repeat_prefix) {
    terms.repeat = first.repeat_prefix;
  }
  // Either wants a prefix and the other agrees, or both want the same.
  for (const Offer* one : {&first, &second}) {
    const Offer* other = one == &first ? &second : &first;
    const bool agreed = other->eighth_bit == 'Y' || other->eighth_bit == one->eighth_bit;
    if (is_prefix(one->eighth_bit) && agreed) terms.eighth_bit = one->eighth_bit;
  }
  terms.attributes = first.attributes && second.attributes;
  terms.window = std::min(first.window, second.window);
  terms.time = theirs.time;
  terms.padding = theirs.padding;
  terms.padded_with = theirs.padded_with;
  terms.end = theirs.end;
  const auto check = static_cast<std::size_t>(terms.check);
  terms.most_data = theirs.longest - 2 - check;
  if (first.long_packets && second.long_packets) {
    terms.most_data = std::max(terms.most_data, theirs.longest_long - 5 - check);
  }
  return terms;
}

}  // namespace stationer::server::kermit
