// Reads the PDFs that print/pdf_writer.h makes, strictly by their cross-reference table: no more of
// the format than those need. Anything amiss throws.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace stationer::test {

class PdfReader {
 public:
  explicit PdfReader(std::string bytes);

  std::size_t count() const { return offsets_.size(); }
  const std::string& trailer() const { return trailer_; }

  // What stands between "N 0 obj" and "endobj", by number from 1.
  std::string object(int number) const;
  // Its stream, uncompressed.
  std::string stream(int number) const;

  // The value of a key in a dictionary: up to the next key or the end, references and all.
  static std::string value(std::string_view dictionary, std::string_view key);
  // The object that the key refers to.
  static int target(std::string_view dictionary, std::string_view key);

  // The entries of a dictionary that has nothing but references.
  static std::map<std::string, int> references(std::string_view dictionary);

  int catalog() const { return target(trailer_, "/Root"); }
  int info() const { return target(trailer_, "/Info"); }
  // The page objects in order.
  std::vector<int> pages() const;
  // A page's content stream; empty if it has none.
  std::string content(int page) const;
  // The numbers of objects that contain `text`.
  std::vector<int> with(std::string_view text) const;

 private:
  std::string bytes_;
  std::string trailer_;
  std::vector<std::uint64_t> offsets_;
};

}  // namespace stationer::test
