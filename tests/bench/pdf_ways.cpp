#include "tests/bench/pdf_ways.h"

#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <stdexcept>

#include <libdeflate.h>

#include "print/profile.h"
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

std::uint64_t by_stationer(std::string_view text) {
  static const print::Fonts fonts = print::Fonts::load().value();
  print::Settings settings = print::find_printer_profile("plain-80").value().settings;
  settings.text.most_pages = 1'000'000;
  std::uint64_t bytes = 0;
  const print::ByteSource source = [&text](std::span<char> room) -> fs::Result<std::size_t> {
    const std::size_t size = text.copy(room.data(), room.size());
    text.remove_prefix(size);
    return size;
  };
  const print::ByteSink sink = [&bytes](std::string_view piece) -> fs::Status {
    bytes += piece.size();
    return {};
  };
  print::render(source, settings, {"bench", "wren", "", "1", {}}, fonts, sink).value();
  return bytes;
}

// The least that can be called a PDF: page streams of lines, compressed, in a font that isn't
// embedded. Whatever does more takes longer.
template <class Compress>
std::uint64_t bare(std::string_view text, Compress compress) {
  std::uint64_t bytes = 0;
  std::vector<std::uint64_t> offsets(3);
  std::string content;
  std::string object;
  std::string compressed;
  std::string kids;
  const auto write = [&](const std::string& text_of_object) {
    offsets.push_back(bytes);
    bytes += text_of_object.size();
  };
  each_line(
      text,
      [&](std::string_view line, int number) {
        content += number == 0 ? "BT /F 12 Tf 12 TL 20 800 Td\n(" : "T*\n(";
        for (const char character : line) {
          if (character == '(' || character == ')' || character == '\\') content += '\\';
          content += character;
        }
        content += ")Tj\n";
      },
      [&] {
        compress(content, compressed);
        const std::string number = std::to_string(offsets.size());
        object = number + " 0 obj\n<</Filter/FlateDecode/Length " +
                 std::to_string(compressed.size()) + ">>\nstream\n" + compressed +
                 "\nendstream\nendobj\n";
        write(object);
        const std::string page = std::to_string(offsets.size());
        write(page + " 0 obj\n<</Type/Page/Parent 2 0 R/Contents " + number + " 0 R>>\nendobj\n");
        kids += page + " 0 R ";
        content.clear();
      });
  write("2 0 obj\n<</Type/Pages/Kids[" + kids + "]>>\nendobj\n");
  return bytes + 20 * offsets.size() + 200;
}

#ifdef STATIONER_BENCH_ZLIB
std::uint64_t bare_zlib(std::string_view text) {
  return bare(text, [](const std::string& data, std::string& out) {
    uLongf size = compressBound(data.size());
    out.resize(size);
    compress2(reinterpret_cast<Bytef*>(out.data()), &size,
              reinterpret_cast<const Bytef*>(data.data()), data.size(), 6);
    out.resize(size);
  });
}
#endif

std::uint64_t bare_libdeflate(std::string_view text, int level) {
  const std::unique_ptr<libdeflate_compressor, void (*)(libdeflate_compressor*)> compressor(
      libdeflate_alloc_compressor(level), libdeflate_free_compressor);
  return bare(text, [&compressor](const std::string& data, std::string& out) {
    out.resize(libdeflate_zlib_compress_bound(compressor.get(), data.size()));
    out.resize(libdeflate_zlib_compress(compressor.get(), data.data(), data.size(), out.data(),
                                        out.size()));
  });
}

#ifdef STATIONER_BENCH_CAIRO
std::uint64_t by_cairo(std::string_view text) {
  std::uint64_t bytes = 0;
  const auto count = [](void* sum, const unsigned char*, unsigned size) {
    *static_cast<std::uint64_t*>(sum) += size;
    return CAIRO_STATUS_SUCCESS;
  };
  cairo_surface_t* surface =
      cairo_pdf_surface_create_for_stream(count, &bytes, page_width, page_height);
  cairo_t* cairo = cairo_create(surface);
  cairo_select_font_face(cairo, "DejaVu Sans Mono", CAIRO_FONT_SLANT_NORMAL,
                         CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(cairo, 11.9591);
  std::string line_text;
  each_line(
      text,
      [&](std::string_view line, int number) {
        line_text = line;
        cairo_move_to(cairo, 7.2, 34 + 12 * number);
        cairo_show_text(cairo, line_text.c_str());
      },
      [&] { cairo_show_page(cairo); });
  cairo_destroy(cairo);
  cairo_surface_finish(surface);
  cairo_surface_destroy(surface);
  return bytes;
}
#endif

#ifdef STATIONER_BENCH_HARU
std::uint64_t by_haru(std::string_view text) {
  HPDF_Doc document =
      HPDF_New([](HPDF_STATUS error, HPDF_STATUS,
                  void*) { throw std::runtime_error("libharu: " + std::to_string(error)); },
               nullptr);
  HPDF_SetCompressionMode(document, HPDF_COMP_ALL);
  const std::string path = print::Fonts::default_directory() + "/DejaVuSansMono.ttf";
  const char* name = HPDF_LoadTTFontFromFile(document, path.c_str(), HPDF_TRUE);
  HPDF_Font font = HPDF_GetFont(document, name, "WinAnsiEncoding");
  HPDF_Page page = nullptr;
  std::string line_text;
  each_line(
      text,
      [&](std::string_view line, int number) {
        if (number == 0) {
          page = HPDF_AddPage(document);
          HPDF_Page_BeginText(page);
          HPDF_Page_SetFontAndSize(page, font, 11.9591F);
          HPDF_Page_SetTextLeading(page, 12);
          HPDF_Page_MoveTextPos(page, 7.2F, 808);
        }
        line_text = line;
        HPDF_Page_ShowText(page, line_text.c_str());
        HPDF_Page_MoveToNextLine(page);
      },
      [&] { HPDF_Page_EndText(page); });
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
  std::vector<Way> out;
  out.push_back({"stationer", by_stationer});
#ifdef STATIONER_BENCH_ZLIB
  out.push_back({"bare, zlib level 6", bare_zlib});
#else
  missing.emplace_back("bare with zlib (zlib1g-dev)");
#endif
  for (const int level : {1, 3, 6, 9}) {
    out.push_back({"bare, libdeflate level " + std::to_string(level),
                   [level](std::string_view text) { return bare_libdeflate(text, level); }});
  }
#ifdef STATIONER_BENCH_CAIRO
  out.push_back({"cairo", by_cairo});
#else
  missing.emplace_back("cairo (libcairo2-dev)");
#endif
#ifdef STATIONER_BENCH_HARU
  out.push_back({"libharu", by_haru});
#else
  missing.emplace_back("libharu (libhpdf-dev)");
#endif
  if (have("enscript") && have("ps2pdf")) {
    out.push_back({"enscript and ps2pdf",
                   [](std::string_view text) {
                     return by_command(
                         text,
                         "enscript -q -B -L 66 -f Courier@10 -M A4 --margins=20:20:20:20 "
                         "-o output.ps input.txt && ps2pdf output.ps output.pdf");
                   },
                   true});
  } else {
    missing.emplace_back("enscript and ps2pdf (enscript, ghostscript)");
  }
  return out;
}

}  // namespace stationer::bench
