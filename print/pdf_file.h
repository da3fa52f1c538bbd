// The frame of a PDF file (ISO 32000-1 section 7.5): objects written one after the other to a sink,
// and where they are. Knows nothing of what the objects mean.
//
// All that is no stream is put together in object streams, and the cross-reference table is a
// stream (sections 7.5.7 and 7.5.8): so a page costs a hundred bytes less than as plain objects.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/hash.h"
#include "fs/result.h"
#include "print/bytes.h"
#include "print/flate.h"

namespace stationer::print {

class PdfFile {
 public:
  // Begins with the header of PDF 1.7. `identity` goes into the file's identifier, together with
  // all that is written.
  PdfFile(ByteSink sink, std::string_view identity);

  // The number of an object to be written later; every one must be.
  int reserve();

  void object(int number, std::string_view value);

  // A stream whose dictionary has `entries`, besides its length and filter.
  void stream(int number, std::string_view entries, std::string_view data,
              Effort effort = Effort::usual);
  void stream_uncompressed(int number, std::string_view entries, std::string_view data);

  // Hands on what has been gathered, if it is worth a call. The sink's first failure stays.
  fs::Status flush();

  // Writes what tells where the objects are, and hands on everything.
  fs::Status finish(int catalog, int info);

 private:
  // An object is at an offset in the file, or the so-manieth of a bundle: an object stream.
  struct Place {
    std::uint64_t at = 0;
    int bundle = 0;  // 0: none
  };

  Place& place_of(int number);
  void end_bundle();
  void write_stream(int number, std::string_view entries, std::string_view filter,
                    std::string_view data);
  void hand_on();

  ByteSink sink_;
  fs::Status status_;
  fs::Hasher hasher_;
  Deflater deflater_{Effort::usual};
  Deflater quick_deflater_{Effort::quick};
  std::string out_;         // not yet handed on
  std::string compressed_;  // kept for its memory
  std::uint64_t handed_on_ = 0;
  std::vector<Place> places_;  // by object number, from 1

  // The bundle that objects are being put into.
  int bundle_ = 0;  // 0: none yet
  int bundled_ = 0;
  std::string bundle_index_;
  std::string bundle_values_;
};

// A reference to an object: "12 0 R".
std::string reference(int number);

// A text string (section 7.9.2.2) of UTF-8: literal when it is ASCII, otherwise UTF-16BE in hex.
std::string text_string(std::string_view utf_8);

// `character` as UTF-16BE in hex digits.
void append_utf_16(std::string& out, char32_t character);

void append_number(std::string& out, std::int64_t number);

// At most `decimals` digits after the point, rounded, without needless zeros.
void append_decimal(std::string& out, double number, int decimals);

}  // namespace stationer::print
