#include "print/pdf_text.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include <qpdf/Buffer.hh>
#include <qpdf/QPDFMatrix.hh>
#include <qpdf/QPDFObjectHandle.hh>
#include <qpdf/QPDFPageDocumentHelper.hh>

#include "fs/utf8.h"
#include "print/pdf_input.h"

namespace stationer::print {
namespace {

constexpr std::size_t most_text = std::size_t{1} << 20;  // bytes of a page
// Our glyphs' advance, in ems: what tells where a string ends (print/pdf_font.h).
constexpr double advance = 0.602;

// What the codes of one font stand for, by its ToUnicode map (ISO 32000-1 section 9.10.3).
class Decoding {
 public:
  explicit Decoding(std::string_view map) {
    std::size_t at = 0;
    while (at < map.size()) {
      const std::size_t begin = map.find("begin", at);
      if (begin == map.npos) break;
      at = begin + 5;
      const std::size_t end = std::min(map.find("end", at), map.size());
      if (map.substr(at).starts_with("codespacerange")) {
        const auto numbers = hexes(map.substr(at, end - at));
        for (std::size_t i = 0; i + 1 < numbers.size(); i += 2) {
          if (numbers[i].size() == 2) two_bytes_from_ = static_cast<unsigned char>(numbers[i][0]);
        }
      } else if (map.substr(at).starts_with("bfchar")) {
        const auto numbers = hexes(map.substr(at, end - at));
        for (std::size_t i = 0; i + 1 < numbers.size(); i += 2) {
          characters_[value(numbers[i])] = numbers[i + 1];
        }
      }
    }
  }

  // Appends the string's text, and gives how many characters it shows.
  std::size_t append(std::string& out, const std::string& codes) const {
    std::size_t count = 0;
    for (std::size_t at = 0; at < codes.size(); ++count) {
      const auto first = static_cast<unsigned char>(codes[at]);
      const std::size_t size = first >= two_bytes_from_ && at + 1 < codes.size() ? 2 : 1;
      const auto known = characters_.find(value(codes.substr(at, size)));
      if (known != characters_.end()) {
        append_utf_16(out, known->second);
      } else {
        out += size == 1 && first >= 0x20 && first < 0x7F ? codes[at] : ' ';
      }
      at += size;
    }
    return count;
  }

 private:
  // The bytes of every <hex string> in a part of the map.
  static std::vector<std::string> hexes(std::string_view part) {
    std::vector<std::string> out;
    for (std::size_t at = part.find('<'); at != part.npos; at = part.find('<', at)) {
      const std::size_t end = part.find('>', at);
      if (end == part.npos) break;
      std::string bytes;
      for (std::size_t i = at + 1; i + 1 < end; i += 2) {
        bytes += static_cast<char>(std::stoi(std::string(part.substr(i, 2)), nullptr, 16));
      }
      out.push_back(std::move(bytes));
      at = end;
    }
    return out;
  }
  static unsigned value(const std::string& code) {
    unsigned out = 0;
    for (const char byte : code) out = out << 8 | static_cast<unsigned char>(byte);
    return out;
  }
  static void append_utf_16(std::string& out, const std::string& bytes) {
    for (std::size_t at = 0; at + 1 < bytes.size(); at += 2) {
      char32_t c = value(bytes.substr(at, 2));
      if (c >= 0xD800 && c < 0xDC00 && at + 3 < bytes.size()) {
        at += 2;
        c = 0x10000 + ((c & 0x3FF) << 10) + (value(bytes.substr(at, 2)) & 0x3FF);
      }
      fs::append_utf8(out, c);
    }
  }

  std::map<unsigned, std::string> characters_;
  unsigned two_bytes_from_ = 0x100;
};

// A string that was shown, from where to where on its line.
struct Piece {
  double x = 0;
  double y = 0;
  double end = 0;
  double cell = 0;
  std::string text;
};

// Follows a page's content as far as that is needed to know what stands where (section 9.4).
class Reader : public QPDFObjectHandle::ParserCallbacks {
 public:
  using Fonts = std::map<std::string, std::shared_ptr<const Decoding>>;
  explicit Reader(const Fonts& fonts) : fonts_(fonts) {}

  void handleObject(QPDFObjectHandle object, std::size_t, std::size_t) override {
    if (!object.isOperator()) {
      operands_.push_back(object);
      return;
    }
    act(object.getOperatorValue());
    operands_.clear();
  }
  void handleEOF() override {}

  std::string text() {
    // By lines from the top; what stands a little higher or lower belongs to the line.
    std::stable_sort(pieces_.begin(), pieces_.end(),
                     [](const Piece& a, const Piece& b) { return a.y > b.y; });
    std::string out;
    for (std::size_t first = 0; first < pieces_.size();) {
      std::size_t behind = first + 1;
      while (behind < pieces_.size() &&
             pieces_[first].y - pieces_[behind].y < 0.4 * pieces_[first].cell) {
        ++behind;
      }
      const auto begin = pieces_.begin() + static_cast<std::ptrdiff_t>(first);
      const auto end = pieces_.begin() + static_cast<std::ptrdiff_t>(behind);
      std::stable_sort(begin, end, [](const Piece& a, const Piece& b) { return a.x < b.x; });
      std::string line;
      double x = begin->x;
      for (auto piece = begin; piece != end; ++piece) {
        if (piece->x - x > 0.5 * piece->cell) line += ' ';
        line += piece->text;
        x = piece->end;
      }
      append_line(out, line);
      first = behind;
    }
    return out;
  }

 private:
  double number(std::size_t at) {
    return at < operands_.size() && operands_[at].isNumber() ? operands_[at].getNumericValue() : 0;
  }
  QPDFMatrix matrix() { return {number(0), number(1), number(2), number(3), number(4), number(5)}; }

  void act(const std::string& op) {
    if (op == "q") {
      saved_.push_back(place_);
    } else if (op == "Q") {
      if (!saved_.empty()) {
        place_ = saved_.back();
        saved_.pop_back();
      }
    } else if (op == "cm") {
      place_.concat(matrix());
    } else if (op == "BT") {
      line_ = {};
      x_ = 0;
    } else if (op == "Tf") {
      size_ = number(1);
      const auto font = operands_.empty() || !operands_[0].isName()
                            ? fonts_.end()
                            : fonts_.find(operands_[0].getName());
      font_ = font == fonts_.end() ? nullptr : font->second.get();
    } else if (op == "Tz") {
      stretch_ = number(0) / 100;
    } else if (op == "TL") {
      leading_ = number(0);
    } else if (op == "Td") {
      line_.translate(number(0), number(1));
      x_ = 0;
    } else if (op == "TD") {
      leading_ = -number(1);
      line_.translate(number(0), number(1));
      x_ = 0;
    } else if (op == "Tm") {
      line_ = matrix();
      x_ = 0;
    } else if (op == "T*") {
      next_line();
    } else if (op == "'") {
      next_line();
      show_first();
    } else if (op == "Tj") {
      show_first();
    } else if (op == "TJ" && !operands_.empty() && operands_[0].isArray()) {
      for (auto& part : operands_[0].getArrayAsVector()) {
        if (part.isString()) show(part.getStringValue());
        if (part.isNumber()) x_ -= part.getNumericValue() / 1000 * size_ * stretch_;
      }
    }
  }

  void next_line() {
    line_.translate(0, -leading_);
    x_ = 0;
  }

  void show_first() {
    if (!operands_.empty() && operands_[0].isString()) show(operands_[0].getStringValue());
  }

  void show(const std::string& codes) {
    if (font_ == nullptr || size_of_all_ > most_text) return;
    Piece piece;
    const std::size_t count = font_->append(piece.text, codes);
    if (count == 0) return;
    size_of_all_ += piece.text.size();
    QPDFMatrix whole(place_);
    whole.concat(line_);
    const double wide = size_ * stretch_ * advance * static_cast<double>(count);
    double y = 0;
    whole.transform(x_, 0, piece.x, piece.y);
    whole.transform(x_ + wide, 0, piece.end, y);
    piece.cell = std::abs(piece.end - piece.x) / static_cast<double>(count);
    x_ += wide;
    pieces_.push_back(std::move(piece));
  }

  static void append_line(std::string& out, std::string_view line) {
    bool blank = true;  // none at its start
    for (const char c : line) {
      if (c == ' ' && blank) continue;
      blank = c == ' ';
      out += c;
    }
    while (out.ends_with(' ')) out.pop_back();
    if (!out.empty() && out.back() != '\n') out += '\n';
  }

  const Fonts& fonts_;
  std::vector<QPDFObjectHandle> operands_;
  std::vector<QPDFMatrix> saved_;
  QPDFMatrix place_;  // of the page's content
  QPDFMatrix line_;   // of the line of text
  double x_ = 0;      // in that line
  double leading_ = 0;
  double size_ = 0;
  double stretch_ = 1;
  const Decoding* font_ = nullptr;
  std::vector<Piece> pieces_;
  std::size_t size_of_all_ = 0;
};

}  // namespace

fs::Status each_page_text(const OpenContent& open,
                          const std::function<fs::Status(std::string_view text)>& use) {
  return guarded([&](fs::Status& failure) -> fs::Status {
    QPDF pdf;
    open_pdf(pdf, std::make_shared<PdfInput>(open, failure));
    std::map<QPDFObjGen, std::shared_ptr<const Decoding>> known;
    for (auto& page : QPDFPageDocumentHelper(pdf).getAllPages()) {
      Reader::Fonts fonts;
      auto resources = page.getAttribute("/Resources", false);
      auto all = resources.isDictionary() ? resources.getKey("/Font") : QPDFObjectHandle::newNull();
      if (all.isDictionary()) {
        for (auto& [name, font] : all.getDictAsMap()) {
          auto& decoding = known[font.getObjGen()];
          if (!decoding) {
            auto map = font.isDictionary() ? font.getKey("/ToUnicode") : font;
            if (!map.isStream()) continue;
            const auto bytes = map.getStreamData();
            decoding = std::make_shared<Decoding>(std::string_view(
                reinterpret_cast<const char*>(bytes->getBuffer()), bytes->getSize()));
          }
          fonts[name] = decoding;
        }
      }
      Reader reader(fonts);
      page.parseContents(&reader);
      if (pdf.anyWarnings()) throw std::runtime_error(pdf.getWarnings().front().what());
      if (auto used = use(reader.text()); !used) return used;
    }
    return {};
  });
}

}  // namespace stationer::print
