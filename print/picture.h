// A page of a printout as a picture.
#pragma once

#include <cstdint>
#include <string>

#include "fs/result.h"
#include "print/open_content.h"

namespace stationer::print {

inline constexpr std::uint32_t smallest_picture = 16;  // dots across
inline constexpr std::uint32_t largest_picture = 2000;

// The page (from 1) of a PDF as a PNG (ISO/IEC 15948) of so many dots across, in its proportions.
// Drawn by poppler's pdftoppm, in a process of its own. Nothing is kept. Code::damaged when it
// can't be drawn, as when there is no such page; Code::not_found when pdftoppm is not installed.
fs::Result<std::string> picture_of(const OpenContent& open, std::uint32_t page,
                                   std::uint32_t width);

}  // namespace stationer::print
