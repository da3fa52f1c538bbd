#include "server/terminal/printout_words.h"

#include <algorithm>

#include "fs/text.h"
#include "server/dates.h"

namespace stationer::server {
namespace {

fs::Result<fs::Time> day(std::string_view text, bool end) {
  const auto time = parse_date(text, end);
  if (!time) return fs::Error{fs::Code::bad_input, date_complaint(text)};
  return *time;
}

}  // namespace

FirstWord first_part(std::string_view line) {
  FirstWord first = first_word(line);
  if (first.word.starts_with('"')) {
    const std::string_view all(first.word.data(),
                               static_cast<std::size_t>(line.end() - first.word.begin()));
    const std::size_t quote = std::min(all.find('"', 1), all.size());
    const std::size_t end = std::min(all.find(' ', quote), all.size());
    first = {all.substr(0, end), all.substr(end)};
  }
  return first;
}

fs::Result<PrintoutWish> printout_wish(std::string_view line) {
  PrintoutWish wish;
  for (FirstWord part = first_part(line); !part.word.empty(); part = first_part(part.rest)) {
    const std::string word = fs::ascii_lower(part.word);
    const FirstWord value = first_word(part.rest);
    if (word == "of" && !value.word.empty()) {
      if (value.word.starts_with('+') || value.word.starts_with('@')) {
        wish.filter.klass = value.word.substr(1);
      } else {
        wish.filter.owner = value.word;
      }
    } else if (word == "queue" && !value.word.empty()) {
      wish.filter.queue = value.word;
    } else if ((word == "since" || word == "until") && !value.word.empty()) {
      const bool end = word == "until";
      const auto time = day(value.word, end);
      if (!time) return time.error();
      (end ? wish.filter.to : wish.filter.from) = *time;
    } else {
      wish.words.append(wish.words.empty() ? "" : " ").append(part.word);
      continue;
    }
    part.rest = value.rest;
  }
  return wish;
}

}  // namespace stationer::server
