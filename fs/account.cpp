#include "fs/account.h"

#include <fmt/format.h>

#include "fs/node_name.h"
#include "fs/text.h"

namespace stationer::fs {

Result<std::string> plain_name(std::string_view typed, std::string_view what) {
  const std::string name = ascii_lower(typed);
  const auto fits = [&] {
    if (name.empty() || name.size() > longest_account_name) return false;
    if (name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789.-_") != std::string::npos) {
      return false;
    }
    return std::string_view(".-_").find(name.front()) == std::string_view::npos;
  };
  if (!fits() || !check_name(name)) {
    return Error{Code::bad_name,
                 fmt::format("The name of {} has 1 to {} letters, digits, dots, dashes or "
                             "underscores, and starts with a letter or digit.",
                             what, longest_account_name)};
  }
  return name;
}

Result<std::string> account_name(std::string_view typed) {
  auto name = plain_name(typed, "an account");
  if (name && *name == "guest") {
    return Error{Code::bad_name, "\"guest\" stands for nobody in particular. Choose another name."};
  }
  return name;
}

Result<std::string> class_name(std::string_view typed) {
  return plain_name(typed, "a class");
}

Status check_new_password(std::string_view password, std::string_view account) {
  if (!is_utf8(password))
    return Error{Code::bad_input, "The password holds bytes that are not text."};
  const std::string folded = fold_password(password);
  if (characters(folded) < shortest_password) {
    return Error{Code::bad_input,
                 fmt::format("A password needs at least {} characters.", shortest_password)};
  }
  if (password.size() > longest_password) {
    return Error{Code::bad_input,
                 fmt::format("A password can have at most {} bytes.", longest_password)};
  }
  if (folded == fold_password(account)) {
    return Error{Code::bad_input, "The password can't be the name itself."};
  }
  return {};
}

Status check_line(std::string_view text, std::size_t most_characters, std::string_view what) {
  if (!is_utf8(text)) return Error{Code::bad_input, fmt::format("{} is not text (UTF-8).", what)};
  bool control = false;
  each_character(text,
                 [&](char32_t c) { control = control || c < 0x20 || (c >= 0x7F && c < 0xA0); });
  if (control) return Error{Code::bad_input, fmt::format("{} holds control characters.", what)};
  if (characters(text) > most_characters) {
    return Error{Code::bad_input,
                 fmt::format("{} is too long: at most {} characters.", what, most_characters)};
  }
  return {};
}

}  // namespace stationer::fs
