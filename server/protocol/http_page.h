// Pages in HTML 2.0 (RFC 1866) that old browsers show, 40 columns wide. ASCII alone: other
// characters by their numbers.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace stationer::server::http {

// A line of a listing, as it is shown.
struct Item {
  std::string name;
  bool folder = false;
  std::string size;  // at most 6 characters
  std::string day;   // 10
};

std::string listing_page(std::string_view title, bool is_top, const std::vector<Item>& items);
std::string refusal_page(std::string_view title, std::string_view why);
std::string moved_page(std::string_view location);

// UTF-8 as text in HTML (RFC 1866 §3.2.1): & < > " and what is not ASCII by number.
std::string escaped(std::string_view text);

// A name in an address (RFC 3986 §2.1): all but letters, digits and -._~ as % and two digits.
std::string address_of(std::string_view name);

}  // namespace stationer::server::http
