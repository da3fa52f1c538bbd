#include "fs/path.h"

#include <catch2/catch.hpp>

#include "fs/host_path.h"

using namespace stationer::fs;

namespace {

std::string text(std::string_view path, std::string_view base = "/members/robin") {
  auto parsed = Path::parse(path, *Path::parse(base));
  return parsed ? parsed->text() : "refused: " + parsed.error().message;
}

}  // namespace

TEST_CASE("paths start at the top or where one stands") {
  CHECK(text("letter.txt") == "/members/robin/letter.txt");
  CHECK(text("/programs/adventure") == "/programs/adventure");
  CHECK(text("/") == "/");
  CHECK(text(".") == "/members/robin");
  CHECK(text("..") == "/members");
  CHECK(text("../../programs") == "/programs");
  CHECK(text("a//b/") == "/members/robin/a/b");
}

TEST_CASE("invariant 2: a path never leads above the top, whatever it says") {
  CHECK(text("../../..").starts_with("refused"));
  CHECK(text("/..").starts_with("refused"));
  CHECK(text("/../etc/passwd").starts_with("refused"));
  CHECK(text("a/../../../..").starts_with("refused"));
  CHECK(text("..\\..\\x").starts_with("refused"));
  CHECK(text("C:/x").starts_with("refused"));
  CHECK(text(std::string("a\0b", 3)).starts_with("refused"));
  CHECK(text("a/\x01").starts_with("refused"));
  CHECK(text("a/-rf").starts_with("refused"));
  CHECK(text(std::string(10'000, 'a')).starts_with("refused"));
  CHECK(text(std::string("/") +
             [] {
               std::string deep;
               for (int i = 0; i < 40; ++i) deep += "a/";
               return deep;
             }())
            .starts_with("refused"));
  CHECK(text("").starts_with("refused"));
}

TEST_CASE("invariant 2: a host path is only ever made of single names") {
  CHECK_THROWS_AS(HostPath() / "..", std::logic_error);
  CHECK_THROWS_AS(HostPath() / "a/b", std::logic_error);
  CHECK_THROWS_AS(HostPath() / "", std::logic_error);
  CHECK_THROWS_AS(HostPath() / std::string_view("a\0b", 3), std::logic_error);
  CHECK_FALSE(HostPath::from_record("files/../../etc"));
  CHECK_FALSE(HostPath::from_record("/etc"));
  CHECK(HostPath::from_record("files/a")->text() == "files/a");
}

TEST_CASE("host paths know what lies within what") {
  const HostPath files = HostPath() / "files";
  const HostPath ab = files / "a" / "b";
  CHECK(ab.is_within(files));
  CHECK(ab.is_within(ab));
  CHECK_FALSE((files / "ab").is_within(files / "a"));
  CHECK(ab.moved(files / "a", HostPath() / "bin" / "7 a").text() == "bin/7 a/b");
  CHECK((files / "ab").moved(files / "a", HostPath() / "bin").text() == "files/ab");
  CHECK(ab.folder() == files / "a");
  CHECK(ab.name() == "b");
}
