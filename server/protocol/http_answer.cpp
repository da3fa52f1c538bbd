#include "server/protocol/http_answer.h"

#include <algorithm>
#include <array>
#include <optional>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/protocol/http_date.h"
#include "server/protocol/http_page.h"

namespace stationer::server::http {
namespace {

constexpr std::string_view page_type = "text/html; charset=ISO-8859-1";

std::string_view reason_of(int status) {
  switch (status) {
    case 200: return "OK";
    case 206: return "Partial Content";
    case 301: return "Moved Permanently";
    case 304: return "Not Modified";
    case 400: return "Bad Request";
    case 403: return "Forbidden";
    case 404: return "Not Found";
    case 414: return "URI Too Long";
    case 416: return "Range Not Satisfiable";
    case 501: return "Not Implemented";
    default: return "Service Unavailable";
  }
}

// What stands at the beginning of every answer; headers and the empty line are still to come.
// HTTP/1.0 is claimed whatever was asked in (RFC 9110 §6.2: no higher than we keep to).
std::string beginning(const Form& form, int status, fs::Time now) {
  return fmt::format("HTTP/1.0 {} {}\r\nDate: {}\r\nServer: Stationer\r\n{}", status,
                     reason_of(status), http_date(now), form.newer ? "Connection: close\r\n" : "");
}

std::string with_page(const Form& form, int status, std::string_view more, std::string_view html,
                      fs::Time now) {
  if (form.simple) return std::string(html);
  std::string out = beginning(form, status, now);
  out += more;
  out += fmt::format("Content-Type: {}\r\nContent-Length: {}\r\n\r\n", page_type, html.size());
  if (!form.head) out += html;
  return out;
}

fs::Time to_the_second(fs::Time time) {
  return std::chrono::floor<std::chrono::seconds>(time);
}

// The first octet and how many, of a file with `size`; nothing when none of them are there.
std::optional<std::pair<std::uint64_t, std::uint64_t>> part_of(const Range& range,
                                                               std::uint64_t size) {
  if (!range.first) {
    const std::uint64_t count = std::min(*range.last, size);
    if (count == 0) return std::nullopt;
    return std::pair(size - count, count);
  }
  if (*range.first >= size) return std::nullopt;
  const std::uint64_t last = std::min(range.last.value_or(size - 1), size - 1);
  return std::pair(*range.first, last - *range.first + 1);
}

}  // namespace

Answer answer_file(const Request& request, const File& file, fs::Time now) {
  const Form& form = request.form;
  if (form.simple) return {"", 0, file.size};
  const fs::Time modified = to_the_second(std::min(file.modified, now));
  if (const auto since = read_http_date(request.modified_since, now);
      since && modified <= *since && *since <= now) {
    return {beginning(form, 304, now) + "\r\n", 0, 0};
  }
  std::optional<Range> range = request.range;
  if (!request.if_range.empty() && read_http_date(request.if_range, now) != modified) {
    range.reset();  // RFC 9110 §13.1.5: what there is of it is of something else
  }
  Answer out{"", 0, file.size};
  int status = 200;
  std::string content_range;
  if (range) {
    const auto part = part_of(*range, file.size);
    if (!part) {
      return {with_page(form, 416, fmt::format("Content-Range: bytes */{}\r\n", file.size),
                        refusal_page(reason_of(416), "The file is not that long."), now),
              0, 0};
    }
    std::tie(out.first, out.count) = *part;
    status = 206;
    content_range = fmt::format("Content-Range: bytes {}-{}/{}\r\n", out.first,
                                out.first + out.count - 1, file.size);
  }
  out.head = beginning(form, status, now) + content_range +
             fmt::format(
                 "Content-Type: {}\r\nContent-Length: {}\r\nLast-Modified: {}\r\n"
                 "Accept-Ranges: bytes\r\n\r\n",
                 file.type, out.count, http_date(modified));
  if (form.head) out.count = 0;
  return out;
}

std::string answer_page(const Form& form, std::string_view html, fs::Time now) {
  return with_page(form, 200, "", html, now);
}

std::string answer_moved(const Form& form, std::string_view location, fs::Time now) {
  return with_page(form, 301, fmt::format("Location: {}\r\n", location), moved_page(location), now);
}

std::string answer_refusal(const Form& form, int status, std::string_view why, fs::Time now) {
  return with_page(form, status, "", refusal_page(reason_of(status), why), now);
}

int status_for(fs::Code code) {
  switch (code) {
    case fs::Code::bad_name:
    case fs::Code::bad_input: return 400;
    case fs::Code::denied: return 403;
    case fs::Code::not_found:
    case fs::Code::not_a_folder:
    case fs::Code::is_a_folder: return 404;
    default: return 503;
  }
}

std::string_view type_of(std::string_view name, bool is_text) {
  // From memory.
  constexpr std::array<std::pair<std::string_view, std::string_view>, 9> types = {{
      {".txt", "text/plain; charset=UTF-8"},
      {".htm", "text/html; charset=UTF-8"},
      {".html", "text/html; charset=UTF-8"},
      {".gif", "image/gif"},
      {".jpg", "image/jpeg"},
      {".jpeg", "image/jpeg"},
      {".png", "image/png"},
      {".pdf", "application/pdf"},
      {".ps", "application/postscript"},
  }};
  const std::string lower = fs::ascii_lower(name);
  for (const auto& [ending, type] : types) {
    if (lower.size() > ending.size() && lower.ends_with(ending)) return type;
  }
  return is_text ? "text/plain; charset=UTF-8" : "application/octet-stream";
}

}  // namespace stationer::server::http
