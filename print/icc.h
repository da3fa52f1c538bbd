// The colour profile that tells what black and white mean in a printout, which PDF/A asks for.
#pragma once

#include <string>

namespace stationer::print {

// A grayscale display profile of version 2.1 (ICC.1:1998-09, from memory): white is D50, the tone
// curve a gamma of 2.2. Always the same bytes.
std::string gray_profile();

}  // namespace stationer::print
