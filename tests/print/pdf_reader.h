// Reads the PDFs that print/pdf_writer.h makes, strictly by their cross-reference stream: no more
// of the format than those need. Anything amiss throws.
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

  std::size_t count() const { return places_.size(); }
  // The dictionary of the cross-reference stream, which says what a trailer does.
  const std::string& trailer() const { return trailer_; }

  // What stands between "N 0 obj" and "endobj", by number from 1; or what an object stream holds.
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
  // Breaks the file: the first place that has `from` has `to`, as long, from now on.
  void change(std::string_view from, std::string_view to);
  // The numbers of objects that contain `text`.
  std::vector<int> with(std::string_view text) const;

 private:
  std::string object_at(std::uint64_t offset) const;
  static std::string stream_of(const std::string& object);
  void read_bundle(int number);

  std::string bytes_;
  std::string trailer_;
  struct Place {
    std::uint64_t at = 0;
    int bundle = 0;  // the object stream; 0: none, and at is an offset
  };
  std::vector<Place> places_;
  std::map<int, std::vector<std::string>> bundles_;
};

}  // namespace stationer::test
