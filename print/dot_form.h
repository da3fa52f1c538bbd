// How a dot-matrix printer's paper stands: the form, its margins, its vertical tabs, and how far
// down the head is. Lengths are in u from the top of the page that is being printed.
//
// A form that is longer than the sheet goes on on the next one, as paper does. One that is not, but
// was begun further down, ends with the sheet.
//
// ESC/P Reference Manual (1997) C-12, C-14, C-17 (margins and lengths), C-46 (vertical tabs).
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "print/units.h"

namespace stationer::print {

// What is loaded, and how the printer is switched.
struct LoadedForm {
  Units sheet = 0;   // the length of the paper
  Units top = 0;     // from the paper's edge to the form, if the form fits so
  Units length = 0;  // of the form
  Units skip = 0;    // left free at its foot
  Units line = inches(1, 6);
};

class DotForm {
 public:
  static constexpr unsigned channels = 8;
  static constexpr std::size_t most_tabs = 16;
  static constexpr Units longest = inches(22);

  explicit DotForm(const LoadedForm& loaded);

  // ESC @: as loaded, the form beginning where the head is.
  void reset();

  Units y() const { return y_; }
  // From the sheet's edge to the page's top.
  Units top() const { return top_; }
  Units line() const { return line_; }
  void set_line(Units line) { line_ = line; }

  // Each of these false when it can't be so, and nothing has changed.
  bool set_length(Units length);              // the form begins here, and nothing is skipped
  bool set_skip(Units skip);                  // from the form's end
  bool set_margins(Units top, Units bottom);  // both from the form's top
  void clear_skip() { skip_ = 0; }

  // Moves down, or up as far as the page's top. How many pages end by it.
  unsigned move(Units distance);
  // To the top of the next form.
  void begin_form();

  // A place on this form, from its top margin.
  Units place(Units from_margin) const { return start_ + margin_ + from_margin; }

  // Tabs are from the form's top; a place below the head's is looked for.
  void set_tabs(unsigned channel, std::span<const Units> tabs);
  void set_tab_step(Units step);
  void choose_channel(unsigned channel) { channel_ = channel; }
  enum class Tabs : std::uint8_t { never_set, none, some };
  Tabs tabs() const;
  std::optional<Units> next_tab() const;  // none when it's not on this form

 private:
  // Where printing on this form ends.
  Units bottom() const;
  void fit();

  const LoadedForm loaded_;
  Units top_ = 0;
  Units y_ = 0;
  Units start_ = 0;  // of the form: below the page's top, or above it on its second sheet
  Units length_ = 0;
  Units margin_ = 0;  // at the form's top
  Units skip_ = 0;    // at its foot
  Units line_ = 0;

  struct Channel {
    std::array<Units, most_tabs> tabs{};
    std::size_t count = 0;
    bool set = false;
  };
  std::array<Channel, channels> tabs_{};
  unsigned channel_ = 0;
  Units tab_step_ = 0;
};

}  // namespace stationer::print
