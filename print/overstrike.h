// What characters struck into one place on the paper amount to.
//
// The habits are those of typists and of programs that print for them: the same again is bold, an
// underscore underlines (col(1), ul(1) and grotty(1) describe both), and a letter with an accent or
// a stroke over it is that letter of Unicode. Otherwise the last one struck is the text, as col -b
// has it, and the others are seen but are not text.
#pragma once

#include <array>
#include <cstdint>

namespace stationer::print {

// One place: what has been struck there so far, in bounded memory. After four different characters
// it is a blot, and older ones are forgotten.
class Place {
 public:
  bool blank() const { return last_ == 0; }

  void strike(char32_t character);  // not a space, not a control code

  bool bold() const { return bold_; }
  bool underlined() const { return underlined_; }
  bool is_underscore() const { return last_ == U'_' && !bold_ && earlier_count_ == 0; }

  // What is to be seen.

  struct Impression {
    char32_t text = 0;
    std::array<char32_t, 3> marks{};
    unsigned mark_count = 0;
  };
  Impression impression() const {
    return earlier_count_ == 0 ? Impression{last_, {}, 0} : mixed_impression();
  }

 private:
  Impression mixed_impression() const;

  char32_t last_ = 0;
  std::array<char32_t, 3> earlier_{};
  std::uint8_t earlier_count_ = 0;
  bool bold_ = false;
  bool underlined_ = false;
};

// The character that two struck together make, in either order, such as é of e and '; 0 if none.
char32_t composed(char32_t one, char32_t other);

// The way back: a letter, and the mark of Unicode that it has; zeros if it has none that
// composed() knows.
struct Decomposed {
  char32_t letter = 0;
  char32_t accent = 0;
};
Decomposed decomposed(char32_t character);

// True for marks that Unicode puts on the character before (U+0300-036F): they take no place of
// their own.
constexpr bool is_combining(char32_t character) {
  return character >= 0x300 && character <= 0x36F;
}

}  // namespace stationer::print
