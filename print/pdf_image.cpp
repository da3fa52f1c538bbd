#include "print/pdf_image.h"

#include <algorithm>

#include <fmt/format.h>

#include "print/pdf_ink.h"

namespace stationer::print {
namespace {

// How many cells of `pitch` a needle covers.
std::uint32_t cells(Units needle, Units pitch) {
  return static_cast<std::uint32_t>(std::max((needle + pitch / 2) / pitch, 1));
}

// A dot's middle is the middle of the cells it is drawn as, so halves count.
Points points_of_half_units(std::int64_t half_units) {
  return detail::divide_rounded(half_units * parts_of_a_point, 2 * units_per_point);
}

// Every dot of a row also `times` - 1 columns to the right. The row has room for them.
void widen(std::span<char> row, std::uint32_t times) {
  for (std::uint32_t i = 1; i < times; ++i) {
    unsigned carried = 0;
    for (char& byte : row) {
      const unsigned bits = static_cast<std::uint8_t>(byte);
      byte = static_cast<char>(bits | bits >> 1 | carried);
      carried = bits << 7 & 0x80;
    }
  }
}

}  // namespace

PdfImages::PdfImages(PdfFile& file, bool round, const Paper& paper)
    : file_(file), round_(round), height_(points_of_micrometres(paper.height)) {}

void PdfImages::begin() {
  operators_.clear();
  entries_.clear();
}

void PdfImages::write(const Page& page, int ink_space) {
  operators_.clear();
  for (const Image& image : page.images()) {
    if (image.columns == 0 || image.rows == 0) continue;
    if (round_) {
      write_round(image, page.bits(image), ink_space);
    } else {
      write_solid(image, page.bits(image));
    }
  }
}

void PdfImages::write_solid(const Image& image, std::span<const std::uint8_t> bits) {
  const std::uint32_t wide = cells(image.needle, image.across);
  const std::uint32_t high = cells(image.needle, image.down);
  const Mask mask{2 * std::int64_t{image.x} - std::int64_t{wide} * image.across,
                  2 * std::int64_t{image.y} - std::int64_t{high} * image.down,
                  image.across,
                  image.down,
                  image.columns + wide - 1,
                  image.rows + high - 1};
  const std::size_t row_bytes = mask.row_bytes();
  bits_.assign(row_bytes * mask.rows, '\0');
  for (std::uint32_t row = 0; row < image.rows; ++row) {
    const std::span<char> into = std::span(bits_).subspan(row * row_bytes, row_bytes);
    std::copy_n(bits.begin() + static_cast<std::ptrdiff_t>(row * image.row_bytes()),
                image.row_bytes(), into.begin());
    widen(into, wide);
  }
  // From the bottom up, so that each row is read before it is written.
  for (std::uint32_t row = mask.rows - 1; row > 0; --row) {
    char* to = &bits_[row * row_bytes];
    for (std::uint32_t above = 1; above < std::min(high, row + 1); ++above) {
      const char* from = to - above * row_bytes;
      for (std::size_t i = 0; i < row_bytes; ++i) to[i] = static_cast<char>(to[i] | from[i]);
    }
  }
  const int number = write_mask(mask);
  entries_ += fmt::format("/I{} {}", number, reference(number));
  operators_ += "q ";
  if (image.ink != Ink::black) operators_ += choose_ink(image.ink);
  operators_ += paint(mask, number) + "Q\n";
}

void PdfImages::write_round(const Image& image, std::span<const std::uint8_t> bits, int ink_space) {
  std::string masks;
  std::string patterns;
  std::string operators;
  const auto apart = [&image](Units pitch) {
    return static_cast<std::uint32_t>((image.needle + pitch - 1) / pitch);
  };
  const std::uint32_t wide = std::min(apart(image.across), image.columns);
  const std::uint32_t high = std::min(apart(image.down), image.rows);
  for (std::uint32_t top = 0; top < high; ++top) {
    for (std::uint32_t left = 0; left < wide; ++left) {
      Mask mask;
      mask.across = std::max(static_cast<Units>(wide) * image.across, image.needle);
      mask.down = std::max(static_cast<Units>(high) * image.down, image.needle);
      mask.twice_left = 2 * (image.x + std::int64_t{left} * image.across) - mask.across;
      mask.twice_top = 2 * (image.y + std::int64_t{top} * image.down) - mask.down;
      mask.columns = (image.columns - left + wide - 1) / wide;
      mask.rows = (image.rows - top + high - 1) / high;
      bits_.assign(mask.row_bytes() * mask.rows, '\0');
      bool any = false;
      for (std::uint32_t row = 0; row < mask.rows; ++row) {
        const std::uint8_t* from = &bits[(top + row * high) * image.row_bytes()];
        char* to = &bits_[row * mask.row_bytes()];
        for (std::uint32_t i = 0, column = left; column < image.columns; ++i, column += wide) {
          if ((from[column / 8] & 0x80 >> column % 8) == 0) continue;
          to[i / 8] = static_cast<char>(to[i / 8] | 0x80 >> i % 8);
          any = true;
        }
      }
      if (!any) continue;
      const int number = write_mask(mask);
      const int discs = pattern(mask, image, ink_space);
      masks += fmt::format("/I{} {}", number, reference(number));
      const std::string entry = fmt::format("/P{} {}", discs, reference(discs));
      if (patterns.find(entry) == std::string::npos) patterns += entry;
      operators += fmt::format("q /Pattern cs /P{} scn {}Q\n", discs, paint(mask, number));
    }
  }
  if (operators.empty()) return;

  // A box around all, wide enough for any disc.
  const auto outer = [](Units length) { return length / units_per_point; };
  const Units width = static_cast<Units>(image.columns) * image.across + image.needle;
  const Units height = static_cast<Units>(image.rows) * image.down + image.needle;
  const int form = file_.reserve();
  const Points sheet = height_ / parts_of_a_point;
  file_.stream(
      form,
      fmt::format("/Type/XObject/Subtype/Form/BBox[{} {} {} {}]{}/Resources<</XObject<<{}>>"
                  "/Pattern<<{}>>>>",
                  outer(image.x - image.needle) - 1, sheet - outer(image.y + height) - 1,
                  outer(image.x + width) + 1, sheet - outer(image.y - image.needle) + 2,
                  image.ink == Ink::black ? "" : "/Group<</S/Transparency>>", masks, patterns),
      operators);
  entries_ += fmt::format("/I{} {}", form, reference(form));
  operators_ += fmt::format("/I{} Do\n", form);
}

// One disc to a cell, in u. Any of them will do: with the one nearest to the corner, the patterns
// of many images are the same.
int PdfImages::pattern(const Mask& mask, const Image& image, int ink_space) {
  const auto first = [](std::int64_t twice_edge, Units pitch) {
    const std::int64_t twice = (twice_edge + pitch) % (2 * std::int64_t{pitch});
    return points_of_half_units(twice < 0 ? twice + 2 * std::int64_t{pitch} : twice);
  };
  const std::string entries = fmt::format(
      "/Type/Pattern/PatternType 1/PaintType 1/TilingType 1/BBox[{} {} {} {}]"
      "/XStep {}/YStep {}/Matrix[.0333333 0 0 .0333333 {} {}]/Resources<<{}>>",
      -mask.across / 2.0, -mask.down / 2.0, mask.across / 2.0, mask.down / 2.0, mask.across,
      mask.down, text_of(first(mask.twice_left, mask.across)),
      text_of(height_ - first(mask.twice_top, mask.down)),
      image.ink == Ink::black
          ? ""
          : fmt::format("/ColorSpace<<{} {}>>", ink_space_name, reference(ink_space)));
  std::string disc = fmt::format("1 J {} w 0 0 m 0 0 l S", image.needle);
  if (image.ink != Ink::black) disc.insert(0, choose_ink(image.ink));
  constexpr std::size_t most_known = 256;
  if (known_patterns_.size() == most_known) known_patterns_.clear();
  const auto [known, made] = known_patterns_.try_emplace(entries + disc, 0);
  if (made) {
    known->second = file_.reserve();
    file_.stream(known->second, entries, disc);
  }
  return known->second;
}

// The mask in bits_.
int PdfImages::write_mask(const Mask& mask) {
  const int number = file_.reserve();
  file_.stream(number,
               fmt::format("/Type/XObject/Subtype/Image/Width {}/Height {}/ImageMask true"
                           "/BitsPerComponent 1/Decode[1 0]",
                           mask.columns, mask.rows),
               bits_);
  return number;
}

// The operators that paint through it; to be between q and Q.
std::string PdfImages::paint(const Mask& mask, int number) const {
  const Points width = points_of_half_units(2 * std::int64_t{mask.columns} * mask.across);
  const Points height = points_of_half_units(2 * std::int64_t{mask.rows} * mask.down);
  return fmt::format("{} 0 0 {} {} {} cm /I{} Do ", text_of(width), text_of(height),
                     text_of(points_of_half_units(mask.twice_left)),
                     text_of(height_ - points_of_half_units(mask.twice_top) - height), number);
}

}  // namespace stationer::print
