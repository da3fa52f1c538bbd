#include "server/protocol/tftp_terms.h"

#include <algorithm>

namespace stationer::server {
namespace {

constexpr std::uint64_t least_block = 8;        // RFC 2348
constexpr std::uint64_t longest_timeout = 255;  // RFC 2349
constexpr std::uint64_t most_window = 65'535;   // RFC 7440 §3
constexpr std::uint64_t any_size = std::uint64_t{1} << 62;

const tftp::Option* first_named(const tftp::Request& request, std::string_view name) {
  for (const auto& option : request.options) {
    if (tftp::same_name(option.name, name)) return &option;
  }
  return nullptr;
}

// The first option of that name, if its value is such a number.
std::optional<std::uint64_t> asked(const tftp::Request& request, std::string_view name,
                                   std::uint64_t least, std::uint64_t most) {
  const tftp::Option* option = first_named(request, name);
  if (option == nullptr) return std::nullopt;
  const auto value = tftp::number(option->value, most);
  return value && *value >= least ? value : std::nullopt;
}

}  // namespace

std::optional<std::uint64_t> announced_size(const tftp::Request& request) {
  return asked(request, "tsize", 0, any_size);
}

TftpTerms agree(const tftp::Request& request, const TftpLimits& limits,
                std::optional<std::uint64_t> size) {
  TftpTerms terms;
  terms.block_after_last = limits.block_after_last;
  std::string answer;
  const auto say = [&](std::string_view name, std::uint64_t value) {
    answer.append(name).append(1, '\0').append(std::to_string(value)).append(1, '\0');
  };
  if (const auto block = asked(request, "blksize", least_block, tftp::largest_block)) {
    terms.block = static_cast<std::uint16_t>(std::min<std::uint64_t>(*block, limits.block));
    say("blksize", terms.block);
  }
  if (const auto timeout = asked(request, "timeout", 1, longest_timeout)) {
    terms.timeout = std::chrono::seconds(*timeout);
    say("timeout", *timeout);
  }
  if (request.write) size = announced_size(request);
  if (size && announced_size(request)) say("tsize", *size);
  if (const auto window = asked(request, "windowsize", 1, most_window)) {
    const auto fits = std::max<std::size_t>(limits.in_flight / terms.block, 1);
    terms.window =
        static_cast<std::uint16_t>(std::min<std::uint64_t>({*window, limits.window, fits}));
    say("windowsize", terms.window);
  }
  if (!answer.empty()) terms.oack = std::string("\0\6", 2) + answer;
  return terms;
}

std::optional<std::uint64_t> BlockNumbers::meant(std::uint16_t number, std::uint64_t first,
                                                 std::uint64_t end) const {
  for (std::uint64_t block = first; block < end; ++block) {
    if (shown(block) == number) return block;
  }
  return std::nullopt;
}

TftpPace::TftpPace(std::optional<std::chrono::seconds> asked) : asked_(asked) {}

std::chrono::milliseconds TftpPace::wait() const {
  std::chrono::milliseconds once = first_wait;
  if (asked_) {
    once = *asked_;
  } else if (smoothed_.count() > 0) {
    const auto learned =
        std::chrono::duration_cast<std::chrono::milliseconds>(smoothed_ + 4 * variation_);
    once = std::clamp(learned, least_wait, most_wait);
  }
  return std::min(once * (1 << doubled_), std::max(most_wait, once));
}

std::chrono::seconds TftpPace::patience() const {
  return std::max(least_patience, asked_.value_or(std::chrono::seconds(0)) * 4);
}

void TftpPace::answered(std::chrono::nanoseconds after) {
  const auto took = std::max(std::chrono::duration_cast<std::chrono::microseconds>(after),
                             std::chrono::microseconds(1));
  if (smoothed_.count() == 0) {
    smoothed_ = took;
    variation_ = took / 2;
    return;
  }
  const auto off = took > smoothed_ ? took - smoothed_ : smoothed_ - took;
  variation_ = (3 * variation_ + off) / 4;
  smoothed_ = (7 * smoothed_ + took) / 8;
}

}  // namespace stationer::server
