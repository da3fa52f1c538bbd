#include "print/font_subset.h"

#include <atomic>
#include <cmath>
#include <mutex>

#include <fmt/format.h>
#include <hb-ot.h>
#include <hb-subset.h>
#include <hb.h>

namespace stationer::print {
namespace {

template <class T, void (*destroy)(T*)>
struct Destroy {
  void operator()(T* object) const { destroy(object); }
};
template <class T, void (*destroy)(T*)>
using Owned = std::unique_ptr<T, Destroy<T, destroy>>;

using Blob = Owned<hb_blob_t, hb_blob_destroy>;
using Face = Owned<hb_face_t, hb_face_destroy>;
using Font = Owned<hb_font_t, hb_font_destroy>;
using Input = Owned<hb_subset_input_t, hb_subset_input_destroy>;
using Plan = Owned<hb_subset_plan_t, hb_subset_plan_destroy>;
using Characters = Owned<hb_set_t, hb_set_destroy>;
using DrawFunctions = Owned<hb_draw_funcs_t, hb_draw_funcs_destroy>;

// What a TrueType program in a PDF doesn't need (ISO 32000-1 section 9.9): layout, names, the map
// from characters, which PDF makes itself.
constexpr hb_tag_t unneeded[] = {HB_TAG('G', 'S', 'U', 'B'), HB_TAG('G', 'P', 'O', 'S'),
                                 HB_TAG('G', 'D', 'E', 'F'), HB_TAG('M', 'A', 'T', 'H'),
                                 HB_TAG('O', 'S', '/', '2'), HB_TAG('c', 'm', 'a', 'p'),
                                 HB_TAG('g', 'a', 's', 'p'), HB_TAG('n', 'a', 'm', 'e'),
                                 HB_TAG('p', 'o', 's', 't'), HB_TAG('F', 'F', 'T', 'M')};

fs::Error unusable(const std::string& path, std::string_view why) {
  return {fs::Code::io,
          fmt::format("The font {} can't be used: {}. Printouts are set in it; install Debian's "
                      "package fonts-dejavu-core.",
                      path, why)};
}

// The outline as PDF's path operators, in whole thousandths. Its curves are cubic.
class Operators final : public Pen {
 public:
  void move(double x, double y) override {
    point(x, y);
    text += "m\n";
    at(x, y);
  }
  void line(double x, double y) override {
    point(x, y);
    text += "l\n";
    at(x, y);
  }
  void curve(double control_x, double control_y, double x, double y) override {
    point(x_ + (control_x - x_) * 2 / 3, y_ + (control_y - y_) * 2 / 3);
    point(x + (control_x - x) * 2 / 3, y + (control_y - y) * 2 / 3);
    point(x, y);
    text += "c\n";
    at(x, y);
  }
  void close() override { text += "h\n"; }

  std::string text;

 private:
  void point(double x, double y) {
    fmt::format_to(std::back_inserter(text), "{} {} ", std::lround(x), std::lround(y));
  }
  void at(double x, double y) {
    x_ = x;
    y_ = y;
  }

  double x_ = 0;
  double y_ = 0;
};

// HarfBuzz's drawing callbacks, in the font's units.
struct Drawing {
  Pen& pen;
  double scale;

  static Drawing& of(void* data) { return *static_cast<Drawing*>(data); }

  static void move(hb_draw_funcs_t*, void* data, hb_draw_state_t*, float x, float y, void*) {
    const Drawing& to = of(data);
    to.pen.move(x * to.scale, y * to.scale);
  }
  static void line(hb_draw_funcs_t*, void* data, hb_draw_state_t*, float x, float y, void*) {
    const Drawing& to = of(data);
    to.pen.line(x * to.scale, y * to.scale);
  }
  static void curve(hb_draw_funcs_t*, void* data, hb_draw_state_t*, float control_x,
                    float control_y, float x, float y, void*) {
    const Drawing& to = of(data);
    to.pen.curve(control_x * to.scale, control_y * to.scale, x * to.scale, y * to.scale);
  }
  static void close(hb_draw_funcs_t*, void* data, hb_draw_state_t*, void*) { of(data).pen.close(); }
};

}  // namespace

struct Typeface::State {
  Face face;
  Font font;
  double to_thousandths = 1;

  // Subsetting from a prepared face takes a tenth of the time, preparing it fifteen times as long.
  // So the first job does without, and a service that prints again has it from then on.
  std::atomic<bool> used = false;
  std::once_flag prepared_once;
  Face prepared;

  hb_face_t* source() {
    if (!used.exchange(true)) return face.get();
    std::call_once(prepared_once, [this] { prepared.reset(hb_subset_preprocess(face.get())); });
    return prepared.get();
  }

  int thousandths(double units) const {
    return static_cast<int>(std::lround(units * to_thousandths));
  }
  hb_glyph_extents_t extents(Glyph glyph) const {
    hb_glyph_extents_t extents{};
    hb_font_get_glyph_extents(font.get(), glyph, &extents);
    return extents;
  }
};

void Typeface::Free::operator()(State* state) const {
  delete state;
}

fs::Result<Typeface> Typeface::load(const std::string& path) {
  const Blob blob(hb_blob_create_from_file_or_fail(path.c_str()));
  if (!blob) return unusable(path, "it isn't there or can't be read");

  Typeface typeface;
  typeface.state_.reset(new State);
  State& state = *typeface.state_;
  state.face.reset(hb_face_create(blob.get(), 0));
  const Blob shapes(hb_face_reference_table(state.face.get(), HB_TAG('g', 'l', 'y', 'f')));
  if (hb_blob_get_length(shapes.get()) == 0) {
    return unusable(path, "it isn't a TrueType font");
  }
  hb_face_make_immutable(state.face.get());
  state.font.reset(hb_font_create(state.face.get()));
  hb_font_make_immutable(state.font.get());
  state.to_thousandths = 1000.0 / hb_face_get_upem(state.face.get());

  const auto glyph_of = [&](char32_t character) { return typeface.glyph(character); };
  const int advance = hb_font_get_glyph_h_advance(state.font.get(), glyph_of(U'M'));
  const Characters characters(hb_set_create());
  hb_face_collect_unicodes(state.face.get(), characters.get());
  hb_codepoint_t character = HB_SET_VALUE_INVALID;
  while (hb_set_next(characters.get(), &character)) {
    if (hb_font_get_glyph_h_advance(state.font.get(), glyph_of(character)) != advance) {
      return unusable(path, "its characters aren't all of one width");
    }
  }

  char name[128];
  unsigned length = sizeof name;
  hb_ot_name_get_utf8(state.face.get(), HB_OT_NAME_ID_POSTSCRIPT_NAME, HB_LANGUAGE_INVALID, &length,
                      name);
  typeface.name_.assign(name, length);

  hb_font_extents_t line{};
  hb_font_get_h_extents(state.font.get(), &line);
  const hb_glyph_extents_t block = state.extents(glyph_of(U'\u2588'));
  const hb_glyph_extents_t capital = state.extents(glyph_of(U'H'));
  const hb_glyph_extents_t riser = state.extents(glyph_of(U'b'));
  const hb_glyph_extents_t hanger = state.extents(glyph_of(U'p'));
  const hb_glyph_extents_t stem = state.extents(glyph_of(U'|'));
  Metrics& metrics = typeface.metrics_;
  metrics.advance = state.thousandths(advance);
  metrics.ascent = state.thousandths(line.ascender);
  metrics.descent = state.thousandths(line.descender);
  metrics.cap_height = state.thousandths(capital.y_bearing);
  metrics.stem = state.thousandths(stem.width);
  metrics.block_height = state.thousandths(-block.height);
  metrics.block_bottom = state.thousandths(block.y_bearing + block.height);
  metrics.letter_height = state.thousandths(riser.y_bearing - (hanger.y_bearing + hanger.height));

  const Blob head(hb_face_reference_table(state.face.get(), HB_TAG('h', 'e', 'a', 'd')));
  unsigned head_size = 0;
  const char* head_data = hb_blob_get_data(head.get(), &head_size);
  if (head_size < 44) return unusable(path, "its head table is cut short");
  const auto box = [&](unsigned offset) {
    const auto high = static_cast<std::uint8_t>(head_data[offset]);
    const auto low = static_cast<std::uint8_t>(head_data[offset + 1]);
    return state.thousandths(static_cast<std::int16_t>(high << 8 | low));
  };
  metrics.left = box(36);
  metrics.bottom = box(38);
  metrics.right = box(40);
  metrics.top = box(42);
  return typeface;
}

Glyph Typeface::glyph(char32_t character) const {
  hb_codepoint_t glyph = 0;
  hb_font_get_nominal_glyph(state_->font.get(), character, &glyph);
  return glyph;
}

Subset Typeface::subset(std::span<const Glyph> glyphs) const {
  const Input input(hb_subset_input_create_or_fail());
  if (!input) throw std::bad_alloc();
  hb_subset_input_set_flags(input.get(), HB_SUBSET_FLAGS_NO_HINTING);
  for (const Glyph glyph : glyphs) hb_set_add(hb_subset_input_glyph_set(input.get()), glyph);
  hb_set_t* dropped = hb_subset_input_set(input.get(), HB_SUBSET_SETS_DROP_TABLE_TAG);
  for (const hb_tag_t table : unneeded) hb_set_add(dropped, table);

  const Plan plan(hb_subset_plan_create_or_fail(state_->source(), input.get()));
  if (!plan) throw std::bad_alloc();
  const Face face(hb_subset_plan_execute_or_fail(plan.get()));
  if (!face) throw std::bad_alloc();
  const Blob blob(hb_face_reference_blob(face.get()));

  Subset out;
  unsigned size = 0;
  const char* data = hb_blob_get_data(blob.get(), &size);
  out.program.assign(data, size);
  const hb_map_t* numbers = hb_subset_plan_old_to_new_glyph_mapping(plan.get());
  out.new_glyphs.reserve(glyphs.size());
  for (const Glyph glyph : glyphs) out.new_glyphs.push_back(hb_map_get(numbers, glyph));
  return out;
}

void Typeface::draw(Glyph glyph, Pen& pen) const {
  static const DrawFunctions functions = [] {
    DrawFunctions made(hb_draw_funcs_create());
    hb_draw_funcs_set_move_to_func(made.get(), Drawing::move, nullptr, nullptr);
    hb_draw_funcs_set_line_to_func(made.get(), Drawing::line, nullptr, nullptr);
    hb_draw_funcs_set_quadratic_to_func(made.get(), Drawing::curve, nullptr, nullptr);
    hb_draw_funcs_set_close_path_func(made.get(), Drawing::close, nullptr, nullptr);
    hb_draw_funcs_make_immutable(made.get());
    return made;
  }();
  Drawing drawing{pen, state_->to_thousandths};
  hb_font_get_glyph_shape(state_->font.get(), glyph, functions.get(), &drawing);
}

std::string Typeface::outline(Glyph glyph) const {
  Operators operators;
  draw(glyph, operators);
  return operators.text;
}

fs::Result<Fonts> Fonts::load(const std::string& directory) {
  fs::Result<Typeface> regular = Typeface::load(directory + "/DejaVuSansMono.ttf");
  if (!regular) return regular.error();
  fs::Result<Typeface> bold = Typeface::load(directory + "/DejaVuSansMono-Bold.ttf");
  if (!bold) return bold.error();
  return Fonts{std::move(*regular), std::move(*bold)};
}

std::string Fonts::default_directory() {
  return STATIONER_FONT_DIRECTORY;
}

}  // namespace stationer::print
