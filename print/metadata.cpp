#include "print/metadata.h"

#include <string_view>

#include <fmt/format.h>

#include "fs/text.h"
#include "fs/utf8.h"
#include "print/charset.h"
#include "print/pdf_file.h"

namespace stationer::print {
namespace {

constexpr std::string_view producer = "Stationer " STATIONER_VERSION;

// Long enough for any title on a screen; PDF/A ends strings at 32,767 bytes.
constexpr std::size_t most_bytes = 500;

// Whether XML 1.0 (section 2.2) and a line of text can hold it.
bool is_printable(char32_t character) {
  return character >= 0x20 && (character < 0x7F || character > 0x9F) && character != 0xFFFE &&
         character != 0xFFFF;
}

std::string clean(std::string_view bytes) {
  std::string out;
  Decoder decoder(Charset::utf_8);
  const auto take = [&out](const Decoder::Characters& characters) {
    for (unsigned i = 0; i < characters.count; ++i) {
      fs::append_utf8(out, is_printable(characters.at[i]) ? characters.at[i] : U' ');
    }
  };
  for (const char byte : bytes.substr(0, most_bytes))
    take(decoder.put(static_cast<std::uint8_t>(byte)));
  if (bytes.size() <= most_bytes) take(decoder.finish());
  return out;
}

std::string xml(std::string_view bytes) {
  std::string out;
  for (const char character : clean(bytes)) {
    switch (character) {
      case '&': out += "&amp;"; break;
      case '<': out += "&lt;"; break;
      case '>': out += "&gt;"; break;
      default: out += character;
    }
  }
  return out;
}

// UTC, in the parts that both forms of a date are made of.
struct Date {
  explicit Date(std::chrono::sys_seconds time)
      : day(std::chrono::floor<std::chrono::days>(time)),
        time_of_day(time - std::chrono::floor<std::chrono::days>(time)) {}

  std::string format(std::string_view pattern) const {
    return fmt::format(fmt::runtime(pattern), static_cast<int>(day.year()),
                       static_cast<unsigned>(day.month()), static_cast<unsigned>(day.day()),
                       time_of_day.hours().count(), time_of_day.minutes().count(),
                       time_of_day.seconds().count());
  }

  std::chrono::year_month_day day;
  std::chrono::hh_mm_ss<std::chrono::seconds> time_of_day;
};

}  // namespace

std::string moment_text(std::chrono::sys_seconds time) {
  return Date(time).format("{:04}-{:02}-{:02} {:02}:{:02} UTC");
}

std::string info_dictionary(const Metadata& metadata) {
  std::string out = "<</Title" + text_string(clean(metadata.title));
  if (!metadata.owner.empty()) out += "/Author" + text_string(clean(metadata.owner));
  if (!metadata.origin.empty()) out += "/Creator" + text_string(clean(metadata.origin));
  out += "/Producer" + text_string(producer);
  const std::string date = Date(metadata.created).format("D:{:04}{:02}{:02}{:02}{:02}{:02}Z");
  return out + "/CreationDate(" + date + ")/ModDate(" + date + ")>>";
}

std::string xmp_packet(const Metadata& metadata) {
  std::string out =
      "<?xpacket begin=\"\xEF\xBB\xBF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n"
      "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n"
      "<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n"
      "<rdf:Description rdf:about=\"\"\n"
      " xmlns:dc=\"http://purl.org/dc/elements/1.1/\"\n"
      " xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\"\n"
      " xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\"\n"
      " xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\">\n"
      "<pdfaid:part>2</pdfaid:part>\n"
      "<pdfaid:conformance>U</pdfaid:conformance>\n"
      "<dc:format>application/pdf</dc:format>\n";
  out += fmt::format(
      "<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:title>\n",
      xml(metadata.title));
  if (!metadata.owner.empty()) {
    out += fmt::format("<dc:creator><rdf:Seq><rdf:li>{}</rdf:li></rdf:Seq></dc:creator>\n",
                       xml(metadata.owner));
  }
  if (!metadata.origin.empty()) {
    out += fmt::format("<xmp:CreatorTool>{}</xmp:CreatorTool>\n", xml(metadata.origin));
  }
  const std::string date = Date(metadata.created).format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z");
  out += fmt::format(
      "<pdf:Producer>{}</pdf:Producer>\n"
      "<xmp:CreateDate>{}</xmp:CreateDate>\n"
      "<xmp:ModifyDate>{}</xmp:ModifyDate>\n",
      producer, date, date);
  return out + "</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"w\"?>";
}

}  // namespace stationer::print
