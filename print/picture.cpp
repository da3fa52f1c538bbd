#include "print/picture.h"

#include <fmt/format.h>

#include "print/host_tool.h"

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;

// A page of the largest size, each dot another colour.
constexpr std::size_t most_bytes = std::size_t{32} << 20;

}  // namespace

fs::Result<std::string> picture_of(const OpenContent& open, std::uint32_t page,
                                   std::uint32_t width) {
  if (width < smallest_picture || width > largest_picture) {
    return Error{Code::bad_input, fmt::format("A picture is {} to {} dots wide.", smallest_picture,
                                              largest_picture)};
  }
  auto content = open();
  if (!content) return content.error();
  std::uint64_t at = 0;
  const ByteSource source = [&](std::span<char> into) -> fs::Result<std::size_t> {
    auto got = content->read_at(at, into);
    if (got) at += *got;
    return got;
  };
  std::string png;
  const ByteSink sink = [&](std::string_view bytes) -> fs::Status {
    if (png.size() + bytes.size() > most_bytes) {
      return Error{Code::damaged, "The picture is larger than it can be."};
    }
    png += bytes;
    return {};
  };
  const std::string number = fmt::format("{}", page);
  auto drawn = run_host_tool("pdftoppm",
                             {"-png", "-f", number, "-l", number, "-scale-to-x",
                              fmt::format("{}", width), "-scale-to-y", "-1", "-"},
                             source, sink);
  if (!drawn && drawn.error().code == Code::not_found) {
    return Error{Code::not_found,
                 "Pictures are drawn by pdftoppm, which is not installed. On Debian: apt-get "
                 "install poppler-utils"};
  }
  if (!drawn) return drawn.error();
  if (!png.starts_with("\x89PNG")) {
    return Error{Code::damaged, "The page could not be drawn."};
  }
  return png;
}

}  // namespace stationer::print
