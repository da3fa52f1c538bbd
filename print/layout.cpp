#include "print/layout.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "print/choice.h"

namespace stationer::print {
namespace {

struct Spacing {
  std::string_view name;
  Units units;
};

// "17.14" is the trade's way to write 120/7, a 10-pitch character squeezed to 7/12.
constexpr std::array<Spacing, 7> pitches = {{{"5", inches(1, 5)},
                                             {"6", inches(1, 6)},
                                             {"10", inches(1, 10)},
                                             {"12", inches(1, 12)},
                                             {"15", inches(1, 15)},
                                             {"17.14", inches(7, 120)},
                                             {"20", inches(1, 20)}}};
constexpr std::array<Spacing, 2> line_spacings = {{{"6", inches(1, 6)}, {"8", inches(1, 8)}}};

fs::Result<Units> find_spacing(std::span<const Spacing> spacings, std::string_view name,
                               std::string_view kind) {
  const fs::Result<Spacing> found = choose(spacings, name, kind);
  if (!found) return found.error();
  return found->units;
}

std::string_view name_of(std::span<const Spacing> spacings, Units units) {
  for (const Spacing& spacing : spacings) {
    if (spacing.units == units) return spacing.name;
  }
  return {};
}

double in_inches(Units length) {
  return static_cast<double>(length) / units_per_inch;
}

double an_inch(Units spacing) {
  return units_per_inch / static_cast<double>(spacing);
}

fs::Error misfit(std::string message) {
  return {fs::Code::bad_input, std::move(message)};
}

bool sensible(int number) {
  return number >= 0 && number <= most_in_form;
}

}  // namespace

void turn(Form& form, bool landscape) {
  if (form.landscape == landscape) return;
  form.landscape = landscape;
  form.columns = 0;
  form.lines = 0;
  form.left.reset();
  form.top.reset();
}

Paper paper_of(const Form& form) {
  return form.landscape ? turned(form.paper) : form.paper;
}

fs::Result<Layout> lay_out(const Form& form) {
  if (form.pitch <= 0 || form.line <= 0 || !sensible(form.columns) || !sensible(form.lines) ||
      !sensible(form.skip) || !sensible(form.left.value_or(0)) || !sensible(form.top.value_or(0))) {
    return misfit(fmt::format("The form's columns, lines and margins must be numbers from 0 to {}.",
                              most_in_form));
  }
  Layout layout;
  layout.cell = {form.pitch, form.line};

  if (form.landscape && form.paper.strip > 0) {
    return misfit(fmt::format("The paper {} ({}) can't be turned: its strips lie where they are.",
                              form.paper.name, form.paper.title));
  }
  const Paper paper = paper_of(form);
  const Units strip = units(paper.strip);
  const Units right = units(paper.width - paper.strip);
  const int most_columns = columns_on(paper, form.pitch);
  layout.columns = form.columns != 0 ? form.columns : most_columns - form.left.value_or(0);
  const int centred = (strip + right - layout.columns * form.pitch) / 2 / form.pitch;
  layout.left =
      form.left.value_or(std::max(centred, first_column_on(paper, form.pitch))) * form.pitch;
  if (layout.columns < 1 || layout.left < strip || layout.column(layout.columns) > right) {
    return misfit(fmt::format(
        "{} columns at {:.4g} to the inch, beginning {:.4g} in from the left edge, don't fit on "
        "the "
        "paper {} ({}): it can be printed on from {:.4g} to {:.4g} in. Take fewer columns, more to "
        "the inch, or wider paper.",
        layout.columns, an_inch(form.pitch), in_inches(layout.left), paper.name, paper.title,
        in_inches(strip), in_inches(right)));
  }

  const int most_lines = lines_on(paper, form.line);
  const int lines = form.lines != 0 ? form.lines : most_lines - form.top.value_or(0);
  const Units free_height = units(paper.height) - lines * form.line;
  layout.top = form.top ? *form.top * form.line : free_height / 2;
  layout.lines = lines - form.skip;
  if (layout.lines < 1 || layout.top < 0 || layout.top > free_height) {
    return misfit(fmt::format(
        "A form of {} lines at {:.4g} to the inch, {} of them skipped, beginning {:.4g} in from "
        "the "
        "top edge, doesn't fit on the paper {} ({}). Take fewer lines, more to the inch, or longer "
        "paper.",
        lines, an_inch(form.line), form.skip, in_inches(layout.top), paper.name, paper.title));
  }
  return layout;
}

fs::Result<Units> find_pitch(std::string_view characters_an_inch) {
  return find_spacing(pitches, characters_an_inch, "number of characters an inch");
}

fs::Result<Units> find_line_spacing(std::string_view lines_an_inch) {
  return find_spacing(line_spacings, lines_an_inch, "number of lines an inch");
}

std::string_view name_of_pitch(Units pitch) {
  return name_of(pitches, pitch);
}

std::string_view name_of_line_spacing(Units line) {
  return name_of(line_spacings, line);
}

}  // namespace stationer::print
