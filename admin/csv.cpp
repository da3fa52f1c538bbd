#include "admin/csv.h"

#include <fmt/format.h>

namespace stationer::admin {
namespace {

class Reader {
 public:
  Reader(std::string_view text, char separator) : text_(text), separator_(separator) {}

  fs::Result<std::vector<CsvRecord>> all() {
    std::vector<CsvRecord> out;
    while (at_ < text_.size()) {
      CsvRecord record;
      record.line = line_;
      if (!read(record)) {
        return fs::Error{
            fs::Code::bad_input,
            fmt::format("The quote (\") that opens a value in line {} is never closed.",
                        quote_line_)};
      }
      const bool blank = record.values.size() == 1 &&
                         record.values[0].find_first_not_of(" \t") == std::string::npos;
      if (!blank) out.push_back(std::move(record));
    }
    return out;
  }

 private:
  bool read(CsvRecord& record) {
    for (;;) {
      record.values.emplace_back();
      if (at_ < text_.size() && text_[at_] == '"' && !quoted(record)) return false;
      while (at_ < text_.size() && text_[at_] != separator_ && !is_end(text_[at_])) {
        record.values.back() += text_[at_++];
      }
      if (at_ == text_.size()) return true;
      if (is_end(text_[at_])) {
        end_line();
        return true;
      }
      ++at_;
    }
  }

  // A value in quotes; two of them within stand for one.
  bool quoted(CsvRecord& record) {
    quote_line_ = line_;
    ++at_;
    std::string& value = record.values.back();
    while (at_ < text_.size()) {
      if (text_[at_] == '"') {
        ++at_;
        if (at_ == text_.size() || text_[at_] != '"') {
          record.torn = record.torn ||
                        (at_ < text_.size() && text_[at_] != separator_ && !is_end(text_[at_]));
          return true;
        }
        value += text_[at_++];
      } else if (is_end(text_[at_])) {
        value += '\n';
        end_line();
      } else {
        value += text_[at_++];
      }
    }
    return false;
  }

  static bool is_end(char c) { return c == '\n' || c == '\r'; }

  void end_line() {
    if (text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n') ++at_;
    ++at_;
    ++line_;
  }

  std::string_view text_;
  char separator_;
  std::size_t at_ = 0;
  std::size_t line_ = 1;
  std::size_t quote_line_ = 0;
};

}  // namespace

fs::Result<std::vector<CsvRecord>> read_csv(std::string_view text, char separator) {
  return Reader(text, separator).all();
}

}  // namespace stationer::admin
