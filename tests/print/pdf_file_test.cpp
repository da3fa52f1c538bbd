#include "print/pdf_file.h"

#include "tests/print/pdf_reader.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

std::string small_file(std::string_view identity, std::string_view content = "BT ET") {
  std::string out;
  PdfFile file(to(out), identity);
  const int catalog = file.reserve();
  const int info = file.reserve();
  const int late = file.reserve();
  const int stream = file.reserve();
  file.stream(stream, "/N 1", content);
  file.object(info, "<</Title(x)>>");
  file.object(late, "(late)");
  file.object(catalog, "<</Type/Catalog>>");
  file.finish(catalog, info).value();
  return out;
}

}  // namespace

TEST_CASE("the cross-reference stream is exact") {
  const std::string content(5000, 'q');
  const PdfReader reader(small_file("id", content));
  CHECK(reader.count() == 6);  // and an object stream, and itself
  CHECK(reader.catalog() == 1);
  CHECK(reader.info() == 2);
  CHECK(reader.object(3) == "(late)");
  CHECK(reader.stream(4) == content);
}

TEST_CASE("any number of objects is found again, in as many object streams as they need") {
  for (const int count : {1, 199, 200, 201, 1000}) {
    std::string out;
    PdfFile file(to(out), "id");
    std::vector<int> numbers;
    for (int i = 0; i < count; ++i) {
      numbers.push_back(file.reserve());
      file.object(numbers.back(), "(" + std::to_string(i) + ")");
    }
    const int catalog = file.reserve();
    file.object(catalog, "<</Type/Catalog>>");
    file.finish(catalog, catalog).value();
    const PdfReader reader(out);
    CHECK(reader.count() == static_cast<std::size_t>(count + 1 + (count + 200) / 200 + 1));
    for (int i = 0; i < count; ++i) {
      CHECK(reader.object(numbers[static_cast<std::size_t>(i)]) == "(" + std::to_string(i) + ")");
    }
  }
}

TEST_CASE("a file's identifier depends on its identity and its content, on nothing else") {
  const auto id = [](const std::string& file) {
    return PdfReader::value(PdfReader(file).trailer(), "/ID");
  };
  const std::string one = id(small_file("one"));
  CHECK(one == id(small_file("one")));
  CHECK(one != id(small_file("two")));
  CHECK(one != id(small_file("one", "BT  ET")));
  // Two byte strings of 16 bytes, equal.
  REQUIRE(one.size() == 2 + 2 * 34);
  CHECK(one.substr(1, 34) == one.substr(35, 34));
}

TEST_CASE("text strings are literal in ASCII and UTF-16BE otherwise") {
  // ISO 32000-1 section 7.9.2.2.
  CHECK(text_string("Ledger") == "(Ledger)");
  CHECK(text_string("a(b)c\\d") == "(a\\(b\\)c\\\\d)");
  CHECK(text_string("é") == "<FEFF00E9>");
  CHECK(text_string("a€") == "<FEFF006120AC>");
  CHECK(text_string("\U0001F600") == "<FEFFD83DDE00>");
}

TEST_CASE("numbers are written short") {
  const auto decimal = [](double value, int decimals) {
    std::string out;
    append_decimal(out, value, decimals);
    return out;
  };
  CHECK(decimal(12, 3) == "12");
  CHECK(decimal(11.9591, 3) == "11.959");
  CHECK(decimal(0.5, 3) == "0.5");
  CHECK(decimal(-1.25, 2) == "-1.25");
  CHECK(decimal(100, 4) == "100");
  CHECK(decimal(7, 0) == "7");
}

TEST_CASE("the first failure of the sink is what the file reports, and the sink is let be") {
  int calls = 0;
  PdfFile file(
      [&calls](std::string_view) -> fs::Status {
        ++calls;
        return fs::Error{fs::Code::no_space, "the disk is full"};
      },
      "id");
  const int number = file.reserve();
  file.stream_uncompressed(number, "", std::string(100'000, ' '));
  CHECK(file.flush().error().message == "the disk is full");
  CHECK(file.flush().error().message == "the disk is full");
  CHECK(file.finish(number, number).error().message == "the disk is full");
  CHECK(calls == 1);
}
