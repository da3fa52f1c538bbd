#include "print/pdf_input.h"

#include <algorithm>
#include <cstring>
#include <exception>
#include <stdexcept>

#include <fmt/format.h>

namespace stationer::print {
namespace {

constexpr std::size_t piece = std::size_t{64} << 10;

}  // namespace

void PdfInput::close() {
  content_.reset();
  buffer_ = {};
  if (one_open_ && *one_open_ == this) *one_open_ = nullptr;
}

void PdfInput::fail(const fs::Error& why) {
  if (failure_) failure_ = why;
  throw std::runtime_error(why.message);
}

const fs::Content& PdfInput::content() {
  if (!content_) {
    auto opened = open_();
    if (!opened) fail(opened.error());
    if (one_open_) {
      if (*one_open_ != nullptr) (*one_open_)->close();
      *one_open_ = this;
    }
    content_ = std::make_unique<fs::Content>(std::move(*opened));
  }
  return *content_;
}

std::string_view PdfInput::ahead() {
  if (at_ < buffered_at_ || at_ >= buffered_at_ + buffer_.size()) {
    buffer_.resize(piece);
    auto got = content().read_at(at_, buffer_);
    if (!got) fail(got.error());
    buffer_.resize(*got);
    buffered_at_ = at_;
  }
  return std::string_view(buffer_).substr(static_cast<std::size_t>(at_ - buffered_at_));
}

qpdf_offset_t PdfInput::findAndSkipNextEOL() {
  for (std::string_view there = ahead(); !there.empty(); there = ahead()) {
    const std::size_t end = there.find_first_of("\r\n");
    if (end == there.npos) {
      at_ += there.size();
      continue;
    }
    at_ += end;
    const auto found = static_cast<qpdf_offset_t>(at_);
    for (there = ahead(); !there.empty() && (there[0] == '\r' || there[0] == '\n');
         there = ahead()) {
      ++at_;
    }
    return found;
  }
  return static_cast<qpdf_offset_t>(at_);
}

void PdfInput::seek(qpdf_offset_t offset, int whence) {
  std::int64_t from = 0;
  if (whence == SEEK_CUR) from = static_cast<std::int64_t>(at_);
  if (whence == SEEK_END) {
    auto size = content().size();
    if (!size) fail(size.error());
    from = static_cast<std::int64_t>(*size);
  }
  if (from + offset < 0) throw std::runtime_error("a place before the file's start");
  at_ = static_cast<std::uint64_t>(from + offset);
}

size_t PdfInput::read(char* into, size_t length) {
  last_offset = static_cast<qpdf_offset_t>(at_);
  std::size_t done = 0;
  while (done < length) {
    const std::string_view there = ahead();
    if (there.empty()) break;
    const std::size_t size = std::min(there.size(), length - done);
    std::memcpy(into + done, there.data(), size);
    done += size;
    at_ += size;
  }
  return done;
}

fs::Status guarded(const std::function<fs::Status(fs::Status& failure)>& work) {
  fs::Status failure;
  fs::Status done;
  try {
    done = work(failure);
  } catch (const std::exception& wrong) {
    done = fs::Error{fs::Code::damaged,
                     fmt::format("The PDF is not as it was written ({}).", wrong.what())};
  }
  return failure ? done : failure;
}

void open_pdf(QPDF& pdf, std::shared_ptr<PdfInput> input) {
  pdf.setSuppressWarnings(true);
  pdf.setAttemptRecovery(false);
  pdf.processInputSource(std::move(input));
}

}  // namespace stationer::print
