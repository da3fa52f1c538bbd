#include "print/pdf_ink.h"

namespace stationer::print {

// Primaries and white of sRGB (IEC 61966-2-1, from memory).
std::string_view ink_space() {
  return "[/CalRGB<</WhitePoint[.9505 1 1.089]/Gamma[2.2 2.2 2.2]"
         "/Matrix[.4124 .2126 .0193 .3576 .7152 .1192 .1805 .0722 .9505]>>]";
}

std::string_view ink_mixing() {
  return "<</Type/ExtGState/BM/Multiply>>";
}

// As ribbons look on white paper, by our own eye. Multiplied, cyan and yellow are about the green,
// magenta and yellow the red, magenta and cyan the violet that ribbons make of them.
std::string_view choose_ink(Ink ink) {
  switch (ink) {
    case Ink::black: return "0 g 0 G\n";
    case Ink::magenta: return "/C cs .85 .1 .5 sc /C CS .85 .1 .5 SC\n";
    case Ink::cyan: return "/C cs .05 .6 .85 sc /C CS .05 .6 .85 SC\n";
    case Ink::violet: return "/C cs .3 .1 .5 sc /C CS .3 .1 .5 SC\n";
    case Ink::yellow: return "/C cs 1 .87 .1 sc /C CS 1 .87 .1 SC\n";
    case Ink::red: return "/C cs .85 .1 .1 sc /C CS .85 .1 .1 SC\n";
    case Ink::green: return "/C cs .05 .5 .15 sc /C CS .05 .5 .15 SC\n";
  }
  return {};
}

}  // namespace stationer::print
