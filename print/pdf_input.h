// A PDF of ours as the PDF library reads it: in pieces, wherever it lies.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include <qpdf/InputSource.hh>
#include <qpdf/QPDF.hh>

#include "fs/result.h"
#include "print/open_content.h"

namespace stationer::print {

class PdfInput : public InputSource {
 public:
  // Opens the file when it is read. What goes wrong with that is kept in `failure`, because the
  // library takes some failures for damage and goes on. Of those that share `one_open` only one has
  // its file open, and a buffer, at a time.
  PdfInput(OpenContent open, fs::Status& failure, std::shared_ptr<PdfInput*> one_open = nullptr)
      : open_(std::move(open)), failure_(failure), one_open_(std::move(one_open)) {}
  ~PdfInput() override { close(); }

  qpdf_offset_t findAndSkipNextEOL() override;
  std::string const& getName() const override { return name_; }
  qpdf_offset_t tell() override { return static_cast<qpdf_offset_t>(at_); }
  void seek(qpdf_offset_t offset, int whence) override;
  void rewind() override { at_ = 0; }
  size_t read(char* into, size_t length) override;
  void unreadCh(char) override { --at_; }

 private:
  const fs::Content& content();
  // What is in the file at `at_`, as far as it is in memory; empty at the end.
  std::string_view ahead();

  void close();

  [[noreturn]] void fail(const fs::Error& why);

  const OpenContent open_;
  fs::Status& failure_;
  const std::shared_ptr<PdfInput*> one_open_;
  const std::string name_ = "printout";
  std::unique_ptr<fs::Content> content_;
  std::uint64_t at_ = 0;
  std::string buffer_;
  std::uint64_t buffered_at_ = 0;
};

// Does something with PDFs. `failure` is for their PdfInput. The library's errors are exceptions;
// here they become Code::damaged, unless the file itself failed.
fs::Status guarded(const std::function<fs::Status(fs::Status& failure)>& work);

// Opens a PDF, without a try to make sense of a damaged one. Throws as the library does.
void open_pdf(QPDF& pdf, std::shared_ptr<PdfInput> input);

}  // namespace stationer::print
