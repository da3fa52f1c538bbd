#include "print/pdf_file.h"

#include <charconv>
#include <span>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::print {
namespace {

// The second line tells transfer programs that the file is binary (section 7.5.2).
constexpr std::string_view header = "%PDF-1.7\n%\xE2\xE3\xCF\xD3\n";

constexpr std::size_t worth_a_call = std::size_t{64} << 10;

constexpr int most_in_a_bundle = 200;

// An entry of the cross-reference table (table 18): its type and two fields.
struct Row {
  std::uint64_t type = 0;
  std::uint64_t second = 0;
  std::uint64_t third = 0;
};

unsigned bytes_of(std::uint64_t value) {
  unsigned count = 1;
  while (value >>= 8) ++count;
  return count;
}

// Highest byte first.
void append_bytes(std::string& out, std::uint64_t value, unsigned count) {
  while (count-- > 0) out += static_cast<char>(value >> 8 * count & 0xFF);
}

void append_row(std::string& out, const Row& row, unsigned width) {
  append_bytes(out, row.type, 1);
  append_bytes(out, row.second, width);
  append_bytes(out, row.third, 2);
}

constexpr std::string_view hex_digits = "0123456789ABCDEF";

void append_hex(std::string& out, unsigned sixteen_bits) {
  for (int shift = 12; shift >= 0; shift -= 4) out += hex_digits[sixteen_bits >> shift & 0xFu];
}

}  // namespace

PdfFile::PdfFile(ByteSink sink, std::string_view identity) : sink_(std::move(sink)) {
  hasher_.add(identity);
  out_ = header;
}

int PdfFile::reserve() {
  places_.emplace_back();
  return static_cast<int>(places_.size());
}

PdfFile::Place& PdfFile::place_of(int number) {
  return places_[static_cast<std::size_t>(number - 1)];
}

void PdfFile::object(int number, std::string_view value) {
  if (bundle_ == 0) bundle_ = reserve();
  place_of(number) = {static_cast<std::uint64_t>(bundled_), bundle_};
  append_number(bundle_index_, number);
  bundle_index_ += ' ';
  append_number(bundle_index_, static_cast<std::int64_t>(bundle_values_.size()));
  bundle_index_ += ' ';
  bundle_values_.append(value).append("\n");
  if (++bundled_ == most_in_a_bundle) end_bundle();
}

void PdfFile::end_bundle() {
  if (bundle_ == 0) return;
  stream(bundle_, fmt::format("/Type/ObjStm/N {}/First {}", bundled_, bundle_index_.size()),
         bundle_index_ + bundle_values_);
  bundle_ = 0;
  bundled_ = 0;
  bundle_index_.clear();
  bundle_values_.clear();
}

void PdfFile::stream(int number, std::string_view entries, std::string_view data, Effort effort) {
  compressed_.clear();
  (effort == Effort::quick ? quick_deflater_ : deflater_).compress(data, compressed_);
  write_stream(number, entries, "/Filter/FlateDecode", compressed_);
}

void PdfFile::stream_uncompressed(int number, std::string_view entries, std::string_view data) {
  write_stream(number, entries, "", data);
}

void PdfFile::write_stream(int number, std::string_view entries, std::string_view filter,
                           std::string_view data) {
  place_of(number) = {handed_on_ + out_.size(), 0};
  append_number(out_, number);
  out_.append(" 0 obj\n<<").append(entries).append(filter).append("/Length ");
  append_number(out_, static_cast<std::int64_t>(data.size()));
  out_.append(">>\nstream\n").append(data).append("\nendstream\nendobj\n");
}

void PdfFile::hand_on() {
  hasher_.add(out_);
  handed_on_ += out_.size();
  if (status_) status_ = sink_(out_);
  out_.clear();
}

fs::Status PdfFile::flush() {
  if (out_.size() >= worth_a_call) hand_on();
  return status_;
}

fs::Status PdfFile::finish(int catalog, int info) {
  end_bundle();
  hand_on();
  const fs::Hash hash = hasher_.finish();
  const std::string id = fs::hex(std::span(hash).first(16));
  const std::uint64_t offset = handed_on_;
  const int table = reserve();
  place_of(table) = {offset, 0};
  const unsigned width = bytes_of(offset);
  std::string rows;
  append_row(rows, {0, 0, 65535}, width);
  for (const auto& [at, bundle] : places_) {
    append_row(rows, bundle == 0 ? Row{1, at, 0} : Row{2, static_cast<std::uint64_t>(bundle), at},
               width);
  }
  stream(table,
         fmt::format("/Type/XRef/Size {0}/W[1 {1} 2]/Root {2}/Info {3}/ID[<{4}><{4}>]",
                     places_.size() + 1, width, reference(catalog), reference(info), id),
         rows);
  out_ += fmt::format("startxref\n{}\n%%EOF\n", offset);
  if (status_) status_ = sink_(out_);
  out_.clear();
  return status_;
}

std::string reference(int number) {
  return fmt::format("{} 0 R", number);
}

std::string text_string(std::string_view utf_8) {
  if (!fs::is_ascii(utf_8)) {
    std::string hex("<FEFF");
    fs::each_character(utf_8, [&](char32_t character) { append_utf_16(hex, character); });
    return hex += ">";
  }
  std::string literal("(");
  for (const char character : utf_8) {
    if (character == '(' || character == ')' || character == '\\') literal += '\\';
    literal += character;
  }
  return literal += ")";
}

void append_utf_16(std::string& out, char32_t character) {
  if (character < 0x10000) {
    append_hex(out, character);
  } else {
    const char32_t beyond = character - 0x10000;
    append_hex(out, 0xD800 | beyond >> 10);
    append_hex(out, 0xDC00 | (beyond & 0x3FF));
  }
}

void append_number(std::string& out, std::int64_t number) {
  char digits[24];
  const auto result = std::to_chars(std::begin(digits), std::end(digits), number);
  out.append(digits, result.ptr);
}

void append_decimal(std::string& out, double number, int decimals) {
  std::string text = fmt::format("{:.{}f}", number, decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  out += text;
}

}  // namespace stationer::print
