// A list that fills the screen, in which one goes up and down and chooses: for terminals that can
// put the cursor anywhere. Pure: what is typed goes in, what is to be sent comes out.
//
//   one row up, down          CUU, CUD as cursor keys send them (ECMA-48 §8.3.22, §8.3.19), also
//                             with SS3 in front; - and + for keyboards without
//   one screen up, down       CSI 5 ~ and CSI 6 ~ (common practice, no source); < and >
//   choose                    Enter, or one of the letters that the list has
//   leave                     q, or ETX (Ctrl-C)
//   draw anew                 FF (Ctrl-L) or DC2 (Ctrl-R)
//
// The row that is chosen has a > before it, and negative image where the screen knows it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/protocol/encoder.h"
#include "server/protocol/text_out.h"

namespace stationer::server {

// Puts the cursor as far down and right as it goes, and asks where it is: CUP, then DSR 6 (ECMA-48
// §8.3.21, §8.3.35).
std::string_view where_is_the_corner();
struct ScreenSize {
  int columns = 0;
  int rows = 0;
};
// The answer, CPR (ECMA-48 §8.3.14), among what came; nothing while it is not there whole.
std::optional<ScreenSize> corner_in(std::string_view heard);

class Chooser {
 public:
  static constexpr int least_rows = 4;  // title, two of the list, keys

  struct Row {
    std::string left;   // UTF-8; cut when it does not fit
    std::string right;  // stands at the right edge, when there is room for both
  };
  struct List {
    std::string title;
    std::vector<Row> rows;
    std::string actions;  // small letters that choose too
    std::string keys;     // what the last row says about them
  };
  // Of what is chosen: the row, and Enter (CR) or the letter. Nothing of an empty list but leaving.
  struct Choice {
    static constexpr char enter = '\r';
    static constexpr char leave = 'q';
    std::size_t row = 0;
    char action = leave;
  };
  struct Step {
    std::size_t used = 0;  // bytes of the input taken; the rest is for after the choice
    std::string send;
    std::optional<Choice> choice;
  };

  // `at`: the row to begin with.
  Chooser(const Screen& screen, ScreenSize size, List list, std::size_t at = 0);

  std::string draw() const;
  // The screen without the list, the cursor at its top.
  static std::string_view clear();
  Step feed(std::string_view typed);

 private:
  enum class Escape : std::uint8_t { none, started, single, sequence };

  void key(char byte, Step& step);
  void sequence_end(char final, Step& step);
  void go(std::size_t to, Step& step);
  void by_rows(std::ptrdiff_t rows, Step& step);
  std::string row_bytes(std::size_t row) const;
  std::string rows_bytes() const;
  std::string line(std::string_view left, std::string_view right, int width) const;
  std::size_t shown_rows() const { return static_cast<std::size_t>(size_.rows - 2); }

  Encoder encoder_;
  ScreenSize size_;
  List list_;
  std::size_t at_ = 0;
  std::size_t top_ = 0;
  Escape escape_ = Escape::none;
  std::string parameters_;
};

}  // namespace stationer::server
