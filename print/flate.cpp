#include "print/flate.h"

#include <new>

#include <libdeflate.h>

namespace stationer::print {
namespace {

// README.md tells what the other levels cost and bring.
int level_of(Effort effort) {
  return effort == Effort::quick ? 1 : 5;
}

}  // namespace

void Deflater::Free::operator()(libdeflate_compressor* compressor) const {
  libdeflate_free_compressor(compressor);
}

Deflater::Deflater(Effort effort) : compressor_(libdeflate_alloc_compressor(level_of(effort))) {
  if (!compressor_) throw std::bad_alloc();
}

void Deflater::compress(std::string_view data, std::string& out) {
  const std::size_t before = out.size();
  out.resize(before + libdeflate_zlib_compress_bound(compressor_.get(), data.size()));
  const std::size_t size = libdeflate_zlib_compress(compressor_.get(), data.data(), data.size(),
                                                    out.data() + before, out.size() - before);
  out.resize(before + size);
}

}  // namespace stationer::print
