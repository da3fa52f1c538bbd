#include "print/claim_code.h"

#include <fmt/format.h>

#include "fs/hash.h"
#include "fs/text.h"

namespace stationer::print {
namespace {

constexpr std::string_view symbols = "abcdefghjkmnpqrstuvwxyz23456789";
constexpr std::size_t code_length = 8;

}  // namespace

std::string claim_code(std::string_view secret, std::uint32_t job) {
  const fs::Hash hash = fs::hash_of(fmt::format("claim {} {}", secret, job));
  std::string code;
  // Two bytes for each, so that no symbol is noticeably likelier than another.
  for (std::size_t i = 0; i < code_length; ++i) {
    const std::size_t two = std::size_t{hash[2 * i]} << 8 | hash[2 * i + 1];
    code += symbols[two % symbols.size()];
  }
  return code;
}

std::string shown_claim_code(std::string_view code) {
  return fmt::format("{} {}", code.substr(0, code_length / 2), code.substr(code_length / 2));
}

std::string typed_claim_code(std::string_view typed) {
  std::string code = fs::ascii_lower(typed);
  std::erase_if(code, [](char c) { return (c < 'a' || c > 'z') && (c < '0' || c > '9'); });
  return code;
}

}  // namespace stationer::print
