#include "print/listing.h"

#include <utility>

namespace stationer::print {
namespace {

PlainTextRules ruled(PlainTextRules rules) {
  rules.feed_returns = true;
  rules.return_feeds = false;
  return rules;
}

}  // namespace

Listing::Listing(PlainTextRules text, ListingRules rules, const Layout& layout, PageSink sink)
    : rules_(std::move(rules)), text_(ruled(std::move(text)), layout, std::move(sink)) {}

// The paper moves so, after a record that was not ended.
fs::Status Listing::move(char control) {
  constexpr std::string_view channels = "23456789ABC";
  switch (control) {
    case ' ': feed_lines(1); return {};
    case '0': feed_lines(2); return {};
    case '-': feed_lines(rules_.minus_lines); return {};
    case '1':
      first_ = false;
      ready_ += "\r\f";  // as the first thing in a job a form feed does nothing
      return {};
    case '+':
      first_ = false;
      ready_ += '\r';
      return {};
    default: break;
  }
  const std::size_t channel = channels.find(control);
  if (channel < rules_.channels.size()) return skip_to(rules_.channels[channel]);
  own_.count_unknown({offset_, {static_cast<std::uint8_t>(control)}, 1});
  feed_lines(1);
  return {};
}

// The first record is on the first line already.
void Listing::feed_lines(int lines) {
  ready_ += '\r';
  ready_.append(static_cast<std::size_t>(first_ ? lines - 1 : lines), '\n');
  first_ = false;
}

// To a line of the page, from 1: of the next one, when the head is there already or below.
fs::Status Listing::skip_to(int line) {
  if (fs::Status status = text_.feed(std::exchange(ready_, {})); !status) return status;
  int feeds = line - 1 - text_.line();
  ready_ += '\r';
  if (feeds < 0 || (feeds == 0 && !first_)) {
    ready_ += '\f';
    feeds = line - 1;
  }
  ready_.append(static_cast<std::size_t>(feeds), '\n');
  first_ = false;
  return {};
}

fs::Status Listing::feed(std::string_view bytes) {
  ready_.clear();
  for (const char byte : bytes) {
    if (at_ == At::control) {
      const bool empty = byte == '\n' || byte == '\r';
      if (fs::Status status = move(empty ? ' ' : byte); !status) return status;
      at_ = At::record;
      if (!empty) {
        ++offset_;
        continue;
      }
    }
    if (byte == '\n') {
      at_ = At::control;
    } else {
      if (at_ == At::carriage_return) ready_ += '\r';
      at_ = byte == '\r' ? At::carriage_return : At::record;
      if (byte != '\r') ready_ += byte;
    }
    ++offset_;
  }
  return text_.feed(ready_);
}

fs::Status Listing::finish() {
  return text_.finish();
}

JobReport Listing::report() const {
  JobReport report = text_.report();
  report.unknown_controls += own_.unknown_controls;
  report.unknown = own_.unknown;  // the text's offsets are not the job's
  return report;
}

}  // namespace stationer::print
