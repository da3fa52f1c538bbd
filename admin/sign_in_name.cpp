#include "admin/sign_in_name.h"

#include <algorithm>
#include <vector>

#include "fs/account.h"
#include "fs/plain_letters.h"

namespace stationer::admin {
namespace {

// The words of a name in plain letters; "O'Neill-Rill" is one, oneillrill.
std::vector<std::string> plain_words(std::string_view full_name) {
  std::vector<std::string> words(1);
  for (const char c : fs::plain_letters(full_name)) {
    if (c == ' ') {
      if (!words.back().empty()) words.emplace_back();
    } else if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) {
      words.back() += c;
    }
  }
  if (words.back().empty()) words.pop_back();
  return words;
}

}  // namespace

std::string sign_in_name(std::string_view full_name,
                         const std::function<bool(const std::string&)>& taken) {
  const auto words = plain_words(full_name);
  if (words.empty()) return "";
  const std::string family = words.size() > 1 ? words.back() : "";
  const std::string given = words.front().substr(0, longest_made_name - (family.empty() ? 0 : 1));
  const auto free = [&](const std::string& name) { return fs::account_name(name) && !taken(name); };

  const std::string least = given + family.substr(0, 1);
  std::string name = least;
  for (std::size_t more = 1;; ++more) {
    if (free(name)) return name;
    if (more >= family.size() || name.size() == longest_made_name) break;
    name += family[more];
  }
  for (std::size_t number = 2;; ++number) {
    const std::string digits = std::to_string(number);
    name = least.substr(0, longest_made_name - std::min(digits.size(), longest_made_name)) + digits;
    if (free(name)) return name;
  }
}

}  // namespace stationer::admin
