// ECMA-48 (5th edition, 1991) for printing devices: control sequences that move, space, style and
// align text, on pages that are struck in any order. print/ecma48_parser.h has the grammar.
//
//   BS HT LF VT FF CR  8.3.5, .60, .74, .161, .51, .15   LF, VT and FF keep the column, unless the
//                                                        rules say that feeds return
//   NEL RI             8.3.86, .104     the next line from its beginning; a line up
//   PLD PLU            8.3.92, .93      half a line down or up, in small: subscript, superscript
//   HPA HPB HPR HVP    8.3.57-.59, .63  to a column; so many back, on; to a line and column
//   VPA VPB VPR        8.3.158-.160     to a line; so many up, down
//   CUP CHA CUU CUD CUF CUB CNL CPL CHT CBT CVT          the same by the names for screens
//   HTS VTS TBC        8.3.62, .162, .154  tabulation stops; at first one every eight columns
//   REP                8.3.103          the last character again
//   SGR                8.3.117          styles and colours. Each adds to those before, as is usual;
//                                       after RM 21 it replaces them, as 7.2.8 has it
//   SPI SLS SCS        8.3.132, .124, .112  spacings in units of SSU (8.3.139)
//   SHS SVS            8.3.118, .149    spacings by number
//   GSS GSM            8.3.56, .55      the size of characters; their width also moves the next
//   SLH SLL SPH SPL    8.3.122, .123, .131, .133  margins, by column and line
//   PFS                8.3.91           margins as a sheet has them that is not larger
//   QUAD               8.3.102          print/quad.h
//   RIS                8.3.105          all as at first, from the line's beginning
//
// The standard's numbers of parameters count from 1. A function without a meaning on paper that the
// standard has does nothing (SPQR, blinking); one that it hasn't, or that belongs to screens, is
// counted as unknown. What the standard leaves open is as in plain text (print/plain_text.h): lines
// that are full wrap, a line feed at the foot begins a page.
//
// Bytes 80-9F are control codes but in character sets that have letters there.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "print/charset.h"
#include "print/ecma48_parser.h"
#include "print/interpreter.h"
#include "print/layout.h"
#include "print/page_gate.h"
#include "print/plain_text.h"
#include "print/quad.h"
#include "print/strikes.h"

namespace stationer::print {

class Ecma48 final : public Interpreter {
 public:
  Ecma48(const PlainTextRules& rules, const Layout& layout, PageSink sink);

  fs::Status feed(std::string_view bytes) override;
  fs::Status finish() override;
  JobReport report() const override;

 private:
  // What RIS takes back. Lengths are from the text's left and top margins as the form has them.
  struct State {
    Units pitch = 0;
    Units line = 0;
    Units glyph_height = 0;  // 0: as high as the line
    std::uint32_t height_percent = 100;
    std::uint32_t width_percent = 100;
    std::uint32_t size_unit = 0;
    Style style = Style::plain;
    Ink ink = Ink::black;
    Scores scores;
    bool replacing = false;
    bool feed_returns = false;
    int part = 0;  // half lines below the line
    Units home = 0;
    Units limit = 0;
    Units page_home = 0;
    Units page_limit = 0;
    std::vector<Units> columns;  // tabulation stops, sorted
    std::vector<Units> lines;
  };
  State initial() const;

  fs::Status put(std::uint8_t byte);
  fs::Status characters(const Decoder::Characters& decoded);
  fs::Status graphic(char32_t character);
  void strike(char32_t character, Units x);

  // parser_.function(), whose last byte stands before `end`.
  fs::Status function(std::uint64_t end);
  fs::Status code(std::uint8_t code);
  fs::Status sequence();
  void sizes(unsigned which);
  void margins(unsigned which);
  void unknown();

  // A parameter of the sequence, by its place from 0.
  std::uint32_t number(std::size_t place = 0, std::uint32_t otherwise = 1) const {
    return parser_.parameter(place, otherwise);
  }
  // So many spacings, no more than any sheet has room for.
  static Units spacings(std::uint32_t number, Units spacing);

  void to_column(Units x);
  void to_line(Units y);
  fs::Status feed_lines(std::uint32_t number);
  fs::Status begin_page(fs::Status status);
  void tab();
  void tab_back();
  fs::Status tab_down();
  void clear_tabs(std::uint32_t which);
  fs::Status repeat(std::uint32_t times);
  void part_line(int half_lines);
  void renditions();
  bool render(std::uint32_t rendition);
  void set_modes(bool on);
  void quad(std::uint32_t how);
  void set_sheet(std::uint32_t choice);

  Units pitch() const;
  CellSize cell() const;
  Units lowest() const;
  const Page& struck();

  const PlainTextRules rules_;
  const Layout layout_;
  PageGate gate_;
  Decoder decoder_;
  Ecma48Parser parser_;
  std::uint64_t offset_ = 0;  // of the byte being read
  std::uint64_t begun_ = 0;   // where the function stands that is being obeyed
  JobReport report_;

  State state_;
  Units x_ = 0;
  Units y_ = 0;
  Units last_x_ = 0;  // of the last character struck
  char32_t last_ = 0;
  QuadText text_;
  Strikes strikes_;
  Page page_;
  bool ended_ = false;  // by SUB
};

}  // namespace stationer::print
