// Fonts: which glyphs a typeface has, their shapes, and cutting it down to the glyphs a printout
// uses. The only place that knows HarfBuzz.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fs/result.h"

namespace stationer::print {

using Glyph = std::uint32_t;  // by its number in the whole typeface; 0 is "no such glyph"

// In thousandths of the em, as PDF wants them (ISO 32000-1 section 9.8), y upward from the
// baseline.
struct Metrics {
  int advance = 0;  // of every glyph: the typeface is monospaced
  int ascent = 0;
  int descent = 0;  // negative
  int cap_height = 0;
  int stem = 0;
  int left = 0;  // the box around all glyphs
  int bottom = 0;
  int right = 0;
  int top = 0;
  // How far letters reach (b and p), and how far the full block does, which has to join with the
  // one on the next line.
  int letter_height = 0;
  int block_height = 0;
  int block_bottom = 0;
};

// Takes a glyph's outline, in thousandths of the em.
class Pen {
 public:
  virtual ~Pen() = default;
  virtual void move(double x, double y) = 0;
  virtual void line(double x, double y) = 0;
  // TrueType's curves: quadratic, from where the pen is.
  virtual void curve(double control_x, double control_y, double x, double y) = 0;
  virtual void close() = 0;
};

// A typeface cut down. The same glyphs give the same bytes.
struct Subset {
  std::string program;            // a TrueType font program with the tables PDF needs, no hints
  std::vector<Glyph> new_glyphs;  // for each of those asked for, its number in the program
};

// May be used from several threads at once.
class Typeface {
 public:
  // Code::io when there is no usable TrueType font with one advance for all at `path`; the sentence
  // names the package to install.
  static fs::Result<Typeface> load(const std::string& path);

  const std::string& name() const { return name_; }  // its PostScript name
  const Metrics& metrics() const { return metrics_; }

  Glyph glyph(char32_t character) const;  // 0 when it has none

  Subset subset(std::span<const Glyph> glyphs) const;

  void draw(Glyph glyph, Pen& pen) const;

  // The outline as PDF path operators in thousandths of the em, without the one that paints.
  std::string outline(Glyph glyph) const;

 private:
  struct State;
  struct Free {
    void operator()(State* state) const;
  };
  std::unique_ptr<State, Free> state_;
  std::string name_;
  Metrics metrics_;
};

// The two faces printouts are set in. Italics are the same, slanted (README.md tells why).
struct Fonts {
  Typeface regular;
  Typeface bold;

  // DejaVu Sans Mono from `directory`.
  static fs::Result<Fonts> load(const std::string& directory = default_directory());

  // Where Debian's fonts-dejavu-core keeps it.
  static std::string default_directory();
};

}  // namespace stationer::print
