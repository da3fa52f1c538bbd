#include "fs/copy_content.h"

#include <string>

namespace stationer::fs {

Ticket copy_content(const Content& content, Upload& upload) {
  std::string piece(std::size_t{256} * 1024, '\0');
  for (;;) {
    auto got = content.read_at(upload.size(), piece);
    if (!got) return got.error();
    if (*got == 0) return upload.finish();
    auto written = upload.write(std::string_view(piece).substr(0, *got));
    if (!written) return written.error();
  }
}

}  // namespace stationer::fs
