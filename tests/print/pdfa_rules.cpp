#include "tests/print/pdfa_rules.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <regex>
#include <set>
#include <stdexcept>

#include <fmt/format.h>

namespace stationer::test {
namespace {

// A content stream's operators with their operands, as written; strings are unescaped.
struct Operator {
  std::string name;
  std::vector<std::string> operands;
};

std::vector<Operator> operators_of(std::string_view stream) {
  std::vector<Operator> out;
  std::vector<std::string> operands;
  for (std::size_t at = 0; at < stream.size();) {
    const char c = stream[at];
    std::size_t end = at + 1;
    if (c == ' ' || c == '\n') {
      ++at;
      continue;
    }
    if (c == '(') {
      std::string text = "(";
      int depth = 1;
      for (; depth > 0; ++end) {
        char inside = stream.at(end);
        if (inside == '\\') {
          inside = stream.at(++end);
          if (inside == 'r') inside = '\r';
        } else if (inside == '(') {
          ++depth;
        } else if (inside == ')' && --depth == 0) {
          continue;
        }
        text += inside;
      }
      operands.push_back(text);
    } else if (c == '[') {
      end = stream.find(']', at) + 1;
      operands.emplace_back(stream.substr(at, end - at));
    } else {
      end = std::min(stream.find_first_of(" \n([/", at + 1), stream.size());
      std::string token(stream.substr(at, end - at));
      const bool operand = c == '/' || c == '-' || c == '.' || (c >= '0' && c <= '9');
      if (operand) {
        operands.push_back(std::move(token));
      } else {
        out.push_back({std::move(token), std::move(operands)});
        operands.clear();
      }
    }
    at = end;
  }
  if (!operands.empty()) throw std::runtime_error("operands without an operator");
  return out;
}

// The operators that may stand in ours, and how many operands they have (ISO 32000-1 annex A).
const std::map<std::string, std::size_t> known_operators = {
    {"q", 0},  {"Q", 0},   {"cm", 6}, {"w", 1},  {"J", 1},  {"d", 2},  {"gs", 1},
    {"m", 2},  {"l", 2},   {"c", 6},  {"h", 0},  {"re", 4}, {"S", 0},  {"f", 0},
    {"BT", 0}, {"ET", 0},  {"Tz", 1}, {"TL", 1}, {"Tf", 2}, {"Tr", 1}, {"Td", 2},
    {"Tm", 6}, {"Tj", 1},  {"'", 1},  {"d1", 6}, {"cs", 1}, {"CS", 1}, {"sc", 3},
    {"SC", 3}, {"scn", 1}, {"g", 1},  {"G", 1},  {"Do", 1}};

class Checker {
 public:
  explicit Checker(PdfReader reader) : reader_(std::move(reader)) {
    file();
    metadata();
    colour();
    for (const int page : reader_.pages()) this->page(page);
    for (const auto& [number, codes] : shown_) font(number, codes);
  }

  std::vector<std::string> broken;

 private:
  void hold(bool holds, std::string_view clause, std::string_view what) {
    const std::string text = fmt::format("{}: {}", clause, what);
    if (!holds && std::find(broken.begin(), broken.end(), text) == broken.end()) {
      broken.push_back(text);
    }
  }

  static bool has(std::string_view dictionary, std::string_view key) {
    return dictionary.find(key) != dictionary.npos;
  }
  // The part before the stream.
  std::string dictionary(int number) const {
    const std::string whole = reader_.object(number);
    return whole.substr(0, whole.find("\nstream\n"));
  }
  // A dictionary's entry, which may be an object of its own; empty if it isn't there.
  std::string part(const std::string& from, std::string_view key) const {
    if (!has(from, key)) return {};
    const std::string value = PdfReader::value(from, key);
    return value.starts_with("<<") || value.starts_with("[") || value.starts_with("/")
               ? value
               : dictionary(std::stoi(value));
  }

  void file() {
    const std::string& trailer = reader_.trailer();
    hold(!has(trailer, "/Encrypt"), "6.1.3", "the file is encrypted");
    hold(std::regex_search(trailer, std::regex("/ID\\[<[0-9a-f]{32}><[0-9a-f]{32}>\\]")), "6.1.3",
         "no identifier of two strings");
    for (int number = 1; number <= static_cast<int>(reader_.count()); ++number) {
      const std::string entries = dictionary(number);
      for (const char* key : {"/FFilter", "/FDecodeParms", "/LZWDecode", "/Crypt"}) {
        hold(!has(entries, key), "6.1.7", key);
      }
      for (const char* key : {"/AA", "/OpenAction", "/JavaScript", "/Launch", "/EmbeddedFile",
                              "/XFA", "/AcroForm", "/Annots", "/OCProperties"}) {
        hold(!has(entries, key), "6.5 and 6.8", key);
      }
      for (const char* key : {"/SMask", "/TR", "/HTP", "/PS", "/OPI", "/Ref", "/Alternates"}) {
        hold(!has(entries, key), "6.2", key);
      }
      for (const char* key : {"/DeviceRGB", "/DeviceCMYK"}) hold(!has(entries, key), "6.2.4", key);
      for (const char* key : {"/ca ", "/CA ", "/CIDSet"}) {
        hold(!has(entries, key), "left out on purpose", key);
      }
      hold(!has(entries, "/BM") || has(entries, "/BM/Multiply"), "6.2.10", "an unknown blend mode");
      if (has(entries, "/Subtype/Image")) {
        hold(has(entries, "/ImageMask true/BitsPerComponent 1"), "6.2.8",
             "an image of another kind");
        hold(!has(entries, "/Interpolate"), "6.2.8", "an interpolated image");
        const int width = PdfReader::target(entries, "/Width");
        const int height = PdfReader::target(entries, "/Height");
        hold(reader_.stream(number).size() ==
                 static_cast<std::size_t>((width + 7) / 8) * static_cast<std::size_t>(height),
             "ISO 32000-1 8.9.3", "an image with more or less data than its size");
      }
      // Numbers and names that readers can take.
      for (auto at = std::sregex_iterator(entries.begin(), entries.end(), name_);
           at != std::sregex_iterator(); ++at) {
        hold((*at)[0].length() <= 127, "6.1.13", "a name of more than 127 bytes");
      }
    }
    const int root = PdfReader::target(reader_.object(reader_.catalog()), "/Pages");
    double width = 0;
    double height = 0;
    const std::string box = PdfReader::value(reader_.object(root), "/MediaBox");
    hold(std::sscanf(box.c_str(), "[0 0 %lf %lf]", &width, &height) == 2 && width >= 3 &&
             height >= 3 && width <= 14'400 && height <= 14'400,
         "6.1.13", "a sheet of an impossible size");
  }

  void metadata() {
    const std::string catalog = reader_.object(reader_.catalog());
    const int packet = PdfReader::target(catalog, "/Metadata");
    hold(!has(dictionary(packet), "/Filter"), "6.6.2", "compressed metadata");
    const std::string xmp = reader_.stream(packet);
    hold(has(xmp, "<pdfaid:part>2</pdfaid:part>"), "6.6.4", "no part");
    hold(has(xmp, "<pdfaid:conformance>U</pdfaid:conformance>"), "6.6.4", "no level");
    const std::string header = xmp.substr(0, xmp.find("?>"));
    hold(!has(header, "bytes=") && !has(header, "encoding="), "6.6.2", "old packet attributes");
  }

  void colour() {
    const std::string catalog = reader_.object(reader_.catalog());
    hold(has(catalog, "/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1"), "6.2.3",
         "no output intent");
    const int profile = PdfReader::target(catalog, "/DestOutputProfile");
    hold(has(dictionary(profile), "/N 1") && reader_.stream(profile).substr(16, 4) == "GRAY" &&
             reader_.stream(profile).substr(36, 4) == "acsp",
         "6.2.4.3", "gray without a profile for it");
  }

  void page(int number) {
    const std::string entries = reader_.object(number);
    hold(has(entries, "/Resources"), "6.2.2", "a page without resources of its own");
    group_ = has(entries, "/Group<</S/Transparency/CS ");
    if (group_) colour_space(dictionary(PdfReader::target(entries, "/CS")));
    content(reader_.content(number), part(entries, "/Resources"));
  }

  void colour_space(const std::string& space) {
    hold(space.starts_with("[/CalRGB<<"), "6.2.4.2", "colours that depend on a device");
  }

  // A stream with the resources that are associated with it.
  void content(const std::string& stream, const std::string& resources) {
    int depth = 0;
    int font = 0;
    const auto resource = [&](std::string_view kind, const std::string& name) {
      const auto all = PdfReader::references(part(resources, kind));
      const auto found = all.find(name);
      hold(found != all.end(), "6.2.2", fmt::format("{} without {}", kind, name));
      return found == all.end() ? 0 : found->second;
    };
    for (const Operator& one : operators_of(stream)) {
      const auto known = known_operators.find(one.name);
      hold(known != known_operators.end() && known->second == one.operands.size(), "6.2.2",
           "the operator " + one.name);
      for (const std::string& operand : one.operands) number(operand);
      if (one.name == "q") hold(++depth <= 28, "6.1.13", "more than 28 saved states");
      if (one.name == "Q") hold(--depth >= 0, "6.1.13", "a state restored that wasn't saved");
      if (one.name == "gs") {
        hold(group_, "6.2.10", "transparency on a page that says nothing of its colours");
        const int state = resource("/ExtGState", one.operands[0]);
        if (state != 0) hold(has(dictionary(state), "/BM/Multiply"), "6.2.10", "a blend mode");
      }
      if ((one.name == "cs" || one.name == "CS") && one.operands[0] != "/Pattern") {
        const int space = resource("/ColorSpace", one.operands[0]);
        if (space != 0) colour_space(dictionary(space));
      }
      if (one.name == "scn") {
        if (const int pattern = resource("/Pattern", one.operands[0]); pattern != 0) {
          const std::string entries = dictionary(pattern);
          hold(has(entries, "/PatternType 1/PaintType 1"), "6.2.4.4", "another kind of pattern");
          content(reader_.stream(pattern), part(entries, "/Resources"));
        }
      }
      if (one.name == "Do") {
        if (const int object = resource("/XObject", one.operands[0]); object != 0) {
          const std::string entries = dictionary(object);
          if (has(entries, "/Subtype/Form")) {
            content(reader_.stream(object), part(entries, "/Resources"));
          }
        }
      }
      if (one.name == "Tf") font = resource("/Font", one.operands[0]);
      if (one.name == "Tj" || one.name == "'") {
        hold(font != 0, "6.2.11", "text without a font");
        if (font != 0) shown_[font] += one.operands[0].substr(1);
        hold(one.operands[0].size() <= 32'767, "6.1.13", "a string that is too long");
      }
    }
    hold(depth == 0, "6.1.13", "a state saved that isn't restored");
  }

  void number(const std::string& operand) {
    if (operand[0] == '/' || operand[0] == '(' || operand[0] == '[') return;
    double value = 0;
    const auto [end, error] =
        std::from_chars(operand.data(), operand.data() + operand.size(), value);
    hold(
        error == std::errc() && end == operand.data() + operand.size() && std::abs(value) <= 32'767,
        "6.1.13", "no number, or too large a one: " + operand);
  }

  void font(int number, const std::string& bytes) {
    const std::string entries = dictionary(number);
    hold(has(entries, "/ToUnicode"), "6.2.11.7.2", "a font without a way back to Unicode");
    const std::string map = reader_.stream(PdfReader::target(entries, "/ToUnicode"));
    std::map<unsigned, std::string> unicode;
    for (auto at = std::sregex_iterator(map.begin(), map.end(), line_);
         at != std::sregex_iterator(); ++at) {
      const std::string value = (*at)[2];
      hold(value != "0000" && value != "FEFF" && value != "FFFE", "6.2.11.7.2",
           "a code that stands for no character");
      unicode[static_cast<unsigned>(std::stoul((*at)[1], nullptr, 16))] = value;
    }
    for (auto at = std::sregex_iterator(map.begin(), map.end(), block_);
         at != std::sregex_iterator(); ++at) {
      hold(std::stoi((*at)[1]) <= 100, "Technical Note 5411", "a block of more than 100 lines");
    }
    const bool dots = has(entries, "/Subtype/Type3");
    hold(has(map, dots ? "1 begincodespacerange\n<00> <FF>\n"
                       : "2 begincodespacerange\n<00> <7F>\n<8000> <FFFF>\n"),
         "ISO 32000-1 9.10.3", "code lengths that the text doesn't have");
    std::set<unsigned> codes;
    for (std::size_t at = 0; at < bytes.size(); ++at) {
      unsigned code = static_cast<unsigned char>(bytes[at]);
      if (!dots && code >= 0x80) code = code << 8 | static_cast<unsigned char>(bytes.at(++at));
      codes.insert(code);
    }
    for (const unsigned code : codes) {
      hold(unicode.contains(code), "6.2.11.7.2", fmt::format("nothing for the code {:X}", code));
    }
    if (dots) {
      type_3(entries, codes);
    } else {
      type_0(entries, codes);
    }
  }

  void type_3(const std::string& entries, const std::set<unsigned>& codes) {
    hold(has(entries, "/Resources<<>>"), "6.2.2", "glyphs without resources of their own");
    const auto procedures = PdfReader::references(PdfReader::value(entries, "/CharProcs"));
    const std::string encoding = part(entries, "/Encoding");
    const std::string differences = PdfReader::value(encoding, "/Differences");
    std::vector<std::string> names;
    for (auto at = std::sregex_iterator(differences.begin(), differences.end(), name_);
         at != std::sregex_iterator(); ++at) {
      names.push_back((*at)[0]);
    }
    const unsigned begin = static_cast<unsigned>(std::stoi(differences.substr(1)));
    const unsigned first = static_cast<unsigned>(PdfReader::target(entries, "/FirstChar"));
    std::vector<std::string> widths;
    const std::string list = PdfReader::value(entries, "/Widths");
    for (auto at = std::sregex_iterator(list.begin(), list.end(), whole_);
         at != std::sregex_iterator(); ++at) {
      widths.push_back((*at)[0]);
    }
    for (const unsigned code : codes) {
      const bool named = code >= begin && code - begin < names.size();
      hold(named && procedures.contains(names[code - begin]), "6.2.11.8",
           fmt::format("no glyph for the code {:X}", code));
      if (!named || !procedures.contains(names[code - begin])) continue;
      const auto glyph = operators_of(reader_.stream(procedures.at(names[code - begin])));
      hold(glyph.front().name == "d1", "ISO 32000-1 9.6.5", "a glyph that doesn't begin with d1");
      hold(code >= first && code - first < widths.size() &&
               widths[code - first] == glyph.front().operands[0],
           "6.2.11.5", "a width that is not the glyph's");
      for (const Operator& one : glyph) {
        for (const char* other : {"g", "G", "cs", "CS", "sc", "SC", "scn", "Do", "gs"}) {
          hold(one.name != other, "ISO 32000-1 9.6.5", "a glyph with a colour of its own");
        }
      }
    }
  }

  void type_0(const std::string& entries, const std::set<unsigned>& codes) {
    hold(has(entries, "/Subtype/Type0"), "6.2.11", "a font of another kind");
    const std::string encoding = dictionary(PdfReader::target(entries, "/Encoding"));
    hold(has(encoding, "/Type/CMap/CMapName/"), "6.2.11.3.3", "an encoding that isn't embedded");
    const std::string list = PdfReader::value(entries, "/DescendantFonts");
    const std::string cid_font = dictionary(std::stoi(list.substr(1)));
    hold(has(cid_font, "/Subtype/CIDFontType2"), "6.2.11.3.2", "a CID font of another kind");
    const std::string glyphs = reader_.stream(PdfReader::target(cid_font, "/CIDToGIDMap"));
    const std::string descriptor = dictionary(PdfReader::target(cid_font, "/FontDescriptor"));
    hold(std::regex_match(PdfReader::value(descriptor, "/FontName"),
                          std::regex("/[A-Z]{6}\\+[A-Za-z-]+")),
         "ISO 32000-1 9.6.4", "a subset without a mark");
    hold(!reader_.stream(PdfReader::target(descriptor, "/FontFile2")).empty(), "6.2.11.4.1",
         "a font that isn't embedded");
    for (const unsigned code : codes) {
      hold(2 * code + 1 < glyphs.size() && (glyphs[2 * code] != 0 || glyphs[2 * code + 1] != 0),
           "6.2.11.8", fmt::format("the glyph of no character for the code {:X}", code));
    }
  }

  const std::regex name_{"/[^/<>\\[\\]() \\n]+"};
  const std::regex line_{"<([0-9A-F]+)> <([0-9A-F]+)>\n"};
  const std::regex block_{"([0-9]+) beginbf"};
  const std::regex whole_{"[0-9]+"};

  const PdfReader reader_;
  bool group_ = false;                // of the page being read
  std::map<int, std::string> shown_;  // the text in each font
};

}  // namespace

std::vector<std::string> broken_rules(const std::string& pdf) {
  return broken_rules(PdfReader(pdf));
}

std::vector<std::string> broken_rules(PdfReader reader) {
  return Checker(std::move(reader)).broken;
}

}  // namespace stationer::test
