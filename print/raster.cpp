#include "print/raster.h"

#include <algorithm>
#include <limits>
#include <numeric>

namespace stationer::print {
namespace {

constexpr std::size_t worth_joining = std::size_t{16} << 10;
constexpr std::size_t most_times_larger = 4;

std::uint32_t dots(unsigned column_bytes) {
  return column_bytes == 2 ? 9 : column_bytes * 8;
}

// Eight columns of eight dots to eight rows of them (first column and first row in the highest
// byte).
std::uint64_t transposed(std::uint64_t x) {
  const auto swap = [&x](std::uint64_t mask, int distance) {
    const std::uint64_t moved = (x ^ x >> distance) & mask;
    x ^= moved ^ moved << distance;
  };
  swap(0x00AA00AA00AA00AA, 7);
  swap(0x0000CCCC0000CCCC, 14);
  swap(0x00000000F0F0F0F0, 28);
  return x;
}

bool blank(std::span<const std::uint8_t> bytes) {
  return std::all_of(bytes.begin(), bytes.end(), [](std::uint8_t byte) { return byte == 0; });
}

// The far end of a row or column of dots, by their middles.
std::int64_t end(Units begin, Units pitch, std::uint32_t count) {
  return begin + std::int64_t{pitch} * (count - 1);
}

// Far beyond any sheet: keeps the arithmetic within bounds.
bool sensible(const Image& image) {
  constexpr std::int64_t most = std::int64_t{1000} * units_per_inch;
  return image.columns > 0 && image.rows > 0 && image.across > 0 && image.down > 0 &&
         image.x > -most && image.y > -most && end(image.x, image.across, image.columns) < most &&
         end(image.y, image.down, image.rows) < most &&
         image.row_bytes() * image.rows <= Raster::most_picture_bytes;
}

// One direction of a grid that holds all dots of some pieces.
struct Axis {
  std::int64_t begin = 0;
  std::int64_t end = 0;
  std::int64_t pitch = 0;   // 0: there is but one dot
  std::int64_t widest = 0;  // pitch among the pieces

  static Axis of(Units begin, Units pitch, std::uint32_t count) {
    return {begin, print::end(begin, pitch, count), count > 1 ? pitch : 0, pitch};
  }

  bool touches(const Axis& other) const {
    const std::int64_t gap = std::max(begin - other.end, other.begin - end);
    return gap <= std::max(widest, other.widest);
  }

  Axis joined(const Axis& other) const {
    return {std::min(begin, other.begin), std::max(end, other.end),
            std::gcd(std::gcd(pitch, other.pitch), begin - other.begin),
            std::max(widest, other.widest)};
  }

  // Where something is on the grid.
  std::uint32_t index(std::int64_t position) const {
    return pitch == 0 ? 0 : static_cast<std::uint32_t>((position - begin) / pitch);
  }
  std::uint32_t count() const { return index(end) + 1; }
};

}  // namespace

// Pieces that make one picture.
struct Raster::Cluster {
  Axis across;
  Axis down;
  std::size_t own_bytes = 0;  // of the pieces by themselves
  std::vector<std::size_t> pieces;

  std::size_t row_bytes() const { return (std::size_t{across.count()} + 7) / 8; }
  std::size_t bytes() const { return row_bytes() * down.count(); }
};

void Raster::add(const Band& band, std::span<const std::uint8_t> columns) {
  if (band.columns == 0) return;
  if (continues(band)) {
    open_.columns += band.columns;
  } else {
    close();
    open_ = band;
  }
  open_columns_.insert(open_columns_.end(), columns.begin(), columns.end());
}

bool Raster::continues(const Band& band) const {
  constexpr std::size_t enough = std::size_t{64} << 10;
  return !open_columns_.empty() && open_columns_.size() < enough && band.y == open_.y &&
         band.across == open_.across && band.down == open_.down &&
         band.column_bytes == open_.column_bytes && band.ink == open_.ink &&
         band.x - open_.x == std::int64_t{open_.columns} * open_.across;
}

// Turns the columns into rows.
void Raster::close() {
  if (open_columns_.empty()) return;
  const unsigned column_bytes = open_.column_bytes;
  Image image{open_.x,  open_.y, open_.across, open_.down, open_.columns, dots(column_bytes),
              open_.ink};
  const std::size_t row_bytes = image.row_bytes();
  std::vector<std::uint8_t> rows(row_bytes * image.rows);
  for (unsigned group = 0; group < column_bytes; ++group) {
    const unsigned in_group = std::min(image.rows - 8 * group, 8U);
    // A ninth dot is in the lowest bit.
    const unsigned shift = in_group == 1 ? 7 : 0;
    for (std::size_t at = 0; at < row_bytes; ++at) {
      std::uint64_t eight = 0;
      for (std::size_t column = 8 * at; column < 8 * at + 8; ++column) {
        eight <<= 8;
        if (column >= open_.columns) continue;
        eight |= open_columns_[column * column_bytes + group] << shift & 0xFF;
      }
      eight = transposed(eight);
      for (unsigned row = 0; row < in_group; ++row) {
        rows[(8 * group + row) * row_bytes + at] =
            static_cast<std::uint8_t>(eight >> (56 - 8 * row));
      }
    }
  }
  open_columns_.clear();
  keep(image, rows);
}

void Raster::add(const Image& image, std::span<const std::uint8_t> bits) {
  close();
  keep(image, bits);
}

void Raster::keep(const Image& image, std::span<const std::uint8_t> bits) {
  if (blank(bits)) return;
  if (!sensible(image)) {
    ++dropped_;
    return;
  }
  if (!full_ && (bits_.size() + bits.size() > most_bytes || pieces_.size() == most_bands)) {
    make_room();
  }
  if (full_) {
    ++dropped_;
    return;
  }
  pieces_.push_back(image);
  pieces_.back().first = bits_.size();
  pieces_.back().needle = needle_;
  // Rows may come with something after their last dot.
  const std::size_t row_bytes = image.row_bytes();
  const auto last = static_cast<std::uint8_t>(0xFF << (7 - (image.columns - 1) % 8));
  bits_.insert(bits_.end(), bits.begin(), bits.end());
  for (std::size_t at = bits_.size() - bits.size() + row_bytes - 1; at < bits_.size();
       at += row_bytes) {
    bits_[at] &= last;
  }
}

// Puts together what has been struck so far, and is full if that leaves little room.
void Raster::make_room() {
  Page together;
  give_pictures(together);
  pieces_.assign(together.images().begin(), together.images().end());
  bits_.clear();
  for (Image& piece : pieces_) {
    const std::span<const std::uint8_t> bits = together.bits(piece);
    piece.first = bits_.size();
    bits_.insert(bits_.end(), bits.begin(), bits.end());
  }
  full_ = bits_.size() > most_bytes / 4 * 3 || pieces_.size() > most_bands / 4 * 3;
}

void Raster::give_to(Page& page) {
  close();
  give_pictures(page);
  pieces_.clear();
  bits_.clear();
  full_ = false;
}

void Raster::give_pictures(Page& page) const {
  std::vector<std::uint8_t> bits;
  for (const Cluster& cluster : clusters()) {
    paint(cluster, bits);
    const Image& any = pieces_[cluster.pieces.front()];
    const auto pitch = [](const Axis& axis) {
      return static_cast<Units>(axis.pitch != 0 ? axis.pitch : axis.widest);
    };
    page.add_image(
        {static_cast<Units>(cluster.across.begin), static_cast<Units>(cluster.down.begin),
         pitch(cluster.across), pitch(cluster.down), cluster.across.count(), cluster.down.count(),
         any.ink, needle_},
        bits);
  }
}

std::vector<Raster::Cluster> Raster::clusters() const {
  std::vector<std::size_t> order(pieces_.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [this](std::size_t a, std::size_t b) {
    const Image& one = pieces_[a];
    const Image& other = pieces_[b];
    if (one.ink != other.ink) return one.ink < other.ink;
    return one.y != other.y ? one.y < other.y : one.x < other.x;
  });

  // From top to bottom: `open` are those that a later piece of the ink may still touch.
  std::vector<Cluster> done;
  std::vector<Cluster> open;
  std::size_t total = bits_.size();
  const auto finish = [&](auto which) {
    const auto rest = std::stable_partition(open.begin(), open.end(),
                                            [&](const Cluster& each) { return !which(each); });
    std::move(rest, open.end(), std::back_inserter(done));
    open.erase(rest, open.end());
  };
  const auto join = [&](Cluster& one, Cluster& other) {
    if (!one.across.touches(other.across) || !one.down.touches(other.down)) return false;
    Cluster both;
    both.across = one.across.joined(other.across);
    both.down = one.down.joined(other.down);
    both.own_bytes = one.own_bytes + other.own_bytes;
    const std::size_t apart = one.bytes() + other.bytes();
    const std::size_t together = both.bytes();
    if (together > most_picture_bytes ||
        together > most_times_larger * both.own_bytes + worth_joining ||
        total - apart + together > most_bytes) {
      return false;
    }
    total = total - apart + together;
    if (one.pieces.size() < other.pieces.size()) one.pieces.swap(other.pieces);
    both.pieces = std::move(one.pieces);
    both.pieces.insert(both.pieces.end(), other.pieces.begin(), other.pieces.end());
    one = std::move(both);
    return true;
  };

  Ink ink = Ink::black;
  for (const std::size_t at : order) {
    const Image& piece = pieces_[at];
    if (piece.ink != ink) finish([](const Cluster&) { return true; });
    ink = piece.ink;
    finish([&piece](const Cluster& each) {
      return each.down.end + std::max<std::int64_t>(each.down.widest, piece.down) < piece.y;
    });
    Cluster cluster{Axis::of(piece.x, piece.across, piece.columns),
                    Axis::of(piece.y, piece.down, piece.rows),
                    piece.row_bytes() * piece.rows,
                    {at}};
    // What it joins may touch what it didn't.
    for (std::size_t i = 0; i < open.size();) {
      if (join(cluster, open[i])) {
        open.erase(open.begin() + static_cast<std::ptrdiff_t>(i));
        i = 0;
      } else {
        ++i;
      }
    }
    open.push_back(std::move(cluster));
  }
  finish([](const Cluster&) { return true; });
  return done;
}

void Raster::paint(const Cluster& cluster, std::vector<std::uint8_t>& bits) const {
  const std::size_t row_bytes = cluster.row_bytes();
  bits.assign(cluster.bytes(), 0);
  for (const std::size_t number : cluster.pieces) {
    const Image& piece = pieces_[number];
    const std::size_t from_bytes = piece.row_bytes();
    const std::uint32_t column = cluster.across.index(piece.x);
    const auto step = static_cast<std::uint32_t>(
        cluster.across.pitch == 0 ? 1 : piece.across / cluster.across.pitch);
    for (std::uint32_t row = 0; row < piece.rows; ++row) {
      const std::uint8_t* from = &bits_[piece.first + row * from_bytes];
      std::uint8_t* to =
          &bits[cluster.down.index(piece.y + std::int64_t{row} * piece.down) * row_bytes];
      if (step == 1) {
        std::uint8_t* at = to + column / 8;
        const unsigned shift = column % 8;
        for (std::size_t i = 0; i < from_bytes; ++i) {
          at[i] |= static_cast<std::uint8_t>(from[i] >> shift);
          const auto rest = static_cast<std::uint8_t>(from[i] << (8 - shift));
          if (rest != 0) at[i + 1] |= rest;
        }
        continue;
      }
      for (std::uint32_t i = 0; i < piece.columns; ++i) {
        if ((from[i / 8] >> (7 - i % 8) & 1) == 0) continue;
        const std::uint32_t there = column + i * step;
        to[there / 8] |= static_cast<std::uint8_t>(0x80 >> there % 8);
      }
    }
  }
}

}  // namespace stationer::print
