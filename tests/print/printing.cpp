#include "tests/print/printing.h"

#include <algorithm>

#include "print/pdf_writer.h"

namespace stationer::test {

using namespace print;

const Fonts& fonts() {
  static const Fonts loaded = Fonts::load().value();
  return loaded;
}

Settings settings(std::string_view profile) {
  return find_printer_profile(profile).value().settings;
}

Metadata metadata() {
  Metadata about;
  about.title = "Ledger (May)";
  about.owner = "robin";
  about.origin = "station 1.7, queue listing";
  about.job = "job-0017";
  about.created = std::chrono::sys_days(std::chrono::year(2026) / 5 / 17) + std::chrono::hours(9);
  return about;
}

ByteSink to(std::string& out) {
  return [&out](std::string_view bytes) -> fs::Status {
    out += bytes;
    return {};
  };
}

std::string pdf_of(std::string_view bytes, const Settings& settings, const Metadata& about) {
  std::string out;
  const ByteSource source = [&bytes](std::span<char> room) -> fs::Result<std::size_t> {
    const std::size_t size = std::min(room.size(), bytes.size());
    std::copy_n(bytes.begin(), size, room.begin());
    bytes.remove_prefix(size);
    return size;
  };
  render(source, settings, about, fonts(), to(out)).value();
  return out;
}

std::string pdf_of(const std::vector<Page>& pages, std::string_view paper) {
  std::string out;
  PdfWriter writer(fonts(), find_paper(paper).value(), metadata(), to(out));
  for (const Page& page : pages) writer.add(page).value();
  writer.finish().value();
  return out;
}

}  // namespace stationer::test
