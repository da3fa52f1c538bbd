#include "server/protocol/line_test.h"

#include <algorithm>
#include <array>
#include <bit>
#include <charconv>
#include <set>

#include <fmt/format.h>

namespace stationer::server {
namespace {

// Each byte goes in a record of its own, after its number: [41A]. Whatever else happens to it, what
// came back between a number and the next record is what became of that byte.
constexpr char open = '[';
constexpr char close = ']';
constexpr std::uint8_t xon = 0x11;
constexpr std::uint8_t xoff = 0x13;

constexpr std::size_t piece_size = 32;
constexpr std::chrono::seconds silence{2};  // after which nothing more is expected
constexpr std::size_t most_burst = 680;     // records {0000}
constexpr std::size_t least_burst = 50;
constexpr std::size_t burst_record = 6;
constexpr unsigned bits_a_byte = 10;  // with start and stop bit
// So much of what is sent has to come back as records for anything to be said of single bytes.
constexpr std::size_t enough = 64;

// XOFF last, and XON after it: an end that stops at one goes on at the other.
std::string byte_records() {
  std::string out;
  const auto add = [&out](unsigned byte) {
    out += fmt::format("{}{:02X}{}{}", open, byte, static_cast<char>(byte), close);
  };
  for (unsigned byte = 0; byte < 256; ++byte) {
    if (byte != xon && byte != xoff) add(byte);
  }
  add(xoff);
  add(xon);
  return out;
}

std::string burst_records(std::size_t number) {
  std::string out;
  for (std::size_t i = 0; i < number; ++i) out += fmt::format("{{{:04}}}", i);
  return out;
}

char bare(char c) {
  return static_cast<char>(c & 0x7F);
}

// The byte whose record begins at `at`, whatever bit 7 is.
std::optional<unsigned> record_at(std::string_view text, std::size_t at) {
  if (at + 3 > text.size() || bare(text[at]) != open) return std::nullopt;
  const std::array<char, 2> digits = {bare(text[at + 1]), bare(text[at + 2])};
  unsigned byte = 0;
  const auto [end, failed] = std::from_chars(digits.data(), digits.data() + 2, byte, 16);
  if (failed != std::errc() || end != digits.data() + 2) return std::nullopt;
  return byte;
}

// What came back for each byte; nothing where not even its record did.
using Returned = std::array<std::optional<std::string>, 256>;

Returned sorted_out(std::string_view text) {
  Returned out;
  for (std::size_t at = 0; at < text.size();) {
    const auto byte = record_at(text, at);
    if (!byte) {
      ++at;
      continue;
    }
    std::size_t end = at + 3;
    // The record's own end is the last one before the next record.
    while (end < text.size() && !(end > at + 3 && record_at(text, end))) ++end;
    std::string inside(text.substr(at + 3, end - at - 3));
    if (const auto closed =
            inside.find_last_of(std::string{close, static_cast<char>(close | 0x80)});
        closed != std::string::npos) {
      inside.resize(closed);
    }
    out[*byte] = std::move(inside);
    at = end;
  }
  return out;
}

bool came_twice(std::string_view text) {
  std::size_t pairs = 0;
  for (std::size_t i = 1; i < text.size(); i += 2) {
    if (text[i] == text[i - 1]) ++pairs;
  }
  return pairs >= enough && pairs * 40 >= text.size() * 19;
}

std::string every_second(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); i += 2) out += text[i];
  return out;
}

std::string one(unsigned byte) {
  return std::string(1, static_cast<char>(byte));
}

std::string listed_in_hex(const std::vector<unsigned>& bytes) {
  constexpr std::size_t most = 12;
  std::string out;
  for (std::size_t i = 0; i < std::min(bytes.size(), most); ++i) {
    out += fmt::format("{}{:02X}", i == 0 ? "" : " ", bytes[i]);
  }
  if (bytes.size() > most) out += fmt::format(" and {} more", bytes.size() - most);
  return out;
}

std::vector<unsigned> those(const Returned& returned, bool (*fits)(unsigned, const std::string&)) {
  std::vector<unsigned> out;
  for (unsigned byte = 0; byte < 256; ++byte) {
    if (returned[byte] && fits(byte, *returned[byte])) out.push_back(byte);
  }
  return out;
}

bool is_odd(unsigned byte) {
  return std::popcount(byte & 0x7F) % 2 != 0;
}

// What the far end makes of bit 7, when it does the same to every byte; empty when it does not.
std::string fate_of_bit_8(const Returned& returned) {
  struct Fate {
    unsigned (*made)(unsigned byte);
    std::string_view words;
  };
  constexpr std::string_view seven =
      "The line carries seven bits: bit 8 of each byte is lost on the way. Texts work, and files "
      "by "
      "kermit. For more, set both ends to 8 bits and no parity.";
  static constexpr std::array<Fate, 4> fates = {{
      {[](unsigned byte) { return byte & 0x7F; }, seven},
      {[](unsigned byte) { return (byte & 0x7F) | (is_odd(byte) ? 0x80u : 0u); },
       "The other end sends even parity in bit 8. Set it to 8 bits and no parity; or say bits = 7 "
       "and parity = \"even\" here, and carry files by kermit."},
      {[](unsigned byte) { return (byte & 0x7F) | (is_odd(byte) ? 0u : 0x80u); },
       "The other end sends odd parity in bit 8. Set it to 8 bits and no parity; or say bits = 7 "
       "and parity = \"odd\" here, and carry files by kermit."},
      {[](unsigned byte) { return byte | 0x80; },
       "The other end sets bit 8 of every byte (mark parity). Set it to 8 bits and no parity; or "
       "say bits = 7 and stop_bits = 2 here, and carry files by kermit."},
  }};
  for (const Fate& fate : fates) {
    std::size_t same = 0;
    std::size_t all = 0;
    for (unsigned byte = 0; byte < 256; ++byte) {
      if (!returned[byte] || returned[byte]->size() != 1) continue;
      ++all;
      if (*returned[byte] == one(fate.made(byte))) ++same;
    }
    if (all >= enough && same * 20 >= all * 19) return std::string(fate.words);
  }
  return "";
}

}  // namespace

LineTest::LineTest(std::uint32_t bits_per_second)
    : bits_per_second_(bits_per_second),
      burst_size_(std::clamp<std::size_t>(bits_per_second / bits_a_byte / burst_record, least_burst,
                                          most_burst)) {
  begin(Part::bytes);
}

void LineTest::begin(Part part) {
  part_ = part;
  to_send_ = part == Part::bytes ? byte_records() : burst_records(burst_size_);
  sent_ = 0;
}

std::chrono::nanoseconds LineTest::time_of(std::size_t bytes) const {
  return std::chrono::nanoseconds(std::chrono::seconds(1)) * bytes * bits_a_byte / bits_per_second_;
}

std::chrono::seconds LineTest::usual_time() const {
  const std::size_t all = byte_records().size() + burst_size_ * burst_record;
  return std::chrono::ceil<std::chrono::seconds>(time_of(all)) + 2 * silence;
}

std::string LineTest::next(Time now) {
  if (over_ || (deadline_ && now < *deadline_)) return "";
  if (sent_ == to_send_.size() && now - last_heard_ >= silence) {
    if (part_ == Part::burst || received_[0].empty()) {
      over_ = true;
      return "";
    }
    begin(Part::burst);
  }
  if (sent_ == to_send_.size()) {
    deadline_ = last_heard_ + silence;
    return "";
  }
  const std::string piece = to_send_.substr(sent_, piece_size);
  sent_ += piece.size();
  // The burst goes out as fast as the line takes it: what is tested is who says when to wait.
  deadline_ = now + (part_ == Part::burst ? std::chrono::nanoseconds(0) : time_of(piece.size()));
  if (sent_ == to_send_.size()) {
    last_heard_ = now + time_of(part_ == Part::burst ? to_send_.size() : 0);
    deadline_ = last_heard_ + silence;
  }
  return piece;
}

void LineTest::feed(std::string_view received, Time now) {
  constexpr std::size_t most = 64 * 1024;  // of an end that never stops
  if (received.empty()) return;
  std::string& all = received_[part_ == Part::bytes ? 0 : 1];
  all += received.substr(0, most - std::min(all.size(), most));
  if (all.size() < most) last_heard_ = std::max(last_heard_, now);
}

LineTest::Findings LineTest::findings() const {
  Findings out;
  const auto say = [&out](std::string words) { out.sentences.push_back(std::move(words)); };
  if (received_[0].empty()) {
    say("Nothing came back. Is there a loop plug (pins 2 and 3 joined), or a program at the other "
        "end that sends back what comes? Are the two data wires crossed as they should be? Does a "
        "handshake on wires wait for one that is not there?");
    return out;
  }
  std::string text = received_[0];
  const bool twice = came_twice(text);
  if (twice) {
    say("Each byte comes back twice: the other end both shows and sends back what comes. Switch "
        "off "
        "its local echo.");
    text = every_second(text);
  }
  const Returned returned = sorted_out(text);
  const auto records = static_cast<std::size_t>(
      std::count_if(returned.begin(), returned.end(), [](const auto& each) { return !!each; }));
  if (records < enough) {
    say(fmt::format(
        "{} bytes came back, but they are not what was sent. Do both ends have the same "
        "speed, bits and parity? Is the plug in firmly?",
        received_[0].size()));
    return out;
  }
  const std::string bit_8 = fate_of_bit_8(returned);
  if (!bit_8.empty()) say(bit_8);
  const auto lost = those(returned, [](unsigned, const std::string& came) { return came.empty(); });
  const std::set<unsigned> gone(lost.begin(), lost.end());
  const bool flow_eaten = gone.contains(xon) || gone.contains(xoff);
  if (flow_eaten) {
    say("XON and XOFF (11 and 13) are eaten: the other end takes them for its handshake. If it "
        "means that, set flow = \"xon-xoff\" here; else switch it off there. Files go by kermit.");
  }
  std::vector<unsigned> others;
  std::copy_if(lost.begin(), lost.end(), std::back_inserter(others),
               [](unsigned byte) { return byte != xon && byte != xoff; });
  if (!others.empty()) {
    say(fmt::format(
        "These bytes never come back: {} (hexadecimal). Something on the way takes them "
        "for itself. Files go by kermit.",
        listed_in_hex(others)));
  }
  const auto cr_lf = [&](unsigned byte) { return returned[byte] && *returned[byte] == "\r\n"; };
  const bool line_ends = cr_lf('\r') || cr_lf('\n');
  if (line_ends) {
    say("A line end comes back as CR and LF both: the other end turns one into the other. Switch "
        "that off for files; texts are not harmed.");
  }
  if (bit_8.empty()) {
    auto changed = those(returned, [](unsigned byte, const std::string& came) {
      return !came.empty() && came != one(byte);
    });
    if (line_ends) std::erase_if(changed, cr_lf);
    if (!changed.empty()) {
      say(fmt::format("These bytes come back as others: {} (hexadecimal).",
                      listed_in_hex(changed)));
    }
  }
  if (records < 256) {
    say(
        fmt::format("{} of 256 bytes were lost with all around them. The line is disturbed, or too "
                    "fast for the other end.",
                    256 - records));
  }
  std::string seven_bits = twice ? every_second(received_[1]) : received_[1];
  std::transform(seven_bits.begin(), seven_bits.end(), seven_bits.begin(), bare);
  std::size_t burst = 0;
  for (std::size_t i = 0; i < burst_size_; ++i) {
    if (seven_bits.find(fmt::format("{{{:04}}}", i)) != std::string::npos) ++burst;
  }
  if (burst < burst_size_ && records == 256) {
    say(fmt::format(
        "Of {} bytes sent without a pause, {} were lost: the other end can't say when to "
        "wait. Set flow to \"rts-cts\" if those wires are there, or to \"xon-xoff\"; else "
        "give it time with character_ms or line_ms, or take a lower speed.",
        burst_size_ * burst_record, (burst_size_ - burst) * burst_record));
  }
  out.well = out.sentences.empty();
  if (out.well) {
    say(fmt::format("All is well: every byte from 00 to FF came back, and {} sent without a pause.",
                    burst_size_ * burst_record));
  }
  return out;
}

}  // namespace stationer::server
