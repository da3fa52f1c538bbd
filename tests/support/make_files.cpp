// Files to carry:   make_files FOLDER COUNT SEED
//
// f0000.dat and so on: empty, of lengths at the edges of blocks, with every byte value, long runs,
// what protocols have codes for, and of any bytes and lengths. None ends in SUB, which some
// protocols can't tell from what fills up a block.
#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>

namespace {

constexpr std::array edges = {0, 1, 127, 128, 129, 255, 256, 1023, 1024, 1025, 2048};
constexpr std::size_t longest = 4000;

std::string content(std::size_t number, std::mt19937& random) {
  std::size_t size = random() % longest;
  if (number % 4 == 0) size = static_cast<std::size_t>(edges[number / 4 % edges.size()]);
  std::string out(size, '\0');
  switch (number % 7) {
    case 1:
      for (std::size_t i = 0; i < size; ++i) out[i] = static_cast<char>(i);
      break;
    case 2: out.assign(size, static_cast<char>(random())); break;
    case 3:
      for (char& byte : out)
        byte = "\x01\x02\x04\x06\x11\x13\x15\x18\x1A#&~\r\n\xFF\0"[random() % 16];
      break;
    default:
      for (char& byte : out) byte = static_cast<char>(random());
  }
  if (!out.empty() && out.back() == 0x1A) out.back() = 'x';
  return out;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return 2;
  const std::filesystem::path folder = argv[1];
  std::mt19937 random(static_cast<unsigned>(std::stoul(argv[3])));
  for (std::size_t i = 0; i < std::stoul(argv[2]); ++i) {
    char name[32];
    std::snprintf(name, sizeof name, "f%04zu.dat", i);
    std::ofstream(folder / name, std::ios::binary) << content(i, random);
  }
}
