// Writing the answer to one request: RFC 1945 §6 and §7 in the form that the request had, with
// ranges as RFC 9110 §14 has them. After it the connection ends.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "fs/ids.h"
#include "fs/result.h"
#include "server/protocol/http_request.h"

namespace stationer::server::http {

struct File {
  std::string_view type;  // "text/plain; charset=UTF-8"
  std::uint64_t size = 0;
  fs::Time modified{};
};

// `head` goes out first, then `count` octets of the file from `first` on.
struct Answer {
  std::string head;
  std::uint64_t first = 0;
  std::uint64_t count = 0;
};

Answer answer_file(const Request& request, const File& file, fs::Time now);

// A page of HTML that is made now.
std::string answer_page(const Form& form, std::string_view html, fs::Time now);

// The same thing is at another address, which has only printing ASCII in it and no quotes.
std::string answer_moved(const Form& form, std::string_view location, fs::Time now);

// With a page that says why.
std::string answer_refusal(const Form& form, int status, std::string_view why, fs::Time now);

// The status for what the store says: 400, 403, 404 or 503 (RFC 1945 §9).
int status_for(fs::Code code);

// By the file's name, and what the store knows of it: "text/html", "image/gif", …;
// "application/octet-stream" for all else (RFC 1945 §7.2.1).
std::string_view type_of(std::string_view name, bool is_text);

}  // namespace stationer::server::http
