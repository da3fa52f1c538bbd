// The escape codes of dot-matrix printers to pages, for heads of 9 and of 24 pins.
//
// The reference is the ESC/P Reference Manual (1997) with the manuals of the printers themselves;
// print/dot_codes.h cuts the bytes into commands; what they set is print/dot_settings.h's, and the
// line before it is printed print/dot_line.h's. Where sources differ:
//
//   LF           to the left margin, as C-27 has it
//   ESC \        leftward from 65536 (the printers' manuals) as well as from 32768
//   ESC e, f     0 across, 1 down
//   80-9F        control codes with the italic table, characters with the others, unless ESC 6 or 7
//                says which
//   full line    the next character goes to the next line, as with CR LF
//   pages        as print/page_gate.h has them
//
// What this printer doesn't have is counted with its place and has no effect. Commands that only
// move the head differently, or sound, have none either: ESC U s i < 8 9 k, BEL.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "print/dot_codes.h"
#include "print/dot_downloads.h"
#include "print/dot_image.h"
#include "print/dot_line.h"
#include "print/dot_settings.h"
#include "print/interpreter.h"
#include "print/layout.h"
#include "print/page_gate.h"
#include "print/raster.h"
#include "print/strikes.h"

namespace stationer::print {

class DotMatrix final : public Interpreter {
 public:
  // `form` is what `layout` was made of.
  DotMatrix(Pins pins, const DotRules& rules, const Form& form, const Layout& layout,
            PageSink sink);

  fs::Status feed(std::string_view bytes) override;
  fs::Status finish() override;
  JobReport report() const override;

 private:
  fs::Status put(DotCodes::What what);
  fs::Status command(const DotCommand& command);
  fs::Status control(unsigned code);
  bool set(const DotCommand& command);
  void reset();
  void tell_codes();

  fs::Status print(std::uint8_t code);
  fs::Status wrap();
  void end_line();
  void flush(std::span<const LineItem> items);
  void return_head();
  fs::Status feed_paper(Units distance);
  fs::Status feed_line();
  fs::Status feed_form();
  fs::Status begin_page(fs::Status status);
  void finish_page();

  fs::Status move_down(const DotCommand& command);
  void begin_data(const DotCommand& command);
  void data(std::uint8_t byte, unsigned times);
  void strike_image();
  void tab();
  fs::Status vertical_tab();
  void backspace();
  void delete_last();
  bool move_to(Units x);
  void move_along(Units distance);

  Units needles() const;
  // Of a downloaded character that stands for the code now.
  std::optional<std::uint8_t> download_of(std::uint8_t code) const;

  const Pins pins_;
  const DotRules rules_;
  const Units left_;  // of the layout, where the head is at home
  PageGate gate_;
  DotCodes codes_;
  JobReport report_;

  DotSettings now_;
  DotLine line_;
  Units x_ = 0;  // of the head, from left_

  DotImage image_;
  bool downloading_ = false;  // what data belongs to; else to the image
  Units image_x_ = 0;         // where the last image began
  bool after_image_ = false;  // nothing has been printed or moved since
  Units image_across_ = 0;    // how far the head moves by it
  bool drop_neighbours_ = false;
  DotDownloads downloads_;

  Strikes strikes_;
  Raster raster_;
  Page page_;
};

}  // namespace stationer::print
