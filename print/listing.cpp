#include "print/listing.h"

namespace stationer::print {
namespace {

PlainTextRules ruled(PlainTextRules rules) {
  rules.feed_returns = true;
  rules.return_feeds = false;
  return rules;
}

}  // namespace

Listing::Listing(PlainTextRules rules, const Layout& layout, PageSink sink)
    : text_(ruled(rules), layout, std::move(sink)) {}

// What moves the paper so, after a record that was not ended.
std::string_view Listing::motion(char control) {
  const bool first = first_;
  first_ = false;
  switch (control) {
    case '1': return "\r\f";  // as the first thing in a job a form feed does nothing
    case '+': return "\r";
    case '0': return first ? "\n" : "\r\n\n";
    case '-': return first ? "\n\n" : "\r\n\n\n";
    default:
      own_.count_unknown({offset_, {static_cast<std::uint8_t>(control)}, 1});
      [[fallthrough]];
    case ' ': return first ? "" : "\r\n";
  }
}

fs::Status Listing::feed(std::string_view bytes) {
  ready_.clear();
  for (const char byte : bytes) {
    if (at_ == At::control) {
      ready_ += motion(byte == '\n' || byte == '\r' ? ' ' : byte);
      at_ = At::record;
      if (byte != '\n' && byte != '\r') {
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
