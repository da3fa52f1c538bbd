#include "tests/bench/pdf_ways.h"

#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <stdexcept>

#include <libdeflate.h>

#include "print/pdf_writer.h"
#include "print/profile.h"
#include "print/raster.h"
#include "print/render.h"
#include "tests/support/temp_folder.h"

#ifdef STATIONER_BENCH_ZLIB
#include <zlib.h>
#endif
#ifdef STATIONER_BENCH_CAIRO
#include <cairo-pdf.h>
#endif
#ifdef STATIONER_BENCH_HARU
#include <hpdf.h>
#endif

namespace stationer::bench {
namespace {

constexpr double page_width = 595.28;
constexpr double page_height = 841.89;

// Calls use(line, number) for each line, and end_page() after each page.
template <class Use, class End>
void each_line(std::string_view text, Use use, End end_page) {
  int number = 0;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    use(text.substr(0, end), number);
    text.remove_prefix(end + 1);
    if (++number == 66) {
      end_page();
      number = 0;
    }
  }
  if (number != 0) end_page();
}

// A stretch of a line in one style.
struct Stretch {
  std::string text;
  bool bold = false;
  bool underlined = false;
};

// Takes a line's strikes apart: c BS c is bold, _ BS c underlined.
void take_apart(std::string_view line, std::vector<Stretch>& out) {
  out.clear();
  for (std::size_t at = 0; at < line.size();) {
    const bool struck = at + 2 < line.size() && line[at + 1] == '\b';
    const bool underlined = struck && line[at] == '_';
    const char character = line[struck ? at + 2 : at];
    at += struck ? 3 : 1;
    const bool bold = struck && !underlined;
    if (out.empty() || out.back().bold != bold || out.back().underlined != underlined) {
      out.push_back({"", bold, underlined});
    }
    out.back().text += character;
  }
}

const print::Fonts& fonts() {
  static const print::Fonts loaded = print::Fonts::load().value();
  return loaded;
}

std::uint64_t by_stationer(const Job& job, print::Look look) {
  std::uint64_t bytes = 0;
  const print::ByteSink sink = [&bytes](std::string_view piece) -> fs::Status {
    bytes += piece.size();
    return {};
  };
  print::Settings settings = print::find_printer_profile("plain-80").value().settings;
  settings.text.most_pages = 1'000'000;
  settings.dress.look = look;
  const print::Metadata about = {"bench", "wren", "", "1", {}};
  if (job.kind == Kind::graphics) {
    print::PdfWriter writer(fonts(), settings.form.paper, about, sink, settings.dress);
    print::Raster raster;
    print::Page page;
    constexpr std::size_t row_bytes = picture_columns / 8;
    constexpr std::size_t band = 8;  // rows, as a head of nine strikes them
    for (int number = 0; number < job.pages; ++number) {
      const auto& picture = job.images[static_cast<std::size_t>(number) % job.images.size()];
      for (std::size_t row = 0; row < picture_rows; row += band) {
        raster.add(print::Image{270, static_cast<print::Units>(400 + 30 * row), 18, 30,
                                picture_columns, band},
                   {picture.data() + row * row_bytes, band * row_bytes});
      }
      raster.give_to(page);
      writer.add(page).value();
      page.clear();
    }
    writer.finish().value();
    return bytes;
  }
  std::string_view text = job.text;
  const print::ByteSource source = [&text](std::span<char> room) -> fs::Result<std::size_t> {
    const std::size_t size = text.copy(room.data(), room.size());
    text.remove_prefix(size);
    return size;
  };
  print::render(source, settings, about, fonts(), sink).value();
  return bytes;
}

// The least that can be called a PDF: page streams of lines or of one image, compressed, in fonts
// that aren't embedded. Whatever does more takes longer.
template <class Compress>
std::uint64_t bare(const Job& job, Compress compress) {
  std::uint64_t bytes = 0;
  std::vector<std::uint64_t> offsets(3);
  std::string content;
  std::string object;
  std::string compressed;
  std::string kids;
  std::vector<Stretch> stretches;
  const auto write = [&](const std::string& text_of_object) {
    offsets.push_back(bytes);
    bytes += text_of_object.size();
  };
  const auto write_stream = [&](std::string_view entries) {
    compress(content, compressed);
    const std::string number = std::to_string(offsets.size());
    object = number + " 0 obj\n<<" + std::string(entries) + "/Filter/FlateDecode/Length " +
             std::to_string(compressed.size()) + ">>\nstream\n" + compressed +
             "\nendstream\nendobj\n";
    write(object);
    content.clear();
    return number;
  };
  const auto end_page = [&](std::string_view more) {
    const std::string number = write_stream("");
    const std::string page = std::to_string(offsets.size());
    write(page + " 0 obj\n<</Type/Page/Parent 2 0 R" + std::string(more) + "/Contents " + number +
          " 0 R>>\nendobj\n");
    kids += page + " 0 R ";
  };
  const auto append_string = [&](std::string_view text) {
    content += '(';
    for (const char character : text) {
      if (character == '(' || character == ')' || character == '\\') content += '\\';
      content += character;
    }
    content += ")Tj\n";
  };
  if (job.kind == Kind::graphics) {
    for (int page = 0; page < job.pages; ++page) {
      const auto& picture = job.images[static_cast<std::size_t>(page) % job.images.size()];
      content.assign(reinterpret_cast<const char*>(picture.data()), picture.size());
      const std::string number = write_stream(
          "/Type/XObject/Subtype/Image/Width 960/Height 792/ImageMask true/BitsPerComponent 1");
      content = "576 0 0 792 9 37 cm /I Do\n";
      end_page("/Resources<</XObject<</I " + number + " 0 R>>>>");
    }
  } else {
    each_line(
        job.text,
        [&](std::string_view line, int number) {
          if (job.kind == Kind::text) {
            content += number == 0 ? "BT /F 12 Tf 12 TL 20 800 Td\n" : "T*\n";
            append_string(line);
            return;
          }
          if (number == 0) content += "BT 12 TL 20 800 Td\n";
          take_apart(line, stretches);
          int column = 0;
          for (const Stretch& stretch : stretches) {
            content += stretch.bold ? "/B 12 Tf\n" : "/F 12 Tf\n";
            append_string(stretch.text);
            if (stretch.underlined) {
              content += std::to_string(20 + 7.2 * column) + " " +
                         std::to_string(798 - 12 * number) + " " +
                         std::to_string(7.2 * static_cast<double>(stretch.text.size())) +
                         " .5 re f\n";
            }
            column += static_cast<int>(stretch.text.size());
          }
          content += "T*\n";
        },
        [&] { end_page(""); });
  }
  write("2 0 obj\n<</Type/Pages/Kids[" + kids + "]>>\nendobj\n");
  return bytes + 20 * offsets.size() + 200;
}

#ifdef STATIONER_BENCH_ZLIB
std::uint64_t bare_zlib(const Job& job) {
  return bare(job, [](const std::string& data, std::string& out) {
    uLongf size = compressBound(data.size());
    out.resize(size);
    compress2(reinterpret_cast<Bytef*>(out.data()), &size,
              reinterpret_cast<const Bytef*>(data.data()), data.size(), 6);
    out.resize(size);
  });
}
#endif

std::uint64_t bare_libdeflate(const Job& job, int level) {
  const std::unique_ptr<libdeflate_compressor, void (*)(libdeflate_compressor*)> compressor(
      libdeflate_alloc_compressor(level), libdeflate_free_compressor);
  return bare(job, [&compressor](const std::string& data, std::string& out) {
    out.resize(libdeflate_zlib_compress_bound(compressor.get(), data.size()));
    out.resize(libdeflate_zlib_compress(compressor.get(), data.data(), data.size(), out.data(),
                                        out.size()));
  });
}

#ifdef STATIONER_BENCH_CAIRO
std::uint64_t by_cairo(const Job& job) {
  std::uint64_t bytes = 0;
  const auto count = [](void* sum, const unsigned char*, unsigned size) {
    *static_cast<std::uint64_t*>(sum) += size;
    return CAIRO_STATUS_SUCCESS;
  };
  cairo_surface_t* surface =
      cairo_pdf_surface_create_for_stream(count, &bytes, page_width, page_height);
  cairo_t* cairo = cairo_create(surface);
  const auto choose = [cairo](bool bold) {
    cairo_select_font_face(cairo, "DejaVu Sans Mono", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  };
  choose(false);
  cairo_set_font_size(cairo, 11.9591);
  if (job.kind == Kind::graphics) {
    for (int page = 0; page < job.pages; ++page) {
      const auto& picture = job.images[static_cast<std::size_t>(page) % job.images.size()];
      cairo_surface_t* mask =
          cairo_image_surface_create(CAIRO_FORMAT_A1, picture_columns, picture_rows);
      const auto stride = static_cast<std::size_t>(cairo_image_surface_get_stride(mask));
      unsigned char* to = cairo_image_surface_get_data(mask);
      for (std::size_t row = 0; row < picture_rows; ++row) {
        for (std::size_t i = 0; i < picture_columns / 8; ++i) {
          // Its lowest bit is the leftmost.
          unsigned byte = picture[row * (picture_columns / 8) + i];
          byte = (byte & 0xF0) >> 4 | (byte & 0x0F) << 4;
          byte = (byte & 0xCC) >> 2 | (byte & 0x33) << 2;
          byte = (byte & 0xAA) >> 1 | (byte & 0x55) << 1;
          to[row * stride + i] = static_cast<unsigned char>(byte);
        }
      }
      cairo_surface_mark_dirty(mask);
      cairo_save(cairo);
      cairo_translate(cairo, 9, 13);
      cairo_scale(cairo, 576.0 / picture_columns, 792.0 / picture_rows);
      cairo_mask_surface(cairo, mask, 0, 0);
      cairo_restore(cairo);
      cairo_show_page(cairo);
      cairo_surface_destroy(mask);
    }
  } else {
    std::string line_text;
    std::vector<Stretch> stretches;
    each_line(
        job.text,
        [&](std::string_view line, int number) {
          if (job.kind == Kind::text) {
            line_text = line;
            cairo_move_to(cairo, 7.2, 34 + 12 * number);
            cairo_show_text(cairo, line_text.c_str());
            return;
          }
          take_apart(line, stretches);
          double x = 7.2;
          for (const Stretch& stretch : stretches) {
            choose(stretch.bold);
            cairo_move_to(cairo, x, 34 + 12 * number);
            cairo_show_text(cairo, stretch.text.c_str());
            const double wide = 7.2 * static_cast<double>(stretch.text.size());
            if (stretch.underlined) {
              cairo_rectangle(cairo, x, 36 + 12 * number, wide, .5);
              cairo_fill(cairo);
            }
            x += wide;
          }
        },
        [&] { cairo_show_page(cairo); });
  }
  cairo_destroy(cairo);
  cairo_surface_finish(surface);
  cairo_surface_destroy(surface);
  return bytes;
}
#endif

#ifdef STATIONER_BENCH_HARU
std::uint64_t by_haru(const Job& job) {
  HPDF_Doc document =
      HPDF_New([](HPDF_STATUS error, HPDF_STATUS,
                  void*) { throw std::runtime_error("libharu: " + std::to_string(error)); },
               nullptr);
  HPDF_SetCompressionMode(document, HPDF_COMP_ALL);
  if (job.kind == Kind::graphics) {
    for (int number = 0; number < job.pages; ++number) {
      const auto& picture = job.images[static_cast<std::size_t>(number) % job.images.size()];
      HPDF_Page page = HPDF_AddPage(document);
      HPDF_Image image = HPDF_LoadRawImageFromMem(document, picture.data(), picture_columns,
                                                  picture_rows, HPDF_CS_DEVICE_GRAY, 1);
      HPDF_Page_DrawImage(page, image, 9, 37, 576, 792);
    }
  } else {
    const auto load = [document](const char* file) {
      const std::string path = print::Fonts::default_directory() + file;
      return HPDF_GetFont(document, HPDF_LoadTTFontFromFile(document, path.c_str(), HPDF_TRUE),
                          "WinAnsiEncoding");
    };
    HPDF_Font regular = load("/DejaVuSansMono.ttf");
    HPDF_Font bold = job.kind == Kind::styled ? load("/DejaVuSansMono-Bold.ttf") : regular;
    HPDF_Page page = nullptr;
    std::string line_text;
    std::vector<Stretch> stretches;
    std::vector<std::array<float, 3>> rules;  // of a page, drawn when its text is over
    each_line(
        job.text,
        [&](std::string_view line, int number) {
          if (number == 0) {
            page = HPDF_AddPage(document);
            HPDF_Page_BeginText(page);
            HPDF_Page_SetFontAndSize(page, regular, 11.9591F);
            HPDF_Page_SetTextLeading(page, 12);
            HPDF_Page_MoveTextPos(page, 7.2F, 808);
          }
          if (job.kind == Kind::text) {
            line_text = line;
            HPDF_Page_ShowText(page, line_text.c_str());
          } else {
            take_apart(line, stretches);
            float x = 7.2F;
            for (const Stretch& stretch : stretches) {
              HPDF_Page_SetFontAndSize(page, stretch.bold ? bold : regular, 11.9591F);
              HPDF_Page_ShowText(page, stretch.text.c_str());
              const float wide = 7.2F * static_cast<float>(stretch.text.size());
              if (stretch.underlined)
                rules.push_back({x, 806.0F - 12.0F * static_cast<float>(number), wide});
              x += wide;
            }
          }
          HPDF_Page_MoveToNextLine(page);
        },
        [&] {
          HPDF_Page_EndText(page);
          for (const auto& [x, y, wide] : rules) HPDF_Page_Rectangle(page, x, y, wide, .5F);
          if (!rules.empty()) HPDF_Page_Fill(page);
          rules.clear();
        });
  }
  HPDF_SaveToStream(document);
  const std::uint64_t bytes = HPDF_GetStreamSize(document);
  HPDF_Free(document);
  return bytes;
}
#endif

std::uint64_t by_command(std::string_view text, const std::string& command) {
  const test::TempFolder folder;
  const std::string input = folder / "input.txt";
  const std::string output = folder / "output.pdf";
  std::ofstream(input, std::ios::binary)
      .write(text.data(), static_cast<std::streamsize>(text.size()));
  if (std::system(("cd " + folder.path() + " && " + command + " 2>/dev/null").c_str()) != 0) {
    throw std::runtime_error(command + " failed");
  }
  return static_cast<std::uint64_t>(
      std::ifstream(output, std::ios::binary | std::ios::ate).tellg());
}

bool have(const std::string& program) {
  return std::system(("command -v " + program + " >/dev/null 2>&1").c_str()) == 0;
}

}  // namespace

std::vector<Way> ways(std::vector<std::string>& missing) {
  const std::vector<Kind> all = {Kind::text, Kind::styled, Kind::graphics};
  const std::vector<Kind> texts = {Kind::text, Kind::styled};
  std::vector<Way> out;
  out.push_back(
      {"stationer", [](const Job& job) { return by_stationer(job, print::Look::plain); }, all});
  out.push_back({"stationer, dot look",
                 [](const Job& job) { return by_stationer(job, print::Look::dots); }, all});
#ifdef STATIONER_BENCH_ZLIB
  out.push_back({"bare, zlib level 6", bare_zlib, all});
#else
  missing.emplace_back("bare with zlib (zlib1g-dev)");
#endif
  for (const int level : {1, 3, 6, 9}) {
    out.push_back({"bare, libdeflate level " + std::to_string(level),
                   [level](const Job& job) { return bare_libdeflate(job, level); }, all});
  }
#ifdef STATIONER_BENCH_CAIRO
  out.push_back({"cairo", by_cairo, all});
#else
  missing.emplace_back("cairo (libcairo2-dev)");
#endif
#ifdef STATIONER_BENCH_HARU
  out.push_back({"libharu", by_haru, all});
#else
  missing.emplace_back("libharu (libhpdf-dev)");
#endif
  const bool ps2pdf = have("ps2pdf");
  if (have("enscript") && ps2pdf) {
    out.push_back({"enscript and ps2pdf",
                   [](const Job& job) {
                     return by_command(
                         job.text,
                         "enscript -q -B -L 66 -f Courier@10 -M A4 --margins=20:20:20:20 "
                         "-o output.ps input.txt && ps2pdf output.ps output.pdf");
                   },
                   texts, true});
  } else {
    missing.emplace_back("enscript and ps2pdf (enscript, ghostscript)");
  }
  if (have("paps") && ps2pdf) {
    out.push_back({"paps and ps2pdf",
                   [](const Job& job) {
                     return by_command(job.text,
                                       "paps --paper=A4 --font='DejaVu Sans Mono 9' input.txt "
                                       ">output.ps && ps2pdf output.ps output.pdf");
                   },
                   {Kind::text},
                   true,
                   10});
  } else {
    missing.emplace_back("paps and ps2pdf (paps, ghostscript)");
  }
  return out;
}

}  // namespace stationer::bench
