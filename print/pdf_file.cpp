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
  offsets_.push_back(0);
  return static_cast<int>(offsets_.size());
}

void PdfFile::begin(int number) {
  offsets_[static_cast<std::size_t>(number - 1)] = handed_on_ + out_.size();
  append_number(out_, number);
  out_ += " 0 obj\n";
}

void PdfFile::object(int number, std::string_view value) {
  begin(number);
  out_.append(value).append("\nendobj\n");
}

void PdfFile::stream(int number, std::string_view entries, std::string_view data) {
  compressed_.clear();
  deflater_.compress(data, compressed_);
  write_stream(number, entries, "/Filter/FlateDecode", compressed_);
}

void PdfFile::stream_uncompressed(int number, std::string_view entries, std::string_view data) {
  write_stream(number, entries, "", data);
}

void PdfFile::write_stream(int number, std::string_view entries, std::string_view filter,
                           std::string_view data) {
  begin(number);
  out_.append("<<").append(entries).append(filter).append("/Length ");
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
  hand_on();
  const fs::Hash hash = hasher_.finish();
  const std::string id = fs::hex(std::span(hash).first(16));
  const std::uint64_t table = handed_on_;
  out_ = fmt::format("xref\n0 {}\n0000000000 65535 f \n", offsets_.size() + 1);
  for (const std::uint64_t offset : offsets_) out_ += fmt::format("{:010} 00000 n \n", offset);
  out_ += fmt::format(
      "trailer\n<</Size {0}/Root {1}/Info {2}/ID[<{3}><{3}>]>>\nstartxref\n{4}\n%%EOF\n",
      offsets_.size() + 1, reference(catalog), reference(info), id, table);
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
