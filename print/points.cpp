#include "print/points.h"

#include "print/pdf_file.h"

namespace stationer::print {

void append_points(std::string& out, Points length) {
  if (length < 0) {
    out += '-';
    length = -length;
  }
  append_number(out, length / parts_of_a_point);
  Points rest = length % parts_of_a_point;
  if (rest == 0) return;
  out += '.';
  for (Points place = parts_of_a_point / 10; rest != 0; place /= 10) {
    out += static_cast<char>('0' + rest / place);
    rest %= place;
  }
}

std::string text_of(Points length) {
  std::string out;
  append_points(out, length);
  return out;
}

}  // namespace stationer::print
