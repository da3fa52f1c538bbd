// What the commands of a dot-matrix printer set: all those that neither print nor move.
//
// ESC/P Reference Manual (1997) and the printers' own manuals, as at each command in the corpus of
// tests/golden/print.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "print/dot_codes.h"
#include "print/dot_form.h"
#include "print/dot_sets.h"
#include "print/dot_type.h"
#include "print/layout.h"

namespace stationer::print {

// How the printer's switches are set.
struct DotRules {
  DotTable table = DotTable::cp437;
  std::uint8_t national = 0;         // as ESC R has it
  bool return_feeds = false;         // CR also feeds a line
  bool seven_bits = false;           // as after ESC =
  bool near_letter_quality = false;  // what ESC x chooses
  bool drop_neighbours = false;      // in the densest images leave out the second of two dots side
                                     // by side, which a real head is too slow for
  // How far below the form's top the paper was loaded: on a sheet that begins with its first line,
  // as fanfold does, letters would else stand out of it.
  Units lowered = 0;
  std::uint64_t most_pages = 1000;
};

enum class Justify : std::uint8_t { left, centre, right, full };

class DotSettings {
 public:
  // `form` is what `layout` was made of.
  DotSettings(Pins pins, const DotRules& rules, const Form& form, const Layout& layout);

  // As when switched on, but for the paper, which stays where it is and begins a form there.
  void reset();

  // False for what there is none of, which changes nothing.
  bool set(const DotCommand& command);

  // 1/120 inch, or 1/180 when 24 pins write their best: the unit of ESC SP and ESC \.
  Units small_unit() const;
  // What ESC ( U has set, or a command's own.
  Units unit_or(Units own) const { return unit_ != 0 ? unit_ : own; }

  // Whether 80-9F are control codes: unless ESC 6 or 7 says which, with the italic table only.
  bool upper_controls() const;

  // The next tab from a place, both from the left margin; 0 when there is none.
  Units next_tab(Units from) const;

  DotType type;
  DotSets sets;
  DotForm form;
  Justify justify = Justify::left;
  Units left = 0;  // margins, from where the head is at home
  Units right = 0;
  bool unused_print = false;   // ESC I: control codes without a meaning print
  bool use_downloads = false;  // ESC %

 private:
  bool set_type(const DotCommand& command);
  bool set_paper(const DotCommand& command);
  bool set_across(const DotCommand& command);
  bool set_sets(const DotCommand& command);
  void clear_tabs();

  const Pins pins_;
  const DotRules rules_;
  const Units pitch_;
  const Units width_;

  enum class Upper : std::uint8_t { as_table, controls, characters };
  Upper upper_ = Upper::as_table;
  std::vector<Units> tabs_;  // from the left margin
  bool own_tabs_ = false;    // ESC D was given; else every eighth column
  Units tab_step_ = 0;       // ESC e
  Units unit_ = 0;           // ESC ( U; 0: each command's own
};

}  // namespace stationer::print
