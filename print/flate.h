// The compression of PDF streams: FlateDecode (ISO 32000-1 section 7.4.4), the zlib format of
// RFC 1950. The print layer's only place that knows libdeflate.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

struct libdeflate_compressor;

namespace stationer::print {

// What is known to be long and to come often is compressed quickly; README.md tells what that
// costs.
enum class Effort : std::uint8_t { quick, usual };

class Deflater {
 public:
  explicit Deflater(Effort effort);

  // Appends the compressed `data` to `out`.
  void compress(std::string_view data, std::string& out);

 private:
  struct Free {
    void operator()(libdeflate_compressor* compressor) const;
  };
  std::unique_ptr<libdeflate_compressor, Free> compressor_;
};

}  // namespace stationer::print
