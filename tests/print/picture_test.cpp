#include "print/picture.h"

#include <chrono>

#include <catch2/catch.hpp>

#include "print/host_tool.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;

namespace {

OpenContent opens(std::string bytes) {
  return [shared = std::make_shared<const std::string>(
              std::move(bytes))]() -> fs::Result<fs::Content> { return fs::Content(shared); };
}

ByteSource source_of(std::string_view text) {
  return [text](std::span<char> into) mutable -> fs::Result<std::size_t> {
    const std::size_t size = text.copy(into.data(), into.size());
    text.remove_prefix(size);
    return size;
  };
}

unsigned number_at(std::string_view bytes, std::size_t at) {
  unsigned out = 0;
  for (std::size_t i = at; i < at + 4; ++i) out = out << 8 | static_cast<unsigned char>(bytes[i]);
  return out;
}

}  // namespace

TEST_CASE("a page is drawn as a PNG of the width that is asked for") {
  const auto pdf = opens(test::pdf_of("one\r\n\ftwo\r\n", test::settings("plain-80")));
  const auto first = picture_of(pdf, 1, 200);
  if (!first) FAIL(first.error().message);
  // ISO/IEC 15948 sections 5.2 and 11.2.2: the signature, and the size in the first chunk.
  REQUIRE(first->starts_with("\x89PNG\r\n\x1a\n"));
  CHECK(number_at(*first, 16) == 200);
  CHECK(number_at(*first, 20) > 250);
  CHECK(number_at(*first, 20) < 300);
  const auto second = picture_of(pdf, 2, 200);
  REQUIRE(second);
  CHECK(*second != *first);
  CHECK(*picture_of(pdf, 1, 200) == *first);
}

TEST_CASE("what can't be drawn is told, and hurts nobody") {
  const auto pdf = opens(test::pdf_of("one\r\n", test::settings("plain-80")));
  CHECK(picture_of(pdf, 2, 200).error().code == fs::Code::damaged);
  CHECK(picture_of(pdf, 1, 15).error().code == fs::Code::bad_input);
  CHECK(picture_of(pdf, 1, 2001).error().code == fs::Code::bad_input);
  CHECK(picture_of(opens("no PDF at all"), 1, 200).error().code == fs::Code::damaged);
  CHECK(picture_of(opens(""), 1, 200).error().code == fs::Code::damaged);
  const auto gone = picture_of(
      []() -> fs::Result<fs::Content> {
        return fs::Error{fs::Code::io, "The disk is gone."};
      },
      1, 200);
  CHECK(gone.error().message == "The disk is gone.");
}

TEST_CASE("a host's program gets all bytes and gives all bytes") {
  std::string large(3'000'000, 'x');
  for (std::size_t i = 0; i < large.size(); i += 7) large[i] = static_cast<char>(i);
  std::string back;
  const auto done = run_host_tool("cat", {}, source_of(large), test::to(back));
  if (!done) FAIL(done.error().message);
  CHECK(back == large);
}

TEST_CASE("a host's program that fails, stays or grows is ended") {
  std::string out;
  CHECK(run_host_tool("no-such-program", {}, source_of(""), test::to(out)).error().code ==
        fs::Code::not_found);
  CHECK(run_host_tool("false", {}, source_of("x"), test::to(out)).error().code ==
        fs::Code::damaged);
  ToolLimits limits;
  limits.patience = std::chrono::seconds(1);
  const auto start = std::chrono::steady_clock::now();
  CHECK(run_host_tool("sleep", {"60"}, source_of(""), test::to(out), limits).error().code ==
        fs::Code::damaged);
  CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds(20));
  // tail keeps a line that does not end.
  const auto long_line = []() -> ByteSource {
    return [left = 1500](std::span<char> into) mutable -> fs::Result<std::size_t> {
      return left-- > 0 ? into.size() : 0;
    };
  };
  const ByteSink nowhere = [](std::string_view) -> fs::Status { return {}; };
  limits.patience = std::chrono::seconds(60);
  limits.memory = std::uint64_t{64} << 20;
  CHECK(run_host_tool("tail", {"-n", "1"}, long_line(), nowhere, limits).error().code ==
        fs::Code::damaged);
  limits.memory = std::uint64_t{512} << 20;
  CHECK(run_host_tool("tail", {"-n", "1"}, long_line(), nowhere, limits));
  // It ends early, and what it said is heard.
  out.clear();
  CHECK(run_host_tool("head", {"-c", "5"}, source_of(std::string(1'000'000, 'y')), test::to(out)));
  CHECK(out == "yyyyy");
}

TEST_CASE("a host's program has nothing of ours but its input and output") {
  std::string out;
  REQUIRE(run_host_tool("env", {}, source_of(""), test::to(out)));
  CHECK(out == "PATH=/usr/bin:/bin\n");
  out.clear();
  REQUIRE(run_host_tool("ls", {"/proc/self/fd"}, source_of(""), test::to(out)));
  CHECK(out == "0\n1\n2\n3\n");  // the last is the folder it lists
  const auto stopped = run_host_tool("cat", {}, source_of("x"), [](std::string_view) -> fs::Status {
    return fs::Error{fs::Code::no_space, "Enough."};
  });
  CHECK(stopped.error().message == "Enough.");
}
