#include "server/protocol/http_page.h"

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server::http {
namespace {

constexpr std::size_t name_width = 22;  // then size and day: 40 columns with the spaces between

std::string page(std::string_view title, std::string_view body) {
  return fmt::format(
      "<!DOCTYPE HTML PUBLIC \"-//IETF//DTD HTML 2.0//EN\">\n"
      "<HTML><HEAD><TITLE>{0}</TITLE></HEAD>\n<BODY><H1>{0}</H1>\n{1}</BODY></HTML>\n",
      escaped(title), body);
}

std::string line_of(const Item& item) {
  std::string shown = item.name;
  if (item.folder) shown += '/';
  const std::size_t width = fs::characters(shown);
  std::string out = fmt::format("<A HREF=\"{}{}\">{}</A>", address_of(item.name),
                                item.folder ? "/" : "", escaped(shown));
  // What has no room left beside it goes below.
  if (width > name_width) {
    out += '\n' + std::string(name_width, ' ');
  } else {
    out += std::string(name_width - width, ' ');
  }
  return out + fmt::format(" {:>6} {}\n", escaped(item.size), escaped(item.day));
}

}  // namespace

std::string escaped(std::string_view text) {
  if (!fs::is_utf8(text)) return "?";
  std::string out;
  fs::each_character(text, [&](char32_t c) {
    if (c == '&' || c == '<' || c == '>' || c == '"' || c >= 0x7F) {
      out += fmt::format("&#{};", static_cast<std::uint32_t>(c));
    } else if (c >= 0x20) {
      out += static_cast<char>(c);
    }
  });
  return out;
}

std::string address_of(std::string_view name) {
  std::string out;
  for (const char c : name) {
    const bool plain = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
                       std::string_view("-._~").find(c) != std::string_view::npos;
    if (plain) {
      out += c;
    } else {
      out += fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
  }
  return out;
}

std::string listing_page(std::string_view title, bool is_top, const std::vector<Item>& items) {
  std::string body = "<PRE>\n";
  if (!is_top) body += "<A HREF=\"../\">..</A>\n";
  for (const Item& item : items) body += line_of(item);
  body += "</PRE>\n";
  if (items.empty()) body += "<P>There is nothing here that you may see.\n";
  return page(title, body);
}

std::string refusal_page(std::string_view title, std::string_view why) {
  return page(title, fmt::format("<P>{}\n", escaped(why)));
}

std::string moved_page(std::string_view location) {
  return page("Moved Permanently", fmt::format("<P>It is <A HREF=\"{}\">here</A>.\n", location));
}

}  // namespace stationer::server::http
