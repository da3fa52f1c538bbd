// The colours of a printout that isn't all black (ISO 32000-1 sections 8.6.5.3 and 11.3.5).
//
// They are in a colour space that depends on no device, as PDF/A asks for, and inks mix where they
// are upon each other, as on paper: the blend mode is Multiply, which black leaves black. Pages
// that are all black have none of this.
#pragma once

#include <string>
#include <string_view>

#include "print/page.h"

namespace stationer::print {

// Names among a page's resources.
inline constexpr std::string_view ink_space_name = "/C";
inline constexpr std::string_view ink_mixing_name = "/M";

// The values of the objects they stand for.
std::string_view ink_space();
std::string_view ink_mixing();

// The operators that choose an ink for what is filled and for what is stroked.
std::string_view choose_ink(Ink ink);

}  // namespace stationer::print
