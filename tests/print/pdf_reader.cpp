#include "tests/print/pdf_reader.h"

#include <charconv>
#include <memory>
#include <sstream>
#include <stdexcept>

#include <libdeflate.h>

namespace stationer::test {
namespace {

[[noreturn]] void amiss(const std::string& what) {
  throw std::runtime_error("PDF: " + what);
}

int number_at(std::string_view text) {
  int number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc()) amiss("no number in " + std::string(text.substr(0, 20)));
  return number;
}

}  // namespace

PdfReader::PdfReader(std::string bytes) : bytes_(std::move(bytes)) {
  const std::string_view all = bytes_;
  if (!all.starts_with("%PDF-1.7\n%")) amiss("no header");
  for (std::size_t i = 10; i < 14; ++i) {
    if (static_cast<unsigned char>(all[i]) < 128) amiss("no binary mark");
  }
  if (!all.ends_with("\n%%EOF\n")) amiss("no end mark");
  const std::size_t start = all.rfind("startxref\n");
  if (start == all.npos) amiss("no startxref");
  const auto table = static_cast<std::size_t>(number_at(all.substr(start + 10)));
  const std::string whole = object_at(table);
  if (table + whole.size() + all.substr(table).find('\n') + 1 + 8 != start) {
    amiss("something between the cross-reference stream and startxref");
  }
  trailer_ = whole.substr(0, whole.find("\nstream\n"));
  if (!trailer_.starts_with("<</Type/XRef")) amiss("startxref points elsewhere");
  const std::string widths = value(trailer_, "/W");
  const auto width = static_cast<std::size_t>(number_at(std::string_view(widths).substr(3)));
  if (widths != "[1 " + std::to_string(width) + " 2]") amiss("other fields in the table");
  const std::string rows = stream_of(whole);
  const std::size_t entries = rows.size() / (3 + width);
  if (rows.size() != entries * (3 + width)) amiss("a piece of an entry");
  if (number_at(value(trailer_, "/Size")) != static_cast<int>(entries)) amiss("the size differs");
  for (std::size_t i = 0; i < entries; ++i) {
    const auto field = [&](std::size_t from, std::size_t size) {
      std::uint64_t out = 0;
      for (const char byte : std::string_view(rows).substr(i * (3 + width) + from, size)) {
        out = out << 8 | static_cast<std::uint8_t>(byte);
      }
      return out;
    };
    const std::uint64_t type = field(0, 1);
    const std::uint64_t second = field(1, width);
    const std::uint64_t third = field(1 + width, 2);
    if (i == 0) {
      if (type != 0 || second != 0 || third != 65535) amiss("the first entry isn't the free one");
    } else if (type == 1) {
      if (third != 0) amiss("a generation");
      const std::string mark = std::to_string(i) + " 0 obj\n";
      if (!all.substr(second).starts_with(mark)) amiss("an entry points elsewhere: " + mark);
      places_.push_back({second, 0});
    } else if (type == 2) {
      places_.push_back({third, static_cast<int>(second)});
    } else {
      amiss("an object that isn't in use");
    }
  }
  for (const Place& place : places_) {
    if (place.bundle != 0 && bundles_.count(place.bundle) == 0) read_bundle(place.bundle);
  }
}

void PdfReader::read_bundle(int number) {
  const std::string whole = object(number);
  const std::string dictionary = whole.substr(0, whole.find("\nstream\n"));
  if (!dictionary.starts_with("<</Type/ObjStm")) amiss("no object stream");
  const std::string data = stream_of(whole);
  const auto count = static_cast<std::size_t>(number_at(value(dictionary, "/N")));
  const auto first = static_cast<std::size_t>(number_at(value(dictionary, "/First")));
  std::istringstream index(data.substr(0, first));
  std::vector<std::size_t> begins;
  for (std::size_t i = 0; i < count; ++i) {
    int object = 0;
    std::size_t begin = 0;
    index >> object >> begin;
    const Place& place = places_.at(static_cast<std::size_t>(object - 1));
    if (place.bundle != number || place.at != i) amiss("an object that the table has elsewhere");
    begins.push_back(first + begin);
  }
  if (!index || (index >> std::ws).peek() != EOF) amiss("an object stream with another count");
  begins.push_back(data.size());
  std::vector<std::string>& objects = bundles_[number];
  for (std::size_t i = 0; i < count; ++i) {
    if (data.at(begins[i + 1] - 1) != '\n') amiss("objects without a space between them");
    objects.push_back(data.substr(begins[i], begins[i + 1] - begins[i] - 1));
  }
}

std::string PdfReader::object(int number) const {
  const Place& place = places_.at(static_cast<std::size_t>(number - 1));
  return place.bundle == 0 ? object_at(place.at) : bundles_.at(place.bundle).at(place.at);
}

std::string PdfReader::object_at(std::uint64_t offset) const {
  const std::size_t begin = bytes_.find('\n', offset) + 1;
  std::size_t end = bytes_.find("\nendobj\n", begin);
  const std::size_t data = bytes_.find("\nstream\n", begin);
  if (data < end) {
    const auto length = static_cast<std::size_t>(
        number_at(value(std::string_view(bytes_).substr(begin, data - begin), "/Length")));
    const std::size_t behind = data + 8 + length;
    if (bytes_.compare(behind, 18, "\nendstream\nendobj\n") != 0) amiss("a wrong stream length");
    end = behind + 10;
  }
  return bytes_.substr(begin, end - begin);
}

std::string PdfReader::stream(int number) const {
  return stream_of(object(number));
}

std::string PdfReader::stream_of(const std::string& whole) {
  const std::size_t data = whole.find("\nstream\n");
  if (data == whole.npos) amiss("no stream");
  const std::string_view raw =
      std::string_view(whole).substr(data + 8, whole.size() - data - 8 - 10);
  if (whole.substr(0, data).find("/FlateDecode") == std::string::npos) return std::string(raw);
  const std::unique_ptr<libdeflate_decompressor, void (*)(libdeflate_decompressor*)> inflate(
      libdeflate_alloc_decompressor(), libdeflate_free_decompressor);
  std::string out(raw.size() * 4 + 1024, '\0');
  for (;;) {
    std::size_t size = 0;
    const libdeflate_result result = libdeflate_zlib_decompress(
        inflate.get(), raw.data(), raw.size(), out.data(), out.size(), &size);
    if (result == LIBDEFLATE_SUCCESS) {
      out.resize(size);
      return out;
    }
    if (result != LIBDEFLATE_INSUFFICIENT_SPACE) amiss("a stream that doesn't decompress");
    out.resize(out.size() * 2);
  }
}

std::string PdfReader::value(std::string_view dictionary, std::string_view key) {
  std::size_t at = 0;
  do {
    at = dictionary.find(key, at);
    if (at == dictionary.npos) amiss("no " + std::string(key));
    at += key.size();
  } while (std::isalnum(static_cast<unsigned char>(dictionary[at])) != 0);  // a longer key
  while (dictionary[at] == ' ') ++at;
  std::size_t end = at;
  if (dictionary[at] == '(') {
    for (++end; dictionary[end] != ')'; ++end) {
      if (dictionary[end] == '\\') ++end;
    }
    ++end;
  } else {
    end = dictionary.find_first_of("/>", at + 1);
    if (dictionary[at] == '<' && dictionary[at + 1] != '<') end = dictionary.find('>', at) + 1;
    if (dictionary[at] == '[') end = dictionary.find(']', at) + 1;
    if (dictionary.substr(at, 2) == "<<") {
      int depth = 0;
      end = at;
      do {
        if (dictionary.substr(end, 2) == "<<") ++depth, ++end;
        if (dictionary.substr(end, 2) == ">>") --depth, ++end;
        ++end;
      } while (depth > 0);
    }
  }
  return std::string(dictionary.substr(at, end - at));
}

int PdfReader::target(std::string_view dictionary, std::string_view key) {
  return number_at(value(dictionary, key));
}

std::map<std::string, int> PdfReader::references(std::string_view dictionary) {
  std::map<std::string, int> out;
  for (std::size_t at = dictionary.find('/'); at != dictionary.npos;) {
    const std::size_t blank = dictionary.find(' ', at);
    if (blank == dictionary.npos) amiss("an entry without a reference");
    out[std::string(dictionary.substr(at, blank - at))] = number_at(dictionary.substr(blank + 1));
    at = dictionary.find('/', blank);
  }
  return out;
}

std::vector<int> PdfReader::pages() const {
  std::vector<int> out;
  const auto children = [this](int node) {
    std::vector<int> numbers;
    const std::string kids = value(object(node), "/Kids");
    for (std::size_t at = 1; at < kids.size();) {
      numbers.push_back(number_at(std::string_view(kids).substr(at)));
      at = kids.find_first_of(" ]", kids.find('R', at)) + 1;
    }
    return numbers;
  };
  const int root = target(object(catalog()), "/Pages");
  for (const int branch : children(root)) {
    if (target(object(branch), "/Parent") != root) amiss("a branch with another parent");
    const std::vector<int> leaves = children(branch);
    if (number_at(value(object(branch), "/Count")) != static_cast<int>(leaves.size())) {
      amiss("a wrong count");
    }
    for (const int leaf : leaves) {
      if (target(object(leaf), "/Parent") != branch) amiss("a page with another parent");
      out.push_back(leaf);
    }
  }
  if (number_at(value(object(root), "/Count")) != static_cast<int>(out.size()))
    amiss("a wrong count");
  return out;
}

std::string PdfReader::content(int page) const {
  const std::string dictionary = object(page);
  if (dictionary.find("/Contents") == std::string::npos) return {};
  return stream(target(dictionary, "/Contents"));
}

void PdfReader::change(std::string_view from, std::string_view to) {
  if (from.size() != to.size()) amiss("another size");
  std::vector<std::string*> places = {&bytes_};
  for (auto& [number, objects] : bundles_) {
    for (std::string& object : objects) places.push_back(&object);
  }
  for (std::string* place : places) {
    const std::size_t at = place->find(from);
    if (at == place->npos) continue;
    place->replace(at, from.size(), to);
    return;
  }
  amiss("nothing to change: " + std::string(from));
}

std::vector<int> PdfReader::with(std::string_view text) const {
  std::vector<int> out;
  for (int number = 1; number <= static_cast<int>(places_.size()); ++number) {
    if (object(number).find(text) != std::string::npos) out.push_back(number);
  }
  return out;
}

}  // namespace stationer::test
